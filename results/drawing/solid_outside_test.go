//go:build outside

package drawing

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/models"
)

// randomPlates draws n random designs with holes in stage and frame.
func randomPlates(t *testing.T, n int) []*Plate {
	var plates []*Plate
	rng := rand.New(rand.NewPCG(19, 1))
	for len(plates) < n {
		o := Default()
		o.MountingHoles, o.PayloadHoles, o.PayloadPitch = []int{0, 4, 8}[rng.IntN(3)], rng.IntN(4), 5e-3+10e-3*rng.Float64()
		p, err := New(models.FourArm(), design(randomValues(rng)), o)
		if err != nil && strings.HasPrefix(err.Error(), "cannot build") {
			continue
		}
		if err != nil {
			t.Fatal(err)
		}
		plates = append(plates, p)
	}
	return plates
}

// TestSolid has the geometry kernel OpenCASCADE read the solids of 50 random
// designs (Debian's python3-gmsh): one solid each, as many planes and cylinders as
// were drawn, a closed shell, and a volume of area times thickness.
func TestSolid(t *testing.T) {
	plates := randomPlates(t, 50)
	dir := t.TempDir()
	args := []string{"testdata/read_step.py"}
	for i, p := range plates {
		var b bytes.Buffer
		if err := p.WriteSTEP(&b, "plate"); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, fmt.Sprint(i, ".step"))
		if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	command := exec.Command("/usr/bin/python3", args...)
	command.Stderr = os.Stderr
	text, err := command.Output()
	if err != nil {
		t.Fatalf("python3-gmsh: %v", err)
	}
	lines := json.NewDecoder(bytes.NewReader(text))
	for i, p := range plates {
		var found struct {
			Solids, Faces, Open int
			Volume              float64
			Bounds              [6]float64
			Kinds               map[string]int
		}
		if err := lines.Decode(&found); err != nil {
			t.Fatal(err)
		}
		holes := append(append([]Circle(nil), p.MountingHoles...), p.PayloadHoles...)
		area, cylinders := p.Area(), len(holes)
		for _, h := range holes {
			area -= math.Pi * h.Radius * h.Radius
		}
		for _, c := range p.Contours {
			for _, v := range c {
				if v.Bulge != 0 {
					cylinders++
				}
			}
		}
		if found.Solids != 1 || found.Open != 0 || found.Faces != p.Faces() || found.Kinds["Cylinder"] != cylinders || found.Kinds["Plane"] != p.Faces()-cylinders {
			t.Errorf("design %d: %+v, want %d faces of which %d cylinders", i, found, p.Faces(), cylinders)
		}
		if want := area * p.Stage.Width[0] * 1e9; math.Abs(found.Volume/want-1) > 1e-6 {
			t.Errorf("design %d: volume %.9g mm³, area times thickness %.9g", i, found.Volume, want)
		}
		// The kernel's boxes are larger than the shape by its tolerance.
		half, depth := p.Stage.Frame/2*1e3, p.Stage.Width[0]/2*1e3
		for k, want := range [6]float64{-half, -half, -depth, half, half, depth} {
			if math.Abs(found.Bounds[k]-want) > 1e-3 {
				t.Errorf("design %d: box %v, plate of %g x %g x %g mm", i, found.Bounds, 2*half, 2*half, 2*depth)
				break
			}
		}
	}
}
