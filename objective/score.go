package objective

import (
	"math"

	"flexwright/models"
)

// step of a number: parameters are known from the start.
func (s *Spec) step(r Ref) Step {
	if r.Parameter {
		return StepBuild
	}
	return Table[r.Index].Step
}

func value(ref Ref, parameters []float64, m *Measures) (float64, bool) {
	if ref.Parameter {
		v := parameters[ref.Index]
		return v, !math.IsNaN(v)
	}
	return m.Get(Measure(ref.Index))
}

// violation is the sum of the excesses over the limits on what was computed in
// the steps up to last, and the number of the limit with the largest, -1 if none.
func (s *Spec) violation(parameters []float64, m *Measures, last Step) (total float64, worst int) {
	worst = -1
	most := 0.0
	for i := range s.Limits {
		limit := &s.Limits[i]
		if s.step(limit.Ref) > last {
			continue
		}
		v, ok := value(limit.Ref, parameters, m)
		if !ok {
			continue
		}
		if excess := limit.Excess(v); excess > 0 {
			total += excess
			if excess > most {
				most, worst = excess, i
			}
		}
	}
	return total, worst
}

// stageViolation is the violation of the first step, up to last, at which any
// limit fails, with all before it.
func (s *Spec) stageViolation(parameters []float64, m *Measures, last Step) float64 {
	for step := StepBuild; step <= last; step++ {
		if v, _ := s.violation(parameters, m, step); v > 0 {
			return v
		}
	}
	return 0
}

// Score judges a row: it fills Violation, Feasible and FirstLimit from the
// status, parameters and measures. A number that was not computed is not
// judged; Screened rows have failed a limit on one that was.
func (s *Spec) Score(r *Row) {
	r.Feasible, r.FirstLimit, r.Violation = false, "", math.NaN()
	if r.Status != models.Solved && r.Status != models.Screened {
		return
	}
	total, worst := s.violation(r.Parameters, &r.Measures, NumSteps)
	if worst >= 0 {
		r.FirstLimit = s.Column(s.Limits[worst].Ref)
	}
	r.Violation = total
	r.Feasible = total == 0 && r.Status == models.Solved
}

// Violation is what the search sees of a row: 0 when feasible; the violation of
// the first step at which a limit fails, whether the later ones were computed,
// or could be, or not, so that screening proposes the same points; and for a
// design that cannot be built, or fails no limit and is not solved, a number
// above all those, larger the worse the status.
func (s *Spec) Violation(r *Row) float64 {
	const unsolved = 1e6
	if r.Status != models.CannotBuild {
		v := s.stageViolation(r.Parameters, &r.Measures, NumSteps)
		if v > 0 || r.Status == models.Solved || r.Status == models.Screened {
			return min(v, unsolved)
		}
	}
	return unsolved * float64(r.Status)
}

// Objectives writes the goals of a row into out, each so that least is best.
// One that was not computed is +Inf.
func (s *Spec) Objectives(r *Row, out []float64) {
	for i, g := range s.Goals {
		v, ok := r.Value(g.Ref)
		if !ok {
			v = math.Inf(1)
		} else if g.Sense == Most {
			v = -v
		}
		out[i] = v
	}
}

// Told says what the search may be told of a row beside its violation: the
// objectives, and the signed limits. Of a row that fails a limit of an early
// step only what that step and those before it compute, whether screening kept
// the later ones from being computed or not.
func (s *Spec) Told(r *Row) (objectives, limits bool) {
	failed := StepBuild
	for ; failed < NumSteps; failed++ {
		if v, _ := s.violation(r.Parameters, &r.Measures, failed); v > 0 {
			break
		}
	}
	if r.Status == models.CannotBuild || failed == NumSteps && r.Status != models.Solved {
		return false, false
	}
	objectives, limits = true, true
	for _, g := range s.Goals {
		_, ok := r.Value(g.Ref)
		objectives = objectives && ok && s.step(g.Ref) <= failed
	}
	for i := range s.Limits {
		_, ok := r.Value(s.Limits[i].Ref)
		limits = limits && ok && s.step(s.Limits[i].Ref) <= failed
	}
	return objectives, limits
}

// Signed appends the signed distances of a row to its limits, as Excess scales
// them and at or below 0 where the limit holds; a limit between two bounds has
// two. The sum of the positive ones is the violation. All must be computed.
func (s *Spec) Signed(r *Row, out []float64) []float64 {
	scaled := func(distance, bound float64) float64 {
		if bound == 0 {
			return distance
		}
		return distance / math.Abs(bound)
	}
	for i := range s.Limits {
		l := &s.Limits[i]
		v, ok := r.Value(l.Ref)
		if !ok {
			panic("objective: a limit that was not computed")
		}
		if !math.IsInf(l.AtMost, 1) {
			out = append(out, scaled(v-l.AtMost, l.AtMost))
		}
		if !math.IsInf(l.AtLeast, -1) {
			out = append(out, scaled(l.AtLeast-v, l.AtLeast))
		}
	}
	return out
}
