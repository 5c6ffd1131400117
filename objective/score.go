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
