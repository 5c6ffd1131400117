package mechanics

import (
	"math"
	"testing"
	"time"

	"flexwright/models"
)

// Eight segments per blade against the reference solution, which has eight
// geometrically nonlinear segments too (of another element; its error is 2e-6 of
// the force): force, motions and frequencies. Tolerances: 2e-5 of the force, 5 nm,
// 0.05 µrad, 0.015 % in frequency. Its blade mass is lumped at the nodes, ours consistent: that
// is 0.1 % in the eleventh and twelfth mode, in which the blades swing most.
func TestSubdividedReference(t *testing.T) {
	top, st := readReference(t)
	u := NewSubdivision(top, 8)
	s := NewScratch(u.Fine)
	s.Prepare(u.Fill(st))
	full, short := NewFineDynamics(s, u, false), NewFineDynamics(s, u, true)
	full.Prepare()
	short.Prepare()
	pose := NewPose(u.Fine)
	modes, condensed := full.NewModes(), short.NewModes()
	for i, want := range readExpected(t) {
		s.At(pose, want.X, want.Y)
		if !pose.Verdict.OK() {
			t.Fatal(pose.Verdict.Reason())
		}
		for k := range 2 {
			if math.Abs(pose.Force[k]-want.Force[k]) > 2e-5*math.Abs(want.Force[k])+1e-5 {
				t.Errorf("(%g, %g): force %d %.7g, want %.7g", want.X, want.Y, k, pose.Force[k], want.Force[k])
			}
		}
		for b, body := range top.Bodies {
			w, q := want.Bodies[body.Name], pose.Q[3*b:]
			if math.Abs(q[0]-w[0]) > 5e-9 || math.Abs(q[1]-w[1]) > 5e-9 || math.Abs(q[2]-w[2]) > 5e-8 {
				t.Errorf("(%g, %g): %s at %.9g, want %.9g", want.X, want.Y, body.Name, q[:3], w)
			}
		}
		if v := short.InPlane(pose, condensed); !v.OK() {
			t.Fatal(v.Reason())
		}
		exp := readExpectedModes(t)[i]
		for k, hz := range exp.InHz {
			got := condensed.Omega[k] / (2 * math.Pi)
			if math.Abs(got/hz-1) > massTolerance(k) {
				t.Errorf("(%g, %g): mode %d condensed %.4f, want %.4f", want.X, want.Y, k, got, hz)
			}
		}
		if i == 4 { // the full problem of 711 unknowns once
			began := time.Now()
			if v := full.InPlane(pose, modes); !v.OK() {
				t.Fatal(v.Reason())
			}
			t.Logf("full problem %v", time.Since(began))
			for k, hz := range exp.InHz {
				got := modes.Omega[k] / (2 * math.Pi)
				t.Logf("mode %d: full %.4f, condensed %.4f, reference %.4f", k, got, condensed.Omega[k]/(2*math.Pi), hz)
				if math.Abs(got/hz-1) > massTolerance(k) || got > condensed.Omega[k]/(2*math.Pi)*(1+1e-7) {
					t.Errorf("(%g, %g): mode %d %.4f, want %.4f", want.X, want.Y, k, got, hz)
				}
			}
		}
		out, v := short.OutOfPlane(pose, nil)
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		for k, hz := range exp.OutHz {
			if got := out[k] / (2 * math.Pi); math.Abs(got/hz-1) > 0.016 {
				t.Errorf("(%g, %g): out of plane %d %.2f, want %.2f", want.X, want.Y, k, got, hz)
			}
		}
	}
}

func massTolerance(mode int) float64 {
	if mode < 10 {
		return 1.5e-4
	}
	return 1.5e-3
}

// Condensing is exact for the stiffness: the drive stiffness at a pose is the
// same, and a rigid translation keeps its mass.
func TestCondensedStatics(t *testing.T) {
	top, st := readReference(t)
	u := NewSubdivision(top, 3)
	s := NewScratch(u.Fine)
	s.Prepare(u.Fill(st))
	d := NewFineDynamics(s, u, true)
	d.Prepare()
	pose := NewPose(u.Fine)
	s.At(pose, 0.003, -0.004)
	d.inPlaneProblem(pose, d.memory)
	k := append([]float64(nil), d.memory.k...)
	if negative, ok := u.Coarse.Pattern.Factor(k); !ok || negative != 0 {
		t.Fatal("not definite")
	}
	n := u.Coarse.Unknowns()
	var a [4]float64
	for c := range 2 {
		x := make([]float64, n)
		for i := range n {
			x[i] = d.memory.rows[i*NumRows+RowActuator+c]
		}
		u.Coarse.Pattern.Solve(k, x)
		for r := range 2 {
			a[2*r+c] = x[3*u.Coarse.Node[top.Stage]+r]
		}
	}
	for c := range 2 {
		var unit [2]float64
		unit[c] = 1
		col, _ := solve2(2, a, unit)
		for r := range 2 {
			// the tangent's condition, 2e10, leaves six digits
			if diff := math.Abs(col[r] - pose.Drive[2*r+c]); diff > 1e-6*pose.Drive[0] {
				t.Errorf("drive %d%d: %g, condensed %g", r, c, pose.Drive[2*r+c], col[r])
			}
		}
	}
	s.At(pose, 0, 0)
	d.inPlaneProblem(pose, d.memory)
	full := make([]float64, n*n)
	u.Coarse.Pattern.Expand(d.memory.mass, full)
	mass := 0.0
	for i := 0; i < n; i += 3 {
		for j := 0; j < n; j += 3 {
			mass += full[i*n+j]
		}
	}
	floor := 0.0
	for i := 0; i < n; i += 3 {
		floor += d.memory.rows[i*NumRows+RowFloorX]
	}
	bodies := 0.0
	for i, b := range top.Bodies {
		if b.Held != models.HeldAll {
			bodies += st.Mass[i]
		}
	}
	blade := 2810 * 0.048 * 0.5e-3 * 0.025
	// In a translation of all bodies 24 blades move as they are; of the eight that stand
	// on ground half the mass counts for the floor, less for the kinetic energy.
	if math.Abs(floor/(bodies+28*blade)-1) > 1e-9 {
		t.Errorf("floor %g kg, want %g", floor, bodies+28*blade)
	}
	if mass < bodies+26*blade || mass > bodies+28*blade {
		t.Errorf("mass %g kg; bodies %g, a blade %g", mass, bodies, blade)
	}
}

// More segments converge to the exact elastica of the guided blade, also beyond the
// range of one element.
func TestSegmentsConverge(t *testing.T) {
	a := guided(0.02e-3, models.ActuatorSpec{Body: 1, Axis: models.AxisY})
	_, st := a.scratch()
	for _, row := range elastica {
		if row.delta > 0.15 { // beyond the range of a quarter of the blade
			continue
		}
		last := math.Inf(1)
		for _, n := range []int{4, 8} {
			u := NewSubdivision(&a.top, n)
			s := NewScratch(u.Fine)
			s.Prepare(u.Fill(st))
			pose := NewPose(u.Fine)
			s.At(pose, 0, row.delta*testLength)
			if !pose.Verdict.OK() {
				t.Fatal(pose.Verdict.Reason())
			}
			off := math.Abs(pose.Force[0]*testLength*testLength/a.ei()/row.force - 1)
			if off > last+2e-6 || n == 8 && off > 1e-4*row.delta+5e-6 { // the table has six digits
				t.Errorf("w/L %g, %d segments: force off by %g", row.delta, n, off)
			}
			last = off
		}
	}
}

func BenchmarkFineStatics(b *testing.B) {
	top, st := readReference(b)
	u := NewSubdivision(top, 6)
	s := NewScratch(u.Fine)
	d := NewFineDynamics(s, u, true)
	for b.Loop() {
		s.Prepare(u.Fill(st))
		s.Statics(0.005)
		d.Prepare()
		d.Frequencies()
		d.Supports()
	}
}
