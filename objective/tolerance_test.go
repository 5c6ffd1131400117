package objective

import (
	"math"
	"testing"
)

func pinned(t testing.TB) *Spec {
	s := testSpec(t)
	s.Pin([]float64{60, 0.5, 20, 4})
	return s
}

// With no error every sample is the nominal design. With 1 % of thickness what
// symmetry cancels comes back, so that the yaw grows; the first frequency scatters
// about its nominal value by no more than 3/2 of the error of one blade.
func TestToleranceOfThickness(t *testing.T) {
	s := pinned(t)
	e := NewEvaluation(s)
	e.Evaluate(nil)
	exact := NewTolerance(s, 0, 3, 1)
	for m := range NumMeasures {
		v, ok := e.Measures.Get(m)
		if !ok || Table[m].IsText() || Table[m].OnName {
			continue
		}
		if got := exact.Scatter[m]; !got.Computed || got.Tail != v || math.Abs(got.Mean-v) > 1e-12*math.Abs(v) {
			t.Errorf("%s: mean %g, tail %g, nominal %g", Table[m].Name, got.Mean, got.Tail, v)
		}
	}
	one := NewTolerance(s, 5e-6, 60, 1)
	if one.Unsolved != 0 {
		t.Fatalf("%d samples not solved", one.Unsolved)
	}
	yaw, _ := e.Measures.Get(ParasiticYaw)
	if got := one.Scatter[ParasiticYaw]; got.Mean < 1.3*yaw {
		t.Errorf("parasitic yaw %g µrad in the mean, nominal %g: the scatter does nothing", got.Mean, yaw)
	}
	f, _ := e.Measures.Get(FirstFrequency)
	if got := one.Scatter[FirstFrequency]; math.Abs(got.Mean/f-1) > 0.015 || got.Tail > got.Mean {
		t.Errorf("first frequency %g Hz in the mean, %g at the tail, nominal %g", got.Mean, got.Tail, f)
	}
	again := NewTolerance(s, 5e-6, 60, 1)
	if *again != *one {
		t.Error("the same seed gives other samples")
	}
	if other := NewTolerance(s, 5e-6, 60, 2); other.Scatter == one.Scatter {
		t.Error("another seed gives the same samples")
	}
}
