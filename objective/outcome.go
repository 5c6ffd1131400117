package objective

import (
	"math"

	"flexwright/models"
	"flexwright/search"
)

// Outcome is what the search is told of a row: goals, limits and how far the
// design got. It reads stored values alone, and nothing of the steps behind the
// one that failed first, so that a fresh row, a stored one and one that was
// evaluated without screening tell the same. Objectives must have a place for
// each goal; the memory of Limits is used again.
//
// Stages are the steps of the evaluation, counted from 1; stage 0 is a design
// that could not be built. A limit adds at most 1 to the violation of its step,
// and just 1 where its number could not be computed.
func (s *Spec) Outcome(r *Row, out *search.Outcome) {
	out.Stage, out.Violation = s.failure(r)
	told := func(ref Ref) float64 {
		if v, ok := r.Value(ref); ok && (out.Violation == 0 || int(s.step(ref)) < out.Stage) {
			return v
		}
		return math.NaN()
	}
	for i, g := range s.Goals {
		v := told(g.Ref)
		if g.Sense == Most {
			v = -v
		}
		if math.IsNaN(v) {
			v = math.Inf(1)
		}
		out.Objectives[i] = v
	}
	out.Limits = out.Limits[:0]
	for i := range s.Limits {
		l := &s.Limits[i]
		v := told(l.Ref)
		if !math.IsInf(l.AtMost, 1) {
			out.Limits = append(out.Limits, scaled(v-l.AtMost, l.AtMost))
		}
		if !math.IsInf(l.AtLeast, -1) {
			out.Limits = append(out.Limits, scaled(l.AtLeast-v, l.AtLeast))
		}
	}
}

// scaled is a distance beyond a bound in magnitudes of the bound, at most 1; NaN
// stays.
func scaled(distance, bound float64) float64 {
	if bound != 0 {
		distance /= math.Abs(bound)
	}
	return min(distance, 1)
}

// failure returns the first stage that failed and its violation, 0 if none did.
func (s *Spec) failure(r *Row) (stage int, violation float64) {
	if r.Status == models.CannotBuild {
		return 0, 1
	}
	ended := NumSteps // the step that could not be computed
	if r.Status != models.Solved && r.Status != models.Screened {
		ended = StepBuild
		for _, m := range s.Measures {
			if _, ok := r.Measures.Get(m); ok {
				ended = max(ended, min(Table[m].Step+1, NumSteps-1))
			}
		}
	}
	for step := StepBuild; step < NumSteps; step++ {
		for i := range s.Limits {
			l := &s.Limits[i]
			if s.step(l.Ref) != step {
				continue
			}
			if v, ok := r.Value(l.Ref); ok {
				violation += min(l.Excess(v), 1)
			} else {
				violation++
			}
		}
		if step == ended {
			violation++ // worse than what could be computed
		}
		if violation > 0 {
			return int(step) + 1, violation
		}
	}
	return int(NumSteps) + 1, 0
}
