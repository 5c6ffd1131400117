package configs

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"flexwright/models"
	"flexwright/models/layoutfile"
)

func readLayout(t testing.TB, path string) *layoutfile.Layout {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	l, problems := LoadLayout(path, data)
	if problems != nil {
		t.Fatalf("refused:\n%v", problems)
	}
	return l
}

// sized are ranges, in the parameter's unit, in which most four-arm stages are built.
var sized = map[string][2]float64{
	"travel": {0.5, 8}, "blade_length": {20, 90}, "blade_thickness": {0.2, 1.2}, "blade_width": {5, 40},
	"inner_half_spacing": {4, 20}, "ground_blade_length": {20, 90}, "ground_blade_thickness": {0.2, 1.2},
	"ground_inner_half_spacing": {4, 20}, "fillet_radius": {0.2, 1.5}, "free_gap": {0.3, 1.5},
	"prong_width": {3, 15}, "foot_length": {2, 12}, "guide_body_depth": {6, 20}, "arm_back_width": {4, 20},
	"frame_width": {5, 30}, "stage_half_size": {20, 90},
}

// drawn returns a random design of a layout: required parameters from sized or their
// range, every other one left to its rule half of the time.
func drawn(l models.Layout, rng *rand.Rand) *models.Design {
	d := &models.Design{Material: &models.Materials()[0]}
	for _, p := range l.Parameters() {
		low, high := max(p.Min, -20), min(p.Max, 20)
		if r, ok := sized[p.Name]; ok {
			low, high = r[0], r[1]
		}
		v := p.Unit.ToSI(low + (high-low)*rng.Float64())
		if !p.Required && rng.IntN(2) == 0 {
			v = math.NaN()
		}
		d.Parameters = append(d.Parameters, v)
	}
	if rng.IntN(3) == 0 {
		d.UpTo = d.Parameters[0] * 1.5
	}
	return d
}

// The file four-arm against the layout in Go: every parameter, position, mass,
// inertia, outline, stop and nominal motion of 1,000 random designs, and the same
// reason for those that cannot be built; without pockets, which a file does not cut.
func TestFourArmFile(t *testing.T) {
	file, code := readLayout(t, "layouts/four-arm.layout.yaml"), models.FourArm()
	if a, b := fmt.Sprintf("%+v", file.Topology()), fmt.Sprintf("%+v", code.Topology()); a != b {
		t.Fatalf("topology\n%s\n%s", a, b)
	}
	if file.Name() != code.Name() || file.Meaning() != code.Meaning() {
		t.Errorf("%s: %s", file.Name(), file.Meaning())
	}
	both := index(code, file)
	for i, p := range code.Parameters() {
		if both[i] < 0 {
			continue
		}
		q := file.Parameters()[both[i]]
		if p.DefaultText != "" { // a rule is said in words, or as its formula
			p.DefaultText, q.DefaultText = "", ""
		}
		if fmt.Sprint(p) != fmt.Sprint(q) {
			t.Errorf("parameter\n%v\n%v", q, p)
		}
	}
	rng := rand.New(rand.NewPCG(4, 4))
	built := 0
	for n := 0; built < 1000; n++ {
		d := drawn(code, rng)
		if rng.IntN(4) == 0 {
			d.Holes = models.HolePattern{Columns: 2, Rows: 3, Pitch: 10e-3, Diameter: 4e-3}
		}
		e := &models.Design{Parameters: make([]float64, len(file.Parameters())), UpTo: d.UpTo, Material: d.Material, Holes: d.Holes}
		for i, k := range both {
			if k >= 0 {
				e.Parameters[k] = d.Parameters[i]
			} else {
				d.Parameters[i] = math.NaN()
			}
		}
		s, u := models.NewStage(code.Topology()), models.NewStage(file.Topology())
		v, w := code.Build(d, s), file.Build(e, u)
		if v.Status != w.Status || v.Reason() != w.Reason() {
			t.Fatalf("design %d: %v %q, from the file %v %q", n, v.Status, v.Reason(), w.Status, w.Reason())
		}
		if !v.OK() {
			continue
		}
		built++
		// 1e-12: rounding of sums in another order, of lengths below a metre and masses below 100 kg
		near := func(what string, a, b []float64, scale float64) {
			t.Helper()
			if len(a) != len(b) {
				t.Fatalf("design %d: %s: %d and %d", n, what, len(a), len(b))
			}
			for i := range a {
				if !(math.Abs(a[i]-b[i]) <= 1e-12*scale) {
					t.Fatalf("design %d: %s %d: %.17g, from the file %.17g", n, what, i, a[i], b[i])
				}
			}
		}
		for i, k := range both {
			if k >= 0 {
				near("parameter", d.Parameters[i:i+1], e.Parameters[k:k+1], 1)
			}
		}
		near("x", s.X, u.X, 1)
		near("y", s.Y, u.Y, 1)
		near("z", s.Z, u.Z, 1)
		for i := range s.Mass {
			near("mass", s.Mass[i:i+1], u.Mass[i:i+1], s.Mass[i])
			near("Ix", s.Ix[i:i+1], u.Ix[i:i+1], s.Iz[i])
			near("Iy", s.Iy[i:i+1], u.Iy[i:i+1], s.Iz[i])
			near("Ixy", s.Ixy[i:i+1], u.Ixy[i:i+1], s.Iz[i])
			near("Iz", s.Iz[i:i+1], u.Iz[i:i+1], s.Iz[i])
		}
		near("root x", s.RootX, u.RootX, 1)
		near("root y", s.RootY, u.RootY, 1)
		near("tip x", s.TipX, u.TipX, 1)
		near("tip y", s.TipY, u.TipY, 1)
		near("thickness", s.Thickness, u.Thickness, 1)
		near("width", s.Width, u.Width, 1)
		near("fillet", s.Fillet, u.Fillet, 1)
		near("actuator x", s.ActX, u.ActX, 1)
		near("actuator y", s.ActY, u.ActY, 1)
		near("whole", []float64{s.Travel, s.UpTo, s.Frame, s.Payload}, []float64{u.Travel, u.UpTo, u.Frame, u.Payload}, 1)
		o, _ := code.Outline(d)
		q, _ := file.Outline(e)
		near("outline", corners(o), corners(q), 1)
		near("stops", corners(code.(models.Stopper).Stops(d, 0.2e-3)), corners(file.Stops(e, 0.2e-3)), 1)
	}
	a, b := make([]models.Motion, len(code.Topology().Bodies)), make([]models.Motion, len(code.Topology().Bodies))
	code.NominalMotion(nil, 3e-3, -2e-3, a)
	file.NominalMotion(nil, 3e-3, -2e-3, b)
	for i := range a {
		if math.Hypot(a[i].X-b[i].X, a[i].Y-b[i].Y) > 1e-12 {
			t.Errorf("%s moves by %v, from the file %v", code.Topology().Bodies[i].Name, a[i], b[i])
		}
	}
}

// index of each parameter of code in file; -1 for those of pockets, which only the
// layout in Go cuts.
func index(code, file models.Layout) []int {
	var list []int
	for _, p := range code.Parameters() {
		list = append(list, slices.IndexFunc(file.Parameters(), func(q models.Parameter) bool { return q.Name == p.Name }))
	}
	return list
}

// corners tells outlines apart by the moments of each body, however its rectangles are
// cut and ordered.
func corners(outlines []models.Outline) []float64 {
	sums := map[int][]float64{}
	most := 0
	for _, o := range outlines {
		if sums[o.Body] == nil {
			sums[o.Body] = make([]float64, 8)
		}
		most = max(most, o.Body)
		for _, r := range o.Rectangles {
			// area, first and second moments tell one union from another
			a := r.Area()
			x, y := (r.X0+r.X1)/2, (r.Y0+r.Y1)/2
			w, h := (r.X1-r.X0)*(r.X1-r.X0)/12, (r.Y1-r.Y0)*(r.Y1-r.Y0)/12
			for i, v := range []float64{a, a * x, a * y, a * (x*x + w), a * (y*y + h), a * x * y, a * x * (x*x + 3*w), a * y * (y*y + 3*h)} {
				sums[o.Body][i] += v
			}
		}
	}
	var out []float64
	for i := range most + 1 {
		out = append(out, sums[i]...)
	}
	return out
}

func BenchmarkFourArmFile(b *testing.B) {
	l := readLayout(b, "layouts/four-arm.layout.yaml")
	d := drawn(l, rand.New(rand.NewPCG(1, 1)))
	for i, p := range l.Parameters() {
		d.Parameters[i] = math.NaN()
		if v, ok := map[string]float64{"travel": 5e-3, "blade_length": 48e-3, "blade_thickness": 0.5e-3, "blade_width": 25e-3}[p.Name]; ok {
			d.Parameters[i] = v
		}
	}
	given := append([]float64{}, d.Parameters...)
	s := models.NewStage(l.Topology())
	b.ReportAllocs()
	for b.Loop() {
		copy(d.Parameters, given)
		if v := l.Build(d, s); !v.OK() {
			b.Fatal(v.Reason())
		}
	}
}

func TestBadLayouts(t *testing.T) {
	for _, path := range files(t, "../testdata/layouts/*.bad.yaml", 40) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			_, problems := LoadLayout(filepath.Base(path), data)
			golden(t, path, problems)
		})
	}
}

// Any file is refused with positions inside it, or makes a layout that builds and
// draws, or says why not.
func FuzzLayout(f *testing.F) {
	for _, path := range append(globbed(f, "../testdata/layouts/*.yaml"), globbed(f, "layouts/*.yaml")...) {
		data, err := os.ReadFile(path)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	f.Fuzz(func(t *testing.T, data []byte) {
		l, problems := LoadLayout("fuzz", data)
		if problems != nil {
			complete(t, problems)
			return
		}
		for range 3 {
			d, s := drawn(l, rng), models.NewStage(l.Topology())
			if v := l.Build(d, s); !v.OK() {
				if v.Reason() == "" {
					t.Error("refused without a reason")
				}
				continue
			}
			if _, v := l.Outline(d); !v.OK() {
				t.Error("built, but not drawn: " + v.Reason())
			}
			l.Stops(d, 0.1e-3)
			if bending, ok := models.Bending(l); ok {
				s := models.NewStage(bending.Topology())
				if v := bending.Build(d, s); !v.OK() && v.Reason() == "" {
					t.Error("refused with bodies that bend, without a reason")
				}
			}
		}
	})
}
