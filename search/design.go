package search

import (
	"math"
	v1 "math/rand"
	"math/rand/v2"

	"github.com/MaxHalford/eaopt"
)

// design is the genome of an individual: a point of the design space with what
// its evaluation told, and how it was bred. Once evaluated it does not change but
// for beyond.
type design struct {
	space Space
	u     []float64 // in the unit cube; finite variables at the middle of their part
	id    int64     // number of the proposal

	objectives []float64 // nil: not known
	stage      int       // that failed
	violation  float64   // of that stage; 0: feasible
	limits     []float64 // NaN: not known; nil: none told
	predicted  bool      // all this by a surrogate, not by an evaluation
	rank       float64   // place among the parents, the best first: its fitness

	beyond []float64 // the last infeasible point that was bred from this one; nil: none

	// How it was bred; cleared when its generation has been selected from.
	operator operator
	parent   *design // nil: drawn or proposed by the surrogate
	minuend  *design // differential evolution: what the mate's difference is taken to
	factor   float64 // F of differential evolution
	rate     float64 // its crossover rate, CR
}

func (d *design) feasible() bool { return d.violation == 0 }

// known reports whether nothing about the design is left open: of one that is not
// feasible the objectives and all limits.
func (d *design) known() bool {
	return d.feasible() || d.objectives != nil && allFinite(d.limits)
}

// Evaluate implements eaopt.Genome: the fitness of a parent is its rank. The
// evaluation proper is done by whole generations, in breeding.
func (d *design) Evaluate() (float64, error) { return d.rank, nil }

// Clone implements eaopt.Genome.
func (d *design) Clone() eaopt.Genome {
	c := *d
	return &c
}

// Crossover implements eaopt.Genome: it recombines the design, which is a copy of
// its parent, with a mate by the operator that breeds it.
func (d *design) Crossover(mate eaopt.Genome, rng *v1.Rand) {
	r, q := rand.New(rng), mate.(*design).u
	switch d.operator {
	case opBinary:
		simulatedBinary(d.space, d.u, q, r)
	case opDifference, opPartly:
		differential(d.space, d.u, q, d.minuend.u, d.factor, d.rate, r)
	case opBisect:
		t := r.Float64()
		for k := range d.u {
			d.u[k] += t * (q[k] - d.u[k])
		}
	}
}

// Mutate implements eaopt.Genome.
func (d *design) Mutate(rng *v1.Rand) { polynomial(d.space, d.u, rand.New(rng)) }

// tell stores outcomes in the designs they belong to. It reports false if they do
// not fit: see [ErrOutcomes]. Objectives is their number, 0 as long as unknown.
func tell(designs []*design, out []Outcome, objectives *int) (ok bool) {
	m, ok := check(out, len(designs), *objectives)
	if !ok {
		return false
	}
	*objectives = m
	size := 0
	for i := range out {
		size += m + len(out[i].Limits)
	}
	flat := make([]float64, 0, size)
	own := func(x []float64) []float64 {
		flat = append(flat, x...)
		return flat[len(flat)-len(x) : len(flat) : len(flat)]
	}
	for i, d := range designs {
		o := &out[i]
		d.stage, d.violation = o.Stage, o.Violation
		if len(o.Objectives) > 0 && allFinite(o.Objectives) {
			d.objectives = own(o.Objectives)
		}
		d.limits = own(o.Limits)
	}
	return true
}

// check reports whether outcomes can be told to a plan that expects m
// objectives (0: not known yet), and the number of objectives they have.
func check(out []Outcome, n, m int) (objectives int, ok bool) {
	if len(out) != n {
		return m, false
	}
	for i := range out {
		o := &out[i]
		if !(o.Violation >= 0) || o.Feasible() && len(o.Objectives) == 0 {
			return m, false
		}
		if len(o.Objectives) == 0 {
			continue
		}
		if m == 0 {
			m = len(o.Objectives)
		}
		if len(o.Objectives) != m {
			return m, false
		}
		if o.Feasible() && !allFinite(o.Objectives) {
			return m, false
		}
	}
	return m, true
}

func allFinite(x []float64) bool {
	for _, v := range x {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return false
		}
	}
	return true
}
