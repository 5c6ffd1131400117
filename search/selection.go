package search

import (
	"cmp"
	"math"
	"slices"
)

// selection is the memory of choosing parents.
type selection struct {
	members  []*design // parents and children
	next     []*design
	objs     []float64
	order    []float64 // of constrained dominance
	sorted   []int
	rank     []int
	fronts   [][]int
	ranker   Ranker
	crowding crowding
}

// survive makes the best of parents and children the next parents, in order of
// merit: fronts first, by constrained dominance, and in each the least crowded
// first. A front that does not fit is thinned.
func (b *breeding) survive() {
	s := &b.selection
	s.members = append(append(s.members[:0], b.parents...), b.children...)
	for _, c := range b.children {
		if p := c.parent; p != nil && p.feasible() && !c.feasible() {
			p.beyond = c.u
		}
	}
	m := max(b.objectives, 1)
	s.objs = lengthen(s.objs[:0], len(s.members)*m)
	clear(s.objs)
	for i, d := range s.members {
		copy(s.objs[i*m:], d.objectives)
	}
	order := b.relaxed(s.members)
	s.rank = lengthen(s.rank, len(s.members))
	fronts := s.ranker.Rank(s.objs, m, order, s.rank)
	s.fronts = lengthen(s.fronts, max(fronts, len(s.fronts)))
	for f := range s.fronts {
		s.fronts[f] = s.fronts[f][:0]
	}
	for i, f := range s.rank {
		s.fronts[f] = append(s.fronts[f], i)
	}
	b.setScale(s.fronts[0], m)
	s.next = s.next[:0]
	b.front = 0
	for _, front := range s.fronts[:fronts] {
		left := b.size - len(s.next)
		if left == 0 {
			break
		}
		keep := min(left, len(front))
		s.crowding.thin(s.objs, m, front, keep)
		for _, i := range front[:keep] {
			s.next = append(s.next, s.members[i])
		}
		if b.front == 0 {
			b.front = keep
		}
	}
	successes := s.next[:b.front]
	if order[s.fronts[0][0]] > 0 {
		successes = s.next
	}
	b.portfolio.learn(b.children, s.next, len(successes))
	for _, d := range b.children {
		d.operator, d.parent, d.minuend = 0, nil, nil
	}
	b.parents, s.next = s.next, b.parents
	b.children = b.children[:0]
}

// constrainedOrder returns a number for each member, by which constrained
// dominance orders: 0 for a feasible one; the others count on from 1, equals
// alike. One that failed at a later stage comes before one that failed earlier,
// of one stage the one with less violation.
func (s *selection) constrainedOrder(members []*design) []float64 {
	s.order = lengthen(s.order, len(members))
	s.sorted = s.sorted[:0]
	for i, d := range members {
		s.order[i] = 0
		if !d.feasible() {
			s.sorted = append(s.sorted, i)
		}
	}
	merit := func(i, j int) int {
		p, q := members[i], members[j]
		return cmp.Or(cmp.Compare(q.stage, p.stage), cmp.Compare(p.violation, q.violation))
	}
	slices.SortFunc(s.sorted, merit)
	place := 0.0
	for k, i := range s.sorted {
		if k == 0 || merit(s.sorted[k-1], i) != 0 {
			place++
		}
		s.order[i] = place
	}
	return s.order
}

// Epsilon-constrained ranking: over how many generations, and how much of the
// first generation passes at its beginning.
const (
	relaxedGenerations = 20
	relaxedPart        = 0.3
)

// relaxed is constrainedOrder with a small violation counted as none in the first
// generations, so that the search passes through regions beyond the limits before
// it settles among feasible points (T. Takahama and S. Sakai, Constrained
// optimization by the epsilon constrained differential evolution, CEC 2006):
// in generation g that up to
//
//	epsilon = v (1 - g/20)^3,
//
// v the violation that 30 % of the first generation do not exceed. It holds only
// for points of which all objectives and limits are known.
func (b *breeding) relaxed(members []*design) []float64 {
	order := b.selection.constrainedOrder(members)
	if !b.relaxing {
		return order
	}
	if b.generation == 1 {
		var all []float64
		for _, d := range members {
			v := d.violation
			if !d.known() {
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
		return order
	}
	for i, d := range members {
		if d.violation <= b.level*left*left*left && d.known() {
			order[i] = 0
		}
	}
	return order
}

// setScale takes the scale of the objectives from the first front.
func (b *breeding) setScale(front []int, m int) {
	r := RangesOf(m, gather(b.selection.objs, m, front))
	b.scale = lengthen(b.scale, m)
	for k := range m {
		b.scale[k] = 0
		if w := r.High[k] - r.Low[k]; w > 0 {
			b.scale[k] = 1 / w
		}
	}
}

// feasibleFront returns the objectives of the feasible parents of the first front.
func (b *breeding) feasibleFront() []float64 {
	var objs []float64
	for _, p := range b.parents[:b.front] {
		if p.feasible() {
			objs = append(objs, p.objectives...)
		}
	}
	return objs
}

func lengthen[T any](s []T, n int) []T {
	if n <= len(s) {
		return s[:n]
	}
	from := len(s)
	s = slices.Grow(s, n-from)[:n]
	clear(s[from:])
	return s
}
