package objective

import (
	"math"
	"math/rand/v2"
	"slices"

	"flexwright/models/elementary"
)

// Tolerance is what the error of every blade's thickness does to a design.
type Tolerance struct {
	Sigma    float64 // standard deviation of a blade's thickness, m
	Samples  int
	Seed     uint64
	Unsolved int // samples that are not solved: buckled, out of range
	// Scatter of the measures over the solved samples, indexed by [Measure].
	Scatter [NumMeasures]Scatter
}

// Scatter is the distribution of a measure, in the unit of its column.
type Scatter struct {
	Computed bool
	Mean     float64
	// Tail is the value that 95 % of the samples are no worse than: the 95th
	// percentile of a measure that is better when small, the 5th of the others.
	Tail float64
}

// NewTolerance evaluates samples of the design of a pinned spec, each blade's
// thickness off by an independent normal error of standard deviation sigma, m.
// A blade's stiffness is off by three times the relative error of its
// thickness, so that what symmetry cancels in the nominal part comes back.
// The same seed gives the same samples. Measures that are computed only when
// the brief names them are left out. It allocates.
func NewTolerance(spec *Spec, sigma float64, samples int, seed uint64) *Tolerance {
	all := *spec
	all.NoScreening = true
	all.Measures = slices.DeleteFunc(slices.Clone(spec.Measures), func(m Measure) bool { return Table[m].OnName })
	e := NewEvaluation(&all)
	e.Evaluate(nil)
	t := &Tolerance{Sigma: sigma, Samples: samples, Seed: seed}
	if !e.Verdict.OK() {
		t.Unsolved = samples
		return t
	}
	part, nominal := *e.Stage(), e.Stage().Thickness
	part.Thickness = make([]float64, len(nominal))
	values := make([][]float64, NumMeasures)
	rng := rand.New(rand.NewPCG(seed, 0x746f6c6572616e63))
	for range samples {
		for i := range nominal {
			part.Thickness[i] = nominal[i] + sigma*elementary.Normal(rng)
			// a wall is not thinner than nothing: beyond any real error
			part.Thickness[i] = max(part.Thickness[i], 0.1*nominal[i])
		}
		measures, verdict := e.Bench().Measure(&part, e.want[e.layout])
		if !verdict.OK() {
			t.Unsolved++
			continue
		}
		for m := range NumMeasures {
			if v, ok := measures.Get(m); ok {
				values[m] = append(values[m], v)
			}
		}
	}
	for m, v := range values {
		if len(v) == 0 || Table[m].IsText() {
			continue
		}
		s := &t.Scatter[m]
		s.Computed = true
		for _, x := range v {
			s.Mean += x / float64(len(v))
		}
		slices.Sort(v)
		rank := int(math.Ceil(0.95*float64(len(v)))) - 1
		if Table[m].Sense == Most {
			rank = len(v) - 1 - rank
		}
		s.Tail = v[rank]
	}
	return t
}
