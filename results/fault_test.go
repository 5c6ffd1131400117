package results

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"flexwright/objective"
)

// mode is what happens at the step that fails.
type mode int

const (
	fails      mode = iota // an error, nothing done; later steps work
	shortened              // a write of half, with an error
	lies                   // a write that reports success and has a byte wrong
	crash                  // half of a write; no later step works
	crashAfter             // the step is done; no later step works
	powerCut               // crashAfter, and all that was not synced is lost
	numModes
)

func (m mode) String() string {
	return [...]string{"fails", "writes half", "lies", "crash", "crash right after", "power cut"}[m]
}

// faultyDisk is a disk on which step number at goes wrong. Steps are everything
// that changes something, and close.
type faultyDisk struct {
	disk
	at, step int
	mode     mode
	dead     bool
	hit      string // the step that went wrong
	undo     []undo
	unsynced map[string]int64 // size of files that was synced
}

// undo is a change of a folder that is lost with it if the folder is not synced.
type undo struct {
	dir  string
	back func()
}

var errDead = errors.New("the machine is off")

// begin counts a step. It reports whether the step is to be done, and the error.
func (d *faultyDisk) begin(what, path string) (do bool, err error) {
	if d.dead {
		return false, errDead
	}
	d.step++
	if d.step != d.at {
		return true, nil
	}
	d.hit = what + " " + filepath.Base(path)
	switch d.mode {
	case fails, shortened:
		return false, syscall.ENOSPC
	case crash:
		d.dead = true
		return false, errDead
	case crashAfter, powerCut:
		d.dead = true
	}
	return true, nil
}

func (d *faultyDisk) Mkdir(path string) error {
	if do, err := d.begin("mkdir", path); !do {
		return err
	}
	return d.disk.Mkdir(path)
}

func (d *faultyDisk) Open(path string) (file, error) {
	if d.dead {
		return nil, errDead
	}
	return d.disk.Open(path)
}

func (d *faultyDisk) ReadDir(path string) ([]fs.DirEntry, error) {
	if d.dead {
		return nil, errDead
	}
	return d.disk.ReadDir(path)
}

func (d *faultyDisk) Create(path string) (file, error) {
	if do, err := d.begin("create", path); !do {
		return nil, err
	}
	f, err := d.disk.Create(path)
	if err == nil {
		d.unsynced[path] = 0
		d.undo = append(d.undo, undo{filepath.Dir(path), func() { os.Remove(path) }})
	}
	return &faultyFile{f, d, path}, err
}

func (d *faultyDisk) OpenWrite(path string) (file, error) {
	if do, err := d.begin("open", path); !do {
		return nil, err
	}
	f, err := d.disk.OpenWrite(path)
	return &faultyFile{f, d, path}, err
}

func (d *faultyDisk) Rename(from, to string) error {
	if do, err := d.begin("rename", to); !do {
		return err
	}
	old, oldErr := os.ReadFile(to)
	if err := d.disk.Rename(from, to); err != nil {
		return err
	}
	if size, ok := d.unsynced[from]; ok {
		d.unsynced[to] = size
		delete(d.unsynced, from)
	}
	d.undo = append(d.undo, undo{filepath.Dir(to), func() {
		os.Rename(to, from)
		if oldErr == nil {
			os.WriteFile(to, old, 0o666)
		}
	}})
	return nil
}

func (d *faultyDisk) Remove(path string) error {
	if do, err := d.begin("remove", path); !do {
		return err
	}
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	old, _ := os.ReadFile(path)
	d.undo = append(d.undo, undo{filepath.Dir(path), func() {
		if info.IsDir() {
			os.Mkdir(path, 0o777)
		} else {
			os.WriteFile(path, old, 0o666)
		}
	}})
	return d.disk.Remove(path)
}

func (d *faultyDisk) SyncDir(path string) error {
	if do, err := d.begin("sync folder", path); !do {
		return err
	}
	d.undo = slices.DeleteFunc(d.undo, func(u undo) bool { return u.dir == filepath.Clean(path) })
	return d.disk.SyncDir(path)
}

// cut leaves the disk as it is when the power comes back.
func (d *faultyDisk) cut() {
	for path, size := range d.unsynced {
		if info, err := os.Stat(path); err == nil && info.Size() > size {
			os.Truncate(path, size+(info.Size()-size)/2)
		}
	}
	for _, u := range slices.Backward(d.undo) {
		u.back()
	}
}

type faultyFile struct {
	file
	d    *faultyDisk
	path string
}

func (f *faultyFile) write(p []byte, write func([]byte) (int, error)) (int, error) {
	do, err := f.d.begin("write", f.path)
	if !do {
		if f.d.mode == fails || err == errDead && f.d.step != f.d.at {
			return 0, err
		}
		n, _ := write(p[:len(p)/2])
		return n, err
	}
	if f.d.step == f.d.at && f.d.mode == lies && len(p) > 0 {
		p = slices.Clone(p)
		p[len(p)/2] ^= 1
	}
	if _, ok := f.d.unsynced[f.path]; !ok {
		size, _ := f.Size()
		f.d.unsynced[f.path] = size
	}
	return write(p)
}

func (f *faultyFile) Write(p []byte) (int, error) { return f.write(p, f.file.Write) }

func (f *faultyFile) WriteAt(p []byte, at int64) (int, error) {
	return f.write(p, func(p []byte) (int, error) { return f.file.WriteAt(p, at) })
}

func (f *faultyFile) Sync() error {
	if do, err := f.d.begin("sync", f.path); !do {
		return err
	}
	delete(f.d.unsynced, f.path)
	return f.file.Sync()
}

func (f *faultyFile) Truncate(size int64) error {
	if do, err := f.d.begin("truncate", f.path); !do {
		return err
	}
	return f.file.Truncate(size)
}

func (f *faultyFile) Close() error {
	do, err := f.d.begin("close", f.path)
	if e := f.file.Close(); do {
		return e
	}
	return err
}

// night stores rows in parts of 15, with a fault in the log, and ends the run with what is left of them.
// It returns how many rows were said to be stored, and the first error.
func night(on disk, dir string, rows []objective.Row) (stored int, err error) {
	run, err := start(on, dir, toyDescription(), 0)
	if err != nil {
		return 0, err
	}
	defer run.Close()
	before := int(run.rows)
	for at := before; at < len(rows); at += 15 {
		part := rows[at:min(at+15, len(rows))]
		for _, r := range part {
			if r.Status.String() == "failed" {
				if err := run.LogFault(r.ID, "panic", "stack"); err != nil {
					return at, err
				}
			}
		}
		if len(part) < 15 {
			run.last = part
			return at, run.End(context.Background(), ByPlan, nil)
		}
		if err := run.Append(part); err != nil {
			return at, err
		}
	}
	return len(rows), run.End(context.Background(), ByPlan, nil)
}

// Whatever single step fails, in whatever way: rows that were said to be stored
// are there, nothing wrong is read, the message names a file, and the run goes
// on to the same end. From an empty folder, and from a run that ended before.
// A part of the steps in each mode; all of them in all modes is the long form (FAULT_ALL=1).
func TestEveryStepFails(t *testing.T) {
	want, _ := undisturbed(t, toyPlans(t)["latin"]())
	want = want[:40]
	for name, before := range map[string]int{"new": 0, "gone on": 20} {
		for m := range numModes {
			total := 0
			hits := map[string]int{}
			first, stride := 1+2*int(m), 2*int(numModes)+1
			if os.Getenv("FAULT_ALL") != "" {
				first, stride = 1, 1
			}
			for at := first; ; at += stride {
				dir := filepath.Join(t.TempDir(), "a.run")
				if before > 0 {
					if _, err := night(quick, dir, want[:before]); err != nil {
						t.Fatal(err)
					}
				}
				d := &faultyDisk{disk: quick, at: at, mode: m, unsynced: map[string]int64{}}
				stored, err := night(d, dir, want)
				if d.hit == "" {
					break // there is no such step any more
				}
				total++
				hits[strings.Fields(d.hit)[0]]++
				what := fmt.Sprintf("%s, step %d (%s) %s", name, at, d.hit, m)
				if m == powerCut {
					d.cut()
				}
				afterFault(t, what, dir, stored, before, err, want)
			}
			t.Logf("%s, %s: %d steps %v", name, m, total, hits)
		}
	}
}

func afterFault(t *testing.T, what, dir string, stored, before int, err error, want []objective.Row) {
	t.Helper()
	var write *WriteError
	var folder *FolderError
	switch {
	case err == nil, errors.As(err, &write):
	case strings.Contains(what, "(write lock) lies") && errors.As(err, new(*InUseError)):
	case errors.Is(err, errDead), errors.As(err, &folder) && strings.Contains(err.Error(), errDead.Error()):
	case strings.Contains(err.Error(), errDead.Error()):
	default:
		t.Fatalf("%s: %T %v", what, err, err)
	}
	if errors.As(err, &write) && !strings.Contains(err.Error(), dir) {
		t.Fatalf("%s: the message names no file: %v", what, err)
	}
	if f, err := Open(dir); err == nil {
		n := 0
		for row, err := range f.Rows() {
			if err != nil {
				t.Fatalf("%s: reading: %v", what, err)
			}
			if string(rowBytes(row)) != string(rowBytes(want[n])) {
				t.Fatalf("%s: row %d is wrong", what, n)
			}
			n++
		}
		if n < max(stored, before) {
			t.Fatalf("%s: %d rows are there, %d were stored", what, n, max(stored, before))
		}
		v, err := Verify(dir)
		if err != nil || len(v.Problems) > 0 {
			t.Fatalf("%s: %v %v", what, err, v.Problems)
		}
	} else if stored > 0 || before > 0 || !errors.As(err, &folder) {
		t.Fatalf("%s: %v", what, err)
	}
	if _, err := night(quick, dir, want); err != nil {
		t.Fatalf("%s: going on: %v", what, err)
	}
	equalRows(t, what, allRows(t, dir), want)
	v, err := Verify(dir)
	if err != nil || len(v.Problems) > 0 || len(v.Notes) > 0 {
		t.Fatalf("%s: gone on: %v %v %v", what, err, v.Problems, v.Notes)
	}
}

// A second look at the whole through the Recorder: the plan is told of the write
// error, and the run says so.
func TestDiskFullEndsTheRun(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	d := &faultyDisk{disk: quick, at: 40, mode: fails, unsynced: map[string]int64{}}
	run, err := start(d, dir, toyDescription(), 0)
	if err != nil {
		t.Fatal(err)
	}
	recorder, looks := run.Recorder(toyStudy(2, nil)), 0
	recorder.now = func() time.Time { // so slow that each chunk is a part
		looks++
		return recorder.started.Add(time.Duration(looks) * time.Minute)
	}
	by, err := recorder.Finish(toyPlans(t)["latin"]().Run(context.Background(), recorder.Batch))
	if by != ByCannotWrite || !errors.As(err, new(*WriteError)) || !strings.Contains(err.Error(), "disk is full") {
		t.Fatal(by, err)
	}
	if err := run.End(context.Background(), by, nil); err != nil {
		t.Fatal(err)
	}
	run.Close()
	f, err := Open(dir)
	if err != nil || f.Manifest().State != Stopped || f.Manifest().EndedBy != ByCannotWrite {
		t.Fatal(err, f.Manifest())
	}
	if by, err := sitting(t, quick, dir, toyPlans(t)["latin"](), toyStudy(2, nil), context.Background()); by != ByPlan || err != nil {
		t.Fatal(by, err)
	}
}
