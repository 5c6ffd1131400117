package objective

import (
	"cmp"
	"math"
	"slices"

	"flexwright/models"
)

// Scatter is what the tolerances do to a design: the parts that were measured of it.
type Scatter struct {
	Spec       *ToleranceSpec
	Unsolved   int // parts that are not solved: buckled, out of range
	Conforming int
	// The share that conforms, with 95 % confidence (Clopper and Pearson).
	Low, High float64
	Reasons   []FailReason
	Measures  []MeasureScatter
}

// FailReason is why parts do not conform: a status, or the measure that breaks its limit,
// the first in the order in which they are computed.
type FailReason struct {
	Text  string
	Parts int
}

// MeasureScatter is the distribution of a measure over the parts, in the unit of its
// column; NaN where there is no such number.
type MeasureScatter struct {
	Measure       Measure
	Nominal, Mean float64 // the mean is of the parts that have a value
	Tail          float64
	// Between these the quantile itself lies with 95 % confidence, whatever the
	// distribution ([QuantileRanks]); infinite where the samples do not bound it.
	Low, High float64
}

// TailsOf returns the measures of a list, then the tails of all of them and the share of
// parts that conform.
func TailsOf(list []Measure) []Measure {
	list = plainOnly(list)
	all := append(slices.Clone(list), ConformingParts)
	for _, m := range list {
		if m.HasTail() {
			all = append(all, m.Tail())
		}
	}
	return all
}

// NewScatter measures parts of the design of a pinned spec; nil where the design itself
// is not solved. It allocates.
func NewScatter(spec *Spec) *Scatter {
	all, tolerances := *spec, *spec.tolerances()
	tolerances.Always, tolerances.Sampled = true, true
	all.NoScreening, all.Tolerances, all.Measures = true, &tolerances, TailsOf(spec.Measures)
	e := NewEvaluation(&all)
	e.Evaluate(nil)
	if !e.Verdict.OK() {
		return nil
	}
	return e.Bench().scatter(e.Measures)
}

// reasons are why parts of the last stage do not conform, the most frequent first.
func (p *partsMemory) reasons() []FailReason {
	var list []FailReason
	count := map[string]int{}
	for _, end := range p.ended {
		switch {
		case end.fails >= 0 && (end.status.OK() || end.status == models.Screened): // by that limit
			count[Table[end.fails].Name]++
		case !end.status.OK():
			count[end.status.String()]++
		}
	}
	for text, n := range count {
		list = append(list, FailReason{text, n})
	}
	slices.SortFunc(list, func(a, b FailReason) int { return cmp.Or(b.Parts-a.Parts, cmp.Compare(a.Text, b.Text)) })
	return list
}

// PartFails are why parts of the last candidate do not conform, the most frequent first;
// none where no share of conforming parts was computed. It allocates.
func (e *Evaluation) PartFails() []FailReason {
	if _, ok := e.Measures.Get(ConformingParts); !ok {
		return nil
	}
	return e.Bench().parts.reasons()
}

// scatter tells what the parts of the last stage say.
func (b *Bench) scatter(nominal *Measures) *Scatter {
	p := b.parts
	s := &Scatter{Spec: p.spec, Reasons: p.reasons()}
	for _, end := range p.ended {
		switch {
		case !end.status.OK() && end.status != models.Screened:
			s.Unsolved++
		case end.fails < 0:
			s.Conforming++
		}
	}
	s.Low, s.High = ShareInterval(s.Conforming, len(p.ended))

	low, high := QuantileRanks(p.spec.Share, len(p.ended))
	for i, m := range p.tailed {
		unit, sign := Table[m].Unit, worse(m)
		c := MeasureScatter{Measure: m, Nominal: math.NaN()}
		if v, ok := nominal.Get(m); ok {
			c.Nominal = v
		}
		sum, n := 0.0, 0
		for _, v := range p.value[i] {
			if math.Abs(v) < math.MaxFloat64 {
				sum += v
				n++
			}
		}
		c.Mean = unit.FromSI(sum / float64(n)) // NaN of none
		p.sort(i, sign)
		c.Tail = unit.FromSI(p.order(p.spec.Rank(), sign))
		bounds := [2]float64{math.Inf(-1) * sign, math.Inf(1) * sign}
		if low > 0 {
			bounds[0] = unit.FromSI(p.order(low, sign))
		}
		if high <= len(p.sorted) {
			bounds[1] = unit.FromSI(p.order(high, sign))
		}
		c.Low, c.High = bounds[0], bounds[1]
		if sign < 0 {
			c.Low, c.High = c.High, c.Low
		}
		s.Measures = append(s.Measures, c)
	}
	return s
}
