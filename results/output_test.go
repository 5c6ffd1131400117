package results

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"
	"time"
)

func fillWith(text string) func(io.Writer) error {
	return func(w io.Writer) error {
		_, err := io.WriteString(w, text)
		return err
	}
}

// A file that cannot be finished leaves the old one, and nothing beside it.
func TestWriteFileIsWholeOrNotAtAll(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "plate.svg")
	if err := WriteFile(path, fillWith("old")); err != nil {
		t.Fatal(err)
	}
	failed := errors.New("no drawing")
	err := WriteFile(path, func(w io.Writer) error {
		io.WriteString(w, strings.Repeat("half", 1<<16)) // more than is buffered
		return failed
	})
	if text, _ := os.ReadFile(path); err != failed || string(text) != "old" {
		t.Errorf("%v, and the file holds %.20q", err, text)
	}
	if err := WriteFile(path, fillWith("new")); err != nil {
		t.Fatal(err)
	}
	entries, _ := os.ReadDir(dir)
	if text, _ := os.ReadFile(path); string(text) != "new" || len(entries) != 1 {
		t.Errorf("the file holds %q, the folder %v", text, entries)
	}
	if err := WriteFile(filepath.Join(dir, "none", "x"), fillWith("")); !errors.As(err, new(*WriteError)) {
		t.Errorf("no folder: %v", err)
	}
	if err := WriteFile(dir, fillWith("")); !errors.As(err, new(*WriteError)) {
		t.Errorf("onto a folder: %v", err)
	}
}

func TestWriteFileKeepsPermissionsAndFollowsLinks(t *testing.T) {
	dir := t.TempDir()
	plain := filepath.Join(dir, "plain")
	if err := os.WriteFile(plain, nil, 0o666); err != nil { // what the umask leaves
		t.Fatal(err)
	}
	path := filepath.Join(dir, "a.json")
	mode := func(path string) os.FileMode {
		info, err := os.Lstat(path)
		if err != nil {
			t.Fatal(err)
		}
		return info.Mode()
	}
	if err := WriteFile(path, fillWith("x")); err != nil || mode(path) != mode(plain) {
		t.Errorf("%v, %v, a plain file has %v", err, mode(path), mode(plain))
	}
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link")
	if err := os.Symlink("a.json", link); err != nil {
		if runtime.GOOS != "windows" { // where links need a right
			t.Fatal(err)
		}
		return
	}
	if err := WriteFile(link, fillWith("y")); err != nil {
		t.Fatal(err)
	}
	if text, _ := os.ReadFile(path); string(text) != "y" || mode(link)&os.ModeSymlink == 0 || mode(path) != mode(plain)&^0o777|0o600 {
		t.Errorf("%q, %v, %v", text, mode(link), mode(path))
	}
}

// What a crash has left is found by its name; what looks alike, or may be of a
// writer that lives, stays.
func TestWriteFileDropsLeftovers(t *testing.T) {
	dir := t.TempDir()
	old := time.Now().Add(-2 * leftoverTime)
	for name, at := range map[string]time.Time{
		"r.html.ABCDEFGH.tmp": old, "r.html.ABCDEFG2.tmp": time.Now(), "r.html.notes.tmp": old, "other.html.ABCDEFGH.tmp": old, "r.html.tmp": old,
	} {
		path := filepath.Join(dir, name)
		if err := errors.Join(os.WriteFile(path, nil, 0o666), os.Chtimes(path, at, at)); err != nil {
			t.Fatal(err)
		}
	}
	if err := WriteFile(filepath.Join(dir, "r.html"), fillWith("")); err != nil {
		t.Fatal(err)
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, e := range entries {
		names = append(names, e.Name())
	}
	want := "other.html.ABCDEFGH.tmp r.html r.html.ABCDEFG2.tmp r.html.notes.tmp r.html.tmp"
	if have := strings.Join(names, " "); have != want {
		t.Errorf("%s\nwant %s", have, want)
	}
}
