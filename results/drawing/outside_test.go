//go:build outside

package drawing

import (
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// TestIndependentReader reads the DXF file with Debian's python3-ezdxf: its audit
// finds nothing to complain of or to repair, and it sees the contours, areas and
// extents of the plate.
func TestIndependentReader(t *testing.T) {
	p := draw(t, example(nil), fullOptions())
	path := filepath.Join(t.TempDir(), "plate.dxf")
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.WriteDXF(file, Sheet{Title: "Träger", Displaced: nominal(p, 5e-3, 5e-3)}); err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
	// Debian's own interpreter: the library is a Debian package.
	command := exec.Command("/usr/bin/python3", "testdata/read_dxf.py", path)
	command.Stderr = os.Stderr
	text, err := command.Output()
	if err != nil {
		t.Fatalf("python3-ezdxf: %v", err)
	}
	var found struct {
		Errors, Fixes []string
		Units, Open   int
		Contours      map[string][]struct {
			Area float64
			Arcs int
		}
		Circles map[string][]float64
		Extents [4]float64
	}
	if err := json.Unmarshal(text, &found); err != nil {
		t.Fatal(err)
	}
	if len(found.Errors) > 0 || len(found.Fixes) > 0 || found.Open > 0 || found.Units != 4 {
		t.Errorf("errors %v, fixes %v, %d open polylines, units %d", found.Errors, found.Fixes, found.Open, found.Units)
	}
	read := append(found.Contours[LayerOuter], found.Contours[LayerInner]...)
	if len(read) != len(p.Contours) {
		t.Fatalf("%d contours, the plate has %d", len(read), len(p.Contours))
	}
	total := 0.0
	for i, c := range read {
		// The reader flattens arcs to 1e-6 mm: far below 1e-6 of the smallest cut.
		if want := math.Abs(p.Contours[i].Area()) * 1e6; math.Abs(c.Area/want-1) > 1e-6 {
			t.Errorf("contour %d has %.6f mm², the plate's %.6f", i, c.Area, want)
		}
		if i == 0 {
			total = c.Area
		} else {
			total -= c.Area
		}
	}
	if want := p.Area() * 1e6; math.Abs(total/want-1) > 1e-6 {
		t.Errorf("%.6f mm² of metal, the plate has %.6f", total, want)
	}
	half := p.Stage.Frame / 2 * 1e3
	for i, want := range []float64{-half, -half, half, half} {
		if math.Abs(found.Extents[i]-want) > 1e-6 {
			t.Errorf("extents %v, footprint %g", found.Extents, 2*half)
		}
	}
	if n := len(found.Circles[LayerStart]); n != len(p.Contours)-1 {
		t.Errorf("%d start holes", n)
	}
}
