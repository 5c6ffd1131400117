package objective

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/models/drive"
)

// loopSpec names everything of loop and drive, with an actuator.
func loopSpec(t testing.TB) *Spec {
	s := testSpec(t)
	for m := range NumMeasures {
		if Table[m].Step == StepLoop || Table[m].Step == StepDrive {
			s.Measures = append(s.Measures, m)
		}
	}
	a, _ := drive.ByName("vc-75")
	d := DefaultDrive()
	d.Actuator = &a
	s.Drive = d
	return s
}

func get(t *testing.T, e *Evaluation, m Measure) float64 {
	t.Helper()
	v, ok := e.Measures.Get(m)
	if !ok {
		t.Fatalf("%s was not computed", Table[m].Name)
	}
	return v
}

func TestLoopAndDriveMeasures(t *testing.T) {
	s := loopSpec(t)
	s.Measures = slices.DeleteFunc(s.Measures, func(m Measure) bool { return m == BodyMode || m == BodyModeRatio || m == BodyYieldMargin }) // bodies are rigid
	e := NewEvaluation(s)
	x := []float64{60, 0.5, 20, 4}
	e.Evaluate(x)
	if !e.Verdict.OK() {
		t.Fatal(e.Verdict.Reason())
	}
	for _, m := range s.Measures {
		if !Table[m].IsText() && m != CrossoverEndPayload { // there is one payload
			get(t, e, m)
		}
	}
	bandwidth := get(t, e, Bandwidth)
	if first := get(t, e, FirstFrequency); bandwidth < 0.5*first || bandwidth > 10*first {
		t.Errorf("bandwidth %g Hz with a first frequency of %g Hz", bandwidth, first)
	}
	if peak := get(t, e, SensitivityPeak); peak > 2.001 || peak < 1.2 {
		t.Errorf("peak |S| %g", peak)
	}
	// |S| <= 2 holds a phase margin of 2 asin(1/4) and a gain margin of 1.5 at least downward
	// (geometry of the circle around -1).
	if pm := get(t, e, PhaseMargin); pm < 28.9 {
		t.Errorf("phase margin %g degrees", pm)
	}
	if gm := get(t, e, GainMargin); gm < 1.49 {
		t.Errorf("gain margin %g", gm)
	}
	// A slow circle asks for little more than the static force at the largest
	// single-axis excursion.
	static := get(t, e, DriveForce)
	// With frequencies 3 % higher the stiffness is 1.03² of the nominal.
	if f := get(t, e, PeakForce); f > 1.01*1.03*1.03*static || f < 0.8*static {
		t.Errorf("peak force %g N, static %g N", f, static)
	}
	if title := e.Bench().forceBudget().Title; !strings.Contains(title, "3 % off, at which static forces are 1.03² times") {
		t.Errorf("the budget says nothing of it: %s", title)
	}
	if f, r := get(t, e, PeakForce), get(t, e, RMSForce); r > f*0.75 || r < f*0.65 {
		t.Errorf("rms %g N of %g N: not a sine's", r, f)
	}
	// The gap covers the lost motion: once, if it is of one sign, or on both sides of zero.
	if gap, lost := get(t, e, GapTravel), get(t, e, LostMotion); gap < lost*0.99 || gap > lost*2.05 {
		t.Errorf("gap %g µm, lost motion %g µm", gap, lost)
	}
	if target := get(t, e, GapTarget); math.Abs(target-8) > 0.2 {
		t.Errorf("target of %g mm for ±4 mm", target)
	}
	if n := testing.AllocsPerRun(5, func() { e.Evaluate(x) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
	var r Row
	e.Fill(&r)
	if r.Text(CrossoverEnd) == "" {
		t.Error("nothing ends the bandwidth")
	}
	t.Log(r.Text(CrossoverEnd), bandwidth, "Hz, noise", get(t, e, PositionNoise), "nm")
}

// Nothing of loop and drive is carried from one candidate to the next, payloads
// included, and the payload's extremes can only take bandwidth away.
func TestLoopForgets(t *testing.T) {
	s := loopSpec(t)
	s.Loop = DefaultLoop()
	s.Loop.Payload = [2]float64{0, 1}
	s.NoScreening = true
	e := NewEvaluation(s)
	bare := loopSpec(t)
	bare.NoScreening = true
	plain := NewEvaluation(bare)
	rng := rand.New(rand.NewPCG(23, 24))
	a, b := make([]float64, 4), make([]float64, 4)
	less := 0
	for range 6 {
		randomPoint(rng, a)
		randomPoint(rng, b)
		e.Evaluate(a)
		e.Evaluate(b)
		poison(e)
		e.Evaluate(a)
		fresh := NewEvaluation(s)
		fresh.Evaluate(a)
		for m := range NumMeasures {
			v, ok := e.Measures.Get(m)
			w, okw := fresh.Measures.Get(m)
			if ok != okw || v != w {
				t.Fatalf("%s: %v %v, fresh %v %v", Table[m].Name, v, ok, w, okw)
			}
		}
		plain.Evaluate(a)
		if !e.Verdict.OK() || !plain.Verdict.OK() {
			continue
		}
		with, _ := e.Measures.Get(Bandwidth) // 0: none holds
		without, _ := plain.Measures.Get(Bandwidth)
		if with > without*(1+1e-4) {
			t.Errorf("%v: %g Hz with payloads, %g Hz without", a, with, without)
		}
		if with < without {
			less++
		}
		if u, v := get(t, e, FirstFrequency), get(t, plain, FirstFrequency); u != v {
			t.Errorf("the payload's extremes change the nominal frequency: %g, %g Hz", u, v)
		}
	}
	if less == 0 {
		t.Error("no payload ever took bandwidth away")
	}
}

// The actuator's mass and magnet act on the modes, and a coil that nothing can hold
// ends in a status.
func TestActuatorActs(t *testing.T) {
	s := loopSpec(t)
	x := []float64{60, 0.5, 20, 4}
	frequency := func(change func(a *drive.Actuator)) float64 {
		a := *s.Drive.Actuator
		change(&a)
		c := *s
		d := *s.Drive
		d.Actuator = &a
		c.Drive = &d
		e := NewEvaluation(&c)
		e.Evaluate(x)
		return get(t, e, FirstFrequency)
	}
	nominal := frequency(func(*drive.Actuator) {})
	if f := frequency(func(a *drive.Actuator) { a.MovingMass += 1 }); f >= nominal {
		t.Errorf("%g Hz with a kilogram more, %g Hz before", f, nominal)
	}
	if f := frequency(func(a *drive.Actuator) { a.StiffnessAlong = -500 }); f >= nominal {
		t.Errorf("%g Hz with a magnet that pushes away, %g Hz before", f, nominal)
	}
	// a voltage amplifier's damping keeps the guided modes down
	bandwidth := func(voltage bool) float64 {
		a := *s.Drive.Actuator
		a.VoltageAmplifier = voltage
		c, d := *s, *s.Drive
		d.Actuator, c.Drive = &a, &d
		e := NewEvaluation(&c)
		e.Evaluate(x)
		return get(t, e, Bandwidth)
	}
	if current, voltage := bandwidth(false), bandwidth(true); voltage == current {
		t.Errorf("%g Hz with a current amplifier, %g Hz with a voltage amplifier", current, voltage)
	} else {
		t.Logf("%g Hz with a current amplifier, %g Hz with a voltage amplifier", current, voltage)
	}
	hot := *s.Drive.Actuator
	hot.ThermalResistance = 1e4
	d := *s.Drive
	d.Actuator = &hot
	s.Drive = &d
	e := NewEvaluation(s)
	e.Evaluate(x)
	if e.Verdict.Status != models.OutOfRange {
		t.Errorf("%v: %s", e.Verdict.Status, e.Verdict.Reason())
	}
}

func BenchmarkEvaluateLoop(b *testing.B) {
	s := testSpec(b)
	s.Measures = append(s.Measures, Bandwidth)
	e := NewEvaluation(s)
	x := []float64{60, 0.5, 20, 4}
	b.ReportAllocs()
	for b.Loop() {
		e.Evaluate(x)
	}
	b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "candidates/s")
}

// Where dozens of places limit the crossover in turn, the search does not creep from
// one to the next: this stage, of a first frequency far below the lowest crossover and without
// delay, took 45411 complete judgements. A scan of 463 steps of 1 % with at most 17 in
// each needs fewer than 8000, and no good crossover means that each fails somewhere.
func TestBandwidthDoesNotCreep(t *testing.T) {
	s := loopSpec(t)
	s.NoScreening = true
	s.Loop = DefaultLoop()
	s.Loop.Settings.Delay = 0
	s.Loop.Settings.OtherAxisOpen = true
	s.Loop.Payload = [2]float64{0, 0.1}
	a := *s.Drive.Actuator
	a.MovingMass, a.StiffnessAlong, a.StiffnessAcross = 0, 0, -5000
	d := *s.Drive
	d.Actuator = &a
	s.Drive = &d
	s.Fixed[parameter(t, s, "idle_arm_added_mass")] = 82.79213634932727
	s.Fixed[parameter(t, s, "guide_added_mass_height")] = 362.50040710574035
	e := NewEvaluation(s)
	e.Evaluate([]float64{62.118629899614525, 0.5907519343780477, 2.703597108842687, 1.195795328768297})
	if !e.Verdict.OK() {
		t.Fatal(e.Verdict.Reason())
	}
	if n := e.Bench().loop.result.Judged; n == 0 || n > 8000 {
		t.Errorf("%d crossovers judged completely", n)
	}
}

// Over random designs of a broad box the shape found never has less bandwidth than the fixed one, all that is reported is of
// the same loop, and without a crossover nothing is.
func TestShapeFound(t *testing.T) {
	found, fixed := loopSpec(t), loopSpec(t)
	found.NoScreening, fixed.NoScreening = true, true
	found.Loop, fixed.Loop = DefaultLoop(), DefaultLoop()
	fixed.Loop.Settings.Shapes = nil
	a, b := NewEvaluation(found), NewEvaluation(fixed)
	rng := rand.New(rand.NewPCG(29, 3))
	x := make([]float64, 4)
	var gains []float64
	for range 40 {
		randomPoint(rng, x)
		a.Evaluate(x)
		b.Evaluate(x)
		if !a.Verdict.OK() {
			continue
		}
		before, ok := b.Measures.Get(Bandwidth)
		now, okNow := a.Measures.Get(Bandwidth)
		if ok && (!okNow || now < before*(1-1e-9)) {
			t.Errorf("%v: bandwidth %g Hz, %g Hz with the fixed shape", x, now, before)
		}
		crossover, okCrossover := a.Measures.Get(Crossover)
		if _, ok := a.Measures.Get(IntegratorRatio); ok != okNow || okCrossover != okNow {
			t.Errorf("%v: a shape without a bandwidth, or the other way round", x)
		}
		if !okNow {
			continue
		}
		// |1 + L| is at least 1/√2 wherever |L| < 0.29, so that |S| has risen by the last crossing of |L| through 1, or soon behind it
		if now > 2*crossover {
			t.Errorf("%v: bandwidth %g Hz at a crossover of %g Hz", x, now, crossover)
		}
		if ratio := get(t, a, OutOfPlaneRatio) * crossover; math.Abs(ratio/get(t, a, OutOfPlaneFrequency)-1) > 1e-12 {
			t.Errorf("%v: out_of_plane_ratio is not over the crossover", x)
		}
		if with, without := get(t, a, TrackingErrorFeedforward), get(t, a, TrackingError); with > without {
			t.Errorf("%v: %g µm with feedforward, %g µm without, far below the first mode", x, with, without)
		}
		if ok {
			gains = append(gains, now/before)
		}
	}
	slices.Sort(gains)
	t.Logf("%d designs with a bandwidth, median gain %.4f, largest %.3f", len(gains), gains[len(gains)/2], gains[len(gains)-1])
	if len(gains) < 10 || gains[len(gains)/2] < 1 {
		t.Errorf("gains %v", gains)
	}
}
