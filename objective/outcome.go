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
	known := func(ref Ref) bool { return out.Violation == 0 || int(s.step(ref)) < out.Stage }
	s.Objectives(r, out.Objectives)
	for i, g := range s.Goals {
		if !known(g.Ref) {
			out.Objectives[i] = math.Inf(1)
		}
	}
	out.Limits = out.Limits[:0]
	for i := range s.Limits {
		l := &s.Limits[i]
		above, below := math.NaN(), math.NaN()
		if v, ok := r.Judged(l); ok && known(l.Ref) {
			above, below = l.beyond(v)
		}
		if !math.IsInf(l.AtMost, 1) {
			out.Limits = append(out.Limits, max(min(above, 1), -unbounded))
		}
		if !math.IsInf(l.AtLeast, -1) {
			out.Limits = append(out.Limits, max(min(below, 1), -unbounded))
		}
	}
}

// unbounded is the distance within a limit that counts as infinite: a surrogate learns
// finite numbers only.
const unbounded = 1e6

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
	j := s.judge(r)
	for step, violation := range j.byStep {
		if Step(step) == ended {
			violation++ // worse than what could be computed
		}
		if violation > 0 {
			return step + 1, violation
		}
	}
	return int(NumSteps) + 1, 0
}
