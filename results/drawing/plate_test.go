package drawing

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"flexwright/models"
)

// design returns a four-arm design: values in the parameter's unit, the rest by default.
func design(values map[string]float64) *models.Design {
	d := &models.Design{Material: &models.Materials()[0]}
	used := 0
	for _, p := range models.FourArm().Parameters() {
		v := math.NaN()
		if given, ok := values[p.Name]; ok {
			v = p.Unit.ToSI(given)
			used++
		}
		d.Parameters = append(d.Parameters, v)
	}
	if used != len(values) {
		panic("unknown parameter")
	}
	return d
}

func example(more map[string]float64) map[string]float64 {
	m := map[string]float64{"travel": 5, "blade_length": 48, "blade_thickness": 0.5, "blade_width": 25}
	for k, v := range more {
		m[k] = v
	}
	return m
}

func draw(t *testing.T, values map[string]float64, o Options) *Plate {
	t.Helper()
	p, err := New(models.FourArm(), design(values), o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// check compares a plate with what it must be whatever its dimensions; wall is that of its pockets.
func check(p *Plate, gap, wall float64) error {
	// A connected plate has one opening more than it has loops of bodies and blades:
	// blades - bodies + 1, and the ring of the frame; and one per pocket.
	want := len(p.Blades) - len(p.Bodies) + 2
	for _, pockets := range p.Pockets {
		want += len(pockets)
	}
	if len(p.Contours)-1 != want {
		return fmt.Errorf("%d openings, want %d", len(p.Contours)-1, want)
	}
	for i, c := range p.Contours {
		if (c.Area() > 0) != (i == 0) {
			return fmt.Errorf("contour %d has the area %g", i, c.Area())
		}
	}
	x0, x1, y0, y1 := p.Contours[0].Bounds()
	if math.Abs(x1-x0-p.Stage.Frame) > 1e-12 || math.Abs(y1-y0-p.Stage.Frame) > 1e-12 {
		return fmt.Errorf("the drawing is %g x %g, the footprint %g", x1-x0, y1-y0, p.Stage.Frame)
	}
	// Bodies and blades, drawn each by itself, make up the plate.
	parts := 0.0
	for _, c := range append(append([]Contour(nil), p.Bodies...), p.Rings...) {
		parts += c.Area()
	}
	for _, pockets := range p.Pockets {
		for _, c := range pockets {
			parts += c.Area()
		}
	}
	thinnest := wall
	for e := range p.Blades {
		b := &p.Blades[e]
		parts += b.Thickness * p.straight(b)
		thinnest = min(thinnest, b.Thickness)
	}
	if math.Abs(parts-p.Area()) > 1e-10*p.Area() { // rounding
		return fmt.Errorf("the parts have %.12g m², the plate %.12g", parts, p.Area())
	}
	// 1 µm: chords in place of arcs.
	if math.Abs(p.Wall.Size-thinnest) > 1e-6 {
		return fmt.Errorf("thinnest wall %.6g mm at (%.4g, %.4g) mm, thinnest blade or wall of a pocket %.6g mm", p.Wall.Size*1e3, p.Wall.X*1e3, p.Wall.Y*1e3, thinnest*1e3)
	}
	if math.Abs(p.Gap.Size-gap) > 1e-6 {
		return fmt.Errorf("narrowest gap %.6g mm at (%.4g, %.4g) mm, free gap %.6g mm", p.Gap.Size*1e3, p.Gap.X*1e3, p.Gap.Y*1e3, gap*1e3)
	}
	if p.FullGap.Distance < gap-1e-6 {
		return fmt.Errorf("at full travel %s and %s come within %.6g mm at (%.4g, %.4g) mm, free gap %.6g mm",
			p.FullGap.A, p.FullGap.B, p.FullGap.Distance*1e3, p.FullGap.X*1e3, p.FullGap.Y*1e3, gap*1e3)
	}
	if !math.IsInf(wall, 1) {
		m := newMesh(flattened(p.Contours))
		for _, h := range p.PayloadHoles {
			if left := m.depth(pt{h.X, h.Y}) - h.Radius; left < wall-1e-6 {
				return fmt.Errorf("a wall of %.6g mm around the hole at (%.4g, %.4g) mm, pocket_wall %.6g mm", left*1e3, h.X*1e3, h.Y*1e3, wall*1e3)
			}
		}
	}
	for i, h := range p.StartHoles {
		if room := newMesh([][]pt{p.Contours[i+1].flatten(chord)}).depth(pt{h.X, h.Y}); room < h.Radius {
			return fmt.Errorf("start hole %d has room for a radius of %g", i, room)
		}
	}
	return nil
}

func TestExample(t *testing.T) {
	p := draw(t, example(nil), defaults())
	if err := check(p, 0.5e-3, math.Inf(1)); err != nil {
		t.Fatal(err)
	}
	if len(p.StartHoles) != len(p.Contours)-1 {
		t.Errorf("%d start holes", len(p.StartHoles))
	}
}

// randomValues returns dimensions of a stage, half of the optional ones given.
func randomValues(rng *rand.Rand) map[string]float64 {
	between := func(a, b float64) float64 { return a + (b-a)*rng.Float64() }
	values := map[string]float64{
		"travel": between(0.5, 8), "blade_length": between(20, 90), "blade_thickness": between(0.3, 1.2), "blade_width": 20,
	}
	for _, q := range []struct {
		name     string
		min, max float64
	}{
		{"inner_half_spacing", 4, 20}, {"fillet_radius", 0.3, 1.5}, {"free_gap", 0.3, 1.5}, {"prong_width", 4, 15},
		{"foot_length", 4, 12}, {"ground_blade_thickness", 0.3, 1.2}, {"ground_blade_length", 20, 90}, {"arm_back_width", 4, 20},
	} {
		if v := between(q.min, q.max); rng.IntN(2) == 0 {
			values[q.name] = v
		}
	}
	return values
}

// TestRandom draws 200 random designs and moves each to the nine positions.
func TestRandom(t *testing.T) {
	const shards = 4
	for shard := range shards {
		t.Run(fmt.Sprint(shard), func(t *testing.T) {
			t.Parallel()
			rng := rand.New(rand.NewPCG(8, uint64(shard)))
			for n := 0; n < 200/shards; {
				values, o := randomValues(rng), defaults()
				o.StartHole = 0.3e-3 // the least gaps have room for no more
				wall := math.Inf(1)
				if n%8 == 0 { // pockets take most of the time
					pocketValues(rng, values)
					wall = values["pocket_wall"] * 1e-3
					o.Payload.Rows, o.Payload.Columns, o.Payload.Pitch = 3, 2, 12e-3
				}
				p, err := New(models.FourArm(), design(values), o)
				if err != nil && (strings.HasPrefix(err.Error(), "cannot build") || strings.Contains(err.Error(), "stage too small")) {
					continue
				}
				n++
				gap, given := values["free_gap"]
				if !given {
					gap = 0.5
				}
				if err == nil {
					err = check(p, gap*1e-3, wall)
				}
				if err != nil {
					t.Errorf("%v: %v", values, err)
				}
			}
		})
	}
}

// TestDrawnBladeBends: what is cut bends like what was evaluated. The thickness of
// the drawn blade is read off the plate's contours across its whole length, and
// the compliance between two bodies that do not rotate is, by the unit-load
// method, ∫ (L/2 - x)² 12 / h³ dx, against L³ / t³ of the model's blade (Timoshenko
// & Gere; Euler-Bernoulli). The bodies yield at the roots as if the blade were longer
// there: by what plane solids of root and fillet say beyond rigid bodies, two digits.
func TestDrawnBladeBends(t *testing.T) {
	for _, c := range []struct{ fillet, yields float64 }{{0.25, 0.35 + 0.20}, {0.5, 0.48 - 0.27}, {1, 0.61 - 0.53}} { // r/t 0.5, 1, 2
		fillet := c.fillet
		p := draw(t, example(map[string]float64{"fillet_radius": fillet}), defaults())
		for _, e := range []int{0, 1, 4, 5} { // one of each kind
			b := &p.Blades[e]
			ux, uy := (b.EndX-b.X)/p.straight(b), (b.EndY-b.Y)/p.straight(b)
			over := (b.Drawn - p.straight(b)) / 2
			// The boundary beside the blade: what is farther off is not its surface.
			var beside [][2]pt
			for _, c := range p.Contours {
				line := c.flatten(0.02)
				for i, a := range line {
					d := func(q pt) float64 { return math.Abs((q.x-b.X)*uy - (q.y-b.Y)*ux) }
					if q := line[(i+1)%len(line)]; min(d(a), d(q)) < b.Thickness/2+p.Stage.Fillet[e]+1e-6 {
						beside = append(beside, [2]pt{a, q})
					}
				}
			}
			const n = 4000
			compliance := 0.0
			for i := range n {
				x := b.Drawn * (float64(i) + 0.5) / n
				h := across(beside, b.X+(x-over)*ux, b.Y+(x-over)*uy, -uy, ux)
				arm := b.Drawn/2 - x
				compliance += arm * arm * 12 / (h * h * h) * b.Drawn / n
			}
			compliance += 2 * b.Drawn * b.Drawn / 4 * 12 * c.yields * p.Stage.Fillet[e] / math.Pow(b.Thickness, 3)
			model := math.Pow(b.Bending/b.Thickness, 3)
			// κ takes the moment as constant over a fillet: of the order of (r/L)²; 4000
			// points resolve a fillet into some twenty; the last digit is 6 · 0.01 r/L.
			if e := compliance/model - 1; math.Abs(e) > 0.003 {
				t.Errorf("fillet %g mm: blade from %s bends %+.2f %% more than the model's", fillet, p.Topology.Bodies[b.From].Name, e*100)
			}
			// Drawn without the correction it would be off by 6 κ r/L, seen clearly.
			if math.Abs(math.Pow(b.Bending/b.Drawn, 3)-1) < 0.004 {
				t.Error("the check cannot see the correction")
			}
		}
	}
}

// across returns the width of metal around (x, y) along the direction (nx, ny).
func across(lines [][2]pt, x, y, nx, ny float64) float64 {
	plus, minus := math.Inf(1), math.Inf(1)
	for _, l := range lines {
		// Distance from the line through (x, y) along n, and position on it.
		a, b := l[0], l[1]
		da, db := (a.x-x)*ny-(a.y-y)*nx, (b.x-x)*ny-(b.y-y)*nx
		if (da > 0) == (db > 0) {
			continue
		}
		f := da / (da - db)
		at := (a.x-x+f*(b.x-a.x))*nx + (a.y-y+f*(b.y-a.y))*ny
		if at > 0 {
			plus = min(plus, at)
		} else {
			minus = min(minus, -at)
		}
	}
	return plus + minus
}

func TestRefusals(t *testing.T) {
	cases := []struct {
		name   string
		values map[string]float64
		change func(*Options)
		want   string
	}{
		{"wall", nil, func(o *Options) { o.MinimumWall = 0.6e-3 }, "a wall of 0.5 mm is thinner than minimum_wall, 0.6 mm, at ("},
		{"gap", nil, func(o *Options) { o.Kerf = 0.5e-3; o.CornerRadius = 0.5e-3; o.Kerf = 0.55e-3 }, "a gap of 0.5 mm is narrower than the kerf, 0.55 mm, at ("},
		{"fillet", map[string]float64{"fillet_radius": 0.1}, func(*Options) {}, "an inside corner of radius 0.1 mm is sharper than half the kerf, 0.15 mm, at ("},
		{"corner", nil, func(o *Options) { o.CornerRadius = 0.1e-3 }, "an inside corner of radius 0.1 mm is sharper than half the kerf, 0.15 mm, at ("},
		{"fillets longer than the blade", map[string]float64{"blade_length": 10, "blade_thickness": 5, "fillet_radius": 20, "inner_half_spacing": 40, "travel": 0.5, "prong_width": 2, "arm_back_width": 80, "foot_length": 20}, func(*Options) {},
			"guide-1, blade 1 of 4 of 10 mm is shorter than its fillets, at ("},
		{"payload holes too close", nil, func(o *Options) { o.Payload.Rows, o.Payload.Columns, o.Payload.Pitch = 2, 2, 4.4e-3 },
			"two payload holes leave 0.2 mm of metal between them, less than minimum_wall, 0.3 mm, at ("},
		{"mounting hole", map[string]float64{"frame_width": 7}, func(o *Options) { o.MountingHoles = 4 }, "a mounting hole leaves 0.2 mm of metal"},
		{"start hole", nil, func(o *Options) { o.StartHole = 30e-3 }, "has no room for a start hole of 30 mm"},
	}
	for _, c := range cases {
		o := defaults()
		c.change(&o)
		_, err := New(models.FourArm(), design(example(c.values)), o)
		var refusal *RefusalError
		if !errors.As(err, &refusal) || !strings.Contains(err.Error(), c.want) {
			t.Errorf("%s: %v\nwant %s", c.name, err, c.want)
		}
	}
	if _, err := New(models.FourArm(), design(example(map[string]float64{"stage_half_size": 30})), defaults()); err == nil || !strings.Contains(err.Error(), "cannot build: stage_half_size") {
		t.Errorf("a design that cannot be built: %v", err)
	}
	// Three pitches, a hole and a wall of 3 mm at either end: 75 + 4.2 + 6.
	o := defaults()
	o.Payload.Rows, o.Payload.Columns = 2, 4
	if _, err := New(models.FourArm(), design(example(nil)), o); err == nil || !strings.Contains(err.Error(), "stage too small for 2 x 4 holes of 25 mm pitch: at least 85.2 mm (it has 68.5 mm)") {
		t.Errorf("too many holes: %v", err)
	}
}

func TestStops(t *testing.T) {
	o := defaults()
	o.Stops, o.StopPlay = true, 0.2e-3
	p := draw(t, example(nil), o)
	// At full travel the arms keep the play; without stops they keep the free gap.
	if math.Abs(p.FullGap.Distance-0.2e-3) > 1e-6 || p.FullGap.A != "ground" {
		t.Errorf("at full travel: %+v", p.FullGap)
	}
	if p.Gap.Size < 0.5e-3-1e-6 {
		t.Errorf("at rest: %+v", p.Gap)
	}
	// Beyond the play every direction meets a stop.
	for _, xy := range [][2]float64{{5.3e-3, 0}, {-5.3e-3, 0}, {0, 5.3e-3}, {0, -5.3e-3}} {
		g := p.Clearance(nominal(p, xy[0], xy[1]))
		if g.Distance > 0 || g.A != "ground" || !strings.HasPrefix(g.B, "arm-") {
			t.Errorf("at %v: %+v", xy, g)
		}
	}
}

func nominal(p *Plate, x, y float64) []Pose {
	motions := make([]models.Motion, len(p.Bodies))
	models.FourArm().NominalMotion(p.Stage, x, y, motions)
	var poses []Pose
	for _, m := range motions {
		poses = append(poses, Pose{m.X, m.Y, 0})
	}
	return poses
}

// TestBladeAt: the bent blade starts and ends where its bodies are, along the
// directions in which they clamp it.
func TestBladeAt(t *testing.T) {
	p := draw(t, example(nil), defaults())
	poses := nominal(p, 4e-3, -3e-3)
	poses[p.Topology.Stage].Yaw = 0.02
	for e, b := range p.Blades {
		c := p.BladeAt(e, poses)
		// The four corners of the straight strip, moved with the bodies.
		l := p.straight(&b)
		nx, ny := -(b.EndY-b.Y)/l*b.Thickness/2, (b.EndX-b.X)/l*b.Thickness/2
		corner := func(body int, x, y float64) Vertex {
			q := poses[body]
			return Contour{{x, y, 0}}.Move(q.X, q.Y, q.Yaw, p.Stage.X[body], p.Stage.Y[body])[0]
		}
		n := len(c) / 2
		for _, q := range []struct {
			got  Vertex
			want Vertex
		}{
			{c[0], corner(b.From, b.X-nx, b.Y-ny)}, {c[n-1], corner(b.To, b.EndX-nx, b.EndY-ny)},
			{c[n], corner(b.To, b.EndX+nx, b.EndY+ny)}, {c[2*n-1], corner(b.From, b.X+nx, b.Y+ny)},
		} {
			if math.Hypot(q.got.X-q.want.X, q.got.Y-q.want.Y) > 1e-12 {
				t.Fatalf("blade %d: corner at (%g, %g), its body has (%g, %g)", e, q.got.X, q.got.Y, q.want.X, q.want.Y)
			}
		}
		// A blade keeps its area but for the few parts in a thousand that it grows
		// when its ends are displaced at a fixed distance: 0.6 (5/48)².
		if a := c.Area() / (l * b.Thickness); math.Abs(a-1) > 0.008 {
			t.Errorf("blade %d has %g of its area", e, a)
		}
	}
}

func BenchmarkNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(models.FourArm(), design(example(nil)), defaults()); err != nil {
			b.Fatal(err)
		}
	}
}
