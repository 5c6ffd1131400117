package results

import (
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"flexwright/objective"
)

// endedRun is a folder of a finished run.
func endedRun(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "a.run")
	if by, err := sitting(t, quick, dir, toyPlans(t)["grid"](), toyStudy(1, nil), context.Background()); by != ByPlan || err != nil {
		t.Fatal(by, err)
	}
	return dir
}

// stoppedRun is a folder with parts.
func stoppedRun(t *testing.T) string {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "a.run")
	rows, _ := undisturbed(t, toyPlans(t)["latin"]())
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	defer run.Close()
	if err := errors.Join(run.Append(rows[:15]), run.Append(rows[15:22]), run.End(context.Background(), BySignal, nil)); err != nil {
		t.Fatal(err)
	}
	return dir
}

func endAgain(dir string) error {
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		return err
	}
	defer run.Close()
	return run.End(context.Background(), ByPlan, nil)
}

// The brief is handed out as it was given, or not at all.
func TestBriefIsChecked(t *testing.T) {
	dir := endedRun(t)
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if text, _, err := f.Brief(0); err != nil || string(text) != string(toyBrief) {
		t.Fatalf("%q %v", text, err)
	}
	path := filepath.Join(dir, briefName)
	for i := range toyBrief {
		for bit := range 8 {
			changed := append([]byte{}, toyBrief...)
			changed[i] ^= 1 << bit
			if err := os.WriteFile(path, changed, 0o666); err != nil {
				t.Fatal(err)
			}
			if text, _, err := f.Brief(0); !errors.As(err, new(*DamageError)) || text != nil {
				t.Fatalf("byte %d, bit %d: %q %v", i, bit, text, err)
			}
		}
	}
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	if _, _, err := f.Brief(0); !errors.As(err, new(*DamageError)) {
		t.Errorf("missing: %v", err)
	}
}

// A front that is damaged or missing is damage to who reads it, and made anew by
// the next end of the run.
func TestFrontIsMadeAnew(t *testing.T) {
	dir := endedRun(t)
	path := filepath.Join(dir, frontName)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for what, spoil := range map[string]func() error{
		"missing": func() error { return os.Remove(path) },
		"damaged": func() error { return os.WriteFile(path, append(whole[:900:900], whole[901:]...), 0o666) },
	} {
		if err := spoil(); err != nil {
			t.Fatal(err)
		}
		f, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := f.FrontTable(); !errors.As(err, new(*DamageError)) {
			t.Errorf("%s: %v", what, err)
		}
		if err := endAgain(dir); err != nil {
			t.Errorf("%s: %v", what, err)
		}
		if again, err := os.ReadFile(path); err != nil || string(again) != string(whole) {
			t.Errorf("%s: another front, %v", what, err)
		}
	}
	f, err := Open(stoppedRun(t))
	if err != nil {
		t.Fatal(err)
	}
	if table, err := f.FrontTable(); err != nil || len(table.Rows) > 0 {
		t.Errorf("a run without an end: %v %v", table, err)
	}
}

// Parts that a crash has left behind the last manifest are named by Verify, and go
// with the next end.
func TestPartsLeftBehind(t *testing.T) {
	dir := stoppedRun(t)
	parts, err := os.ReadDir(filepath.Join(dir, partsName))
	if err != nil {
		t.Fatal(err)
	}
	kept := map[string][]byte{}
	for _, p := range parts {
		if kept[p.Name()], err = os.ReadFile(filepath.Join(dir, partsName, p.Name())); err != nil {
			t.Fatal(err)
		}
	}
	if err := endAgain(dir); err != nil {
		t.Fatal(err)
	}
	if err := os.Mkdir(filepath.Join(dir, partsName), 0o777); err != nil {
		t.Fatal(err)
	}
	for name, data := range kept {
		if err := os.WriteFile(filepath.Join(dir, partsName, name), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	v, err := Verify(dir)
	if err != nil || len(v.Problems) > 0 || len(v.Notes) != 1 || !strings.Contains(v.Notes[0], "2 parts") {
		t.Errorf("%v %v %v", err, v.Problems, v.Notes)
	}
	if err := endAgain(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, partsName)); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("still there: %v", err)
	}
}

// Links in a folder lead no write and no removal elsewhere; names that this
// program does not make stay.
func TestLinksAreNotFollowed(t *testing.T) {
	away := filepath.Join(t.TempDir(), "away")
	precious := func() string {
		if err := os.RemoveAll(away); err != nil {
			t.Fatal(err)
		}
		if err := os.Mkdir(away, 0o777); err != nil {
			t.Fatal(err)
		}
		for _, name := range []string{"file", "1.parquet", "16.parquet"} {
			if err := os.WriteFile(filepath.Join(away, name), []byte("precious"), 0o666); err != nil {
				t.Fatal(err)
			}
		}
		return filepath.Join(away, "file")
	}
	untouched := func(what string) {
		t.Helper()
		for _, name := range []string{"file", "1.parquet", "16.parquet"} {
			if data, err := os.ReadFile(filepath.Join(away, name)); err != nil || string(data) != "precious" {
				t.Errorf("%s: %s holds %q, %v", what, name, data, err)
			}
		}
	}
	link := func(to, path string) {
		t.Helper()
		if err := errors.Join(os.RemoveAll(path), os.Symlink(to, path)); err != nil {
			t.Fatal(err)
		}
	}

	for _, name := range []string{manifestName + temporary, candidatesName + temporary, frontName + temporary} {
		dir := stoppedRun(t)
		link(precious(), filepath.Join(dir, name))
		if err := endAgain(dir); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		untouched(name)
	}
	for _, name := range []string{lockName, partsName, logName} {
		dir := stoppedRun(t)
		to := precious()
		if name == partsName {
			to = away
		}
		link(to, filepath.Join(dir, name))
		run, err := start(quick, dir, toyDescription(), 0)
		if err == nil {
			err = errors.Join(run.LogFault(9, "fault", ""), run.End(context.Background(), ByPlan, nil))
			run.Close()
		}
		if err == nil {
			t.Errorf("%s: nothing was said", name)
		}
		untouched(name)
	}
	// Of a new run.
	dir := t.TempDir()
	link(away, filepath.Join(dir, partsName))
	precious()
	if _, err := start(quick, dir, toyDescription(), 0); err == nil {
		t.Error("parts elsewhere: nothing was said")
	}
	link(precious(), filepath.Join(dir, briefName+temporary))
	if err := errors.Join(os.Remove(filepath.Join(dir, partsName)), os.Mkdir(filepath.Join(dir, partsName), 0o777), endAgain(dir)); err != nil {
		t.Error(err)
	}
	untouched("the brief")

	dir = stoppedRun(t)
	for _, name := range []string{"mine.tmp", partsName + "/notes.tmp", partsName + "/x.parquet"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte("mine"), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := endAgain(dir); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"mine.tmp", partsName + "/notes.tmp", partsName + "/x.parquet"} {
		if _, err := os.Stat(filepath.Join(dir, name)); err != nil {
			t.Error(err)
		}
	}
	dir = stoppedRun(t)
	if err := errors.Join(os.RemoveAll(filepath.Join(dir, partsName)), os.WriteFile(filepath.Join(dir, partsName), nil, 0o666)); err != nil {
		t.Fatal(err)
	}
	if err := endAgain(dir); !errors.As(err, new(*DamageError)) || !strings.Contains(err.Error(), "not a folder") {
		t.Errorf("parts is a file: %v", err)
	}
}

// unreadable is a disk of which one file cannot be read.
type unreadable struct {
	disk
	name string
}

type unreadableFile struct{ file }

func (unreadableFile) ReadAt([]byte, int64) (int, error) { return 0, syscall.EIO }

func (d unreadable) Open(path string) (file, error) {
	f, err := d.disk.Open(path)
	if err == nil && filepath.Base(path) == d.name {
		f = unreadableFile{f}
	}
	return f, err
}

// What the system cannot read is no damage: a ReadError, whichever file it is.
func TestSystemErrorsAreNoDamage(t *testing.T) {
	for _, c := range []struct{ dir, name string }{
		{endedRun(t), manifestName}, {endedRun(t), candidatesName}, {endedRun(t), frontName}, {endedRun(t), briefName}, {stoppedRun(t), "16.parquet"},
	} {
		d := unreadable{quick, c.name}
		err := func() error {
			f, err := openFolder(d, c.dir)
			if err != nil {
				return err
			}
			if _, _, err := f.Brief(0); err != nil {
				return err
			}
			if _, err := f.FrontTable(); err != nil {
				return err
			}
			_, err = f.ownFront()
			return err
		}()
		var read *ReadError
		if !errors.As(err, &read) || !errors.Is(err, syscall.EIO) || errors.As(err, new(*DamageError)) {
			t.Errorf("%s: %T %v", c.name, err, err)
		}
		v, err := verify(d, c.dir)
		if err == nil {
			if len(v.Problems) == 0 || !errors.As(v.Problems[0], &read) {
				t.Errorf("%s: verify finds %v", c.name, v.Problems)
			}
		} else if !errors.As(err, &read) {
			t.Errorf("%s: verify: %v", c.name, err)
		}
	}
}

// A signal during an end leaves the run stopped; the next end does the work.
func TestEndIsStopped(t *testing.T) {
	dir := stoppedRun(t)
	run, err := start(quick, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	err = run.End(ctx, ByPlan, func(ctx context.Context, _ []objective.Row) ([]objective.Column, error) {
		cancel()
		return nil, ctx.Err()
	})
	run.Close()
	var stop *StopError
	if !errors.As(err, &stop) || stop.By != string(BySignal) {
		t.Fatal(err)
	}
	f, err := Open(dir)
	if err != nil || f.Manifest().State != Stopped || f.Manifest().EndedBy != BySignal {
		t.Fatalf("%v %+v", err, f.Manifest())
	}
	wholeFolder(t, dir, 22)
	if err := endAgain(dir); err != nil {
		t.Fatal(err)
	}
	if f, err := Open(dir); err != nil || f.Manifest().EndedBy != ByPlan {
		t.Error(err)
	}
	wholeFolder(t, dir, 22)
}

// Where an end cannot write, the manifest says so.
func TestEndThatCannotWrite(t *testing.T) {
	for _, name := range []string{candidatesName, frontName} {
		dir := stoppedRun(t)
		run, err := start(full{quick, name + temporary}, dir, toyDescription(), 0)
		if err != nil {
			t.Fatal(err)
		}
		err = run.End(context.Background(), ByPlan, nil)
		run.Close()
		if !errors.As(err, new(*WriteError)) {
			t.Fatal(err)
		}
		if f, err := Open(dir); err != nil || f.Manifest().EndedBy != ByCannotWrite {
			t.Errorf("%s: %v %v", name, err, f.Manifest().EndedBy)
		}
		wholeFolder(t, dir, 22)
		if err := endAgain(dir); err != nil {
			t.Fatal(err)
		}
		wholeFolder(t, dir, 22)
	}
}

// full is a disk without room for one file.
type full struct {
	disk
	name string
}

type fullFile struct{ file }

func (fullFile) Write([]byte) (int, error) { return 0, syscall.ENOSPC }

func (d full) Create(path string) (file, error) {
	f, err := d.disk.Create(path)
	if err == nil && filepath.Base(path) == d.name {
		f = fullFile{f}
	}
	return f, err
}

// What an interrupted join has left goes; what anyone else has put there does not.
func TestNewFolderStartsAnew(t *testing.T) {
	root := t.TempDir()
	out := filepath.Join(root, "joined")
	make := func() error {
		return newFolder(quick, out, func(string) {}, func(tmp string) error { return os.WriteFile(filepath.Join(tmp, manifestName), nil, 0o666) })
	}
	tmp := out + temporary
	if err := errors.Join(os.MkdirAll(filepath.Join(tmp, briefsName), 0o777), os.WriteFile(filepath.Join(tmp, candidatesName+temporary), nil, 0o666),
		os.WriteFile(filepath.Join(tmp, briefsName, "2.yaml"), nil, 0o666), os.Mkdir(out, 0o777)); err != nil {
		t.Fatal(err)
	}
	if err := make(); err != nil {
		t.Fatal(err)
	}
	var names []string
	entries, _ := os.ReadDir(out)
	for _, e := range entries {
		names = append(names, e.Name())
	}
	if have := strings.Join(names, " "); have != "lock manifest.json" {
		t.Error(have)
	}
	out, tmp = filepath.Join(root, "other"), filepath.Join(root, "other"+temporary)
	if err := errors.Join(os.Mkdir(tmp, 0o777), os.WriteFile(filepath.Join(tmp, "thesis.tex"), nil, 0o666)); err != nil {
		t.Fatal(err)
	}
	if err := make(); !errors.As(err, new(*FolderError)) {
		t.Error(err)
	}
	if _, err := os.Stat(filepath.Join(tmp, "thesis.tex")); err != nil {
		t.Error(err)
	}
	// One that is being made is in use.
	out = filepath.Join(root, "third")
	err := newFolder(quick, out, func(string) {}, func(string) error { return make() })
	if !errors.As(err, new(*InUseError)) {
		t.Error(err)
	}
}
