package search

import (
	"context"
	"slices"
)

// niches are the values of the variable that is [Variable.Apart], or the whole space
// where there is none. Each breeds by itself, in its own variables, with its own
// random numbers and surrogate. They are evaluated together, and share out the
// designs of a generation by what they are worth.
type niches struct {
	space Space
	o     EvolveOptions
	ask   func(*Proposals) ([]Outcome, error)

	apart    int // the variable; -1: none
	list     []*breeding
	index    [][]int // of a niche's variables in the space
	progress []progress
	settled  []bool // its front grew little of late: it is judged by it
	share    []int  // of the designs of a generation

	generation int
	proposed   int64
	endedBy    EndedBy
	exchanges  int // with other islands, so far
	overall    progress

	proposals Proposals
	flat      []float64
	objs      []float64
	from      []int
}

// nicheVariable returns the variable whose values are niches, -1 where there is none or
// the population of an island is too small to breed from in each.
func nicheVariable(s Space, population int) int {
	apart := slices.IndexFunc(s, func(v Variable) bool { return v.Apart })
	if apart < 0 || population < leastIsland*s[apart].Choices {
		return -1
	}
	for k := range s[apart].Choices {
		if len(s.niche(apart, k)) == 0 {
			return -1
		}
	}
	return apart
}

// niche lists the variables of a value of the variable that is apart, all where none is.
func (s Space) niche(apart, value int) []int {
	var index []int
	for d, v := range s {
		if apart < 0 || d != apart && (v.Of == nil || slices.Contains(v.Of, value)) {
			index = append(index, d)
		}
	}
	return index
}

// part is the space of some of the variables.
func (s Space) part(index []int) Space {
	part := make(Space, len(index))
	for i, d := range index {
		part[i] = s[d]
	}
	return part
}

func newNiches(s Space, seed uint64, o EvolveOptions, apart int, ask func(*Proposals) ([]Outcome, error)) *niches {
	n := &niches{space: s, o: o, ask: ask, apart: apart}
	if apart < 0 {
		n.add(s.niche(apart, 0), seed)
		return n
	}
	for k := range s[apart].Choices {
		n.add(s.niche(apart, k), Mix(seed^Mix(uint64(k)+1)))
	}
	return n
}

func (n *niches) add(index []int, seed uint64) {
	n.list = append(n.list, newBreeding(n.space.part(index), seed, &n.o))
	n.index = append(n.index, index)
	n.progress = append(n.progress, progress{})
	n.settled = append(n.settled, false)
	n.share = append(n.share, 0)
}

// of is the number of the niche that a point lies in.
func (n *niches) of(x []float64) int {
	if n.apart < 0 {
		return 0
	}
	return n.space[n.apart].number(n.space[n.apart].Encode(x[n.apart]))
}

// own are the values of a point that a niche varies.
func (n *niches) own(niche int, x []float64) []float64 {
	y := make([]float64, len(n.index[niche]))
	for i, d := range n.index[niche] {
		y[i] = x[d]
	}
	return y
}

// decode writes the values of a design; what its niche does not vary stands in the
// middle.
func (n *niches) decode(niche int, c *design, x []float64) {
	for d, v := range n.space {
		x[d] = v.Decode(0.5)
	}
	if n.apart >= 0 {
		x[n.apart] = float64(niche)
	}
	for i, d := range n.index[niche] {
		x[d] = n.space[d].Decode(c.u[i])
	}
}

// parents of all niches, one niche after the other, each in order of merit: their
// ranks are set to that order.
func (n *niches) parents() []*design {
	var all []*design
	for _, b := range n.list {
		all = append(all, b.parents...)
	}
	for i, d := range all {
		d.rank = float64(i)
	}
	return all
}

// first draws and evaluates the first generation.
func (n *niches) first() error {
	start := make([][][]float64, len(n.list))
	for _, x := range n.o.Start {
		k := n.of(x)
		start[k] = append(start[k], n.own(k, x))
	}
	n.generation = 1
	for k, b := range n.list {
		b.first(part(n.o.Population, k, len(n.list)), start[k])
	}
	return n.evaluate()
}

// part k of n nearly equal parts of a whole.
func part(whole, k, n int) int { return whole*(k+1)/n - whole*k/n }

// With a surrogate a generation is proposed in parts, with a new model for each.
const (
	maxParts = 4
	minPart  = 10
)

// next breeds, evaluates and selects one generation.
func (n *niches) next() error {
	n.generation++
	n.shareOut()
	parts := 1
	for _, b := range n.list {
		b.begin()
		if b.usesModel() { // in all or none
			parts = min(max(n.o.Population/minPart, 1), maxParts)
		}
	}
	for p := range parts {
		for k, b := range n.list {
			if !b.full {
				b.breed(part(n.share[k], p, parts))
			}
		}
		if err := n.evaluate(); err != nil || n.endedBy != NotEnded {
			return err
		}
	}
	return nil
}

// generate is next, and at some generations the exchange with other islands.
func (n *niches) generate(ctx context.Context) error {
	if err := n.next(); err != nil {
		return err
	}
	// Not after the last: a plan that is made longer does it then.
	last := n.generation >= n.o.Generations
	if n.o.Exchange != nil && n.o.Shard.N > 1 && n.endedBy == NotEnded && !last && Exchanges(n.generation) {
		return n.migrate(ctx, n.o.Exchange)
	}
	return nil
}

// evaluate asks for the outcomes of all children, and lets each niche select its next
// parents.
func (n *niches) evaluate() error {
	dim, p := len(n.space), &n.proposals
	p.Generation, p.IDs, p.Points = n.generation, p.IDs[:0], p.Points[:0]
	full, children := true, 0
	for _, b := range n.list {
		children += len(b.children)
		full = full && b.full
	}
	if full {
		n.endedBy = ByNoPointLeft
	}
	if children == 0 {
		return nil
	}
	n.flat = lengthen(n.flat, children*dim)
	for k, b := range n.list {
		for _, c := range b.children {
			i := len(p.Points)
			row := n.flat[i*dim : (i+1)*dim : (i+1)*dim]
			n.decode(k, c, row)
			p.Points = append(p.Points, row)
			c.id = int64(n.o.Shard.I) + n.proposed*int64(n.o.Shard.N)
			p.IDs = append(p.IDs, c.id)
			n.proposed++
		}
	}
	out, err := n.ask(p)
	if err != nil {
		return err
	}
	if len(out) != children {
		return ErrOutcomes
	}
	for _, b := range n.list {
		own := out[:len(b.children)]
		out = out[len(b.children):]
		if !b.told(own) {
			return ErrOutcomes
		}
	}
	return nil
}

// shareOut says how many designs of the next generation each niche breeds, and how
// many it keeps: an even share until its front has settled, so that one that starts
// slowly lives to be judged. What settled ones leave goes by how many members of the
// front of all are a niche's own.
func (n *niches) shareOut() {
	if len(n.list) == 1 {
		n.share[0] = n.o.Population
		return
	}
	total, open := n.o.Population, n.o.Population
	for k, b := range n.list {
		if n.generation >= n.progress[k].generation+settledOver {
			n.settled[k] = n.progress[k].still(n.generation, settledOver, b.objectives, b.feasibleFront, settledGrowth)
		}
		n.share[k] = 0
		if !b.full && !n.settled[k] {
			n.share[k] = part(total, k, len(n.list))
			open -= n.share[k]
		}
	}
	worth := n.worth()
	sum := 0
	for _, w := range worth {
		sum += w
	}
	done := 0
	for k, b := range n.list {
		if sum > 0 {
			n.share[k] += open*(done+worth[k])/sum - open*done/sum
			done += worth[k]
		}
		b.size = max(n.share[k], leastIsland)
	}
}

// worth is how many members of the front of all niches together are of each; one each
// where nothing is feasible. Of a niche without a point left nothing can be bred.
func (n *niches) worth() []int {
	worth := make([]int, len(n.list))
	m := 0
	n.objs, n.from = n.objs[:0], n.from[:0]
	for k, b := range n.list {
		objs := b.feasibleFront()
		if len(objs) > 0 {
			m = b.objectives
		}
		n.objs = append(n.objs, objs...)
		for range len(objs) / max(b.objectives, 1) {
			n.from = append(n.from, k)
		}
	}
	some := false
	if m > 0 {
		for _, i := range Front(n.objs, m, nil) {
			if k := n.from[i]; !n.list[k].full {
				worth[k]++
				some = true
			}
		}
	}
	if !some {
		for k, b := range n.list {
			worth[k] = int(b2i(!b.full))
		}
	}
	return worth
}

// stagnates reports whether the front of all has stopped growing, and that of each
// niche that has one is settled. A search without a feasible point goes on.
func (n *niches) stagnates() bool {
	if n.o.Stagnation == 0 {
		return false
	}
	m, unsettled := 0, false
	for k, b := range n.list {
		m = max(m, b.objectives)
		unsettled = unsettled || len(n.list) > 1 && !n.settled[k] && len(b.feasibleFront()) > 0
	}
	still := n.overall.still(n.generation, n.o.Stagnation, m, n.feasibleFront, leastGrowth)
	return still && !unsettled
}

// feasibleFront returns the objectives of the feasible parents of each niche's front.
func (n *niches) feasibleFront() []float64 {
	var objs []float64
	for _, b := range n.list {
		objs = append(objs, b.feasibleFront()...)
	}
	return objs
}
