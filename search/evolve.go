package search

import (
	"context"
	"errors"
	"fmt"
	"math"
	v1 "math/rand"
	"runtime/debug"

	"github.com/MaxHalford/eaopt"
)

// SurrogateDesigns is up to how many designs of a plan a surrogate pays: it finds
// in thousands of evaluations what takes plain evolution tens of thousands, and
// later only adds its time.
const SurrogateDesigns = 20_000

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
	// Pool is what asks the model, whose answers do not depend on it. Nil is one worker.
	Pool *Pool
	// Switched are generations, ascending, behind which the surrogate goes on or off: a
	// run that was made longer under the other setting.
	Switched []int
	// Stagnation ends the run when the hypervolume of the front grew by less
	// than 0.1 % over so many generations. 0 never does.
	Stagnation int
	// Start are points to begin with, in decoded values, such as the front of
	// an earlier run. They are moved to the nearest values of the space and
	// proposed first; what does not fit in the first generation is left out. Islands
	// share them out.
	Start [][]float64
	// Shard of N above 1 is an island: a part of the population, sizes differing
	// by one at most, with random numbers of its own, that breeds apart from the
	// others for as many generations. Point k of island I has the id I + N (k-1).
	Shard Shard
	// Exchange carries members between islands at fixed generations: each sends
	// its parents, and takes in those of each other island in turn, which stand for
	// selection with its own. Nil leaves islands apart.
	Exchange Exchange
}

// Evolve searches the non-dominated front by evolution.
type Evolve struct {
	space Space
	seed  uint64
	o     EvolveOptions
	apart int // the variable whose values are niches; -1: none
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
	if o.Population < leastIsland*shard.N && shard.N > 1 {
		return nil, fmt.Errorf("search: a population of %d makes at most %d islands of %d", o.Population, o.Population/leastIsland, leastIsland)
	}
	for i, x := range o.Start {
		if len(x) != len(s) {
			return nil, fmt.Errorf("search: start point %d has %d values, the space has %d variables", i, len(x), len(s))
		}
	}
	apart := nicheVariable(s, o.Population/shard.N)
	if shard.N > 1 {
		seed = Mix(seed + Mix(uint64(shard.I)))
		o.Population = o.Population/shard.N + int(b2i(shard.I <= o.Population%shard.N))
		var start [][]float64
		for i := shard.I - 1; i < len(o.Start); i += shard.N {
			start = append(start, o.Start[i])
		}
		o.Start = start
	}
	o.Shard = shard
	return &Evolve{s, seed, o, apart}, nil
}

// Designs is Population*Generations, of an island its part, unless the space has
// fewer points.
func (e *Evolve) Designs() int64 {
	total := int64(e.o.Population) * int64(e.o.Generations)
	if n, ok := e.size(); ok {
		total = min(total, n)
	}
	return total
}

// Started is how many of the points to begin with the first generation takes: as many as it has
// places, of those apart as many as their part of it has.
func (e *Evolve) Started() int {
	if e.apart < 0 {
		return min(len(e.o.Start), e.o.Population)
	}
	n := niches{space: e.space, apart: e.apart}
	count, started := make([]int, e.space[e.apart].Choices), 0
	for _, x := range e.o.Start {
		k := n.of(x)
		if count[k]++; count[k] <= part(e.o.Population, k, len(count)) {
			started++
		}
	}
	return started
}

// size is how many points there are to propose.
func (e *Evolve) size() (count int64, isFinite bool) {
	if e.apart < 0 {
		return e.space.Size()
	}
	for k := range e.space[e.apart].Choices {
		n, ok := e.space.part(e.space.niche(e.apart, k)).Size()
		if !ok {
			return 0, false
		}
		count += min(n, math.MaxInt64-count)
	}
	return count, true
}

// Run implements Plan. The loop over generations, and the population, are eaopt's;
// what a generation does is ours: niches are its model. eaopt orders individuals
// by one number, their rank, and never evaluates anything itself.
func (e *Evolve) Run(ctx context.Context, batch Batch) (EndedBy, error) {
	n := newNiches(e.space, e.seed, e.o, e.apart, func(p *Proposals) ([]Outcome, error) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		return batch(ctx, p)
	})
	if err := guard(n.first); err != nil || n.endedBy != NotEnded {
		return n.endedBy, err
	}
	parents := n.parents()
	config := eaopt.GAConfig{
		NPops:        1,
		PopSize:      uint(len(parents)),
		NGenerations: uint(e.o.Generations),
		HofSize:      1,
		Model:        model{n, ctx},
		RNG:          v1.New(v1.NewSource(1)), // drawn from by eaopt's bookkeeping only
		EarlyStop: func(*eaopt.GA) bool {
			return n.endedBy != NotEnded || n.generation >= e.o.Generations
		},
	}
	ga, err := config.NewGA()
	if err != nil {
		return NotEnded, err
	}
	handed := 0
	if err := ga.Minimize(func(*v1.Rand) eaopt.Genome {
		handed++
		return parents[handed-1]
	}); err != nil {
		return NotEnded, err
	}
	if n.endedBy != NotEnded {
		return n.endedBy, nil
	}
	return ByPlan, nil
}

// model is niches as eaopt's model of evolution: they turn a population into the
// next.
type model struct {
	*niches
	ctx context.Context // of the run: eaopt passes none
}

// Apply implements eaopt.Model. The members of each niche stand together, in order of
// merit: eaopt keeps them sorted by fitness, which is their place.
func (m model) Apply(population *eaopt.Population) error {
	at := population.Individuals
	for _, b := range m.list {
		for i := range b.parents {
			b.parents[i] = at[i].Genome.(*design)
		}
		at = at[len(b.parents):]
	}
	if err := guard(func() error { return m.generate(m.ctx) }); err != nil {
		return err
	}
	if m.endedBy == NotEnded && m.stagnates() {
		m.endedBy = ByStagnation
	}
	population.Individuals = population.Individuals[:0]
	for _, d := range m.parents() {
		population.Individuals = append(population.Individuals, eaopt.Individual{Genome: d, Fitness: d.rank, Evaluated: true})
	}
	return nil
}

// Validate implements eaopt.Model.
func (model) Validate() error { return nil }

// guard keeps a panic, which on eaopt's goroutine would end the process.
func guard(f func() error) (err error) {
	defer func() {
		if v := recover(); v != nil {
			err = &Panic{Index: -1, Value: v, Stack: debug.Stack()}
		}
	}()
	return f()
}

var _ eaopt.Model = model{}
