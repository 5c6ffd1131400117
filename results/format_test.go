package results

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"flexwright/objective"
)

// Folders of every format so far are read, and say what another reader reads in
// them (see the README beside them).
func TestOldFolders(t *testing.T) {
	root := filepath.Join("..", "testdata", "runs")
	for _, name := range []string{"format1-ended", "format1-stopped"} {
		dir := filepath.Join(root, name)
		file, err := os.Open(dir + ".csv")
		if err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(file).ReadAll()
		file.Close()
		if err != nil {
			t.Fatal(err)
		}
		wholeFolder(t, dir, len(records)-1)
		f, err := Open(dir)
		if err != nil {
			t.Fatal(err)
		}
		columns := f.Columns()
		for i, c := range columns {
			if records[0][i] != c.Name {
				t.Fatalf("%s: column %d is %s, want %s", name, i, c.Name, records[0][i])
			}
		}
		n := 0
		for row, err := range f.Rows() {
			if err != nil {
				t.Fatal(err)
			}
			n++
			for i, c := range columns {
				cell, text := c.Get(&row), records[n][i]
				same := cell.Null && text == ""
				switch {
				case cell.Null || text == "":
				case c.Kind == objective.Int:
					same = strconv.FormatInt(cell.Int, 10) == text
				case c.Kind == objective.Float:
					v, err := strconv.ParseFloat(text, 64)
					same = err == nil && math.Float64bits(v) == math.Float64bits(cell.Float)
				case c.Kind == objective.Bool:
					same = strconv.FormatBool(cell.Bool) == text
				case c.Kind == objective.Text:
					same = cell.Text == text
				}
				if !same {
					t.Fatalf("%s: row %d, %s: %+v, want %q", name, n, c.Name, cell, text)
				}
			}
		}
	}
}

// A folder of a later format is refused, not misread.
func TestLaterFormatIsRefused(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, manifestName), []byte(`{"format": 3, "else": []}`), 0o666); err != nil {
		t.Fatal(err)
	}
	_, err := Open(dir)
	if d, ok := err.(*DamageError); !ok || d.Cause.Error() != "format 3, and this version reads formats 1 to 2" {
		t.Error(err)
	}
}
