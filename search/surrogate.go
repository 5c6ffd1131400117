package search

import (
	"container/heap"
	"math"
	"math/rand/v2"
)

// surrogate breeds points by searching a model of the rows so far: radial basis
// functions through the parents and the latest other points, for each objective
// and each limit. The search on the model is the same breeding, from the same
// parents; of what it finds, those points are proposed that add most to the
// hypervolume of the parents' first front.
type surrogate struct {
	space   Space
	dim     int // features of a point
	tail    int
	recent  cohort // latest points, the oldest first
	train   []int
	objs    radial
	limits  radial
	joint   bool // objs has the limits too
	inner   *breeding
	feature []float64
	centres []float64
	values  []float64
	y       []float64
	out     []Outcome
	flat    []float64
	low     []float64
	high    []float64
	vmax    float64
	round   uint64
	h       hypervolumer
}

const (
	maxCentres       = 300 // the cost of a fit grows with the third power
	innerGenerations = 30
	batchParts       = 4 // a generation is proposed in as many parts, with a new model for each
)

func newSurrogate(b *breeding) *surrogate {
	s := &surrogate{space: b.space}
	for _, v := range b.space {
		if v.Kind == Choice {
			s.dim += v.Choices
		} else {
			s.dim++
			s.tail++
		}
	}
	s.inner = newBreeding(b.space, b.seed, b.o, s.answer)
	s.inner.seen = nil
	s.inner.o.Shard = Shard{}
	return s
}

// features writes what the distance between points is taken of: ordered
// variables as they are, a choice as a corner of a simplex, one apart from
// every other.
func (s *surrogate) features(u, f []float64) {
	at, corner := 0, s.tail
	for d := range s.space {
		if s.space[d].Kind != Choice {
			f[at] = u[d]
			at++
			continue
		}
		n := s.space[d].Choices
		clear(f[corner : corner+n])
		f[corner+s.space[d].number(u[d])] = math.Sqrt2 / 2
		corner += n
	}
}

// remember keeps the last points told.
func (s *surrogate) remember(c *cohort, from int) {
	for i := from; i < c.n; i++ {
		s.recent.take2(c, i)
	}
	if s.recent.n > 4*maxCentres {
		var keep cohort
		for i := s.recent.n - 2*maxCentres; i < s.recent.n; i++ {
			keep.take2(&s.recent, i)
		}
		s.recent = keep
	}
}

// learn fits the model. It reports false when too little is known.
func (s *surrogate) learn(b *breeding) bool {
	a := &b.all
	var set cohort
	used := map[int64]bool{}
	add := func(c *cohort, i int) {
		if set.n < maxCentres && !used[c.id[i]] && !math.IsInf(c.violation[i], 1) {
			used[c.id[i]] = true
			set.take2(c, i)
		}
	}
	for i := range b.parents {
		add(a, i)
	}
	for i := s.recent.n - 1; i >= 0; i-- {
		add(&s.recent, i)
	}
	s.joint = true
	hasLimits := set.limits > 0
	for i := range set.n {
		s.joint = s.joint && set.known[i]
		hasLimits = hasLimits && set.measured[i]
	}
	_ = hasLimits
	if !s.joint || set.n < 2*s.dim && set.n < 50 {
		return false
	}
	m := set.m
	anyViolation := false
	for i := range set.n {
		anyViolation = anyViolation || set.violation[i] > 0
	}
	k := m
	switch {
	case hasLimits:
		k += set.limits
	case anyViolation:
		k++
	}
	// Objectives far above the front's are cut off: their size says nothing.
	low, high := make([]float64, m), make([]float64, m)
	for c := range m {
		low[c], high[c] = math.Inf(1), math.Inf(-1)
		for i := range b.frontier {
			low[c], high[c] = min(low[c], a.objs[i*m+c]), max(high[c], a.objs[i*m+c])
		}
		for i := range b.parents {
			if a.known[i] {
				high[c] = max(high[c], a.objs[i*m+c])
				low[c] = min(low[c], a.objs[i*m+c])
			}
		}
		if !(high[c] > low[c]) {
			high[c] = low[c] + 1
		}
	}
	s.low, s.high = low, high
	s.centres = lengthen(s.centres, set.n*s.dim)
	s.values = lengthen(s.values, set.n*k)
	for i := range set.n {
		s.features(set.point(i), s.centres[i*s.dim:(i+1)*s.dim])
		v := s.values[i*k : (i+1)*k]
		for c := range m {
			v[c] = min((set.objs[i*m+c]-low[c])/(high[c]-low[c]), 3)
		}
		switch {
		case hasLimits:
			copy(v[m:], set.limit[i*set.limits:(i+1)*set.limits])
		case anyViolation:
			v[m] = set.violation[i]
		}
	}
	return s.objs.fit(s.dim, s.tail, k, s.centres, s.values)
}

// answer is the batch of the search on the model.
func (s *surrogate) answer(p *Proposals) ([]Outcome, error) {
	b := s.inner
	m, k := b.all.m, s.objs.outputs
	n := len(p.Points)
	s.feature = lengthen(s.feature, s.dim)
	s.y = lengthen(s.y, k)
	s.out = lengthen(s.out, n)
	s.flat = lengthen(s.flat, n*m)
	for i := range n {
		s.features(b.all.point(b.parents+i), s.feature)
		s.objs.predict(s.feature, s.y)
		o := &s.out[i]
		o.Objectives = s.flat[i*m : (i+1)*m]
		for c := range m {
			o.Objectives[c] = s.low[c] + s.y[c]*(s.high[c]-s.low[c])
		}
		o.Violation = 0
		for _, v := range s.y[m:] {
			o.Violation += max(v, 0)
		}
	}
	return s.out[:n], nil
}

// propose returns at most n new points of the unit cube.
func (s *surrogate) propose(b *breeding, n int) [][]float64 {
	if b.all.m == 0 || !s.learn(b) {
		return nil
	}
	in := s.inner
	in.all.truncate(0)
	in.all.dim = b.all.dim
	for i := range b.parents {
		in.all.take(&b.all, i)
	}
	in.parents, in.frontier = b.parents, b.frontier
	in.scale = append(in.scale[:0], b.scale...)
	in.portfolio = b.portfolio
	s.round++
	in.seed = mix(b.seed ^ mix(s.round))
	in.generation = 0
	for range innerGenerations {
		if err := in.next(); err != nil {
			return nil
		}
	}
	var chosen [][]float64
	for _, i := range s.select_(b, n) {
		chosen = append(chosen, append([]float64(nil), in.all.point(i)...))
	}
	return chosen
}

// select_ returns rows of the inner breeding worth a real evaluation.
func (s *surrogate) select_(b *breeding, n int) []int {
	in := s.inner
	m := b.all.m
	var cand []int
	for i := range in.parents {
		if in.all.id[i] == 0 && in.all.violation[i] == 0 {
			cand = append(cand, i)
		}
	}
	if len(cand) == 0 {
		var rows []int
		for i := range in.parents {
			if in.all.id[i] == 0 && len(rows) < n {
				rows = append(rows, i)
			}
		}
		return rows
	}
	var objs []float64
	if b.all.violation[0] == 0 {
		objs = append(objs, b.all.objs[:b.frontier*m]...)
	}
	base := len(objs)
	for _, i := range cand {
		objs = append(objs, in.all.objectives(i)...)
	}
	z := normalised(objs, m)
	ref := make([]float64, m)
	for k := range ref {
		ref[k] = 1.1
	}
	points := append([]float64(nil), z[:base]...)
	gain := func(k int) float64 { return s.h.exclusive(z[base+k*m:base+k*m+m], points, m, ref) }
	queue := gainQueue{place: make([]int, len(cand))}
	for k := range cand {
		heap.Push(&queue, gainItem{k, -gain(k)})
	}
	var rows []int
	for len(rows) < n && queue.Len() > 0 {
		top := queue.items[0].point
		v := -gain(top)
		queue.update(top, v)
		if queue.items[0].point != top {
			continue
		}
		heap.Pop(&queue)
		if v >= 0 {
			break
		}
		rows = append(rows, cand[top])
		points = append(points, z[base+top*m:base+top*m+m]...)
	}
	return rows
}

var _ = rand.Float64
