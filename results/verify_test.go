package results

import (
	"bytes"
	"context"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// smallRun makes a run that ended, was taken up and was stopped, so that every
// kind of file is in its folder.
func smallRun(t testing.TB, dir string) {
	t.Helper()
	plan := toyPlans(t)["latin"]
	study := toyStudy(1, nil)
	study.MaxDesigns = 100
	if _, err := sitting(t, quick, dir, plan(), study, context.Background()); err != nil {
		t.Fatal(err)
	}
	for _, rows := range []int64{130, 150} {
		run, err := start(quick, dir, toyDescription(), 0)
		if err != nil {
			t.Fatal(err)
		}
		study.MaxDesigns = rows
		recorder := run.Recorder(study)
		if _, err := recorder.Finish(plan().Run(context.Background(), recorder.Batch)); err != nil {
			t.Fatal(err)
		}
		if err := run.End(context.Background(), BySignal, nil); err != nil {
			t.Fatal(err)
		}
		run.Close()
	}
}

func files(t testing.TB, dir string) []string {
	t.Helper()
	var list []string
	err := filepath.WalkDir(dir, func(path string, e os.DirEntry, err error) error {
		if err == nil && !e.IsDir() {
			list = append(list, path)
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return list
}

func TestVerifyFindsNothingInAWholeRun(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	smallRun(t, dir)
	v, err := Verify(dir)
	if err != nil || len(v.Problems) > 0 {
		t.Fatal(err, v.Problems)
	}
	// brief, manifest, log, candidates, front and two parts
	if v.Rows != 150 || v.Files != 7 || v.Pages == 0 {
		t.Errorf("%d rows, %d files, %d pages", v.Rows, v.Files, v.Pages)
	}
	if _, err := sitting(t, quick, dir, toyPlans(t)["latin"](), toyStudy(2, nil), context.Background()); err != nil {
		t.Fatal(err)
	}
	if v, err = Verify(dir); err != nil || len(v.Problems) > 0 || v.Rows != 300 {
		t.Fatal(err, v.Problems, v.Rows)
	}
}

// harmless: nothing depends on what is in these files.
func harmless(path string) bool { return filepath.Base(path) == lockName }

// Every flipped byte in every file is found by Verify and named with its file,
// and the rows are the right ones or an error. Each byte gets one of its bits
// flipped, a different one from byte to byte; all 255 other values of it are the
// long form (FLIP_ALL=1), since a checksum does not care which.
func TestFlippedBytes(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	smallRun(t, dir)
	want := allRows(t, dir)
	stride := 149 // a prime: no structure of a file is always missed
	if os.Getenv("FLIP_ALL") != "" {
		stride = 1
	}
	for _, path := range files(t, dir) {
		whole, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		tried, places := 0, 0
		for at := 0; at < len(whole); at += stride {
			broken := bytes.Clone(whole)
			broken[at] ^= 1 << (at % 8)
			if err := os.WriteFile(path, broken, 0o666); err != nil {
				t.Fatal(err)
			}
			tried++
			places += damageIsFound(t, dir, path, at, want)
		}
		if err := os.WriteFile(path, whole, 0o666); err != nil {
			t.Fatal(err)
		}
		name, _ := filepath.Rel(dir, path)
		t.Logf("%-22s %6d bytes, %6d flips, page or row group named for %d", name, len(whole), tried, places)
	}
}

// damageIsFound reports 1 if the place in the file was named too.
func damageIsFound(t *testing.T, dir, path string, at int, want []objective.Row) int {
	t.Helper()
	readsRight(t, dir, path, at, want)
	v, err := Verify(dir)
	if err != nil {
		t.Fatalf("%s, byte %d: %v", path, at, err)
	}
	if harmless(path) {
		if len(v.Problems) > 0 {
			t.Fatalf("%s, byte %d: %v", path, at, v.Problems)
		}
		return 0
	}
	place := 0
	named := false
	for _, p := range v.Problems {
		named = named || p.Path == path
		if p.Path == path && p.RowGroup >= 0 {
			place = 1
		}
	}
	if !named {
		t.Fatalf("%s, byte %d: not found: %v", path, at, v.Problems)
	}
	return place
}

// readsRight reads the rows: each must be the right one, up to an error.
func readsRight(t *testing.T, dir, path string, at int, want []objective.Row) {
	t.Helper()
	f, err := Open(dir)
	if err != nil {
		return
	}
	i := 0
	for row, err := range f.Rows() {
		if err != nil {
			return
		}
		if i >= len(want) || !bytes.Equal(rowBytes(row), rowBytes(want[i])) {
			t.Fatalf("%s, byte %d: row %d is wrong", path, at, i)
		}
		i++
	}
	if i < len(want) {
		t.Fatalf("%s, byte %d: rows end at %d of %d without an error", path, at, i, len(want))
	}
}

func TestTruncatedFiles(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	smallRun(t, dir)
	want := allRows(t, dir)
	for _, path := range files(t, dir) {
		whole, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for k := range 12 {
			n := len(whole) * k / 12
			if k == 1 {
				n = len(whole) - 1
			}
			if err := os.WriteFile(path, whole[:n], 0o666); err != nil {
				t.Fatal(err)
			}
			damageIsFound(t, dir, path, n, want)
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
		if filepath.Base(path) != frontName { // which may be missing while a run goes on
			damageIsFoundWithout(t, dir, path)
		}
		if err := os.WriteFile(path, whole, 0o666); err != nil {
			t.Fatal(err)
		}
	}
}

func damageIsFoundWithout(t *testing.T, dir, path string) {
	t.Helper()
	v, err := Verify(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(v.Problems) == 0 && !harmless(path) {
		t.Errorf("%s is missing, and nothing is found", path)
	}
}

func TestVerifyNamesThePage(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "a.run")
	smallRun(t, dir)
	path := filepath.Join(dir, candidatesName)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[100] ^= 1 // behind the header of the first page, which ids are in
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	v, err := Verify(dir)
	if err != nil || len(v.Problems) != 1 || !strings.Contains(v.Problems[0].Error(), "candidates.parquet, row group 0, column id, page 0") {
		t.Errorf("%v %v", err, v.Problems)
	}
}

// A file whose checksums all fit may still hold what no run stores: each such value is found, and the design named.
func TestVerifyFindsWhatCannotBeThere(t *testing.T) {
	root := t.TempDir()
	whole := filepath.Join(root, "whole.run")
	if _, err := sitting(t, quick, whole, toyPlans(t)["latin"](), toyStudy(1, nil), context.Background()); err != nil {
		t.Fatal(err)
	}
	f, err := Open(whole)
	if err != nil {
		t.Fatal(err)
	}
	if n, err := soundRows(f); n != 300 || err != nil {
		t.Fatalf("%d rows looked at by columns, %v", n, err)
	}
	text := func(s string) parquet.Value { return parquet.ByteArrayValue([]byte(s)) }
	for i, spoil := range []struct {
		column string
		value  parquet.Value
	}{
		{"first_frequency_hz", parquet.DoubleValue(math.NaN())}, {"travel_mm", parquet.DoubleValue(math.NaN())},
		{"solve_us", parquet.DoubleValue(math.NaN())}, {"solve_us", parquet.DoubleValue(-1)}, {"status", text("odd")}, {"status", text("failed")},
		{"violation", parquet.DoubleValue(-1)}, {"violation", parquet.Value{}}, {"id", parquet.Int64Value(1)}, {"generation", parquet.Int64Value(-1)},
	} {
		dir := filepath.Join(root, strconv.Itoa(i)+".run")
		if err := os.CopyFS(dir, os.DirFS(whole)); err != nil {
			t.Fatal(err)
		}
		candidates, err := openTable(quick, filepath.Join(whole, candidatesName), true)
		if err != nil {
			t.Fatal(err)
		}
		rows, c, n := candidates.read(), columnNamed(f.columns, spoil.column), 0
		if _, err := storeTable(quick, filepath.Join(dir, candidatesName), f.manifest, f.columns, 0, source(func() (parquet.Row, error) {
			row, err := rows.next()
			if n++; n == 101 && err == nil { // solved and feasible
				if spoil.value.SetDefinitionLevel(row[c].DefinitionLevel()); spoil.value.IsNull() {
					spoil.value.SetDefinitionLevel(0)
				}
				row[c] = spoil.value
			}
			return row, err
		}).batches()); err != nil {
			t.Fatal(err)
		}
		candidates.Close()
		v, err := Verify(dir)
		if err != nil || len(v.Problems) == 0 || v.Problems[0].ID != 101 && spoil.column != "id" {
			t.Errorf("%s %v: %v %v", spoil.column, spoil.value, err, v.Problems)
		}
	}
}

// soundRows is how many rows of a folder are found sound by columns alone.
func soundRows(f *Folder) (int64, error) {
	v := &verifier{on: f.disk, dir: f.dir, folder: f, out: &Verification{}, sound: map[string]bool{}}
	if err := v.files(); err != nil {
		return 0, err
	}
	_, err := v.byColumns()
	return v.out.Rows, err
}
