package search

import (
	"math"
	"math/rand/v2"

	"flexwright/models/elementary"
)

// breeding is the state of a population between generations: parents that breed
// children, of both of which the best are the next parents.
type breeding struct {
	space      Space
	seed       uint64
	size       int  // so many parents are kept
	full       bool // no point is left
	generation int
	stream     stream // of the generation
	objectives int    // their number; 0 as long as unknown

	parents  []*design // in order of merit
	children []*design
	front    int       // so many of the parents are the first front
	scale    []float64 // of the objectives: 1 over the range of the first front

	seen      *seen // nil: points may repeat
	portfolio portfolio
	model     *surrogate // nil: none in any generation
	modelled  bool       // in the first generations
	switched  []int      // behind these it changes

	relaxing bool    // small violations count as none
	level    float64 // how small, in the first generation

	selection selection
	x         []float64
}

func newBreeding(s Space, seed uint64, o *EvolveOptions) *breeding {
	b := &breeding{space: s, seed: seed, seen: newSeen(s), x: make([]float64, len(s))}
	b.portfolio.reset()
	if o.Surrogate || len(o.Switched) > 0 {
		b.modelled, b.switched = o.Surrogate, o.Switched
		b.model = newSurrogate(b, o.Pool)
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

// first draws the first generation: the starting points, then a Latin hypercube.
func (b *breeding) first(n int, start [][]float64) {
	b.size = n
	b.relaxing = true
	b.begin()
	r := b.stream
	list := b.designs(n)
	for i := range list {
		c := &list[i]
		if i < len(start) {
			b.space.Encode(start[i], c.u)
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
}

// begin begins a generation.
func (b *breeding) begin() {
	b.generation++
	b.stream = newStream(b.seed, uint64(b.generation))
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

// breed makes n children.
func (b *breeding) breed(n int) {
	r := b.stream
	list := b.designs(n)
	if n > 0 && b.usesModel() {
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
}

// admit makes c, redrawn where needed, a child that was never proposed before, and
// reports whether there is one.
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
			b.full = true
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

// told takes the outcomes of the children and selects the next parents. It reports
// false where they do not fit.
func (b *breeding) told(out []Outcome) bool {
	if len(b.children) == 0 && len(out) == 0 {
		return true
	}
	if !tell(b.children, out, &b.objectives) {
		return false
	}
	if b.model != nil {
		b.model.remember(b.children)
	}
	b.survive()
	return true
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
