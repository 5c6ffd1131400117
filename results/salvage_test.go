package results

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"flexwright/objective"
)

func withoutColumn(name string) []objective.Column {
	return slices.DeleteFunc(slices.Clone(toyColumns), func(c objective.Column) bool { return c.Name == name })
}

// What is whole is saved, whichever file is damaged, and the run goes on from
// there to the same rows as if nothing had happened.
func TestSalvage(t *testing.T) {
	want, _ := undisturbed(t, toyPlans(t)["latin"]())
	for _, test := range []struct {
		file          string
		at            int // byte, or from the end if negative; 0: the file goes
		kept, rescued int64
	}{
		{manifestName, 60, 150, 0},
		{manifestName, 0, 150, 0},
		{briefName, 3, 150, 0},
		{logName, 100, 150, 0},
		{frontName, 100, 150, 0},
		{candidatesName, 200, 0, 50}, // its only row group; the parts are behind the gap
		{candidatesName, -3000, 0, 50},
		{"parts/101.parquet", 200, 100, 20},
		{"parts/131.parquet", 200, 130, 0},
		{"parts/131.parquet", -100, 130, 0},
		{"parts/101.parquet", 0, 100, 20},
	} {
		dir, out := filepath.Join(t.TempDir(), "a.run"), filepath.Join(t.TempDir(), "b.run")
		smallRun(t, dir)
		path := filepath.Join(dir, test.file)
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if test.at == 0 {
			err = os.Remove(path)
		} else {
			data[(test.at+len(data))%len(data)] ^= 4
			err = os.WriteFile(path, data, 0o666)
		}
		if err != nil {
			t.Fatal(err)
		}
		before := snapshot(t, dir)
		s, err := Salvage(dir, out)
		if err != nil {
			t.Fatalf("%s: %v", test.file, err)
		}
		if !slices.Equal(before, snapshot(t, dir)) {
			t.Errorf("%s: the damaged folder was written to", test.file)
		}
		if s.Kept != test.kept || s.Rescued != test.rescued {
			t.Errorf("%s: kept %d, rescued %d, want %d and %d; %q", test.file, s.Kept, s.Rescued, test.kept, test.rescued, s.Notes)
		}
		wholeFolder(t, out, int(test.kept))
		equalRows(t, test.file, allRows(t, out), want[:test.kept])
		if test.rescued > 0 {
			f, err := Open(out)
			if err != nil {
				t.Fatal(err)
			}
			table, err := readTable(quick, filepath.Join(out, rescuedName), f.manifest.Run())
			if err != nil {
				t.Fatal(err)
			}
			for i, cells := range table.Rows {
				if id := cells[0].Int; id != 150-test.rescued+int64(i)+1 {
					t.Errorf("%s: rescued row %d is design %d", test.file, i, id)
				}
			}
		}
		if by, err := sitting(t, quick, out, toyPlans(t)["latin"](), toyStudy(1, nil), context.Background()); by != ByPlan || err != nil {
			t.Fatalf("%s: going on: %v %v", test.file, by, err)
		}
		equalRows(t, test.file+", gone on", allRows(t, out), want)
	}
}

// Between candidates.parquet and the parts that went into it, one is enough.
func TestSalvageFromBoth(t *testing.T) {
	dir, out := filepath.Join(t.TempDir(), "a.run"), filepath.Join(t.TempDir(), "b.run")
	smallRun(t, dir)
	keep := map[string][]byte{}
	for _, name := range []string{"parts/101.parquet", "parts/131.parquet"} {
		data, err := os.ReadFile(filepath.Join(dir, name))
		if err != nil {
			t.Fatal(err)
		}
		keep[name] = data
	}
	study := toyStudy(1, nil)
	study.MaxDesigns = 160
	if _, err := sitting(t, quick, dir, toyPlans(t)["latin"](), study, context.Background()); err != nil {
		t.Fatal(err)
	}
	want := allRows(t, dir)
	if err := os.Mkdir(filepath.Join(dir, partsName), 0o777); err != nil {
		t.Fatal(err)
	}
	for name, data := range keep {
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	wholeFolder(t, dir, 160) // in both, counted once
	equalRows(t, "in both", allRows(t, dir), want)
	// candidates.parquet lost: the parts still have what they had.
	path := filepath.Join(dir, candidatesName)
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	broken := bytes.Clone(data)
	broken[300] ^= 1
	if err := os.WriteFile(path, broken, 0o666); err != nil {
		t.Fatal(err)
	}
	if s, err := Salvage(dir, out); err != nil || s.Kept != 0 || s.Rescued != 50 {
		t.Fatal(s, err)
	}
	// A part that is not what candidates.parquet has, or not what its name says, is found.
	if err := os.WriteFile(path, data, 0o666); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "parts/131.parquet"), keep["parts/101.parquet"], 0o666); err != nil {
		t.Fatal(err)
	}
	if v, err := Verify(dir); err != nil || len(v.Problems) != 1 {
		t.Fatal(v.Problems, err)
	}
}
