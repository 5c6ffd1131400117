package objective

import (
	"math"
	"testing"
)

// Derivatives that the dimensions give in closed form: the slenderness is L/t, so that
// it moves by 1/t per length and by −L/t² per thickness; the aspect b/t; a mass on the
// stage is all of the stage's mass; the footprint knows nothing of a mass. A tail moves
// with the tolerance that spends it: of thickness alone all of the budget.
func TestSensitivity(t *testing.T) {
	s := pinned(t)
	s.Fixed[parameter(t, s, "stage_added_mass")] = 0.4
	s.Limits = []Limit{atMost(ParasiticYaw, 50), atMost(BladeAspect, 100)}
	s.Tolerances = thicknessOnly(3e-6, 40, 1)
	r := NewSensitivity(s, true)
	at := func(m Measure, name string) float64 {
		for i := range r.Measures {
			if r.Measures[i] == m {
				return r.Parameters[i][parameter(t, s, name)]
			}
		}
		t.Fatal("no derivative of " + Table[m].Name)
		return 0
	}
	for _, c := range []struct {
		m    Measure
		name string
		want float64
	}{
		{BladeSlenderness, "blade_length", 1 / 0.5}, {BladeSlenderness, "blade_thickness", -60 / 0.25}, {BladeAspect, "blade_width", 1 / 0.5},
		{StageMass, "stage_added_mass", 1}, {Footprint, "stage_added_mass", 0}, {PeakStress, "stage_added_mass", 0},
	} {
		// extrapolated differences of 1e-3: 1e-10 is left of smooth functions, and rounding
		if got := at(c.m, c.name); math.Abs(got-c.want) > 1e-6*math.Abs(c.want) {
			t.Errorf("%s to %s: %g, want %g", Table[c.m].Name, c.name, got, c.want)
		}
	}
	if d := at(FirstFrequency, "blade_thickness"); !(d > 0) {
		t.Errorf("first frequency to thickness: %g", d)
	}
	if len(r.Tails) != 1 || r.Tails[0].Measure != ParasiticYaw.Tail() {
		t.Fatalf("tails %v", r.Tails)
	}
	c := &r.Tails[0]
	if !(c.Derivative[ToleranceThickness] > 0) || c.Budget[ToleranceThickness] != 1 || !math.IsNaN(c.Derivative[ToleranceLength]) {
		t.Errorf("%+v", c)
	}
	// With the loosest tolerance the share conforms, with twice that much it does not.
	for _, k := range []float64{1, 2} {
		s.Tolerances = thicknessOnly(k*r.LoosestThickness, 40, 1)
		if n := NewScatter(s).Conforming; n >= 38 != (k == 1) {
			t.Errorf("%d of 40 conform with %g times the loosest %g µm", n, k, r.LoosestThickness*1e6)
		}
	}
}

// Derivatives by the mechanics' own are those by differences of solved stages, to what the latter
// are good for (1e-6 of the measure per parameter's value is rounding of what is solved), on rigid bodies and on bodies that bend.
func TestAnalyticSensitivities(t *testing.T) {
	for _, elastic := range []bool{false, true} {
		s := estimateSpec(t, elastic, 20)
		s.Pin([]float64{60, 0.5, 20, 4})
		r := NewSensitivity(s, false)
		e := NewEvaluation(s)
		e.Evaluate(nil)
		nominal, at := e.Measures.Clone(), append([]float64(nil), e.Parameters...)
		compared := 0
		for k := range at {
			d := e.differentiate(r.Measures, k, at[k], &nominal)
			for i, m := range r.Measures {
				if r.Analytic[i] != m.analytic() {
					t.Fatalf("%s is analytic: %v", Table[m].Name, r.Analytic[i])
				}
				if !r.Analytic[i] || Table[m].Step == StepBuild { // of which the layout's rules have kinks
					continue
				}
				value, _ := nominal.Get(m)
				got := r.Parameters[i][k]
				if math.IsNaN(d[i]) || d[i] == 0 && got == 0 {
					continue
				}
				compared++
				if math.Abs(got-d[i]) > 2e-3*math.Abs(d[i])+1e-6*math.Abs(value/at[k]) {
					t.Errorf("%s to %s: %g, by differences %g", Table[m].Name, s.Parameters()[k].Name, got, d[i])
				}
			}
		}
		t.Logf("%d derivatives compared", compared)
		if compared < 100 {
			t.Error("too few")
		}
	}
}
