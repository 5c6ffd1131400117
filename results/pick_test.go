package results

import (
	"context"
	"errors"
	"math"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"flexwright/objective"
)

// manyForms are folders in every form: with parts, ended, gone on behind an end, joined.
func manyForms(t *testing.T) map[string]string {
	t.Helper()
	forms := map[string]string{"parts": stoppedRun(t), "ended": endedRun(t)}
	on := filepath.Join(t.TempDir(), "on.run")
	rows, _ := undisturbed(t, toyPlans(t)["latin"]())
	for _, n := range []int{10, 22} {
		run, err := start(quick, on, toyDescription(), 0)
		if err != nil {
			t.Fatal(err)
		}
		by := ByMaxDesigns
		if n == 22 {
			by = BySignal
		}
		if err := errors.Join(run.Append(rows[run.rows:n]), run.End(context.Background(), by, nil)); err != nil {
			t.Fatal(err)
		}
		run.Close()
	}
	forms["gone on"] = on
	d := toyDescription()
	d.Seed = 8
	other := filepath.Join(t.TempDir(), "other.run")
	run, err := start(quick, other, d, 0)
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(run.Append(rows[:20]), run.End(context.Background(), ByPlan, nil)); err != nil {
		t.Fatal(err)
	}
	run.Close()
	joined := filepath.Join(t.TempDir(), "joined")
	if err := Join([]string{forms["ended"], other}, joined, JoinOptions{Version: "1.0"}); err != nil {
		t.Fatal(err)
	}
	forms["joined"] = joined
	return forms
}

// Single rows, some rows and some columns are those of the whole.
func TestPartsOfAFolder(t *testing.T) {
	for name, dir := range manyForms(t) {
		f, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		all := allRows(t, dir)
		for i := range all {
			row, ok, err := f.Row(all[i].Run, all[i].ID)
			if err != nil || !ok || string(rowBytes(row)) != string(rowBytes(all[i])) {
				t.Fatalf("%s: design %d:%d: %v %v", name, all[i].Run, all[i].ID, ok, err)
			}
		}
		for _, id := range [][2]int64{{0, 0}, {0, -1}, {0, 1 << 40}, {7, 1}} {
			if _, ok, err := f.Row(id[0], id[1]); ok || err != nil {
				t.Errorf("%s: design %v: %v %v", name, id, ok, err)
			}
		}
		for _, stride := range []int{1, 3, 7} {
			var numbers []int64
			var want []objective.Row
			for i := stride - 1; i < len(all); i += stride {
				numbers, want = append(numbers, int64(i)), append(want, all[i])
			}
			have, err := f.rowsAt(numbers)
			if err != nil {
				t.Fatal(name, err)
			}
			equalRows(t, name, have, want)
		}
		names := []string{"material", "peak_stress_mpa", "violation", "travel_mm"}
		n := 0
		for row, err := range f.Rows(names...) {
			if err != nil {
				t.Fatal(name, err)
			}
			for _, c := range f.Columns() {
				if want, have := c.Get(&all[n]), c.Get(&row); slices.Contains(append(names, "id", "run"), c.Name) && !equalCells(want, have) {
					t.Fatalf("%s: row %d: %s is %v, want %v", name, n, c.Name, have, want)
				}
			}
			n++
		}
		if n != len(all) {
			t.Errorf("%s: %d rows, want %d", name, n, len(all))
		}
		n = 0
		err = f.Scan(func(row *objective.Row) bool {
			for _, c := range f.Columns() {
				if want, have := c.Get(&all[n]), c.Get(row); slices.Contains(append(names, "id", "run"), c.Name) && !equalCells(want, have) {
					t.Fatalf("%s: row %d scanned: %s is %v, want %v", name, n, c.Name, have, want)
				}
			}
			n++
			return n < len(all)-1
		}, names...)
		if err != nil || n != len(all)-1 {
			t.Errorf("%s: %d rows scanned, %v", name, n, err)
		}
		front, err := f.Front(nil)
		if err != nil {
			t.Fatal(name, err)
		}
		own, err := f.ownFront()
		if err != nil {
			t.Fatal(name, err)
		}
		equalRows(t, name+", front", front, own)
		kept, err := f.Front(func(*objective.Row) bool { return true })
		if err != nil {
			t.Fatal(name, err)
		}
		equalRows(t, name+", front of all columns", kept, own)
	}
}

func equalCells(a, b objective.Cell) bool {
	return a.Null == b.Null && (a.Null || math.Float64bits(a.Float) == math.Float64bits(b.Float)) && a.Int == b.Int && a.Text == b.Text && a.Bool == b.Bool
}

// One row out of a damaged file is what was stored, or an error.
func TestOneRowOfADamagedFile(t *testing.T) {
	dir := endedRun(t)
	all := allRows(t, dir)
	f, err := Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, candidatesName)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	told := 0
	for at := 3; at < len(whole); at += 97 {
		changed := slices.Clone(whole)
		changed[at] ^= 0x10
		if err := os.WriteFile(path, changed, 0o666); err != nil {
			t.Fatal(err)
		}
		row, ok, err := f.Row(0, all[7].ID)
		switch {
		case err != nil && errors.As(err, new(*DamageError)):
			told++
		case err != nil || !ok || string(rowBytes(row)) != string(rowBytes(all[7])):
			t.Fatalf("byte %d: %v %v", at, ok, err)
		}
	}
	if told < len(whole)/97/2 {
		t.Errorf("%d times told of damage", told)
	}
}
