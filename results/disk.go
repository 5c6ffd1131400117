package results

import (
	"bytes"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
)

// disk is what this package asks of a file system. Tests put one in its place
// in which any single step fails.
type disk interface {
	Mkdir(path string) error
	Open(path string) (file, error)
	Create(path string) (file, error)    // empty, for reading and writing
	OpenWrite(path string) (file, error) // as it is, for reading and writing
	Rename(from, to string) error
	Remove(path string) error
	ReadDir(path string) ([]fs.DirEntry, error)
	SyncDir(path string) error
}

// file is an open file of a disk.
type file interface {
	io.ReaderAt
	io.Writer
	io.WriterAt
	Size() (int64, error)
	Truncate(size int64) error
	Sync() error
	Close() error
}

// osDisk is the disk of the operating system.
type osDisk struct{}

type osFile struct{ *os.File }

func (f osFile) Size() (int64, error) {
	info, err := f.Stat()
	if err != nil {
		return 0, err
	}
	return info.Size(), nil
}

func open(path string, flag int) (file, error) {
	f, err := os.OpenFile(path, flag, 0o666)
	if err != nil {
		return nil, err
	}
	return osFile{f}, nil
}

var errNoFile = errors.New("it is a folder, a link or a device, not a file")

// regular refuses what is there and no plain file. A folder may come from others:
// a link in it must not lead a write elsewhere, and a pipe must not be waited for.
func regular(info fs.FileInfo, err error, path string) error {
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil
	case err != nil:
		return err
	case !info.Mode().IsRegular():
		return &fs.PathError{Op: "open", Path: path, Err: errNoFile}
	}
	return nil
}

func (osDisk) Mkdir(path string) error { return os.MkdirAll(path, 0o777) }

// Open follows links: reading harms nobody.
func (osDisk) Open(path string) (file, error) {
	info, err := os.Stat(path)
	if err := regular(info, err, path); err != nil {
		return nil, err
	}
	return open(path, os.O_RDONLY)
}

// Create makes the file anew, so that a link of its name goes and not what it points to.
func (osDisk) Create(path string) (file, error) {
	if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	return open(path, os.O_RDWR|os.O_CREATE|os.O_EXCL)
}

func (osDisk) OpenWrite(path string) (file, error) {
	info, err := os.Lstat(path)
	if err := regular(info, err, path); err != nil {
		return nil, err
	}
	return open(path, os.O_RDWR|os.O_CREATE)
}

func (osDisk) Rename(from, to string) error            { return os.Rename(from, to) }
func (osDisk) Remove(path string) error                { return os.Remove(path) }
func (osDisk) ReadDir(p string) ([]fs.DirEntry, error) { return os.ReadDir(p) }

// SyncDir makes renames in a folder survive a power cut.
func (osDisk) SyncDir(path string) error {
	d, err := os.Open(path)
	if err != nil {
		return err
	}
	err = d.Sync()
	if e := d.Close(); err == nil {
		err = e
	}
	return err
}

// removeAll removes a folder with what is in it, as far as it can.
func removeAll(d disk, path string) {
	entries, _ := d.ReadDir(path)
	for _, e := range entries {
		if p := filepath.Join(path, e.Name()); e.IsDir() {
			removeAll(d, p)
		} else {
			d.Remove(p)
		}
	}
	d.Remove(path)
}

const temporary = ".tmp"

// writeWhole puts a file in place in one step: whoever looks sees the old file
// or the new one, also after a power cut. Fill writes it under its temporary
// name; check, if not nil, reads it back from there before it is trusted.
func writeWhole(d disk, path string, fill func(f file) error, check func(temporaryPath string) error) error {
	tmp := path + temporary
	op, err := "create", error(nil)
	f, err := d.Create(tmp)
	if err != nil {
		return &WriteError{path, op, err}
	}
	defer func() {
		if err != nil {
			d.Remove(tmp) // as far as it can be; the next run drops it
		}
	}()
	op = "write"
	if err = fill(f); err == nil {
		op, err = "sync", f.Sync()
	}
	if e := f.Close(); e != nil && err == nil {
		op, err = "close", e
	}
	if err == nil && check != nil {
		op, err = "read back", check(tmp)
		var damage *DamageError
		if errors.As(err, &damage) { // of what was just written: not the folder's
			err = errors.New(err.Error())
		}
	}
	if err == nil {
		op, err = "rename", d.Rename(tmp, path)
	}
	if err != nil {
		return &WriteError{path, op, err}
	}
	if e := d.SyncDir(filepath.Dir(path)); e != nil {
		return &WriteError{path, "sync the folder of", e}
	}
	return nil
}

// writeBytes is writeWhole of a small file.
func writeBytes(d disk, path string, data []byte) error {
	return writeWhole(d, path,
		func(f file) error {
			n, err := f.Write(data)
			if err == nil && n < len(data) {
				err = io.ErrShortWrite
			}
			return err
		},
		func(tmp string) error {
			back, err := readBytes(d, tmp)
			if err == nil && !bytes.Equal(back, data) {
				err = errReadBack
			}
			return err
		})
}

// largestText bounds what is read into memory as a whole: far above any brief,
// manifest or log.
const largestText = 256 << 20

// readBytes reads a small file.
func readBytes(d disk, path string) ([]byte, error) {
	f, err := d.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	size, err := f.Size()
	if err != nil {
		return nil, err
	}
	if size > largestText {
		return nil, damaged(path, "it has %d MB", size>>20)
	}
	return io.ReadAll(io.NewSectionReader(f, 0, size))
}
