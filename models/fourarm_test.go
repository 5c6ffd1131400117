package models

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"
)

// fourArmDesign returns a design with every parameter at its default but those
// given, in the parameter's unit.
func fourArmDesign(values map[string]float64) *Design {
	d := &Design{Material: &Materials()[0]}
	used := 0
	for _, p := range FourArm().Parameters() {
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

// TestFourArmReference: bodies, blades and actuators in the order of the
// reference assembly, every blade in the same direction and on the same side.
// The assembly is for testing the mechanics, so its sizes differ.
func TestFourArmReference(t *testing.T) {
	text, err := os.ReadFile("../testdata/reference/four_arm.json")
	if err != nil {
		t.Fatal(err)
	}
	var ref struct {
		Bodies []struct {
			Name     string
			Fixed    bool
			Position [2]float64 `json:"position_m"`
		}
		Blades []struct {
			From, To string
			Root     [2]float64 `json:"root_m"`
			Tip      [2]float64 `json:"tip_m"`
		}
		Stage     string
		Actuators []struct{ Body, Axis string }
	}
	if err := json.Unmarshal(text, &ref); err != nil {
		t.Fatal(err)
	}
	topo := FourArm().Topology()
	s := NewStage(topo)
	if v := FourArm().Build(fourArmDesign(example(nil)), s); !v.OK() {
		t.Fatal(v.Reason())
	}
	if len(topo.Bodies) != len(ref.Bodies) || len(topo.Blades) != len(ref.Blades) || len(topo.Actuators) != len(ref.Actuators) {
		t.Fatalf("%d bodies, %d blades, %d actuators", len(topo.Bodies), len(topo.Blades), len(topo.Actuators))
	}
	// quadrant tells the octant of a direction: enough to tell the arms apart.
	quadrant := func(x, y float64) float64 { return math.Round(math.Atan2(y, x) / (math.Pi / 4)) }
	for i, b := range ref.Bodies {
		if topo.Bodies[i].Name != b.Name || (topo.Bodies[i].Held == HeldAll) != b.Fixed {
			t.Errorf("body %d: %+v, want %s", i, topo.Bodies[i], b.Name)
		}
		if r := math.Hypot(b.Position[0], b.Position[1]); r > 0 {
			got, want := quadrant(s.X[i], s.Y[i]), quadrant(b.Position[0], b.Position[1])
			if math.Mod(math.Abs(got-want), 8) > 0 {
				t.Errorf("%s is at (%g, %g), reference (%g, %g)", b.Name, s.X[i], s.Y[i], b.Position[0], b.Position[1])
			}
		}
	}
	name := func(i int) string { return topo.Bodies[i].Name }
	for e, b := range ref.Blades {
		if name(topo.Blades[e].From) != b.From || name(topo.Blades[e].To) != b.To {
			t.Errorf("blade %d: %s to %s, want %s to %s", e, name(topo.Blades[e].From), name(topo.Blades[e].To), b.From, b.To)
		}
		dx, dy := s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e]
		rx, ry := b.Tip[0]-b.Root[0], b.Tip[1]-b.Root[1]
		// The reference has the same length, 48 mm, so direction and length agree;
		// 1e-12 m: rounding of the reference's cosines.
		if math.Hypot(dx-rx, dy-ry) > 1e-12 {
			t.Errorf("blade %d runs along (%g, %g), reference (%g, %g)", e, dx, dy, rx, ry)
		}
		// On the same side of its neighbour of the same guide.
		n := e ^ 1
		ox, oy := s.RootX[n]-s.RootX[e], s.RootY[n]-s.RootY[e]
		px, py := ref.Blades[n].Root[0]-b.Root[0], ref.Blades[n].Root[1]-b.Root[1]
		if ox*px+oy*py <= 0 {
			t.Errorf("blade %d: neighbour at (%g, %g), reference (%g, %g)", e, ox, oy, px, py)
		}
	}
	if name(topo.Stage) != ref.Stage {
		t.Errorf("stage is %s", name(topo.Stage))
	}
	for k, a := range ref.Actuators {
		if name(topo.Actuators[k].Body) != a.Body || topo.Actuators[k].Axis.String() != a.Axis {
			t.Errorf("actuator %d: %+v", k, topo.Actuators[k])
		}
	}
}

// TestFourArmByHand: the dimensions of one plate worked by hand from the formulas
// of [FourArm]. T 5, L 48, t 0.5, so q = 0.25 + 0.5 = 0.75; the rest by default:
//
//	wo = 10 + 1.5 + 5 + 0.5 = 17    p = 17 + 0.75 + 3 + 0.5 = 21.25   s_q = 29.25
//	h_s = 34.25   a = 34.25 + 0.5 + 6 = 40.75   r_b = 40.75 + 48 + 8 + 0.5 = 97.25
//	c = 29.25 + 0.5 + 6 = 35.75
//	R = max(21.25 + 8 + 29.25 + 0.5, 97.25 + 8 - 10 - 0.75) = 94.5; 94.5 - 29.25 > 34.25 + 5.5
//	H = max(94.5 + 21.25, 105.25 + 5.5, 94.5 + 10.75 + 5.5, 35.75 + 48 + 8.5) + 15 = 130.75
func TestFourArmByHand(t *testing.T) {
	l := FourArm()
	d, s := fourArmDesign(example(nil)), NewStage(l.Topology())
	if v := l.Build(d, s); !v.OK() {
		t.Fatal(v.Reason())
	}
	check := func(what string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12 { // rounding
			t.Errorf("%s = %.6g mm, by hand %.6g mm", what, got*1e3, want*1e3)
		}
	}
	check("stage_half_size", d.Parameters[pHalf], 34.25e-3)
	check("fillet_radius", d.Parameters[pFillet], 0.5e-3)
	check("guide_body_depth", d.Parameters[pDepth], 8e-3)
	check("footprint", s.Frame, 261.5e-3)
	// arm-3 points along +x: blades 16 ... 23, r = x, s = y.
	check("root of the first inner blade, x", s.RootX[16], 40.75e-3)
	check("root of the first inner blade, y", s.RootY[16], -10e-3)
	check("tip of the first outer blade, x", s.TipX[17], 88.75e-3)
	check("tip of the first outer blade, y", s.TipY[17], -17e-3)
	check("root of the ground guide's first inner blade, x", s.RootX[20], 84.5e-3)
	check("root of the ground guide's first inner blade, y", s.RootY[20], 35.75e-3)
	check("tip of the ground guide's last outer blade, x", s.TipX[23], 111.5e-3)
	check("tip of the ground guide's last outer blade, y", s.TipY[23], 83.75e-3)
	// arm-1 points along -x, so its s runs along -y; the actuator is in its back.
	check("actuator 1, x", s.ActX[0], -101.25e-3)
	check("actuator 1, y", s.ActY[0], 0)
	check("actuator 2, y", s.ActY[1], -101.25e-3)

	check("guide-5, y", s.Y[faGuide+4], 0)
	// guide-5: a rectangle of 35.5 mm x 8 mm whose face is set back by κ r, and at
	// each of its four blades two fillets and a strip of κ r x t.
	back := FilletStiffening(1) * 0.5e-3
	area := 35.5e-3*(8e-3-back) + 4*(2*(1-math.Pi/4)*0.25e-6+back*0.5e-3)
	if want := area * 0.025 * 2810; math.Abs(s.Mass[faGuide+4]-want) > 1e-12 {
		t.Errorf("guide-5: %g kg, by hand %g kg", s.Mass[faGuide+4], want)
	}
}

// TestFourArmMass compares mass, centre of mass and inertia with an integration
// over the union of the rectangles of the bodies as they are usually drawn, which
// overlap (prongs run the whole length, feet across them), plus fillets and point
// masses, less pockets (each as a cross of two rectangles and four quarter discs).
func TestFourArmMass(t *testing.T) {
	l := FourArm()
	designs, stages := buildable(t, l, 50, randomDesign)
	pockets := 0
	for n, d := range designs {
		s := stages[n]
		outlines, _ := l.Outline(d)
		var p fourArmPlate
		p.resolve(d)
		x := d.Parameters
		in := p.half - p.frame
		bodies := map[int][]Rectangle{}
		both := func(r0, r1, s0, s1 float64) []Rectangle {
			return []Rectangle{{r0, r1, s0, s1}, {r0, r1, -s1, -s0}}
		}
		for i, dir := range armDirection {
			arm := both(p.a-p.f, p.rb+p.wb, p.p1, p.sq)
			arm = append(arm, both(p.a-p.f, p.a-p.d1, p.wo1-p.q1, p.sq)...)
			arm = append(arm, Rectangle{p.rb, p.rb + p.wb, -p.sq, p.sq}, Rectangle{p.R - p.wi2 - p.q2, p.R + p.wi2 + p.q2, p.sq, p.c - p.d2})
			ground := []Rectangle{{in, p.half, -p.half, p.half},
				{p.R - p.p2 - p.w, p.R - p.p2, p.c - p.f, p.half}, {p.R + p.p2, p.half, p.c - p.f, p.half},
				{p.R - p.p2, p.R - p.wo2 + p.q2, p.c - p.f, p.c - p.d2}, {p.R + p.wo2 - p.q2, p.R + p.p2, p.c - p.f, p.c - p.d2}}
			add := func(body int, rs ...Rectangle) {
				for _, r := range rs {
					x0, y0 := turn(dir, r.X0, r.Y0)
					x1, y1 := turn(dir, r.X1, r.Y1)
					bodies[body] = append(bodies[body], Rectangle{min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)})
				}
			}
			add(faArm+i, arm...)
			add(faGround, ground...)
			add(faStage, Rectangle{-p.hs, p.hs, -p.hs, p.hs}, Rectangle{p.hs, p.a - p.d1, -p.wi1 - p.q1, p.wi1 + p.q1})
			add(faGuide+2*i, Rectangle{p.a + p.l1 + p.d1, p.a + p.l1 + p.h, -p.wo1 - p.q1, p.wo1 + p.q1})
			add(faGuide+2*i+1, Rectangle{p.R - p.wo2 - p.q2, p.R + p.wo2 + p.q2, p.c + p.l2 + p.d2, p.c + p.l2 + p.h})
		}
		for i, b := range l.Topology().Bodies {
			u := union(bodies[i])
			type mass struct{ m, x, y, z, jx, jy, jz, jxy float64 } // j: own ∫ x², y², z² dm
			areal := p.b * d.Material.Density
			plate := mass{m: areal * u.area, x: u.x, y: u.y, jx: areal * u.jx, jy: areal * u.jy, jxy: areal * u.jxy, jz: areal * u.area * p.b * p.b / 12}
			add := mass{x: u.x, y: u.y}
			switch {
			case i == faStage:
				add = mass{m: x[pStageAdded], x: x[pStageAddedX], y: x[pStageAddedY], z: x[pStageAddedHeight]}
				// an even disc: m D²/16 about each diameter
				add.jx = add.m * x[pStageAddedSize] * x[pStageAddedSize] / 16
				add.jy = add.jx
			case i == faArm || i == faArm+1:
				k := i - faArm
				add = mass{m: x[pArmAdded], x: s.ActX[k], y: s.ActY[k], z: x[pArmAddedHeight]}
			case i >= faGuide:
				add.m, add.z = x[pGuideAdded], x[pGuideAddedHeight]
			case i == faArm+2:
				add = mass{m: x[pIdleAdded], x: p.rb + p.wb/2, z: x[pIdleAddedHeight]}
			case i == faArm+3:
				add = mass{m: x[pIdleAdded], y: p.rb + p.wb/2, z: x[pIdleAddedHeight]}
			}
			parts := []mass{plate}
			piece := func(area, x, y, jx, jy float64) {
				m := areal * area
				parts = append(parts, mass{m: m, x: x, y: y, jx: areal * jx, jy: areal * jy, jz: m * p.b * p.b / 12})
			}
			for e, spec := range l.Topology().Blades {
				if spec.From != i && spec.To != i {
					continue
				}
				end, other := [2]float64{s.RootX[e], s.RootY[e]}, [2]float64{s.TipX[e], s.TipY[e]}
				if spec.To == i {
					end, other = other, end
				}
				length := math.Hypot(other[0]-end[0], other[1]-end[1])
				rho, back := s.Fillet[e], s.Fillet[e]*FilletStiffening(s.Fillet[e]/s.Thickness[e])
				// Centroid of a fillet, from the face: (10 - 3π)/(3 (4 - π)) of its radius.
				at := rho*(10-3*math.Pi)/(3*(4-math.Pi)) - back
				piece(2*(1-math.Pi/4)*rho*rho+back*s.Thickness[e], end[0]+at*(other[0]-end[0])/length, end[1]+at*(other[1]-end[1])/length, 0, 0)
			}
			for _, k := range outlines[i].Pockets {
				box := func(r Rectangle) {
					w, h := r.X1-r.X0, r.Y1-r.Y0
					piece(-w*h, (r.X0+r.X1)/2, (r.Y0+r.Y1)/2, -w*w*w*h/12, -h*h*h*w/12)
				}
				r := k.Radius
				box(Rectangle{k.X0, k.X1, k.Y0 + r, k.Y1 - r})
				box(Rectangle{k.X0 + r, k.X1 - r, k.Y0, k.Y0 + r})
				box(Rectangle{k.X0 + r, k.X1 - r, k.Y1 - r, k.Y1})
				own := -r * r * r * r * (math.Pi/16 - 4/(9*math.Pi))
				c := r * (1 - 4/(3*math.Pi)) // from a side to the centroid of a quarter disc
				for _, q := range [4][2]float64{{k.X0 + c, k.Y0 + c}, {k.X1 - c, k.Y0 + c}, {k.X0 + c, k.Y1 - c}, {k.X1 - c, k.Y1 - c}} {
					piece(-math.Pi/4*r*r, q[0], q[1], own, own)
				}
				pockets++
			}
			if i >= faGuide { // what is mounted sits at the plate's own centroid
				m := 0.0
				add.x, add.y = 0, 0
				for _, q := range parts {
					m, add.x, add.y = m+q.m, add.x+q.m*q.x, add.y+q.m*q.y
				}
				add.x, add.y = add.x/m, add.y/m
			}
			parts = append(parts, add)
			var m, cx, cy, cz float64
			for _, q := range parts {
				m, cx, cy, cz = m+q.m, cx+q.m*q.x, cy+q.m*q.y, cz+q.m*q.z
			}
			cx, cy, cz = cx/m, cy/m, cz/m
			var jx, jy, jz, jxy float64
			for _, q := range parts {
				jx += q.jx + q.m*(q.x-cx)*(q.x-cx)
				jy += q.jy + q.m*(q.y-cy)*(q.y-cy)
				jz += q.jz + q.m*(q.z-cz)*(q.z-cz)
				jxy += q.jxy + q.m*(q.x-cx)*(q.y-cy)
			}
			// Both sides are exact sums of a few dozen terms: rounding only.
			near := func(what string, got, want, scale float64) {
				if math.Abs(got-want) > 1e-11*scale {
					t.Errorf("design %d, %s: %s %g, union %g", n, b.Name, what, got, want)
				}
			}
			near("mass", s.Mass[i], m, m)
			near("x", s.X[i], cx, p.half)
			near("y", s.Y[i], cy, p.half)
			near("z", s.Z[i], cz, p.half)
			near("Ix", s.Ix[i], jy+jz, jx+jy+jz)
			near("Iy", s.Iy[i], jx+jz, jx+jy+jz)
			near("Ixy", s.Ixy[i], jxy, jx+jy+jz)
			near("Iz", s.Iz[i], jx+jy, jx+jy+jz)
		}
	}
	if pockets < 1000 {
		t.Errorf("only %d pockets in all designs", pockets)
	}
}

// TestFourArmTurns: a quarter turn takes each arm to the next. The idle arms
// carry what the driven ones do, else they differ.
func TestFourArmTurns(t *testing.T) {
	l := FourArm()
	d := fourArmDesign(example(map[string]float64{
		"arm_added_mass": 0.3, "idle_arm_added_mass": 0.3, "arm_added_mass_height": 12, "idle_arm_added_mass_height": 12,
		"ground_blade_length": 40, "ground_blade_thickness": 0.4, "stage_added_mass": 1,
	}))
	s := NewStage(l.Topology())
	if v := l.Build(d, s); !v.OK() {
		t.Fatal(v.Reason())
	}
	same := func(what string, i int, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-15 { // exact but for the sign of zero
			t.Errorf("%s %d: %g, turned %g", what, i, got, want)
		}
	}
	next := func(body int) int {
		switch {
		case body >= faGuide:
			return faGuide + (body-faGuide+2)%8
		case body >= faArm && body < faStage:
			return faArm + (body-faArm+1)%4
		}
		return body
	}
	for i := range faBodies {
		j := next(i)
		same("x", i, s.X[j], -s.Y[i])
		same("y", i, s.Y[j], s.X[i])
		same("mass", i, s.Mass[j], s.Mass[i])
		same("Ix", i, s.Ix[j], s.Iy[i])
		same("Ixy", i, s.Ixy[j], -s.Ixy[i])
		same("Iz", i, s.Iz[j], s.Iz[i])
		same("z", i, s.Z[j], s.Z[i])
	}
	for e := range faBlades {
		j := (e + 8) % faBlades
		same("root x", e, s.RootX[j], -s.RootY[e])
		same("root y", e, s.RootY[j], s.RootX[e])
		same("tip x", e, s.TipX[j], -s.TipY[e])
		same("tip y", e, s.TipY[j], s.TipX[e])
		same("thickness", e, s.Thickness[j], s.Thickness[e])
	}
}

// TestFourArmRefuses: each violated inequality is named, with the parameter and
// both numbers.
func TestFourArmRefuses(t *testing.T) {
	cases := []struct {
		values map[string]float64
		want   string
	}{
		{map[string]float64{"stage_half_size": 30},
			"stage_half_size h_s = 30 mm is less than s_q + T = 34.25 mm (s_q: outer face of an arm's prong, T: travel)"},
		{map[string]float64{"guide_body_depth": 5.5},
			"guide_body_depth h1 = 5.5 mm is less than max(6 mm, 10 blade_thickness) = 6 mm"},
		{map[string]float64{"guide_body_depth": 9, "ground_blade_thickness": 1},
			"guide_body_depth h2 = 9 mm is less than max(6 mm, 10 ground_blade_thickness) = 10 mm"},
		{map[string]float64{"fillet_radius": 0.04},
			"fillet_radius rho = 0.04 mm is less than 0.1 blade_thickness = 0.05 mm"},
		{map[string]float64{"fillet_radius": 0.06, "ground_blade_thickness": 0.7},
			"fillet_radius rho = 0.06 mm is less than 0.1 ground_blade_thickness = 0.07 mm"},
		// κ is of the order of a half: see the table in the tests of fillets.
		{map[string]float64{"foot_length": 1},
			fmt.Sprintf("foot_length f = 1 mm is less than kappa rho + 1 mm = %.4g mm (by kappa rho, fillet_radius times its stiffening, the face of a blade is set back)", 1+0.5*FilletStiffening(1))},
		{map[string]float64{"pocketing": 0.1, "pocket_wall": 45},
			"pocketing = 10 %: no body is wide enough for a pocket between walls of pocket_wall = 45 mm"},
		{map[string]float64{"free_gap": 0.2},
			"free_gap g = 0.2 mm is less than the kerf = 0.3 mm"},
		{map[string]float64{"inner_half_spacing": 0.9},
			"inner_half_spacing wi1 = 0.9 mm is less than q1 + g/2 = 1 mm (q1 = blade_thickness/2 + fillet_radius, g = free_gap)"},
		{map[string]float64{"ground_inner_half_spacing": 0.9},
			"ground_inner_half_spacing wi2 = 0.9 mm is less than q2 + g/2 = 1 mm (q2 = ground_blade_thickness/2 + fillet_radius, g = free_gap)"},
		// By hand: p 31.25, s_q 91.25, h_s 96.25, a 102.75, r_b 121.25, R 193 (from h_s + T + g + p2 + w).
		{map[string]float64{"prong_width": 60, "blade_length": 10, "inner_half_spacing": 20},
			"the arm ends at r_b + wb - foot_length = 123.2 mm, before its tongue begins at R - wi2 - q2 = 172.2 mm: blade_length, arm_back_width too small or prong_width too large"},
	}
	l := FourArm()
	s := NewStage(l.Topology())
	for _, c := range cases {
		d := fourArmDesign(example(c.values))
		v := l.Build(d, s)
		if v.Status != CannotBuild || v.Reason() != c.want {
			t.Errorf("%v: %v\n got %q\nwant %q", c.values, v.Status, v.Reason(), c.want)
		}
		if _, w := l.Outline(d); w != v {
			t.Errorf("%v: the outline says %q", c.values, w.Reason())
		}
	}
	// At the bound itself it is built, and clearances are drawn for the larger range.
	d := fourArmDesign(example(map[string]float64{"stage_half_size": 34.25, "guide_body_depth": 6, "free_gap": 0.5}))
	if v := l.Build(d, s); !v.OK() {
		t.Errorf("at the bound: %s", v.Reason())
	}
	d = fourArmDesign(example(map[string]float64{"stage_half_size": 34.25}))
	d.UpTo = 6e-3
	// s_q grows by 1.6 mm per mm of T, the stage by one more: 34.25 + 2.6 = 36.85.
	if v := l.Build(d, s); math.Abs(v.Bound-36.85) > 1e-9 {
		t.Errorf("drawn for 6 mm: %q", v.Reason())
	}
}

// TestFourArmPocketRoom: what pockets can take of the plate of [TestFourArmByHand],
// by hand with walls of 3 mm. Stage: 62.5 mm between its walls take three cells of
// 18.83 mm each way. Prongs of 8 mm: a slot of 2 mm, five cells of 9.5 mm in 59.5.
// Backs: from 4 to 21.25 mm beside the actuator, two cells of 7.125 mm. Guide
// bodies, less than 8 mm deep behind their faces: none. Every corner has a radius
// of 1 mm, which takes 0.86 mm² of a cell.
func TestFourArmPocketRoom(t *testing.T) {
	room := 9*(18.833*18.833-0.858) + 8*(5*(2*9.5-0.858)+2*(2*7.125-0.858))
	back := FilletStiffening(1) * 0.5
	solid := 68.5*68.5 + 4*21.5*(6.5-back) + // stage and necks
		4*(2*62.5*8+2*(6-back)*5+58.5*8+21.5*(6.5-back)) + // arms
		8*35.5*(8-back) // guide bodies
	l := FourArm()
	s := NewStage(l.Topology())
	for _, c := range []struct {
		pocketing, bound float64 // %
		want             string
	}{
		{55, 100 * room / solid, "pocketing = 55 % is more than the "},
		// The smallest cell is that of a back: a circle of 1.5 mm of it is left.
		{1, 100 * room / solid * math.Pi / 4 * 2.25 / (2*7.125 - 0.858), "pocketing = 1 % makes pockets too narrow for a start hole: 0 or at least "},
	} {
		v := l.Build(fourArmDesign(example(map[string]float64{"pocketing": c.pocketing / 100})), s)
		// 0.1 %: blades' roots are left out by hand.
		if v.Status != CannotBuild || !strings.HasPrefix(v.Reason(), c.want) || math.Abs(v.Bound-c.bound) > 0.1 {
			t.Errorf("%g %%: %v %s; by hand %.4g %%", c.pocketing, v.Status, v.Reason(), c.bound)
		}
	}
	// With 29 % the moving plate weighs 29 % less.
	mass := func(pocketing float64) (m float64) {
		if v := l.Build(fourArmDesign(example(map[string]float64{"pocketing": pocketing})), s); !v.OK() {
			t.Fatal(v.Reason())
		}
		for i := faArm; i < faBodies; i++ {
			m += s.Mass[i]
		}
		return m
	}
	for _, pocketing := range []float64{0.05, 0.15, 0.29} {
		if got, want := mass(pocketing), (1-pocketing)*mass(0); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("pocketing %g leaves %g kg, want %g", pocketing, got, want)
		}
	}
}

func BenchmarkFourArmBuild(b *testing.B) {
	l := FourArm()
	for _, c := range []struct {
		name      string
		pocketing float64
	}{{"solid", 0}, {"pockets", 0.25}} {
		b.Run(c.name, func(b *testing.B) {
			d, s := fourArmDesign(example(map[string]float64{"pocketing": c.pocketing})), NewStage(l.Topology())
			b.ReportAllocs()
			for b.Loop() {
				l.Build(d, s)
			}
		})
	}
}
