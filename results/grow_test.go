package results

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"flexwright/objective"
)

// growing is toyDescription with a plan of a length, asked for by a brief of its own.
func growing(length int64) Description {
	d := toyDescription()
	d.Length, d.Brief = length, []byte(fmt.Sprintf("title: toy\ndesigns: %d\n", length))
	return d
}

// grown stores rows of a plan of some length and ends it.
func grown(on disk, dir string, length int64, rows []objective.Row) error {
	run, err := start(on, dir, growing(length), 0)
	if err != nil {
		return err
	}
	defer run.Close()
	if have := run.rows; have < int64(len(rows)) {
		if err := run.Append(rows[have:]); err != nil {
			return err
		}
	}
	return run.End(context.Background(), ByPlan, nil)
}

// Whatever step fails while a run is extended: the folder is whole, holds one of the two briefs, and
// goes on to the same end.
func TestEveryStepOfGrowingFails(t *testing.T) {
	rows, _ := undisturbed(t, toyPlans(t)["latin"]())
	for m := range numModes {
		steps := 0
		for at := 1 + int(m); ; at += 4 {
			dir := filepath.Join(t.TempDir(), "a.run")
			if err := grown(quick, dir, 10, rows[:10]); err != nil {
				t.Fatal(err)
			}
			d := &faultyDisk{disk: quick, at: at, mode: m, unsynced: map[string]int64{}}
			err := grown(d, dir, 20, rows[:20])
			if d.hit == "" {
				break
			}
			steps++
			what := fmt.Sprintf("step %d (%s) %s, %v", at, d.hit, m, err)
			if m == powerCut {
				d.cut()
			}
			f, err := Open(dir)
			if err != nil {
				t.Fatalf("%s: %v", what, err)
			}
			if text, _, err := f.Brief(0); err != nil || string(text) != string(growing(10).Brief) && string(text) != string(growing(20).Brief) {
				t.Fatalf("%s: brief %q, %v", what, text, err)
			}
			if v, err := Verify(dir); err != nil || len(v.Problems) > 0 {
				t.Fatalf("%s: %v %v", what, err, v.Problems)
			}
			if err := grown(quick, dir, 20, rows[:20]); err != nil {
				t.Fatalf("%s: going on: %v", what, err)
			}
			equalRows(t, what, allRows(t, dir), rows[:20])
			f, err = Open(dir)
			if err != nil {
				t.Fatal(err)
			}
			if text, _, err := f.Brief(0); err != nil || string(text) != string(growing(20).Brief) || len(f.Manifest().Plans) != 2 {
				t.Fatalf("%s: at the end: brief %q, %v, %v", what, text, err, f.Manifest().Plans)
			}
			wholeFolder(t, dir, 20)
		}
		if steps < 5 {
			t.Errorf("%s: %d steps", m, steps)
		}
	}
}

func TestPlansThatDoNotGrow(t *testing.T) {
	rows, _ := undisturbed(t, toyPlans(t)["latin"]())
	dir := filepath.Join(t.TempDir(), "a.run")
	for _, n := range []int64{10, 30} {
		if err := grown(quick, dir, n, rows[:n]); err != nil {
			t.Fatal(err)
		}
	}
	for length, goes := range map[int64]bool{10: true, 30: true, 90: true, 20: false, 40: false, 5: false} {
		d := growing(length)
		d.Whole = true
		run, err := start(quick, dir, d, 0)
		if err == nil {
			if done := run.Done(); done != (length <= 30) {
				t.Errorf("length %d: done %v", length, done)
			}
			run.Close()
		}
		if (err == nil) != goes || err != nil && !errors.As(err, new(*MismatchError)) {
			t.Errorf("length %d: %v", length, err)
		}
	}
}

// A layout file comes with the run, and is handed out as it was given.
func TestLayoutsOfARun(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	d := toyDescription()
	d.Layouts = []LayoutFile{{"two-arm", []byte("name: two-arm\n")}}
	run, err := start(quick, dir, d, 0)
	if err != nil {
		t.Fatal(err)
	}
	run.Close()
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if text, err := f.Layout("two-arm"); err != nil || string(text) != "name: two-arm\n" {
		t.Errorf("%q %v", text, err)
	}
	if _, err := f.Layout("other"); err == nil {
		t.Error("a layout that is not there")
	}
	wholeFolder(t, dir, 0)
	path := filepath.Join(dir, layoutsName, "two-arm.layout.yaml")
	if err := os.WriteFile(path, []byte("name: tow-arm\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	if text, err := f.Layout("two-arm"); !errors.As(err, new(*DamageError)) || text != nil {
		t.Errorf("%q %v", text, err)
	}
	if v, err := Verify(dir); err != nil || len(v.Problems) != 1 {
		t.Errorf("%v %v", err, v)
	}
}

// What format 1 calls bandwidth is shown as crossover, and the run is not continued.
func TestFormat1(t *testing.T) {
	dir := t.TempDir()
	rows, _ := undisturbed(t, toyPlans(t)["grid"]())
	columns := append([]objective.Column{}, toyColumns...)
	at := columnNamed(columns, "first_frequency_hz")
	columns[at].Name = "bandwidth_hz"
	d := toyDescription()
	m := &Manifest{Format: 1, Identity: d.Identity, Brief: sha(d.Brief), Columns: infos(columns), State: Ended, EndedBy: ByPlan,
		Goals: []Goal{{"bandwidth_hz", "most"}}, Rows: int64(len(rows))}
	w, err := storeTable(quick, filepath.Join(dir, candidatesName), m, columns, 0, batchesOf(columns, rows))
	if err != nil {
		t.Fatal(err)
	}
	m.Feasible = w.feasible
	if err := errors.Join(writeBytes(quick, filepath.Join(dir, briefName), d.Brief), writeBytes(quick, filepath.Join(dir, manifestName), m.encode())); err != nil {
		t.Fatal(err)
	}
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	if f.Columns()[at].Name != "crossover_hz" || f.Manifest().Goals[0].Column != "crossover_hz" {
		t.Errorf("%s, %v", f.Columns()[at].Name, f.Manifest().Goals)
	}
	n := 0
	for row, err := range f.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		want, have := toyColumns[at].Get(&rows[n]), f.Columns()[at].Get(&row)
		if want.Null != have.Null || !want.Null && want.Float != have.Float {
			t.Fatalf("row %d: %v, want %v", n, have, want)
		}
		n++
	}
	_, err = start(quick, dir, d, 0)
	var mismatch *MismatchError
	if !errors.As(err, &mismatch) || mismatch.What != "format" {
		t.Error(err)
	}
}
