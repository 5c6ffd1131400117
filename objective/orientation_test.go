package objective

import (
	"math"
	"testing"

	"flexwright/models/mechanics"
)

// A stage with x up: the actuator along x carries the weight of everything that
// moves along x, half of the guide bodies between arm and ground and of the
// blades; the travel along y is as before. It does not sag.
func TestStandingStageDrives(t *testing.T) {
	flat := testSpec(t)
	flat.Fixed[parameter(t, flat, "stage_added_mass")] = 0.4
	up := *flat
	up.Orientation = mechanics.XUp
	x := []float64{60, 0.5, 20, 2}
	e, f := NewEvaluation(flat), NewEvaluation(&up)
	e.Evaluate(x)
	f.Evaluate(x)
	if !e.Verdict.OK() || !f.Verdict.OK() {
		t.Fatal(e.Verdict.Reason(), f.Verdict.Reason())
	}
	moving, _ := f.Measures.Get(MovingMass)
	weight := f.Bench().scratch.Poses[0].Force[0] - e.Bench().scratch.Poses[0].Force[0]
	if all := 9.80665 * moving; weight > 0.97*all || weight < 0.6*all {
		t.Errorf("the actuator carries %g N of %g", weight, all)
	}
	if d := math.Abs(f.Bench().scratch.Poses[0].Force[1]); d > 0.01*weight {
		t.Errorf("across it carries %g N", d)
	}
	lying, _ := e.Measures.Get(Sag)
	standing, _ := f.Measures.Get(Sag)
	if lying < 1 || standing > 1e-6*lying {
		t.Errorf("sag %g µm lying, %g standing", lying, standing)
	}
	if n := testing.AllocsPerRun(5, func() { f.Evaluate(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// A stage with x up: its drive also carries the moving part of its own actuator. That
// of the other axis hangs on the blades of its own arm's guide. Statics.
func TestStandingStageCarriesItsActuator(t *testing.T) {
	force := func(mass float64) [2]float64 {
		s := loopSpec(t)
		d, a := *s.Drive, *s.Drive.Actuator
		a.MovingMass = mass
		d.Actuator = &a
		s.Drive, s.Orientation, s.NoScreening = &d, mechanics.XUp, true
		e := NewEvaluation(s)
		e.Evaluate([]float64{60, 0.5, 20, 2})
		if n := testing.AllocsPerRun(2, func() { e.Evaluate([]float64{60, 0.5, 20, 2}) }); n != 0 {
			t.Errorf("%g allocations", n)
		}
		return [2]float64(e.Bench().scratch.Poses[0].Force)
	}
	none, half := force(0), force(0.5)
	// 1 %: the other arm gives way along its guide's blades, a thousand times as stiff
	// as the guides along the travel, and takes the stage along a little
	if got, want := half[0]-none[0], 0.5*9.80665; math.Abs(got-want) > 0.01*want {
		t.Errorf("an actuator of 0.5 kg adds %g N, not %g", got, want)
	}
}

// A payload above the plate, and a point of interest there, couple the plane
// and what is out of it: the first frequency falls, the stage tilts with its travel
// when it stands, and nothing allocates once the memory for it is there.
func TestPayloadAboveThePlate(t *testing.T) {
	low := testSpec(t)
	low.Fixed[parameter(t, low, "stage_added_mass")] = 0.4
	high := testSpec(t)
	high.Fixed[parameter(t, high, "stage_added_mass")] = 0.4
	high.Fixed[parameter(t, high, "stage_added_mass_height")] = 60
	x := []float64{40, 0.5, 10, 2}
	e, f := NewEvaluation(low), NewEvaluation(high)
	e.Evaluate(x)
	f.Evaluate(x)
	if !e.Verdict.OK() || !f.Verdict.OK() {
		t.Fatal(e.Verdict.Reason(), f.Verdict.Reason())
	}
	for _, m := range []Measure{FirstFrequency, OutOfPlaneFrequency, LowestUnwanted} {
		a, _ := e.Measures.Get(m)
		b, ok := f.Measures.Get(m)
		if !ok || b >= a || b < 0.3*a {
			t.Errorf("%s: %g Hz in the plate's plane, %g above it", Table[m].Name, a, b)
		}
	}
	standing := *high
	standing.Orientation = mechanics.YUp
	standing.Interest = [3]float64{0, 0, 0.06}
	g := NewEvaluation(&standing)
	g.Evaluate(x)
	if !g.Verdict.OK() {
		t.Fatal(g.Verdict.Reason())
	}
	if roll := g.Bench().dynamics.Carried[0].Sag[1]; roll < 1e-6 {
		// weight along -y at +z turns the stage by +x
		t.Errorf("roll %g rad under a payload above the plate", roll)
	}
	if v, _ := g.Measures.Get(AbbeError); v == 0 {
		t.Error("no error at the point of interest")
	}
	if n := testing.AllocsPerRun(3, func() { f.Evaluate(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
