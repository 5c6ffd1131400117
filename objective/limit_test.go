package objective

import (
	"math"
	"testing"

	"flexwright/models"
)

// A limit that names layouts counts for their designs alone: those of others are
// infinitely far within it, whatever they measure, or lack.
func TestLimitOfLayouts(t *testing.T) {
	limit := Limit{Ref: Ref{Index: int(PeakStress)}, AtLeast: math.Inf(-1), AtMost: 100, Layouts: []string{"a", "b"}}
	spec := &Spec{Limits: []Limit{limit}}
	for _, c := range []struct {
		layout   string
		stress   float64
		feasible bool
	}{{"a", 90, true}, {"a", 150, false}, {"c", 150, true}, {"c", math.NaN(), true}, {"b", math.NaN(), false}} {
		r := &Row{Layout: c.layout, Status: models.Solved}
		if !math.IsNaN(c.stress) {
			r.Measures.Set(PeakStress, c.stress)
		}
		spec.Score(r)
		if r.Feasible != c.feasible {
			t.Errorf("layout %s with %g MPa: feasible %v, violation %g", c.layout, c.stress, r.Feasible, r.Violation)
		}
		if v, ok := r.Judged(&limit); c.layout == "c" && (!ok || !math.IsInf(limit.Margin(v), 1)) {
			t.Errorf("layout c has a margin of %g", limit.Margin(v))
		}
	}
}

// So does one with two bounds, which no value is infinitely far within.
func TestRangeOfLayouts(t *testing.T) {
	spec := &Spec{Limits: []Limit{{Ref: Ref{Index: int(PeakStress)}, AtLeast: 50, AtMost: 100, Layouts: []string{"a"}}}}
	for _, c := range []struct {
		layout   string
		stress   float64
		feasible bool
	}{{"a", 90, true}, {"a", 150, false}, {"a", 10, false}, {"b", 150, true}, {"b", 10, true}} {
		r := &Row{Layout: c.layout, Status: models.Solved}
		r.Measures.Set(PeakStress, c.stress)
		spec.Score(r)
		if r.Feasible != c.feasible || c.feasible && r.Violation != 0 {
			t.Errorf("layout %s with %g MPa: feasible %v, violation %g", c.layout, c.stress, r.Feasible, r.Violation)
		}
	}
}

// A limit on another layout moves neither the parts that conform nor the usable travel, though no design meets it.
func TestLimitOfAnotherLayout(t *testing.T) {
	s := pinned(t)
	s.NoScreening = true
	s.Measures, s.Tolerances = append(s.Measures, ConformingParts, UsableTravel), thicknessOnly(1e-6, 4, 1)
	s.Limits = []Limit{{Ref: Ref{Index: int(PeakStress)}, AtLeast: math.Inf(-1), AtMost: 1e-3, Layouts: []string{"single-guide"}}}
	e := NewEvaluation(s)
	e.Evaluate(nil)
	if conforming, usable := value(t, e, ConformingParts), value(t, e, UsableTravel); conforming != 1 || !(usable > 1) {
		t.Errorf("%g of the parts conform, usable travel %g mm", conforming, usable)
	}
}
