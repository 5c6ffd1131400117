package search

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// breeding is the state of Evolve between generations.
type breeding struct {
	space      Space
	seed       uint64
	o          EvolveOptions
	ask        func(*Proposals) ([]Outcome, error)
	generation int
	proposed   int64
	endedBy    EndedBy

	all      cohort // the parents in order, the best first; then their offspring
	parents  int
	spare    cohort    // memory for the next parents
	scale    []float64 // of objectives: 1 over the range of the front
	frontier int       // parents in the first front

	seen      *seen // nil: points may repeat
	portfolio portfolio
	model     *surrogate // nil: none

	mark   []float64 // the front at the last look for stagnation
	marked int       // its generation

	relaxing bool      // small violations count as none
	level    float64   // how small, in the first generation
	judged   []float64 // places that members are ranked by
	order    []int     // memory of places

	rank      []int
	fronts    [][]int
	ranker    Ranker
	spreader  spreader
	proposals Proposals
	flat      []float64
	x         []float64
}

func newBreeding(s Space, seed uint64, o EvolveOptions, ask func(*Proposals) ([]Outcome, error)) *breeding {
	b := &breeding{
		space: s, seed: seed, o: o, ask: ask,
		all: cohort{dim: len(s)}, seen: newSeen(s), x: make([]float64, len(s)),
	}
	b.portfolio.reset()
	if o.Surrogate {
		b.o.Surrogate = false
		b.model = newSurrogate(b)
	}
	return b
}

// first draws and evaluates the first generation: the starting points, then a
// Latin hypercube.
func (b *breeding) first() error {
	b.generation = 1
	b.relaxing = true
	r := source(b.seed, 1)
	n := uint64(b.o.Population)
	for i := range n {
		u := b.all.add()
		if int(i) < len(b.o.Start) {
			b.space.Encode(b.o.Start[i], u)
		} else {
			for d := range u {
				key := mix(mix(b.seed) + uint64(d))
				u[d] = (float64(permute(i, n, key)) + r.Float64()) / float64(n)
			}
			settle(b.space, u, r)
		}
		if !b.admit(u, r, nil) {
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
	r := source(b.seed, uint64(b.generation))
	parts := 1
	if b.model != nil {
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

// breed makes n children and selects the next parents.
func (b *breeding) breed(n int, r *rand.Rand) error {
	if b.model != nil {
		for _, p := range b.model.propose(b, int(math.Round(float64(n)*b.portfolio.model))) {
			b.space.Decode(p, b.x)
			if b.seen.add(p, b.x) {
				copy(b.all.add(), p)
				b.all.operator[b.all.n-1] = opModel
				n--
			}
		}
	}
	for range n {
		op := b.portfolio.choose(r)
		vary := func(u []float64) { b.vary(op, u, r) }
		u := b.all.add()
		vary(u)
		if !b.admit(u, r, vary) {
			break
		}
	}
	return b.evaluate()
}

// admit makes u, the last row, a point that was never proposed before, by
// redrawing it, or takes it out again and ends the run when there is none.
func (b *breeding) admit(u []float64, r *rand.Rand, vary func([]float64)) bool {
	if b.seen == nil {
		return true
	}
	b.space.Decode(u, b.x)
	for try := 0; !b.seen.add(u, b.x); try++ {
		if try >= redraws && b.seen.walk(u, b.x) {
			break
		}
		if b.seen.full() {
			b.all.truncate(b.all.n - 1)
			b.endedBy = ByNoPointLeft
			return false
		}
		if vary != nil && try < redraws/2 {
			vary(u)
			mutate(b.space, u, r)
		} else {
			for d := range u {
				u[d] = r.Float64()
			}
		}
		settle(b.space, u, r)
		b.space.Decode(u, b.x)
	}
	return true
}

// evaluate asks for the outcomes of the rows behind the parents and selects the
// next parents.
func (b *breeding) evaluate() error {
	from, n := b.parents, b.all.n-b.parents
	if n == 0 {
		return nil
	}
	dim := b.all.dim
	b.flat = lengthen(b.flat, n*dim)
	p := &b.proposals
	p.Generation, p.IDs, p.Points = b.generation, p.IDs[:0], p.Points[:0]
	for i := range n {
		row := b.flat[i*dim : (i+1)*dim : (i+1)*dim]
		b.space.Decode(b.all.point(from+i), row)
		p.Points = append(p.Points, row)
		b.all.id[from+i] = int64(b.o.Shard.I) + b.proposed*int64(b.o.Shard.N)
		p.IDs = append(p.IDs, b.all.id[from+i])
		b.proposed++
	}
	out, err := b.ask(p)
	if err != nil {
		return err
	}
	if err := b.all.tell(out, from); err != nil {
		return err
	}
	if b.model != nil {
		b.model.remember(&b.all, from)
	}
	b.survive()
	return nil
}

// survive makes parents of the best members, in order: fronts first, and in
// each the most isolated point first. A front that does not fit is thinned.
func (b *breeding) survive() {
	a := &b.all
	for i := b.parents; i < a.n; i++ {
		if p := a.parent[i]; p >= 0 && a.violation[p] == 0 && a.violation[i] > 0 {
			copy(a.beyond[p*a.dim:], a.point(i))
			a.failed[p] = true
		}
	}
	b.rank = lengthen(b.rank, a.n)
	m, objs := a.m, a.objs
	if m == 0 {
		m, objs = 1, lengthen([]float64(nil), a.n)
	}
	judged := b.relaxed()
	fronts := b.ranker.Rank(objs, m, judged, b.rank)
	b.fronts = lengthen(b.fronts, max(fronts, len(b.fronts)))
	for f := range b.fronts {
		b.fronts[f] = b.fronts[f][:0]
	}
	for i, f := range b.rank {
		b.fronts[f] = append(b.fronts[f], i)
	}
	b.measure(b.fronts[0])
	b.spare.truncate(0)
	b.spare.adopt(a)
	b.frontier = 0
	for _, front := range b.fronts[:fronts] {
		left := b.o.Population - b.spare.n
		if left == 0 {
			break
		}
		keep := min(left, len(front))
		b.spreader.spread(objs, m, front, keep)
		for _, i := range front[:keep] {
			b.spare.take(a, i)
		}
		if b.frontier == 0 {
			b.frontier = keep
		}
	}
	rewarded := b.frontier
	if judged[b.fronts[0][0]] > 0 {
		rewarded = b.spare.n
	}
	b.portfolio.learn(a, b.parents, &b.spare, rewarded)
	b.all, b.spare = b.spare, b.all
	b.parents = b.all.n
	for i := range b.parents {
		b.all.parent[i], b.all.operator[i] = -1, 0
	}
}

// places returns a number for each member, by which members are ranked: 0 for a
// feasible one; the others count on from 1 in order of merit, equals alike. One
// that failed at a later stage is better than one that failed earlier; of one
// stage the one with less violation.
func (b *breeding) places() []float64 {
	a := &b.all
	b.judged = lengthen(b.judged, a.n)
	b.order = b.order[:0]
	for i := range a.n {
		b.judged[i] = 0
		if a.violation[i] > 0 {
			b.order = append(b.order, i)
		}
	}
	merit := func(i, j int) int {
		return cmp.Or(cmp.Compare(a.stage[j], a.stage[i]), cmp.Compare(a.violation[i], a.violation[j]))
	}
	slices.SortFunc(b.order, merit)
	place := 0.0
	for k, i := range b.order {
		if k == 0 || merit(b.order[k-1], i) != 0 {
			place++
		}
		b.judged[i] = place
	}
	return b.judged
}

// relaxed returns the places with a small violation counted as none in the first
// generations, less and less, so that the search passes through regions beyond
// the limits before it settles among feasible points: the level falls from the
// violation that relaxedPart of the first generation do not exceed, with the third
// power of the time left (Takahama and Sakai, Constrained optimization by the
// epsilon constrained differential evolution, CEC 2006). Only points of which all
// is known are let pass.
func (b *breeding) relaxed() []float64 {
	a := &b.all
	judged := b.places()
	if !b.relaxing {
		return judged
	}
	whole := func(i int) bool { return a.known[i] && (a.measured[i] || a.limits == 0) }
	if b.generation == 1 {
		var all []float64
		for i, v := range a.violation {
			if !whole(i) && v > 0 {
				v = math.Inf(1)
			}
			all = append(all, v)
		}
		slices.Sort(all)
		b.level = all[int(relaxedPart*float64(len(all)))]
	}
	left := 1 - float64(b.generation)/relaxedGenerations
	if left <= 0 || math.IsInf(b.level, 1) {
		b.relaxing = false
		return judged
	}
	for i, v := range a.violation {
		if v <= b.level*left*left*left && whole(i) {
			judged[i] = 0
		}
	}
	return judged
}

const (
	relaxedGenerations = 20
	relaxedPart        = 0.3
)

// measure sets the scale of the objectives from the first front.
func (b *breeding) measure(front []int) {
	m := b.all.m
	b.scale = lengthen(b.scale, m)
	for k := range m {
		low, high := math.Inf(1), math.Inf(-1)
		for _, i := range front {
			low, high = min(low, b.all.objs[i*m+k]), max(high, b.all.objs[i*m+k])
		}
		b.scale[k] = 0
		if high > low {
			b.scale[k] = 1 / (high - low)
		}
	}
}

// tournament returns the better of two random parents.
func (b *breeding) tournament(r *rand.Rand) int {
	return min(r.IntN(b.parents), r.IntN(b.parents))
}

// near returns the parent nearest to parent i in the objectives, of a few
// random ones.
func (b *breeding) near(i int, r *rand.Rand) int {
	const tries = 6
	m := b.all.m
	p := b.all.objectives(i)
	best, least := i, math.Inf(1)
	for range tries {
		j := r.IntN(b.parents)
		if j == i {
			continue
		}
		d := 1.0 // where an objective of one of the two does not count
		if b.all.violation[i] == 0 && b.all.violation[j] == 0 {
			d = 0
			for k, x := range b.all.objs[j*m : (j+1)*m] {
				t := (x - p[k]) * b.scale[k]
				d += t * t
			}
		}
		if d < least {
			best, least = j, d
		}
	}
	return best
}

// vary writes a child to u, the last row.
func (b *breeding) vary(op int, u []float64, r *rand.Rand) {
	i := b.tournament(r)
	a := &b.all
	if op == opBisect {
		for try := 0; try < 10 && !a.failed[i]; try++ {
			i = b.tournament(r)
		}
		if !a.failed[i] {
			op = opDifference
		}
	}
	p := a.point(i)
	child := a.n - 1
	a.parent[child], a.operator[child], a.failed[child] = i, op, false
	switch op {
	case opBinary:
		crossover(b.space, u, p, a.point(b.tournament(r)), r)
		mutate(b.space, u, r)
	case opDifference, opPartly:
		f := 0.5 + 0.2*r.NormFloat64()
		rate := 1.0
		if op == opPartly {
			rate = 0.1 + 0.5*r.Float64()
		}
		difference(b.space, u, p, a.point(b.near(i, r)), a.point(b.near(i, r)), f, rate, r)
		if r.Uint64()&1 == 0 {
			mutate(b.space, u, r)
		}
	case opBisect:
		q := a.beyond[i*a.dim : (i+1)*a.dim]
		t := r.Float64()
		for d := range u {
			u[d] = p[d] + t*(q[d]-p[d])
		}
		copy(a.beyond[child*a.dim:], q)
		a.failed[child] = true
	}
	settle(b.space, u, r)
}

// portfolio chooses among operators by what they achieved of late.
type portfolio struct {
	share      [numOperators]float64
	model      float64                   // share of the children that the surrogate proposes
	won, tried [numOperators + 1]float64 // the last is the surrogate
}

const (
	minShare = 0.05 // no operator is given up
	minModel = 0.25 // of the children, for the surrogate
	maxModel = 0.9
	memory   = 0.8 // a generation counts this much less than the next
)

func (p *portfolio) reset() {
	*p = portfolio{}
	p.weigh(false)
}

func (p *portfolio) choose(r *rand.Rand) int {
	t := r.Float64()
	for op, s := range p.share {
		if t -= s; t < 0 {
			return op
		}
	}
	return opBinary
}

// learn counts, of the offspring in all, those among the first rows of next.
func (p *portfolio) learn(all *cohort, parents int, next *cohort, rows int) {
	for op := range p.won {
		p.won[op] *= memory
		p.tried[op] *= memory
	}
	for i := parents; i < all.n; i++ {
		p.tried[all.operator[i]]++
	}
	anyFailed := false
	for i := range next.n {
		anyFailed = anyFailed || next.failed[i]
		if i < rows && (next.parent[i] >= 0 || next.operator[i] == opModel) {
			p.won[next.operator[i]]++
		}
	}
	p.weigh(anyFailed)
}

// weigh sets the shares to the squares of the rates of success.
func (p *portfolio) weigh(bisect bool) {
	var sum, floor, won, tried float64
	for op := range p.share {
		won += p.won[op]
		tried += p.tried[op]
	}
	model, others := (p.won[opModel]+0.5)/(p.tried[opModel]+1), (won+0.5)/(tried+1)
	p.model = min(max(model/(model+others), minModel), maxModel)
	for op := range p.share {
		rate := (p.won[op] + 0.5) / (p.tried[op] + 2)
		p.share[op] = rate * rate
		if op == opBisect && !bisect {
			p.share[op] = 0
			continue
		}
		sum += p.share[op]
		floor += minShare
	}
	for op := range p.share {
		if p.share[op] > 0 {
			p.share[op] = minShare + (1-floor)*p.share[op]/sum
		}
	}
}
