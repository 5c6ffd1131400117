package objective

import (
	"math"
	"slices"
	"testing"

	"flexwright/models"
)

// corrected measures the pinned design with corrections.
func corrected(t *testing.T, list ...Correction) *Evaluation {
	t.Helper()
	s := pinned(t)
	s.Correct(list)
	e := NewEvaluation(s)
	e.Evaluate(nil)
	if !e.Verdict.OK() {
		t.Fatal(e.Verdict.Reason())
	}
	return e
}

func value(t *testing.T, e *Evaluation, m Measure) float64 {
	t.Helper()
	v, ok := e.Measures.Get(m)
	if !ok {
		t.Fatalf("no %s", Table[m].Name)
	}
	return v
}

// What follows from scaling alone, whatever the design: all stiffness with the modulus, all
// masses with the density, frequencies with the root of one over the other, bending
// with the cube of the thickness but for what stretches and for the blades' mass.
func TestCorrectionsScale(t *testing.T) {
	plain := corrected(t)
	for _, c := range []struct {
		name  string
		list  []Correction
		m     Measure
		ratio float64
		slack float64
	}{
		{"modulus", []Correction{{Kind: CorrectModulus, By: 0.03}}, DriveForce, 1.03, 1e-9},
		{"modulus", []Correction{{Kind: CorrectModulus, By: 0.03}}, FirstFrequency, math.Sqrt(1.03), 1e-9},
		{"modulus", []Correction{{Kind: CorrectModulus, By: 0.03}}, LostMotion, 1, 1e-8},
		{"density", []Correction{{Kind: CorrectDensity, By: 0.02}}, DriveForce, 1, 0},
		{"both", []Correction{{Kind: CorrectDensity, By: 0.02}, {Kind: CorrectModulus, By: 0.02}}, BladeMode, 1, 1e-9},
		{"thickness", []Correction{{Kind: CorrectThicknessCommon, By: 5e-6}}, DriveStiffness, 1 + 3*0.01, 2e-3}, // 0.5 mm: 3 · 1 %, its square
		{"nothing", []Correction{{Kind: CorrectModulus}, {Kind: CorrectRootStiffness}, {Kind: CorrectMountedMass, Of: "stage"}, {Kind: CorrectThickness, Of: "guide-2"}}, FirstFrequency, 1, 1e-12},
	} {
		got := value(t, corrected(t, c.list...), c.m) / value(t, plain, c.m)
		if math.Abs(got-c.ratio) > c.slack {
			t.Errorf("%s: %s becomes %.10g of before, want %.10g", c.name, Table[c.m].Name, got, c.ratio)
		}
	}
}

// Names reach the blades and bodies that they are of, and no other.
func TestCorrectionsReach(t *testing.T) {
	plain := corrected(t)
	e := corrected(t, Correction{CorrectThickness, "guide-3", 2e-6}, Correction{CorrectThickness, "guide-6, blade 2 of 4", 1e-6}, Correction{CorrectMountedMass, "arm-2", 0.05})
	topology, a, b := e.Layout().Topology(), plain.Stage(), e.Stage()
	for k := range a.Thickness {
		want := 0.0
		owner := topology.Bodies[topology.Blades[k].To].Name
		place, _ := topology.BladePlace(k)
		switch {
		case owner == "guide-3":
			want = 2e-6
		case owner == "guide-6" && place == 2:
			want = 1e-6
		}
		if got := b.Thickness[k] - a.Thickness[k]; math.Abs(got-want) > 1e-15 {
			t.Errorf("%s: thicker by %g, want %g", topology.BladeName(k), got, want)
		}
	}
	for i := range a.Mass {
		want := 0.0
		if topology.Bodies[i].Name == "arm-2" {
			want = 0.05
		}
		if got := b.Mass[i] - a.Mass[i]; math.Abs(got-want) > 1e-12 {
			t.Errorf("%s: heavier by %g kg, want %g", topology.Bodies[i].Name, got, want)
		}
	}
}

// Taking off a body all that is mounted on it leaves nothing that a later correction could take off again.
func TestCorrectedMountedMassIsGone(t *testing.T) {
	const mounted = 0.3
	stage := func(list ...Correction) (st *models.Stage, body int) {
		s := pinned(t)
		s.Fixed[slices.IndexFunc(s.Parameters(), func(p models.Parameter) bool { return p.Name == "stage_added_mass" })] = mounted
		s.Correct(list)
		e := NewEvaluation(s)
		e.Evaluate(nil)
		return e.Stage(), e.Layout().Topology().Stage
	}
	off := Correction{CorrectMountedMass, "stage", -mounted}
	plain, i := stage()
	once, _ := stage(off)
	if want := plain.Mass[i] - mounted; math.Abs(once.Mass[i]-want) > 1e-12 || once.Mounted[i] != 0 || once.Payload != 0 {
		t.Errorf("%g kg of which %g are mounted, want %g and none", once.Mass[i], once.Mounted[i], want)
	}
	dense, _ := stage(off, Correction{Kind: CorrectDensity, By: 0.1}) // scales all that is left
	if want := 1.1 * once.Mass[i]; math.Abs(dense.Mass[i]-want) > 1e-12 {
		t.Errorf("%g kg of denser metal, want %g", dense.Mass[i], want)
	}
	again, _ := stage(off, Correction{CorrectMountedMass, "stage", 0.1})
	if math.Abs(again.Mounted[i]-0.1) > 1e-12 || math.Abs(again.Mass[i]-once.Mass[i]-0.1) > 1e-12 {
		t.Errorf("0.1 kg mounted anew: %g kg", again.Mounted[i])
	}
}

// A root that turns more softly makes the blade longer at each end by O'Donnell's 0.442 t
// for half the stiffness.
func TestCorrectedRoot(t *testing.T) {
	a, b := corrected(t).Stage(), corrected(t, Correction{Kind: CorrectRootStiffness, By: -0.5}).Stage()
	for k := range a.Thickness {
		longer := math.Hypot(b.TipX[k]-b.RootX[k], b.TipY[k]-b.RootY[k]) - math.Hypot(a.TipX[k]-a.RootX[k], a.TipY[k]-a.RootY[k])
		if want := 2 * 0.442 * a.Thickness[k]; math.Abs(longer/want-1) > 1e-3 {
			t.Fatalf("blade %d: longer by %g m, want %g", k, longer, want)
		}
	}
}

// Damping and actuator belong to the spec; twice corrected is corrected by both.
func TestCorrectedLoop(t *testing.T) {
	s := loopSpec(t)
	before := s.loop().Settings.Damping
	list := []Correction{{Kind: CorrectDamping, By: 0.5}}
	s.Correct(list)
	s.Correct(list)
	if got := s.loop().Settings.Damping; math.Abs(got-2.25*before) > 1e-15 {
		t.Errorf("damping %g, want %g", got, 2.25*before)
	}
	// whatever is found, the loop has settings that it can be made with
	for _, by := range []float64{-1.2, -0.99, 1e4} {
		extreme := loopSpec(t)
		extreme.Correct([]Correction{{Kind: CorrectDamping, By: by}})
		if err := extreme.loop().Settings.Validate(); err != nil {
			t.Errorf("damping by %g: %v", by, err)
		}
	}
	joined := Combine([]Correction{{Kind: CorrectModulus, By: 0.01}, {CorrectThickness, "guide-1", 1e-6}},
		[]Correction{{Kind: CorrectModulus, By: 0.02}, {CorrectThickness, "guide-1", 2e-6}, {CorrectThickness, "guide-2", 3e-6}})
	if len(joined) != 3 || math.Abs(joined[0].By-0.0302) > 1e-15 || math.Abs(joined[1].By-3e-6) > 1e-20 {
		t.Errorf("%v", joined)
	}
}

// Correcting is on the hot path.
func TestCorrectionsAllocateNothing(t *testing.T) {
	s := pinned(t)
	s.Correct([]Correction{{Kind: CorrectThicknessCommon, By: 1e-6}, {CorrectMountedMass, "stage", 0.01}, {Kind: CorrectDensity, By: 0.01}, {Kind: CorrectRootStiffness, By: -0.1}})
	e := NewEvaluation(s)
	if n := testing.AllocsPerRun(5, func() { e.Evaluate(nil) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func TestCorrectionNames(t *testing.T) {
	topology := models.Layouts()[0].Topology()
	if names := CorrectionNames(topology, OfBody); len(names) != 13 {
		t.Errorf("%d bodies that move: %v", len(names), names)
	}
	if names := CorrectionNames(topology, OfBlades); len(names) != 14+32 {
		t.Errorf("%d bodies and blades", len(names))
	}
}
