package search

import (
	"context"
	"errors"
	"fmt"
	v1 "math/rand"
	"runtime/debug"

	"github.com/MaxHalford/eaopt"
)

// EvolveOptions of NewEvolve.
type EvolveOptions struct {
	// Population is the number of points of a generation. Defaults to 100.
	Population int
	// Generations, the first sample included: Population*Generations points
	// are proposed. Defaults to 100.
	Generations int
	// Surrogate lets a model of the rows so far propose a part of the points,
	// for small budgets: it costs milliseconds a point.
	Surrogate bool
	// Stagnation ends the run when the hypervolume of the front grew by less
	// than 0.1 % over so many generations. 0 never does.
	Stagnation int
	// Start are points to begin with, in decoded values, such as the front of
	// an earlier run. They are moved to the nearest values of the space and
	// proposed first; what does not fit in the first generation is left out.
	Start [][]float64
	Shard Shard
}

// Evolve searches the non-dominated front by evolution.
type Evolve struct {
	space Space
	seed  uint64
	o     EvolveOptions
}

// NewEvolve returns the plan; see the package documentation for how it searches.
func NewEvolve(s Space, seed uint64, o EvolveOptions) (*Evolve, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	shard, err := o.Shard.normal()
	if err != nil {
		return nil, err
	}
	if o.Population < 0 || o.Generations < 0 || o.Stagnation < 0 {
		return nil, errors.New("search: population, generations and stagnation must not be negative")
	}
	if o.Population == 0 {
		o.Population = 100
	}
	if o.Generations == 0 {
		o.Generations = 100
	}
	for i, x := range o.Start {
		if len(x) != len(s) {
			return nil, fmt.Errorf("search: start point %d has %d values, the space has %d variables", i, len(x), len(s))
		}
	}
	if shard.N > 1 {
		seed = mix(seed + mix(uint64(shard.I)))
	}
	o.Shard = shard
	return &Evolve{s, seed, o}, nil
}

// Designs is Population*Generations, unless the space has fewer points.
func (e *Evolve) Designs() int64 {
	total := int64(e.o.Population) * int64(e.o.Generations)
	if n, ok := e.space.Size(); ok {
		total = min(total, n)
	}
	return total
}

// Run implements Plan. The loop over generations is eaopt's; what a generation
// does is ours, in breeding. eaopt orders individuals by one number, so each
// gets its place in our own order, and never evaluates anything itself.
func (e *Evolve) Run(ctx context.Context, batch Batch) (by EndedBy, err error) {
	b := newBreeding(e.space, e.seed, e.o, func(p *Proposals) ([]Outcome, error) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		return batch(ctx, p)
	})
	config := eaopt.GAConfig{
		NPops:        1,
		PopSize:      uint(e.o.Population),
		NGenerations: uint(e.o.Generations),
		HofSize:      1,
		Model:        &loop{b: b},
		RNG:          v1.New(v1.NewSource(1)), // drawn from by eaopt's bookkeeping only
		EarlyStop: func(*eaopt.GA) bool {
			return b.endedBy != NotEnded || b.generation >= e.o.Generations
		},
	}
	ga, err := config.NewGA()
	if err != nil {
		return NotEnded, err
	}
	if err := ga.Minimize(config.Model.(*loop).newGenome); err != nil {
		return NotEnded, err
	}
	if b.endedBy != NotEnded {
		return b.endedBy, nil
	}
	return ByPlan, nil
}

// loop is eaopt's model: one generation at a time.
type loop struct {
	b       *breeding
	created int
	err     error
}

// newGenome evaluates the whole first sample when eaopt asks for its first
// member, because eaopt would evaluate one by one. It cannot fail, so an error
// waits for the member's Evaluate.
func (l *loop) newGenome(*v1.Rand) eaopt.Genome {
	if l.created == 0 {
		l.err = l.guard(l.b.first)
	}
	l.created++
	return &genome{place: float64(l.created - 1), err: l.err}
}

// Apply implements eaopt.Model.
func (l *loop) Apply(pop *eaopt.Population) error {
	if err := l.guard(l.b.next); err != nil {
		return err
	}
	if l.b.endedBy == NotEnded && l.b.stagnates() {
		l.b.endedBy = ByStagnation
	}
	for i := range pop.Individuals {
		pop.Individuals[i] = eaopt.Individual{
			Genome: &genome{place: float64(i)}, Fitness: float64(i), Evaluated: true,
		}
	}
	return nil
}

// Validate implements eaopt.Model.
func (l *loop) Validate() error { return nil }

// guard keeps a panic, which on eaopt's goroutine would end the process.
func (l *loop) guard(f func() error) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = &Panic{Index: -1, Value: v, Stack: debug.Stack()}
		}
	}()
	return f()
}

// genome stands for the member of the breeding at its place in order.
type genome struct {
	place float64
	err   error
}

func (g *genome) Evaluate() (float64, error)       { return g.place, g.err }
func (g *genome) Clone() eaopt.Genome              { c := *g; return &c }
func (g *genome) Mutate(*v1.Rand)                  { panic("search: eaopt must not mutate") }
func (g *genome) Crossover(eaopt.Genome, *v1.Rand) { panic("search: eaopt must not recombine") }

var _ eaopt.Model = (*loop)(nil)
