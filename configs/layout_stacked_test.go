package configs

import (
	"math"
	"testing"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// The layout stacked is the sum of two single axes where they are uncoupled: alone, each
// axis takes the force of a folded guide of its dimensions, and the first modes are those of
// 24 E I/L³ under what each axis moves: along x the carrier with all in it and a quarter of
// its guide bodies, along y the stage and a quarter of its own (half the motion, squared).
func TestStackedIsTwoSingleAxes(t *testing.T) {
	l, single := layoutNamed(t, "stacked"), layoutNamed(t, "folded-guide")
	stage := map[string]float64{"travel": 2, "blade_length": 60, "blade_thickness": 0.5, "blade_width": 20, "inner_half_spacing": 20, "stage_added_mass": 0.3}
	carrier := map[string]float64{"travel": 2, "blade_length": 80, "blade_thickness": 0.7, "blade_width": 20, "inner_half_spacing": 40}
	both := with(with(with(stage, "carrier_blade_length", 80), "carrier_blade_thickness", 0.7), "carrier_inner_half_spacing", 40)
	_, s := stageOf(t, l, both)
	_, alongY := stageOf(t, single, stage)
	_, alongX := stageOf(t, single, carrier)
	scratch := mechanics.NewScratch(mechanics.NewModel(l.Topology()))
	scratch.Prepare(s)
	pose := mechanics.NewPose(scratch.Model)
	const x = 2e-3
	for _, c := range []struct {
		x, y float64
		want *mechanics.Pose
		axis int
	}{{x, 0, pushed(t, single, alongX, x), 0}, {0, x, pushed(t, single, alongY, x), 1}} {
		scratch.At(pose, c.x, c.y)
		if !pose.Verdict.OK() {
			t.Fatal(pose.Verdict.Reason())
		}
		// 1e-5 of the force: where the blades of the other axis stretch
		if got, want := pose.Force[c.axis], c.want.Force[0]; math.Abs(got/want-1) > 1e-5 || math.Abs(pose.Force[1-c.axis]) > 1e-6*want {
			t.Errorf("at (%g, %g) mm: forces %v N, the single axis takes %g", c.x*1e3, c.y*1e3, pose.Force, want)
		}
	}
	body := func(name string) int {
		for i, b := range l.Topology().Bodies {
			if b.Name == name {
				return i
			}
		}
		t.Fatalf("no body %s", name)
		return 0
	}
	// The y actuator pushes the carrier back: it stays where it is.
	if q := pose.Q[3*body("carrier") : 3*body("carrier")+3]; math.Abs(q[0]) > 1e-9 || math.Abs(q[1]) > 1e-9 || math.Abs(q[2]) > 1e-9 {
		t.Errorf("with the stage at y = %g mm the carrier moves by %v", x*1e3, q)
	}
	scratch.At(pose, 0, 0)
	d := mechanics.NewDynamics(scratch)
	d.Prepare()
	modes := d.NewModes()
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	// A guided blade counts with 13/35 of its mass where one end moves by 1, shared ends by
	// what the shape (3 ξ² - 2 ξ³) from a to b gives: (13 a² + 9 a b + 13 b²)/35.
	blade := func(e int, a, b float64) float64 {
		length := math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e])
		return s.Density[e] * s.Width[e] * s.Thickness[e] * length * (13*a*a + 9*a*b + 13*b*b) / 35
	}
	moves := func(name string, axis models.Axis) float64 {
		motions := make([]models.Motion, len(l.Topology().Bodies))
		l.NominalMotion(s, 1, 0, motions)
		if axis == models.AxisY {
			l.NominalMotion(s, 0, 1, motions)
			return motions[body(name)].Y
		}
		return motions[body(name)].X
	}
	for axis, first := range map[models.Axis]int{models.AxisX: modes.GuidedX, models.AxisY: modes.GuidedY} {
		mass := 0.0
		for i, b := range l.Topology().Bodies {
			if m := moves(b.Name, axis); m != 0 {
				mass += m * m * s.Mass[i]
			}
		}
		for e, b := range l.Topology().Blades {
			along := math.Abs(s.TipX[e]-s.RootX[e]) > 1e-9 // blades along x bend for y
			from, to := moves(l.Topology().Bodies[b.From].Name, axis), moves(l.Topology().Bodies[b.To].Name, axis)
			if along == (axis == models.AxisY) {
				mass += blade(e, from, to)
			} else {
				mass += s.Density[e] * s.Width[e] * s.Thickness[e] * math.Abs(s.TipX[e]-s.RootX[e]+s.TipY[e]-s.RootY[e]) * from * from
			}
		}
		length, thick := 80e-3, 0.7e-3
		if axis == models.AxisY {
			length, thick = 60e-3, 0.5e-3
		}
		want := math.Sqrt(24 * s.Young[0] * 20e-3 * thick * thick * thick / 12 / (length * length * length) / mass)
		// 0.2 %: guide bodies follow by a little more than half once they have mass
		if got := modes.Omega[first]; math.Abs(got/want-1) > 2e-3 {
			t.Errorf("along %s the first mode is at %.5g Hz, closed form %.5g Hz", axis, got/(2*math.Pi), want/(2*math.Pi))
		}
	}
}
