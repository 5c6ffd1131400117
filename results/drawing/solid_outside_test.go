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

// randomPlates draws n random designs with pockets, and with holes in stage and frame.
func randomPlates(t *testing.T, n int, seed uint64) []*Plate {
	t.Helper()
	var plates []*Plate
	rng := rand.New(rand.NewPCG(19, seed))
	for len(plates) < n {
		o := defaults()
		o.MountingHoles = []int{0, 4, 8}[rng.IntN(3)]
		o.Payload.Rows, o.Payload.Columns, o.Payload.Pitch = rng.IntN(4), rng.IntN(4), 8e-3+10e-3*rng.Float64()
		values := randomValues(rng)
		pocketValues(rng, values)
		values["pocket_wall"] += 2 // fewer pockets: reading a thousand faces takes a second
		p, err := New(models.FourArm(), design(values), o)
		if err != nil && (strings.HasPrefix(err.Error(), "cannot build") || strings.Contains(err.Error(), "stage too small") || strings.Contains(err.Error(), "a mounting hole leaves")) {
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
// were drawn, a closed shell, a volume of area times thickness, and the mass that
// was evaluated.
func TestSolid(t *testing.T) {
	for half := range uint64(2) {
		t.Run(fmt.Sprint(half), func(t *testing.T) {
			t.Parallel()
			checkSolids(t, randomPlates(t, 25, half))
		})
	}
}

func checkSolids(t *testing.T, plates []*Plate) {
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
		// Mounting holes are no business of the evaluation: the frame stands still.
		s, mass := p.Stage, 0.0
		for _, h := range p.MountingHoles {
			mass -= math.Pi * h.Radius * h.Radius * p.Depth * s.Density[0]
		}
		for k := range p.Bodies {
			mass += s.Mass[k]
		}
		for e := range p.Blades {
			mass += s.Density[e] * s.Width[e] * s.Thickness[e] * p.Blades[e].Bending
		}
		if solid := found.Volume * 1e-9 * s.Density[0]; math.Abs(solid/mass-1) > 1e-3 {
			t.Errorf("design %d: the solid weighs %.6g kg, evaluated %.6g", i, solid, mass)
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

// TestSheetMetal has ezdxf read the DXF files of 50 random designs (Debian's
// python3-ezdxf): nothing to complain of or to repair, no open line, every cut inside
// the outer contour and outside every other, and the plate's area.
func TestSheetMetal(t *testing.T) {
	plates := randomPlates(t, 50, 2)
	dir := t.TempDir()
	args := []string{"testdata/overlap_dxf.py"}
	for i, p := range plates {
		var b bytes.Buffer
		if err := p.WriteDXF(&b, Sheet{Title: "plate"}); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(dir, fmt.Sprint(i, ".dxf"))
		if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
		args = append(args, path)
	}
	command := exec.Command("/usr/bin/python3", args...)
	command.Stderr = os.Stderr
	text, err := command.Output()
	if err != nil {
		t.Fatalf("python3-ezdxf: %v", err)
	}
	lines := json.NewDecoder(bytes.NewReader(text))
	for i, p := range plates {
		var found struct {
			Complaints, Open, Overlaps, Cuts int
			Area                             float64
		}
		if err := lines.Decode(&found); err != nil {
			t.Fatal(err)
		}
		if found.Complaints+found.Open+found.Overlaps > 0 || found.Cuts != len(p.Contours)-1 {
			t.Errorf("design %d: %+v, the plate has %d cuts", i, found, len(p.Contours)-1)
		}
		// Twelve decimals of a millimetre are written.
		if want := p.Area() * 1e6; math.Abs(found.Area/want-1) > 1e-9 {
			t.Errorf("design %d: %.9g mm² of metal, the plate has %.9g", i, found.Area, want)
		}
	}
}
