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

// measured returns a measure as limits see it: what nothing bounds is +Inf, as far as
// what could have bounded it was computed.
func measured(m *Measures, k Measure) (v float64, ok bool) {
	if v, ok = m.Get(k); ok || !Table[k].Unbounded {
		return v, ok
	}
	_, ok = m.Get(knownBy(k))
	return math.Inf(1), ok
}

// knownBy is the measure that has a value wherever it was looked for what bounds k.
func knownBy(k Measure) Measure {
	switch Table[k].Step {
	case StepModes:
		return FirstFrequency
	case StepLoop:
		return Crossover
	}
	return PeakStress
}

// Judged returns the value of a number as a limit sees it, and whether it is known: as
// far as can be within one that does not hold for the row's layout, which is not to be
// shown.
func (r *Row) Judged(l *Limit) (float64, bool) {
	switch {
	case !l.HoldsFor(r.Layout) && math.IsInf(l.AtMost, 1):
		return math.Inf(1), true
	case !l.HoldsFor(r.Layout) && math.IsInf(l.AtLeast, -1):
		return math.Inf(-1), true
	case !l.HoldsFor(r.Layout):
		return (l.AtLeast + l.AtMost) / 2, true
	case l.Ref.Parameter:
		return r.Value(l.Ref)
	}
	return measured(&r.Measures, Measure(l.Ref.Index))
}

// beyond returns how far v is beyond each bound, in magnitudes of the bound, or in
// units of the column where the bound is 0: at or below 0 where it holds, -Inf where
// there is none.
func (l *Limit) beyond(v float64) (above, below float64) {
	scaled := func(distance, bound float64) float64 {
		if math.IsInf(bound, 0) {
			return math.Inf(-1)
		}
		if bound != 0 {
			distance /= math.Abs(bound)
		}
		return distance
	}
	return scaled(v-l.AtMost, l.AtMost), scaled(l.AtLeast-v, l.AtLeast)
}

// Margin is what is left to the nearer bound, in magnitudes of the bound, or in units
// of the column where the bound is 0; negative when the limit is broken.
func (l *Limit) Margin(v float64) float64 {
	above, below := l.beyond(v)
	return 0 - max(above, below) // at the bound +0, not -0
}

// Met reports whether v is within the limit.
func (l *Limit) Met(v float64) bool { return v <= l.AtMost && v >= l.AtLeast }

// violation is what a number adds to the violation: the distance beyond the bound as in
// [Limit.Margin], at most 1, so that no limit drowns the others; 1 where it is not known.
func (l *Limit) violation(v float64, known bool) float64 {
	if !known {
		return 1
	}
	return max(min(-l.Margin(v), 1), 0)
}

// Beyond is how far the numbers of a row are beyond their limits in all, each in magnitudes of its bound: it
// tells apart rows of the same violation, for which a limit counts at most 1.
func (s *Spec) Beyond(r *Row) float64 {
	sum := 0.0
	for i := range s.Limits {
		if v, known := r.Judged(&s.Limits[i]); known {
			sum += max(-s.Limits[i].Margin(v), 0)
		}
	}
	return sum
}

// judgement is what limits and goals say of a row.
type judgement struct {
	byStep [NumSteps]float64 // violation of the numbers of each step; what was not computed adds 1
	total  float64           // over limits and, of a solved row, goals that have no value
	worst  string            // column of the number that fails most; empty if none
}

// judge looks at every limit once. A goal without a value is not reached: it counts as
// a limit that fails.
func (s *Spec) judge(r *Row) (j judgement) {
	most := 0.0
	fails := func(ref Ref, known bool, violation float64) {
		if violation <= 0 {
			return
		}
		j.byStep[s.step(ref)] += violation
		rank := violation
		switch {
		case known:
		case r.Status == models.Screened:
			rank = 0 // not computed because of another
		case s.step(ref) == StepParts:
			rank = math.SmallestNonzeroFloat64 // no parts were made because of another, if one fails
		default:
			rank = 2 // undefined: before all that was computed
		}
		if rank > most {
			most, j.worst = rank, s.Column(ref)
		}
	}
	for i := range s.Limits {
		l := &s.Limits[i]
		v, known := r.Judged(l)
		violation := l.violation(v, known)
		j.total += violation
		fails(l.Ref, known, violation)
	}
	for _, g := range s.Goals {
		if _, known := r.Value(g.Ref); !known {
			if r.Status != models.Screened {
				j.total++
			}
			fails(g.Ref, false, 1)
		}
	}
	return j
}

// Score fills Violation, Feasible and FirstLimit of a row from its status, parameters
// and measures. Only a solved row can be feasible, with every limit met by a number
// and every goal a number.
func (s *Spec) Score(r *Row) {
	r.Feasible, r.FirstLimit, r.Violation = false, "", math.NaN()
	if r.Status != models.Solved && r.Status != models.Screened {
		return
	}
	j := s.judge(r)
	r.FirstLimit, r.Violation = j.worst, j.total
	r.Feasible = j.total == 0 && r.Status == models.Solved
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
