package objective

import (
	"math"
	"slices"
)

// Sensitivity tells what moves the measures of one design: its parameters, one at a time,
// and of its parts the tolerances.
type Sensitivity struct {
	// Derivative of each of Measures to each parameter of the spec, in the units of the
	// columns; NaN where no step of difference gives one ([differenceSteps]).
	Measures   []Measure
	Parameters [][]float64 // by measure, by parameter
	Analytic   []bool      // by measure: from the mechanics' own derivatives, not by differences of solved stages

	// Of parts; nil unless asked for
	Tails []TailSensitivity
	// Loosest standard deviation of thickness, m, with which the share of the tolerances
	// still conforms, the others as they are; NaN where none does, +Inf where 100 µm do.
	LoosestThickness float64
}

// TailSensitivity is what tolerances do to the tail of a measure that a limit is on.
type TailSensitivity struct {
	Measure Measure // the tail
	// Derivative to each standard deviation, in the units of column and tolerance, under
	// the same draws; NaN where the tail is null, or the tolerance 0.
	Derivative [NumTolerances]float64
	// Budget is the part of the tail's distance from the nominal that each tolerance
	// spends: the square of the distance under it alone over the sum of all squares.
	Budget [NumTolerances]float64
}

// differenceSteps are tried in turn, relative to a parameter's value: the first at which
// the central differences at the step and at half of it agree within 2 %, then
// extrapolated (L. F. Richardson, The approximate arithmetical solution by finite
// differences, Phil. Trans. A 210, 1911). The last are for measures that a search has
// found to 0.1 %.
var differenceSteps = [...]float64{1e-3, 1e-2, 4e-2}

const differenceAgreement = 0.02

// NewSensitivity differentiates the design of a pinned spec; nil where it is not solved.
// With parts it also measures parts, for every tolerance. It allocates.
func NewSensitivity(spec *Spec, parts bool) *Sensitivity {
	all := *spec
	all.NoScreening, all.Fixed, all.Measures = true, slices.Clone(spec.Fixed), plainOnly(spec.Measures)
	e := NewEvaluation(&all)
	e.Evaluate(nil)
	if !e.Verdict.OK() {
		return nil
	}
	nominal, at := e.Measures.Clone(), slices.Clone(e.Parameters)
	near := newVariation(&all)
	s := &Sensitivity{LoosestThickness: math.NaN()}
	for _, m := range all.Measures {
		if _, ok := nominal.Get(m); ok {
			s.Measures = append(s.Measures, m)
			s.Parameters = append(s.Parameters, make([]float64, len(at)))
			s.Analytic = append(s.Analytic, near != nil && m.analytic())
		}
	}
	for k := range at {
		var analytic []float64
		if near != nil {
			analytic = near.derivatives(s.Measures, k, at[k])
		}
		d := e.differentiate(s.Measures, k, at[k], &nominal)
		for i := range s.Measures {
			if s.Parameters[i][k] = d[i]; s.Analytic[i] && !math.IsNaN(analytic[i]) {
				s.Parameters[i][k] = analytic[i]
			}
		}
	}
	if parts {
		s.measureParts(spec)
	}
	return s
}

// differentiate returns the derivatives of measures to parameter k at a value.
func (e *Evaluation) differentiate(list []Measure, k int, at float64, nominal *Measures) []float64 {
	p := &e.Spec.Parameters()[k]
	out := make([]float64, len(list))
	for i := range out {
		out[i] = math.NaN()
	}
	fixed := e.Spec.Fixed[k]
	defer func() { e.Spec.Fixed[k] = fixed }()
	difference := func(h float64) []float64 {
		var side [2]Measures
		for j, sign := range [2]float64{-1, 1} {
			x := at + sign*h
			if x < p.Min || x > p.Max {
				return nil
			}
			e.Spec.Fixed[k] = x
			if e.Evaluate(nil); !e.Verdict.OK() {
				return nil
			}
			side[j] = e.Measures.Clone()
		}
		d := make([]float64, len(list))
		for i, m := range list {
			a, okA := side[0].Get(m)
			b, okB := side[1].Get(m)
			if d[i] = (b - a) / (2 * h); !okA || !okB {
				d[i] = math.NaN()
			}
		}
		return d
	}
	scale := math.Abs(at)
	if scale == 0 {
		scale = 0.1 * min(p.Max, -p.Min) // of a position about 0; a mass of 0 has no two sides
	}
	if math.IsNaN(at) || !(scale > 0) {
		return out
	}
	for _, step := range differenceSteps {
		whole, half := difference(step*scale), difference(0.5*step*scale)
		if whole == nil || half == nil {
			continue
		}
		for i, m := range list {
			d := half[i] + (half[i]-whole[i])/3
			v, _ := nominal.Get(m)
			// what rounding leaves of a measure that the parameter does not move
			rounding := 1e-7 * math.Abs(v) / scale
			if math.IsNaN(out[i]) && math.Abs(whole[i]-half[i]) <= differenceAgreement*math.Abs(d)+rounding {
				out[i] = d
				if math.Abs(d) <= rounding {
					out[i] = 0
				}
			}
		}
	}
	return out
}

// tailsOf measures the parts of the design of a pinned spec under some tolerances.
func tailsOf(spec *Spec, t *ToleranceSpec, list []Measure) *Measures {
	own := *spec
	own.NoScreening, own.Tolerances, own.Measures = true, t, list
	e := NewEvaluation(&own)
	e.Evaluate(nil)
	return e.Measures
}

// limitedTails returns the limited measures of a pinned spec that errors of making move, each followed by its tail.
func limitedTails(spec *Spec) (list []Measure) {
	for _, l := range spec.Limits {
		m := Measure(l.Ref.Index)
		if l.Ref.Parameter || !l.HoldsFor(spec.Layouts[0].Name()) || !m.Plain().HasTail() || Table[m.Plain()].Step == StepBuild || slices.Contains(list, m.Plain().Tail()) {
			continue
		}
		list = append(list, m.Plain(), m.Plain().Tail())
	}
	return list
}

// ToleranceBudgets returns what spends the tails of the limited measures of the design of a pinned spec
// ([TailSensitivity] Budget): parts with one error alone, of each tolerance in turn. With quick, tails of
// measures that ask for parts to be solved are left out. It allocates.
func ToleranceBudgets(spec *Spec, quick bool) []TailSensitivity {
	t := *spec.tolerances()
	t.Always = true
	var told, solved []Measure // by derivatives, or not
	var tails []TailSensitivity
	for _, m := range limitedTails(spec) {
		switch {
		case m.Plain().byDerivatives():
			told = append(told, m)
		case quick:
			continue
		default:
			solved = append(solved, m)
		}
		if m != m.Plain() {
			tails = append(tails, TailSensitivity{Measure: m})
		}
	}
	for k := range t.Sigma {
		if t.Sigma[k] == 0 {
			continue
		}
		own := t
		own.Sigma = [NumTolerances]float64{}
		own.Sigma[k] = t.Sigma[k]
		for _, list := range [2][]Measure{told, solved} {
			if len(list) == 0 {
				continue
			}
			only := tailsOf(spec, &own, list)
			for i := range tails {
				if tail, ok := only.Get(tails[i].Measure); ok {
					nominal, _ := only.Get(tails[i].Measure.Plain())
					tails[i].Budget[k] = (tail - nominal) * (tail - nominal)
				}
			}
		}
	}
	for i := range tails {
		sum := 0.0
		for _, v := range tails[i].Budget {
			sum += v
		}
		for k := range tails[i].Budget {
			if sum > 0 {
				tails[i].Budget[k] /= sum
			}
		}
	}
	return tails
}

// measureParts fills what is of parts.
func (s *Sensitivity) measureParts(spec *Spec) {
	t := *spec.tolerances()
	t.Always = true
	list := limitedTails(spec)
	s.Tails = ToleranceBudgets(spec, false)
	const step = 0.1 // of a standard deviation: the same part stays the tail, mostly
	for k := range t.Sigma {
		var side [2]*Measures
		if t.Sigma[k] != 0 {
			for j, sign := range [2]float64{-1, 1} {
				own := t
				own.Sigma[k] *= 1 + sign*step
				side[j] = tailsOf(spec, &own, list)
			}
		}
		for i := range s.Tails {
			c := &s.Tails[i]
			c.Derivative[k] = math.NaN()
			if side[0] == nil {
				continue
			}
			low, okLow := side[0].Get(c.Measure)
			high, okHigh := side[1].Get(c.Measure)
			if okLow && okHigh {
				c.Derivative[k] = (high - low) / (2 * step * Tolerances[k].Unit.FromSI(t.Sigma[k]))
			}
		}
	}
	s.LoosestThickness = LoosestThickness(spec)
}

// LoosestThickness is that of [Sensitivity], of the design of a pinned spec. Parts are solved: at
// the loosest their errors may be large.
func LoosestThickness(spec *Spec) float64 {
	t := *spec.tolerances()
	t.Always, t.Sampled = true, true
	return loosestThickness(spec, t)
}

// loosestThickness halves the range from 0 to 100 µm, ten times.
func loosestThickness(spec *Spec, t ToleranceSpec) float64 {
	conforms := func(sigma float64) bool {
		t.Sigma[ToleranceThickness] = sigma
		share, ok := tailsOf(spec, &t, []Measure{ConformingParts}).Get(ConformingParts)
		return ok && share >= t.Share
	}
	most := Tolerances[ToleranceThickness].Unit.ToSI(Tolerances[ToleranceThickness].Most)
	if !conforms(0) {
		return math.NaN()
	}
	if conforms(most) {
		return math.Inf(1)
	}
	good, bad := 0.0, most
	for range 10 {
		if m := 0.5 * (good + bad); conforms(m) {
			good = m
		} else {
			bad = m
		}
	}
	return good
}
