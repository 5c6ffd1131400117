package search

import (
	"math"
	"math/rand/v2"
	"slices"
)

// cohort is points with their outcomes, in flat slices.
type cohort struct {
	n         int
	u         []float64 // n x variables, in the unit cube
	objs      []float64 // n x objectives; of feasible points, else 0
	violation []float64
}

// breeding is the state of Evolve between generations.
type breeding struct {
	space      Space
	seed       uint64
	o          EvolveOptions
	ask        func(*Proposals) ([]Outcome, error)
	seen       *seen
	dim, m     int // m is 0 until the first feasible outcome
	generation int
	proposed   int64
	endedBy    EndedBy

	all   cohort // parents, then offspring
	order []int  // of all, the best first
	rank  []int
	crowd []float64

	ranker    Ranker
	proposals Proposals
	points    []float64
	x         []float64
}

func newBreeding(s Space, seed uint64, o EvolveOptions, ask func(*Proposals) ([]Outcome, error)) *breeding {
	return &breeding{
		space: s, seed: seed, o: o, ask: ask,
		seen: newSeen(s), dim: len(s), x: make([]float64, len(s)),
	}
}

// first draws and evaluates the first generation.
func (b *breeding) first() error {
	b.generation = 1
	r := source(b.seed, 1)
	n := uint64(b.o.Population)
	for i := range n {
		u := b.child()
		if int(i) < len(b.o.Start) {
			b.space.Encode(b.o.Start[i], u)
		} else {
			for d := range u {
				key := mix(mix(b.seed) + uint64(d))
				u[d] = (float64(permute(i, n, key)) + r.Float64()) / float64(n)
			}
		}
		if !b.admit(u, r, nil) {
			break
		}
	}
	return b.evaluate(0)
}

// next breeds, evaluates and selects one generation.
func (b *breeding) next() error {
	b.generation++
	r := source(b.seed, uint64(b.generation))
	parents := b.all.n
	for range b.o.Population {
		i, j := b.tournament(r, parents), b.tournament(r, parents)
		vary := func(u []float64) {
			p, q := b.all.u[i*b.dim:(i+1)*b.dim], b.all.u[j*b.dim:(j+1)*b.dim]
			crossover(b.space, u, p, q, r)
			mutate(b.space, u, r)
		}
		u := b.child()
		vary(u)
		if !b.admit(u, r, vary) {
			break
		}
	}
	return b.evaluate(parents)
}

// child appends room for one more point.
func (b *breeding) child() []float64 {
	b.all.u = append(b.all.u[:b.all.n*b.dim], make([]float64, b.dim)...)
	b.all.n++
	return b.all.u[(b.all.n-1)*b.dim:]
}

// admit makes u a point that was never proposed before, by redrawing it, or
// takes it out again and ends the run when there is none.
func (b *breeding) admit(u []float64, r *rand.Rand, vary func([]float64)) bool {
	b.space.Decode(u, b.x)
	for try := 0; !b.seen.add(u, b.x); try++ {
		if try >= redraws && b.seen.walk(u, b.x) {
			break
		}
		if b.seen.full() {
			b.all.n--
			b.endedBy = ByNoPointLeft
			return false
		}
		if vary != nil && try < redraws/2 {
			vary(u)
		} else {
			for d := range u {
				u[d] = r.Float64()
			}
		}
		b.space.Decode(u, b.x)
	}
	return true
}

// evaluate asks for the outcomes of the points from number from on and selects
// the next parents.
func (b *breeding) evaluate(from int) error {
	n := b.all.n - from
	if n == 0 {
		return nil
	}
	b.points = slices.Grow(b.points[:0], n*b.dim)[:n*b.dim]
	p := &b.proposals
	p.Generation, p.IDs, p.Points = b.generation, p.IDs[:0], p.Points[:0]
	for i := range n {
		row := b.points[i*b.dim : (i+1)*b.dim : (i+1)*b.dim]
		b.space.Decode(b.all.u[(from+i)*b.dim:(from+i+1)*b.dim], row)
		p.Points = append(p.Points, row)
		p.IDs = append(p.IDs, int64(b.o.Shard.I)+b.proposed*int64(b.o.Shard.N))
		b.proposed++
	}
	out, err := b.ask(p)
	if err != nil {
		return err
	}
	if err := b.take(out, from); err != nil {
		return err
	}
	b.survive()
	return nil
}

// take checks and stores outcomes.
func (b *breeding) take(out []Outcome, from int) error {
	if len(out) != b.all.n-from {
		return ErrOutcomes
	}
	for i := range out {
		o := &out[i]
		if !(o.Violation >= 0) {
			return ErrOutcomes
		}
		if !o.Feasible() {
			continue
		}
		if b.m == 0 {
			b.m = len(o.Objectives)
		}
		if b.m == 0 || len(o.Objectives) != b.m {
			return ErrOutcomes
		}
		for _, x := range o.Objectives {
			if !finite(x) {
				return ErrOutcomes
			}
		}
	}
	b.all.violation = slices.Grow(b.all.violation[:from], len(out))[:b.all.n]
	b.all.objs = append(b.all.objs[:min(len(b.all.objs), from*b.m)], make([]float64, b.all.n*b.m-min(len(b.all.objs), from*b.m))...)
	for i := range out {
		b.all.violation[from+i] = out[i].Violation
		if out[i].Feasible() {
			copy(b.all.objs[(from+i)*b.m:], out[i].Objectives)
		}
	}
	return nil
}

// survive keeps the best Population members by rank, then crowding.
func (b *breeding) survive() {
	n := b.all.n
	b.rank = slices.Grow(b.rank[:0], n)[:n]
	b.crowd = slices.Grow(b.crowd[:0], n)[:n]
	m := max(b.m, 1)
	objs := b.all.objs
	if b.m == 0 {
		objs = make([]float64, n)
	}
	fronts := b.ranker.Rank(objs, m, b.all.violation, b.rank)
	members := make([][]int, fronts)
	for i, f := range b.rank {
		members[f] = append(members[f], i)
	}
	b.order = b.order[:0]
	for _, f := range members {
		Crowding(objs, m, f, b.crowd)
		slices.SortFunc(f, func(i, j int) int {
			if c := compare(b.crowd[j], b.crowd[i]); c != 0 {
				return c
			}
			return i - j
		})
		b.order = append(b.order, f...)
	}
	keep := min(n, b.o.Population)
	next := cohort{n: keep}
	for _, i := range b.order[:keep] {
		next.u = append(next.u, b.all.u[i*b.dim:(i+1)*b.dim]...)
		next.objs = append(next.objs, objs[i*m:(i+1)*m]...)
		next.violation = append(next.violation, b.all.violation[i])
	}
	if b.m == 0 {
		next.objs = nil
	}
	b.all = next
}

// tournament returns the better of two random parents; parents are in order.
func (b *breeding) tournament(r *rand.Rand, n int) int {
	return min(r.IntN(n), r.IntN(n))
}

// crossover writes to u a child of p and q: simulated binary crossover, index
// 15, of each variable with probability 1/2 (Deb and Agrawal, Complex Systems
// 9, 1995); choices come from either parent.
func crossover(s Space, u, p, q []float64, r *rand.Rand) {
	copy(u, p)
	if r.Float64() > 0.9 {
		return
	}
	for d, v := range s {
		if r.Float64() < 0.5 || p[d] == q[d] {
			continue
		}
		if v.Kind == Choice {
			u[d] = q[d]
			continue
		}
		t := r.Float64()
		beta := math.Pow(2*t, 1.0/16)
		if t > 0.5 {
			beta = math.Pow(1/(2*(1-t)), 1.0/16)
		}
		if r.Float64() < 0.5 {
			beta = -beta
		}
		u[d] = clamp(0.5 * ((p[d] + q[d]) + beta*(p[d]-q[d])))
	}
}

// mutate changes each variable with probability 1/n: polynomial mutation,
// index 20 (Deb and Goyal, Computer Science and Informatics 26, 1996); a
// finite variable goes to another value.
func mutate(s Space, u []float64, r *rand.Rand) {
	for d, v := range s {
		if r.Float64()*float64(len(s)) >= 1 {
			continue
		}
		if v.Kind == Choice {
			u[d] = r.Float64()
			continue
		}
		t := r.Float64()
		if t < 0.5 {
			u[d] = clamp(u[d] + math.Pow(2*t, 1.0/21) - 1)
		} else {
			u[d] = clamp(u[d] + 1 - math.Pow(2*(1-t), 1.0/21))
		}
	}
}

func clamp(u float64) float64 { return min(max(u, 0), 1) }
