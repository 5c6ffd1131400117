package search

import (
	"context"
	"math"
	"math/rand/v2"

	"flexwright/models/elementary"
)

// breeding is the state of Evolve between generations: parents that breed
// children, of both of which the best are the next parents.
type breeding struct {
	space      Space
	seed       uint64
	o          EvolveOptions
	ask        func(*Proposals) ([]Outcome, error)
	generation int
	proposed   int64
	endedBy    EndedBy
	objectives int // their number; 0 as long as unknown

	parents  []*design // in order of merit
	children []*design
	front    int       // so many of the parents are the first front
	scale    []float64 // of the objectives: 1 over the range of the first front

	seen      *seen // nil: points may repeat
	portfolio portfolio
	model     *surrogate // nil: none in any generation
	modelled  bool       // in the first generations
	switched  []int      // behind these it changes

	exchanges int // with other islands, so far

	mark   []float64 // the front at the last look for stagnation
	marked int       // its generation

	relaxing bool    // small violations count as none
	level    float64 // how small, in the first generation

	selection selection
	proposals Proposals
	flat      []float64
	x         []float64
}

func newBreeding(s Space, seed uint64, o EvolveOptions, ask func(*Proposals) ([]Outcome, error)) *breeding {
	b := &breeding{space: s, seed: seed, o: o, ask: ask, seen: newSeen(s), x: make([]float64, len(s))}
	b.portfolio.reset()
	if o.Surrogate || len(o.Switched) > 0 {
		b.modelled, b.switched = o.Surrogate, o.Switched
		b.o.Surrogate, b.o.Switched = false, nil
		b.model = newSurrogate(b)
	}
	return b
}

// designs returns n new designs at the origin.
func (b *breeding) designs(n int) []design {
	var (
		list = make([]design, n)
		dim  = len(b.space)
		flat = make([]float64, n*dim)
	)
	for i := range list {
		list[i].space, list[i].u = b.space, flat[i*dim:(i+1)*dim:(i+1)*dim]
	}
	return list
}

// first draws and evaluates the first generation: the starting points, then a
// Latin hypercube.
func (b *breeding) first() error {
	b.generation = 1
	b.relaxing = true
	r := newStream(b.seed, 1)
	n := b.o.Population
	list := b.designs(n)
	for i := range list {
		c := &list[i]
		if i < len(b.o.Start) {
			b.space.Encode(b.o.Start[i], c.u)
		} else {
			for d := range c.u {
				key := Mix(Mix(b.seed) + uint64(d))
				c.u[d] = (float64(permute(uint64(i), uint64(n), key)) + r.Float64()) / float64(n)
			}
			settle(b.space, c.u, r.Rand)
		}
		if !b.admit(c, r, nil) {
			break
		}
	}
	return b.evaluate()
}

// With a surrogate a generation is proposed in parts, with a new model for each.
const (
	maxParts = 4
	minPart  = 10
)

// next breeds, evaluates and selects one generation.
func (b *breeding) next() error {
	b.generation++
	r := newStream(b.seed, uint64(b.generation))
	parts := 1
	if b.usesModel() {
		parts = min(max(b.o.Population/minPart, 1), maxParts)
	}
	for part := range parts {
		n := b.o.Population*(part+1)/parts - b.o.Population*part/parts
		if err := b.breed(n, r); err != nil || b.endedBy != NotEnded {
			return err
		}
	}
	return nil
}

// usesModel reports whether a surrogate proposes in this generation.
func (b *breeding) usesModel() bool {
	on := b.modelled
	for _, g := range b.switched {
		if b.generation > g {
			on = !on
		}
	}
	return on
}

// generate is next, and at some generations the exchange with other islands.
func (b *breeding) generate(ctx context.Context) error {
	if err := b.next(); err != nil {
		return err
	}
	// Not after the last: a plan that is made longer does it then.
	last := b.generation >= b.o.Generations
	if b.o.Exchange != nil && b.o.Shard.N > 1 && b.endedBy == NotEnded && !last && Exchanges(b.generation) {
		return b.migrate(ctx, b.o.Exchange)
	}
	return nil
}

// breed makes n children and selects the next parents.
func (b *breeding) breed(n int, r stream) error {
	list := b.designs(n)
	if b.usesModel() {
		for _, p := range b.model.propose(b, int(math.Round(float64(n)*b.portfolio.model))) {
			b.space.Decode(p.u, b.x)
			if b.seen.add(p.u, b.x) {
				c := &list[0]
				list = list[1:]
				copy(c.u, p.u)
				c.operator = opModel
				b.children = append(b.children, c)
			}
		}
	}
	for i := range list {
		c := &list[i]
		op := b.portfolio.choose(r.Rand)
		vary := func() { b.vary(c, op, r) }
		vary()
		if !b.admit(c, r, vary) {
			break
		}
	}
	return b.evaluate()
}

// admit makes c, redrawn where needed, a child that was never proposed before, or
// ends the run where there is none.
func (b *breeding) admit(c *design, r stream, vary func()) bool {
	if b.seen == nil {
		b.children = append(b.children, c)
		return true
	}
	b.space.Decode(c.u, b.x)
	for try := 0; !b.seen.add(c.u, b.x); try++ {
		if try >= redraws && b.seen.walk(c.u, b.x) {
			break
		}
		if b.seen.full() {
			b.endedBy = ByNoPointLeft
			return false
		}
		if vary != nil && try < redraws/2 {
			vary()
			c.Mutate(r.old)
		} else {
			for d := range c.u {
				c.u[d] = r.Float64()
			}
		}
		settle(b.space, c.u, r.Rand)
		b.space.Decode(c.u, b.x)
	}
	b.children = append(b.children, c)
	return true
}

// evaluate asks for the outcomes of the children and selects the next parents.
func (b *breeding) evaluate() error {
	n, dim := len(b.children), len(b.space)
	if n == 0 {
		return nil
	}
	b.flat = lengthen(b.flat, n*dim)
	p := &b.proposals
	p.Generation, p.IDs, p.Points = b.generation, p.IDs[:0], p.Points[:0]
	for i, c := range b.children {
		row := b.flat[i*dim : (i+1)*dim : (i+1)*dim]
		b.space.Decode(c.u, row)
		p.Points = append(p.Points, row)
		c.id = int64(b.o.Shard.I) + b.proposed*int64(b.o.Shard.N)
		p.IDs = append(p.IDs, c.id)
		b.proposed++
	}
	out, err := b.ask(p)
	if err != nil {
		return err
	}
	if !tell(b.children, out, &b.objectives) {
		return ErrOutcomes
	}
	if b.model != nil {
		b.model.remember(b.children)
	}
	b.survive()
	return nil
}

// tournament returns the better of two random parents: binary tournament
// selection in the order of merit.
func (b *breeding) tournament(r *rand.Rand) *design {
	n := len(b.parents)
	return b.parents[min(r.IntN(n), r.IntN(n))]
}

// near returns the parent nearest to p in the objectives, of a few random ones.
func (b *breeding) near(p *design, r *rand.Rand) *design {
	const tries = 6
	best, least := p, math.Inf(1)
	for range tries {
		q := b.parents[r.IntN(len(b.parents))]
		if q == p {
			continue
		}
		d := 1.0 // where an objective of one of the two does not count
		if p.feasible() && q.feasible() {
			d = 0
			for k, x := range q.objectives {
				t := (x - p.objectives[k]) * b.scale[k]
				d += t * t
			}
		}
		if d < least {
			best, least = q, d
		}
	}
	return best
}

// vary makes c a child of parents by an operator.
func (b *breeding) vary(c *design, op operator, r stream) {
	p := b.tournament(r.Rand)
	if op == opBisect {
		for try := 0; try < 10 && p.beyond == nil; try++ {
			p = b.tournament(r.Rand)
		}
		if p.beyond == nil {
			op = opDifference
		}
	}
	copy(c.u, p.u)
	c.parent, c.operator, c.beyond = p, op, nil
	switch op {
	case opBinary:
		c.Crossover(b.tournament(r.Rand), r.old)
		c.Mutate(r.old)
	case opDifference, opPartly:
		c.factor, c.rate = 0.5+0.2*elementary.Normal(r.Rand), 1
		if op == opPartly {
			c.rate = 0.1 + 0.5*r.Float64()
		}
		mate := b.near(p, r.Rand)
		c.minuend = b.near(p, r.Rand)
		c.Crossover(mate, r.old)
		if r.Uint64()&1 == 0 {
			c.Mutate(r.old)
		}
	case opBisect:
		c.beyond = p.beyond
		c.Crossover(&design{u: p.beyond}, r.old)
	}
	settle(b.space, c.u, r.Rand)
}
