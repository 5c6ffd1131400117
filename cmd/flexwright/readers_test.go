//go:build outside

package main

import (
	"encoding/json"
	"maps"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/objective"
	"flexwright/results"
)

// readersFolder is where .ci/install puts the readers of others.
func readersFolder(t *testing.T) string {
	t.Helper()
	path, err := filepath.Abs("../../.ci/readers")
	if err != nil {
		t.Fatal(err)
	}
	return path
}

// fileSummary is what each reader says of a file.
type fileSummary struct {
	Rows    int64 `json:"rows"`
	Columns []struct {
		Name  string  `json:"name"`
		Count int     `json:"count"`
		Sum   float64 `json:"sum"`
	} `json:"columns"`
	Metadata map[string]string `json:"metadata"`
}

// Arrow, DuckDB and a JavaScript reader must find in our files what we find: the
// same rows, columns in the same order, nulls, sums and metadata.
func TestOutsideReaders(t *testing.T) {
	dir := t.TempDir()
	brief := filepath.Join(dir, "mixed.yaml")
	// Some cannot be built, some fail a limit early, some buckle or leave the range
	text := `layout: four-arm
material: {one_of: [aluminium 7075-T6, titanium Ti-6Al-4V]}
vary:
  travel:          {from: 0.5 mm, to: 12 mm}
  blade_length:    {from: 15 mm, to: 80 mm}
  blade_thickness: {from: 0.2 mm, to: 1.2 mm}
  blade_width:     {from: 5 mm, to: 60 mm}
goals: {travel: most, first_frequency: most}
limits: {footprint: {at_most: 400 mm}}
search: {method: sobol, designs: 500}
`
	if err := os.WriteFile(brief, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	run := filepath.Join(dir, "mixed.run")
	if code, _, messages := command(t, "run", brief, "--out", run); code != exitDone {
		t.Fatal(code, messages)
	}
	folder, err := results.Open(run)
	if err != nil {
		t.Fatal(err)
	}
	type tally struct {
		count int
		sum   float64
	}
	columns := folder.Columns()
	want := make([]tally, len(columns))
	statuses := map[string]int{}
	for row, err := range folder.Rows() {
		if err != nil {
			t.Fatal(err)
		}
		statuses[row.Status.String()]++
		for i, c := range columns {
			cell := c.Get(&row)
			if cell.Null {
				continue
			}
			want[i].count++
			switch c.Kind {
			case objective.Int:
				want[i].sum += float64(cell.Int)
			case objective.Float:
				want[i].sum += cell.Float
			case objective.Text:
				want[i].sum += float64(len(cell.Text))
			case objective.Bool:
				want[i].sum += float64(boolToInt(cell.Bool))
			}
		}
	}
	if len(statuses) < 3 {
		t.Fatalf("%v: too few kinds of rows for this test", statuses)
	}

	path := filepath.Join(run, "candidates.parquet")
	readers := map[string][]string{
		"Arrow":     {"go", "run", ".", path},
		"DuckDB":    {"node", "read.mjs", "duckdb", path},
		"hyparquet": {"node", "read.mjs", "hyparquet", path},
	}
	var metadata map[string]string
	for name, line := range readers {
		c := exec.Command(line[0], line[1:]...)
		c.Dir, c.Stderr = readersFolder(t), os.Stderr
		out, err := c.Output()
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var have fileSummary
		if err := json.Unmarshal(out, &have); err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if have.Rows != 500 || len(have.Columns) != len(columns) {
			t.Errorf("%s: %d rows of %d columns, not 500 of %d", name, have.Rows, len(have.Columns), len(columns))
			continue
		}
		for i, c := range have.Columns {
			// Sums are made in another order: 500 roundings of half a unit in the last place
			if tolerance := 500 * 1.2e-16 * math.Abs(want[i].sum); c.Name != columns[i].Name || c.Count != want[i].count || math.Abs(c.Sum-want[i].sum) > tolerance {
				t.Errorf("%s: column %s has %d values with the sum %v, not %s with %d and %v", name, c.Name, c.Count, c.Sum, columns[i].Name, want[i].count, want[i].sum)
			}
		}
		for _, c := range columns {
			if have.Metadata["unit:"+c.Name] != c.Unit || have.Metadata["meaning:"+c.Name] != c.Meaning {
				t.Errorf("%s: unit and meaning of %s are %q, %q, not %q, %q", name, c.Name, have.Metadata["unit:"+c.Name], have.Metadata["meaning:"+c.Name], c.Unit, c.Meaning)
			}
		}
		if metadata == nil {
			metadata = have.Metadata
		} else if !maps.Equal(metadata, have.Metadata) {
			t.Errorf("%s: metadata %v, not %v", name, have.Metadata, metadata)
		}
	}
}

// The notebook and its queries on fresh runs of the README's example: executed
// as they stand, and the front with a tighter limit is the one that front finds.
func TestNotebook(t *testing.T) {
	dir := t.TempDir()
	example, err := filepath.Abs("../../configs/examples/fast_scanner.yaml")
	if err != nil {
		t.Fatal(err)
	}
	run := filepath.Join(dir, "fast_scanner.run")
	for _, args := range [][]string{{"--out", run}, {"--out", filepath.Join(dir, "other.run"), "--seed", "8"}} {
		if code, _, messages := command(t, append([]string{"run", example, "--max-designs", "900"}, args...)...); code != exitDone {
			t.Fatal(code, messages)
		}
	}
	_, listed, _ := command(t, "front", run, "--limit", "peak_stress at_most 120 MPa", "--json")
	var tight []map[string]any
	if err := json.Unmarshal([]byte(listed), &tight); err != nil || len(tight) == 0 {
		t.Fatal(err, len(tight))
	}

	t.Run("queries", func(t *testing.T) {
		sql, err := filepath.Abs("../../results/notebook/run.sql")
		if err != nil {
			t.Fatal(err)
		}
		c := exec.Command("node", filepath.Join(readersFolder(t), "queries.mjs"), sql)
		c.Dir, c.Stderr = dir, os.Stderr
		out, err := c.Output()
		if err != nil {
			t.Fatal(err)
		}
		lines := strings.Split(strings.TrimSpace(string(out)), "\n")
		if len(lines) != 7 {
			t.Fatalf("%d answers, not 7", len(lines))
		}
		for i, want := range map[int]int{1: 5, 4: len(tight), 5: 2, 6: 1} {
			var rows []map[string]any
			if err := json.Unmarshal([]byte(lines[i]), &rows); err != nil || len(rows) != want {
				t.Errorf("answer %d has %d rows, not %d (%v): %.200s", i, len(rows), want, err, lines[i])
			}
		}
	})

	t.Run("notebook", func(t *testing.T) {
		notebook, err := os.ReadFile("../../results/notebook/run.ipynb")
		if err != nil {
			t.Fatal(err)
		}
		notes := filepath.Join(dir, "notes") // the folders are found above it
		if err := os.Mkdir(notes, 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(notes, "run.ipynb"), notebook, 0o666); err != nil {
			t.Fatal(err)
		}
		// The kernel takes the stand-in for pandas' Parquet engine when it starts
		startup := filepath.Join(dir, "ipython", "profile_default", "startup")
		if err := os.MkdirAll(startup, 0o777); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(startup, "parquet.py"), []byte("import pandas_parquet\npandas_parquet.install()\n"), 0o666); err != nil {
			t.Fatal(err)
		}
		libraries, _ := filepath.Glob(filepath.Join(readersFolder(t), "node_modules", "@duckdb", "*", "libduckdb.so"))
		if len(libraries) != 1 {
			t.Fatal("DuckDB's library is not installed: .ci/install", libraries)
		}
		c := exec.Command("jupyter-nbconvert", "--to", "notebook", "--execute", "--output", "executed.ipynb", "run.ipynb")
		c.Dir = notes
		c.Env = append(os.Environ(), "PATH=/usr/bin:"+os.Getenv("PATH"), "IPYTHONDIR="+filepath.Join(dir, "ipython"),
			"PYTHONPATH="+readersFolder(t), "PYTHONDONTWRITEBYTECODE=1", "LIBDUCKDB="+libraries[0])
		if out, err := c.CombinedOutput(); err != nil {
			t.Fatalf("%v\n%s", err, out)
		}
		executed, err := os.ReadFile(filepath.Join(notes, "executed.ipynb"))
		if err != nil {
			t.Fatal(err)
		}
		var doc struct {
			Cells []struct {
				Outputs []struct {
					Text []string
					Data map[string]any
				}
			}
		}
		if err := json.Unmarshal(executed, &doc); err != nil {
			t.Fatal(err)
		}
		pictures, printed := 0, ""
		for _, cell := range doc.Cells {
			for _, o := range cell.Outputs {
				printed += strings.Join(o.Text, "")
				if o.Data["image/png"] != nil {
					pictures++
				}
			}
		}
		if want := "with peak_stress at most 120 MPa: " + jsonNumber(int64(len(tight))) + "\n"; pictures != 3 || !strings.Contains(printed, want) || !strings.Contains(printed, "flexwright show ../fast_scanner.run --design ") {
			t.Errorf("%d pictures, not 3; printed, without %q:\n%s", pictures, want, printed)
		}
	})
}
