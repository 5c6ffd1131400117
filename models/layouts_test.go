package models

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"
)

// randomDesign draws the parameters of l: required lengths from ranges in which
// stages are built, every other parameter left to its rule half of the time.
func randomDesign(l Layout, rng *rand.Rand) *Design {
	ranges := map[string][2]float64{ // in the parameter's unit
		"travel": {0.5, 8}, "blade_length": {20, 90}, "blade_thickness": {0.2, 1.2}, "blade_width": {5, 40},
		"inner_half_spacing": {4, 20}, "ground_blade_length": {20, 90}, "ground_blade_thickness": {0.2, 1.2},
		"ground_inner_half_spacing": {4, 20}, "fillet_radius": {0.2, 1.5}, "free_gap": {0.3, 1.5},
		"prong_width": {3, 15}, "foot_length": {2, 12}, "guide_body_depth": {6, 20}, "arm_back_width": {4, 20},
		"frame_width": {5, 30}, "stage_half_size": {20, 90}, "pocketing": {0, 0.3}, "pocket_wall": {0.5, 3},
		"stage_added_mass": {0, 2}, "stage_added_mass_size": {0, 200}, "stage_added_mass_height": {-40, 40},
		"stage_added_mass_offset_x": {-10, 10}, "stage_added_mass_offset_y": {-10, 10},
		"arm_added_mass": {0, 1}, "arm_added_mass_height": {-20, 20},
		"idle_arm_added_mass": {0, 1}, "idle_arm_added_mass_height": {-20, 20},
		"guide_added_mass": {0, 0.1}, "guide_added_mass_height": {-20, 20},
		"actuator_radial_offset": {-5, 20}, "actuator_tangential_offset": {-5, 5},
	}
	d := &Design{Material: &Materials()[0]}
	for _, p := range l.Parameters() {
		r, ok := ranges[p.Name]
		if !ok {
			panic("no range for " + p.Name)
		}
		v := p.Unit.ToSI(r[0] + (r[1]-r[0])*rng.Float64())
		if !p.Required && rng.IntN(2) == 0 {
			v = math.NaN()
		}
		d.Parameters = append(d.Parameters, v)
	}
	return d
}

// anyDesign draws every parameter from its whole natural range, evenly in the
// logarithm for lengths.
func anyDesign(l Layout, rng *rand.Rand) *Design {
	d := &Design{Material: &Materials()[0]}
	for _, p := range l.Parameters() {
		u := rng.Float64()
		v := p.Min + (p.Max-p.Min)*u
		if p.Min > 0 {
			v = p.Min * math.Pow(p.Max/p.Min, u)
		}
		v = p.Unit.ToSI(v)
		if !p.Required && rng.IntN(2) == 0 {
			v = math.NaN()
		}
		d.Parameters = append(d.Parameters, v)
	}
	return d
}

// buildable returns n designs of l that can be built, each with its stage.
func buildable(t *testing.T, l Layout, n int, draw func(Layout, *rand.Rand) *Design) (designs []*Design, stages []*Stage) {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, 2))
	for range 100 * n {
		d, s := draw(l, rng), NewStage(l.Topology())
		if v := l.Build(d, s); v.Status == CannotBuild {
			if v.Reason() == "" {
				t.Fatal("refused without a reason")
			}
			continue
		} else if !v.OK() {
			t.Fatalf("build: %v %s", v.Status, v.Reason())
		}
		designs, stages = append(designs, d), append(stages, s)
		if len(designs) == n {
			return designs, stages
		}
	}
	t.Fatalf("only %d of the random designs could be built", len(designs))
	return nil, nil
}

// nine are the positions of the stage over the square of ±1.
var nine = func() (xy [][2]float64) {
	for _, x := range []float64{-1, 0, 1} {
		for _, y := range []float64{-1, 0, 1} {
			xy = append(xy, [2]float64{x, y})
		}
	}
	return
}()

// TestLayouts is the battery that every layout passes.
func TestLayouts(t *testing.T) {
	for _, l := range Layouts() {
		t.Run(l.Name(), func(t *testing.T) {
			checkParameters(t, l)
			checkTopology(t, l.Topology())
			designs, stages := buildable(t, l, 300, randomDesign)
			wild, wildStages := buildable(t, l, 100, anyDesign)
			designs, stages = append(designs, wild...), append(stages, wildStages...)
			for i, d := range designs {
				outlines, v := l.Outline(d)
				if !v.OK() {
					t.Fatalf("outline: %s", v.Reason())
				}
				if err := checkStage(l, d, stages[i], outlines); err != nil {
					t.Fatalf("design %d: %v", i, err)
				}
				if err := checkClearance(l, d, stages[i], outlines); err != nil {
					t.Fatalf("design %d: %v", i, err)
				}
			}
			checkRefill(t, l, designs[:20], stages)
		})
	}
}

func checkParameters(t *testing.T, l Layout) {
	seen := map[string]bool{}
	for _, p := range l.Parameters() {
		if seen[p.Name] || p.Name == "" || p.Meaning == "" || !(p.Min < p.Max) {
			t.Errorf("parameter %+v", p)
		}
		seen[p.Name] = true
		switch {
		case math.IsNaN(p.Default):
			if p.DefaultText == "" {
				t.Errorf("%s: no default, and no text that says why", p.Name)
			}
		case p.Default < p.Min || p.Default > p.Max || p.Required:
			t.Errorf("%s: default %g", p.Name, p.Default)
		}
	}
}

func checkTopology(t *testing.T, topo *Topology) {
	seen := map[string]bool{}
	for _, b := range topo.Bodies {
		if seen[b.Name] || b.Name == "" {
			t.Errorf("body name %q", b.Name)
		}
		seen[b.Name] = true
	}
	// Every moving body hangs on ground through blades.
	joined := make([]bool, len(topo.Bodies))
	for i, b := range topo.Bodies {
		joined[i] = b.Held == HeldAll
	}
	for range topo.Bodies {
		for _, e := range topo.Blades {
			if e.From == e.To {
				t.Errorf("blade from body %d to itself", e.From)
			}
			if joined[e.From] || joined[e.To] {
				joined[e.From], joined[e.To] = true, true
			}
		}
	}
	for i, ok := range joined {
		if !ok {
			t.Errorf("%s hangs on nothing", topo.Bodies[i].Name)
		}
	}
	if len(topo.Driven) != len(topo.Actuators) {
		t.Errorf("%d driven arms, %d actuators", len(topo.Driven), len(topo.Actuators))
	}
	for k, a := range topo.Actuators {
		if topo.Driven[k] != a.Body {
			t.Errorf("actuator %d pushes body %d, driven arm is %d", k, a.Body, topo.Driven[k])
		}
	}
}

// checkStage compares a stage with the outlines it was drawn from.
func checkStage(l Layout, d *Design, s *Stage, outlines []Outline) error {
	topo := l.Topology()
	for i, p := range l.Parameters() {
		if math.IsNaN(d.Parameters[i]) {
			return fmt.Errorf("%s: left NaN", p.Name)
		}
	}
	for i := range outlines {
		o := &outlines[i]
		if o.Body != i {
			return fmt.Errorf("outline %d is of body %d", i, o.Body)
		}
		u := union(o.Rectangles)
		own := 0.0
		for _, r := range o.Rectangles {
			own += r.Area()
		}
		// Rounding only: a union by grid and a plain sum.
		if math.Abs(own-u.area) > 1e-12*u.area {
			return fmt.Errorf("%s: rectangles overlap: %g m² of %g", topo.Bodies[i].Name, own-u.area, own)
		}
		if !connected(o.Rectangles) {
			return fmt.Errorf("%s is in pieces", topo.Bodies[i].Name)
		}
		// The plate alone is a lower bound: something may be mounted on a body.
		area := u.area
		for _, p := range o.Pockets {
			area -= p.Area()
		}
		for e, spec := range topo.Blades {
			if spec.From == i || spec.To == i { // two fillets, and the strip beyond the length that bends
				area += s.Fillet[e] * ((2-math.Pi/2)*s.Fillet[e] + FilletStiffening(s.Fillet[e]/s.Thickness[e])*s.Thickness[e])
			}
		}
		least := area * s.Width[0] * d.Material.Density
		if !(s.Mass[i] >= least*(1-1e-12)) {
			return fmt.Errorf("%s: mass %g kg, its plate has %g", topo.Bodies[i].Name, s.Mass[i], least)
		}
		if !(s.Ix[i] > 0 && s.Iy[i] > 0 && s.Iz[i] > 0) {
			return fmt.Errorf("%s: inertia %g, %g, %g", topo.Bodies[i].Name, s.Ix[i], s.Iy[i], s.Iz[i])
		}
		// No inertia of a real body exceeds the sum of the other two.
		if big := max(s.Ix[i], s.Iy[i], s.Iz[i]); 2*big > (s.Ix[i]+s.Iy[i]+s.Iz[i])*(1+1e-12) {
			return fmt.Errorf("%s: no body has the inertia %g, %g, %g", topo.Bodies[i].Name, s.Ix[i], s.Iy[i], s.Iz[i])
		}
	}
	// The plate fills its footprint and stays inside.
	var x0, x1, y0, y1 float64
	for _, o := range outlines {
		for _, r := range o.Rectangles {
			x0, x1, y0, y1 = min(x0, r.X0), max(x1, r.X1), min(y0, r.Y0), max(y1, r.Y1)
		}
	}
	if side := max(x1-x0, y1-y0); math.Abs(side-s.Frame) > 1e-12 {
		return fmt.Errorf("footprint %g m, outlines reach %g", s.Frame, side)
	}
	for e, spec := range topo.Blades {
		length := math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e])
		if !(length > 0 && s.Thickness[e] > 0 && s.Width[e] > 0 && s.Young[e] > 0) {
			return fmt.Errorf("blade %d: length %g, thickness %g", e, length, s.Thickness[e])
		}
		ux, uy := (s.TipX[e]-s.RootX[e])/length, (s.TipY[e]-s.RootY[e])/length
		// Each end sits on a face of its body that is wide enough for both fillets.
		for _, side := range []float64{-1, 1} {
			reach := side * (s.Thickness[e]/2 + s.Fillet[e]) * (1 - 1e-9)
			dx, dy := -uy*reach, ux*reach
			back := s.Fillet[e] * FilletStiffening(s.Fillet[e]/s.Thickness[e])
			if !onBody(outlines[spec.From], s.RootX[e]+dx-back*ux, s.RootY[e]+dy-back*uy, ux, uy) {
				return fmt.Errorf("blade %d: root is not on %s", e, topo.Bodies[spec.From].Name)
			}
			if !onBody(outlines[spec.To], s.TipX[e]+dx+back*ux, s.TipY[e]+dy+back*uy, -ux, -uy) {
				return fmt.Errorf("blade %d: tip is not on %s", e, topo.Bodies[spec.To].Name)
			}
		}
	}
	return nil
}

// connected reports whether the rectangles form one piece, by more than a corner.
func connected(rs []Rectangle) bool {
	reached := make([]bool, len(rs))
	reached[0] = true
	for range rs {
		for i, a := range rs {
			for j, b := range rs {
				dx, dy := min(a.X1, b.X1)-max(a.X0, b.X0), min(a.Y1, b.Y1)-max(a.Y0, b.Y0)
				if reached[i] && max(dx, dy) > 1e-6 && min(dx, dy) > -1e-12 {
					reached[j] = true
				}
			}
		}
	}
	for _, ok := range reached {
		if !ok {
			return false
		}
	}
	return true
}

// onBody reports whether (x, y) is on the boundary of o, with metal against the
// direction (ux, uy) and none along it.
func onBody(o Outline, x, y, ux, uy float64) bool {
	inside := func(x, y float64) bool {
		for _, r := range o.Rectangles {
			if x >= r.X0 && x <= r.X1 && y >= r.Y0 && y <= r.Y1 {
				return true
			}
		}
		return false
	}
	const step = 1e-9
	return inside(x-step*ux, y-step*uy) && !inside(x+step*ux, y+step*uy)
}

// checkClearance moves everything to the nine positions.
func checkClearance(l Layout, d *Design, s *Stage, outlines []Outline) error {
	topo := l.Topology()
	gap := math.NaN()
	for i, p := range l.Parameters() {
		if p.Name == "free_gap" {
			gap = d.Parameters[i]
		}
	}
	motions := make([]Motion, len(topo.Bodies))
	for _, xy := range nine {
		x, y := xy[0]*s.UpTo, xy[1]*s.UpTo
		l.NominalMotion(s, x, y, motions)
		// 1 nm: rounding of sums of a few dimensions.
		if c := Clearance(outlines, motions); c.Distance < gap-1e-9 {
			return fmt.Errorf("at (%g, %g) mm %s and %s come within %.4g mm at (%.4g, %.4g) mm, free gap %.4g mm", x*1e3, y*1e3,
				topo.Bodies[c.A].Name, topo.Bodies[c.B].Name, c.Distance*1e3, c.X*1e3, c.Y*1e3, gap*1e3)
		}
		for e := range topo.Blades {
			if err := checkBlade(topo, s, outlines, motions, e, gap); err != nil {
				return fmt.Errorf("at (%g, %g) mm %w", x*1e3, y*1e3, err)
			}
		}
	}
	return nil
}

// checkBlade follows the centre line of a clamped blade whose ends move without
// rotation: w = W (3 ξ² - 2 ξ³). It keeps the gap to every body, its own two
// excepted within the fillets.
func checkBlade(topo *Topology, s *Stage, outlines []Outline, motions []Motion, e int, gap float64) error {
	spec := topo.Blades[e]
	a, b := motions[spec.From], motions[spec.To]
	length := math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e])
	near := s.Fillet[e] + s.Thickness[e]/2 + gap
	const n = 40
	for k := 0; k <= n; k++ {
		xi := float64(k) / n
		h := xi * xi * (3 - 2*xi)
		x := s.RootX[e] + xi*(s.TipX[e]-s.RootX[e]) + a.X + h*(b.X-a.X)
		y := s.RootY[e] + xi*(s.TipY[e]-s.RootY[e]) + a.Y + h*(b.Y-a.Y)
		for _, o := range outlines {
			if o.Body == spec.From && xi*length < near || o.Body == spec.To && (1-xi)*length < near {
				continue
			}
			for _, r := range o.Rectangles {
				r = r.Shift(motions[o.Body])
				// Half the thickness to each side, not beyond the ends.
				hx := s.Thickness[e] / 2 * math.Abs(s.TipY[e]-s.RootY[e]) / length
				hy := s.Thickness[e] / 2 * math.Abs(s.TipX[e]-s.RootX[e]) / length
				d := r.Distance(Rectangle{x - hx, x + hx, y - hy, y + hy})
				if d < gap-1e-9 {
					return fmt.Errorf("blade %d comes within %.4g mm of %s at (%.4g, %.4g) mm", e, d*1e3, topo.Bodies[o.Body].Name, x*1e3, y*1e3)
				}
			}
		}
	}
	return nil
}

// checkRefill: a stage that held another design, or NaN, is filled with the same bits.
func checkRefill(t *testing.T, l Layout, designs []*Design, fresh []*Stage) {
	s := NewStage(l.Topology())
	for i, d := range designs {
		if v := l.Build(d, s); !v.OK() {
			t.Fatal(v.Reason())
		}
		// %v writes the shortest digits that tell a number from any other, and NaN
		if a, b := fmt.Sprintf("%v", *s), fmt.Sprintf("%v", *fresh[i]); a != b {
			t.Fatalf("design %d: a refilled stage differs from a fresh one", i)
		}
	}
	d := designs[0]
	if n := testing.AllocsPerRun(100, func() { l.Build(d, s) }); n != 0 {
		t.Errorf("Build allocates %g times", n)
	}
}

// region holds the area, the centroid and the central second moments of a union.
type region struct{ area, x, y, jx, jy, jxy float64 } // jx = ∫(x-xc)² dA, jxy = ∫(x-xc)(y-yc) dA

// union integrates over the union of rectangles, which may overlap, on the grid
// of all their edges: each cell counts once.
func union(rs []Rectangle) region {
	var xs, ys []float64
	for _, r := range rs {
		xs, ys = append(xs, r.X0, r.X1), append(ys, r.Y0, r.Y1)
	}
	sort.Float64s(xs)
	sort.Float64s(ys)
	var cells []Rectangle
	for i := 1; i < len(xs); i++ {
		for j := 1; j < len(ys); j++ {
			x, y := (xs[i-1]+xs[i])/2, (ys[j-1]+ys[j])/2
			for _, r := range rs {
				if x > r.X0 && x < r.X1 && y > r.Y0 && y < r.Y1 {
					cells = append(cells, Rectangle{xs[i-1], xs[i], ys[j-1], ys[j]})
					break
				}
			}
		}
	}
	var u region
	for _, c := range cells {
		u.area += c.Area()
		u.x += c.Area() * (c.X0 + c.X1) / 2
		u.y += c.Area() * (c.Y0 + c.Y1) / 2
	}
	u.x /= u.area
	u.y /= u.area
	for _, c := range cells {
		// ∫ (x - xc)² over the cell, in closed form.
		cube := func(a, b float64) float64 { return (b*b*b - a*a*a) / 3 }
		u.jx += cube(c.X0-u.x, c.X1-u.x) * (c.Y1 - c.Y0)
		u.jy += cube(c.Y0-u.y, c.Y1-u.y) * (c.X1 - c.X0)
		u.jxy += c.Area() * ((c.X0+c.X1)/2 - u.x) * ((c.Y0+c.Y1)/2 - u.y)
	}
	return u
}
