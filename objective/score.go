package objective

import (
	"math"

	"flexwright/models"
)

// Score judges a row: it fills Violation, Feasible and FirstLimit from the
// status, parameters and measures. A number that was not computed is not
// judged; Screened rows have failed a limit on one that was.
func (s *Spec) Score(r *Row) {
	r.Feasible, r.FirstLimit, r.Violation = false, "", math.NaN()
	if r.Status != models.Solved && r.Status != models.Screened {
		return
	}
	total, worst := 0.0, 0.0
	for i := range s.Limits {
		limit := &s.Limits[i]
		v, ok := r.Value(limit.Ref)
		if !ok {
			continue
		}
		if excess := limit.Excess(v); excess > 0 {
			total += excess
			if excess > worst {
				worst, r.FirstLimit = excess, s.Column(limit.Ref)
			}
		}
	}
	r.Violation = total
	r.Feasible = total == 0 && r.Status == models.Solved
}

// Unsolved is what the search sees as the violation of a design that is not
// solved, above that of any that is: the milder the trouble, the smaller.
func Unsolved(v models.Verdict) float64 {
	excess := 0.0
	if v.Bound != 0 && !math.IsNaN(v.Value) {
		excess = math.Abs(v.Value-v.Bound) / math.Abs(v.Bound)
	}
	// excess/(1+excess) is below 1, so that the statuses stay apart.
	return 1e6 * (float64(v.Status) + excess/(1+excess))
}

// Objectives writes the goals of a row into out, each so that least is best.
// It reports false, and writes +Inf, where one was not computed.
func (s *Spec) Objectives(r *Row, out []float64) bool {
	all := true
	for i, g := range s.Goals {
		v, ok := r.Value(g.Ref)
		if !ok {
			all, v = false, math.Inf(1)
		} else if g.Sense == Most {
			v = -v
		}
		out[i] = v
	}
	return all
}
