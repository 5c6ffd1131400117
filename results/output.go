package results

import (
	"bufio"
	"crypto/rand"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// leftoverTime is how old an unfinished file of WriteFile is when it counts as left behind.
const leftoverTime = time.Hour

// WriteFile writes a file that a user asked for: under a temporary name beside it, synced, and
// renamed, so that whoever looks sees the old file, the new one or none, and
// never a half. A new file has the permissions that the umask leaves, an old one keeps its own. A
// link is followed; a device or a pipe is written to as it is. The temporary
// name is NAME.RANDOM.tmp; those that a crash has left go when the file is written again.
//
// The error is that of fill as it is, or a WriteError.
func WriteFile(path string, fill func(w io.Writer) error) error {
	if target, err := filepath.EvalSymlinks(path); err == nil {
		path = target
	}
	info, err := os.Stat(path)
	switch {
	case err == nil && !info.Mode().IsRegular() && !info.IsDir():
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return &WriteError{path, "open", err}
		}
		return finish(path, f, fill)
	case err == nil && info.IsDir():
		return &WriteError{path, "write", errors.New("it is a folder")}
	}
	dropLeftovers(path)
	tmp := path + "." + rand.Text()[:8] + temporary
	f, createErr := os.OpenFile(tmp, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o666)
	if createErr != nil {
		return &WriteError{path, "create", createErr}
	}
	if err == nil {
		f.Chmod(info.Mode().Perm()) // as far as it can be
	}
	if err := finish(path, f, fill); err != nil {
		os.Remove(tmp)
		return err
	}
	if err := os.Rename(tmp, path); err != nil {
		os.Remove(tmp)
		return &WriteError{path, "rename", err}
	}
	return nil
}

// finish fills, syncs and closes a file.
func finish(path string, f *os.File, fill func(w io.Writer) error) error {
	w := &failing{w: f}
	buffer := bufio.NewWriterSize(w, 64<<10)
	err := fill(buffer)
	if err == nil {
		err = buffer.Flush()
	}
	if w.err != nil {
		err = &WriteError{path, "write", w.err}
	}
	// A device or a pipe cannot be synced.
	if info, e := f.Stat(); err == nil && e == nil && info.Mode().IsRegular() {
		if e := f.Sync(); e != nil {
			err = &WriteError{path, "sync", e}
		}
	}
	if e := f.Close(); e != nil && err == nil {
		err = &WriteError{path, "close", e}
	}
	return err
}

// failing remembers that writing failed, whatever becomes of the error above it.
type failing struct {
	w   io.Writer
	err error
}

func (f *failing) Write(p []byte) (int, error) {
	n, err := f.w.Write(p)
	if err != nil {
		f.err = err
	}
	return n, err
}

// dropLeftovers removes what a crash has left of an earlier WriteFile of path.
func dropLeftovers(path string) {
	entries, _ := os.ReadDir(filepath.Dir(path))
	for _, e := range entries {
		if info, err := e.Info(); err == nil && isLeftoverOf(filepath.Base(path), e.Name()) && info.Mode().IsRegular() && time.Since(info.ModTime()) > leftoverTime {
			os.Remove(filepath.Join(filepath.Dir(path), e.Name()))
		}
	}
}

// isLeftoverOf reports whether name is a temporary name of WriteFile of base.
func isLeftoverOf(base, name string) bool {
	random, ok := strings.CutPrefix(name, base+".")
	random, tmp := strings.CutSuffix(random, temporary)
	return ok && tmp && len(random) == 8 && strings.Trim(random, "ABCDEFGHIJKLMNOPQRSTUVWXYZ234567") == ""
}
