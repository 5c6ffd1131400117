package search

import (
	"context"
	"math"
	"slices"
)

// surrogate proposes designs by searching a model of the rows so far: a radial
// basis function for each objective and each limit, through those of the parents
// and the latest other points of which it is known. The search on the model is the
// same breeding from the same parents; of what it finds, those designs are proposed
// that add most to the hypervolume of the first front, or violate least while none
// is feasible (after R. G. Regis, Evolutionary programming for high-dimensional
// constrained expensive black-box optimization using radial basis functions, IEEE
// Trans. Evol. Comput. 18, 2014).
type surrogate struct {
	space Space
	dim   int // features of a point
	tail  int // of them, ordered variables, first; the others are corners of choices
	inner *breeding
	round uint64

	recent []*design // the latest
	points []*design // of the model
	places []float64 // their features
	table  []float64 // a row a point: objectives, then limits; NaN: not known
	mute   bool      // the last column is a limit of its own: that a point be not mute
	groups []group
	span   Ranges // of the objectives, which are modelled as shares of it
	top    int    // the last stage that a limit failed at

	pool    *Pool
	tellers []teller // one a worker
	out     []Outcome
	flat    []float64
	volume  hypervolumer
}

// teller is the scratch of one worker that asks the model.
type teller struct{ feature, cubes, y []float64 }

// group is outputs that are known of the same points: as a rule those of one stage
// of the evaluation.
type group struct {
	outputs []int // columns of the table
	model   radial
}

const (
	maxCentres       = 300 // the cost of a fit grows with the third power
	innerGenerations = 30  // on the model, from the parents
	worstShare       = 3   // objectives are cut off here: how bad a bad point is says nothing
)

func newSurrogate(b *breeding, pool *Pool) *surrogate {
	if pool == nil {
		pool = NewPool(1)
	}
	s := &surrogate{space: b.space, pool: pool, tellers: make([]teller, pool.Workers())}
	for d := range b.space {
		if b.space[d].Kind == Choice {
			s.dim += b.space[d].Choices
		} else {
			s.dim++
			s.tail++
		}
	}
	for i := range s.tellers {
		s.tellers[i].feature = make([]float64, s.dim)
	}
	s.inner = newBreeding(b.space, b.seed, &EvolveOptions{})
	s.inner.seen = nil
	return s
}

// features writes what distances between points are taken of: ordered variables
// as they are, a choice as a corner of a simplex, one apart from every other.
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

// remember keeps the latest designs.
func (s *surrogate) remember(latest []*design) {
	s.recent = append(s.recent, latest...)
	if n := len(s.recent); n > 4*maxCentres {
		s.recent = slices.Clone(s.recent[n-maxCentres:])
	}
}

// learn fits the model to the parents and the latest others. It reports false
// where too little is known.
func (s *surrogate) learn(b *breeding) bool {
	s.points = append(s.points[:0], b.parents...)
	for i := len(s.recent) - 1; i >= 0 && len(s.points) < maxCentres; i-- {
		if !slices.Contains(b.parents, s.recent[i]) {
			s.points = append(s.points, s.recent[i])
		}
	}
	n, limits := len(s.points), 0
	s.places = lengthen(s.places, n*s.dim)
	for i := range s.tellers {
		s.tellers[i].cubes = lengthen(s.tellers[i].cubes, n)
	}
	s.top = math.MinInt
	for i, d := range s.points {
		s.features(d.u, s.places[i*s.dim:(i+1)*s.dim])
		limits = max(limits, len(d.limits))
		if !d.feasible() {
			s.top = max(s.top, d.stage)
		}
	}
	s.setSpan(b)
	var violation []float64 // where outcomes name no limits it is the one limit
	if limits == 0 && s.top > math.MinInt {
		limits, violation = 1, s.signed()
	}
	m := b.objectives
	outputs := m + limits
	s.mute = slices.ContainsFunc(s.points, mute)
	if s.mute {
		outputs++
	}
	s.table = lengthen(s.table[:0], n*outputs)
	for i, d := range s.points {
		row := s.table[i*outputs : (i+1)*outputs]
		for j := range row {
			row[j] = math.NaN()
		}
		for k, f := range d.objectives {
			row[k] = min((f-s.span.Low[k])/(s.span.High[k]-s.span.Low[k]), worstShare)
		}
		copy(row[m:], d.limits)
		if violation != nil && finite(violation[i]) {
			row[m] = violation[i]
		}
		if s.mute {
			row[outputs-1] = -caution
			if mute(d) {
				row[outputs-1] = 1
			}
		}
	}
	if violation == nil {
		for j := m; j < m+limits; j++ {
			s.cutOff(j, outputs)
		}
	}
	return s.fit(m, outputs)
}

// mute reports whether nothing was told of a point but that it is no good, such as
// one that could not be built.
func mute(d *design) bool {
	if len(d.limits) == 0 {
		return math.IsInf(d.violation, 1)
	}
	return !d.feasible() && !slices.ContainsFunc(d.limits, finite)
}

const (
	enough  = 10   // points, beyond the number of their features, say something
	outlier = 1000 // distances to a limit are cut off at so many times their median: at ten
	// times, the search lost the far end of a front (OSY: 0.98 of its hypervolume, not 0.997)
	// The edge between mute points, at 1, and others is drawn near the others, at
	// -caution: half of what is proposed at the very edge is wasted.
	caution = 0.2
)

// cutOff bounds the known values of a column.
func (s *surrogate) cutOff(j, outputs int) {
	var size []float64
	for i := j; i < len(s.table); i += outputs {
		if v := math.Abs(s.table[i]); !math.IsNaN(v) {
			size = append(size, v)
		}
	}
	if len(size) == 0 {
		return
	}
	slices.Sort(size)
	far := outlier * size[len(size)/2]
	for i := j; i < len(s.table); i += outputs {
		s.table[i] = min(max(s.table[i], -far), far)
	}
}

// fit models the columns of the table, those together that are known of the same
// points. A limit of which too little is known is left to be found out; of the
// objectives there must be enough.
func (s *surrogate) fit(m, outputs int) bool {
	known := func(i, j int) bool { return !math.IsNaN(s.table[i*outputs+j]) }
	s.groups = s.groups[:0]
	var fits []fitting
	done := make([]bool, outputs)
	for j := range done {
		if done[j] {
			continue
		}
		var chosen []int
		for i := range s.points {
			if known(i, j) {
				chosen = append(chosen, i)
			}
		}
		s.groups = lengthen(s.groups, len(s.groups)+1)
		g := &s.groups[len(s.groups)-1]
		g.outputs = g.outputs[:0]
		for k := j; k < outputs; k++ {
			same := !done[k]
			for i := 0; same && i < len(s.points); i++ {
				same = known(i, j) == known(i, k)
			}
			if same {
				g.outputs = append(g.outputs, k)
				done[k] = true
			}
		}
		if len(chosen) < s.dim+enough {
			if j < m {
				return false
			}
			s.groups = s.groups[:len(s.groups)-1]
			continue
		}
		value := make([]float64, 0, len(chosen)*len(g.outputs))
		for _, i := range chosen {
			for _, k := range g.outputs {
				value = append(value, s.table[i*outputs+k])
			}
		}
		fits = append(fits, fitting{chosen, value, false})
	}
	s.each(len(fits), func(_, i int) {
		f, g := &fits[i], &s.groups[i]
		f.ok = g.model.fit(s.dim, s.tail, len(g.outputs), s.places, f.chosen, f.value)
	})
	return !slices.ContainsFunc(fits, func(f fitting) bool { return !f.ok })
}

// fitting is what a group's model goes through: points and their values.
type fitting struct {
	chosen []int
	value  []float64
	ok     bool
}

// each runs tasks on all workers.
func (s *surrogate) each(n int, task func(worker, i int)) {
	if _, panics := s.pool.Do(context.Background(), n, task); len(panics) > 0 {
		panic(&panics[0])
	}
}

// setSpan sets the range of objectives that becomes 0 to 1: that of the parents.
func (s *surrogate) setSpan(b *breeding) {
	var objs []float64
	for _, p := range b.parents {
		objs = append(objs, p.objectives...)
	}
	s.span = RangesOf(b.objectives, objs)
	for k := range b.objectives {
		if !(s.span.High[k] > s.span.Low[k]) {
			if !finite(s.span.Low[k]) {
				s.span.Low[k] = 0
			}
			s.span.High[k] = s.span.Low[k] + 1
		}
	}
}

// predict answers for a design what the model says: objectives into objs and the
// violation of the limits that known leaves open.
func (s *surrogate) predict(t *teller, u, known, objs []float64) (violation float64) {
	s.features(u, t.feature)
	for i := range s.points {
		t.cubes[i] = cube3(t.feature, s.places[i*s.dim:(i+1)*s.dim])
	}
	m := len(objs)
	for i := range s.groups {
		g := &s.groups[i]
		t.y = lengthen(t.y, len(g.outputs))
		g.model.predict(t.feature, t.cubes, t.y)
		for k, j := range g.outputs {
			switch {
			case j < m:
				objs[j] = s.span.Low[j] + t.y[k]*(s.span.High[j]-s.span.Low[j])
			case j-m >= len(known) || math.IsNaN(known[j-m]):
				violation += max(t.y[k], 0)
			}
		}
	}
	return violation
}

// total is the violation as the model sees it, which knows no stages: of a point
// that is not feasible the known limits, and what the model says of the others.
func (s *surrogate) total(d *design) float64 {
	switch {
	case d.feasible():
		return 0
	case len(d.limits) == 0:
		return d.violation + float64(s.top-d.stage)
	case mute(d):
		return math.Inf(1)
	}
	v := 0.0
	if !allFinite(d.limits) {
		s.flat = lengthen(s.flat, len(s.span.Low))
		v = s.predict(&s.tellers[0], d.u, d.limits, s.flat)
	}
	for _, g := range d.limits {
		if g > 0 {
			v += g
		}
	}
	return max(v, math.SmallestNonzeroFloat64)
}

// signed turns violations into values that fall through zero at the edge of the
// feasible region: a feasible point has minus its distance from the nearest
// point with a violation, times the median slope there.
func (s *surrogate) signed() []float64 {
	set, f := s.points, s.places
	n := len(set)
	gap := slices.Repeat([]float64{math.Inf(1)}, n) // to the nearest of the other side
	for i := range n {
		for j := range i {
			if set[i].feasible() == set[j].feasible() {
				continue
			}
			d := math.Cbrt(cube3(f[i*s.dim:(i+1)*s.dim], f[j*s.dim:(j+1)*s.dim]))
			gap[i], gap[j] = min(gap[i], d), min(gap[j], d)
		}
	}
	var slopes, sizes []float64
	value := make([]float64, n)
	for i := range value {
		value[i] = s.total(set[i])
	}
	for i, v := range value {
		if v > 0 && finite(v) {
			sizes = append(sizes, v)
			if finite(gap[i]) {
				slopes = append(slopes, v/max(gap[i], 1e-12))
			}
		}
	}
	if len(slopes) == 0 {
		return value
	}
	slices.Sort(slopes)
	slices.Sort(sizes)
	slope, deep := slopes[len(slopes)/2], sizes[len(sizes)/2]
	for i, v := range value {
		if v == 0 {
			value[i] = -min(slope*gap[i], deep)
		} else {
			value[i] = min(v, 10*deep)
		}
	}
	return value
}

// answer is what the model says of the children of the search on it.
func (s *surrogate) answer() []Outcome {
	in := s.inner
	m, n := in.objectives, len(in.children)
	s.out = lengthen(s.out, n)
	s.flat = lengthen(s.flat, n*m)
	const block = 8 // of a worker at once
	s.each((n+block-1)/block, func(worker, k int) {
		for i := k * block; i < min((k+1)*block, n); i++ {
			c, o := in.children[i], &s.out[i]
			c.predicted = true
			o.Objectives = s.flat[i*m : (i+1)*m]
			o.Violation = s.predict(&s.tellers[worker], c.u, nil, o.Objectives)
		}
	})
	return s.out[:n]
}

// propose searches the model from the parents and returns at most n designs. They
// are the memory of the search and valid until the next call.
func (s *surrogate) propose(b *breeding, n int) []*design {
	if b.objectives == 0 || !s.learn(b) {
		return nil
	}
	in := s.inner
	in.objectives, in.front, in.portfolio, in.size = b.objectives, b.front, b.portfolio, b.size
	in.scale = append(in.scale[:0], b.scale...)
	in.parents = in.parents[:0]
	for _, p := range b.parents {
		c := *p
		c.stage, c.violation = 0, s.total(p)
		in.parents = append(in.parents, &c)
	}
	s.round++
	in.seed, in.generation = Mix(b.seed^Mix(s.round)), 0
	for range innerGenerations {
		in.begin()
		in.breed(in.size)
		if !in.told(s.answer()) {
			return nil // a model that answers no number
		}
	}
	return s.pick(b, n)
}

// pick returns of what the search on the model found the most useful first.
func (s *surrogate) pick(b *breeding, n int) []*design {
	var found, feasible []*design
	for _, d := range s.inner.parents {
		if d.predicted { // not one of the outer parents
			found = append(found, d)
			if d.feasible() {
				feasible = append(feasible, d)
			}
		}
	}
	if len(feasible) == 0 {
		return found[:min(n, len(found))]
	}
	m := b.objectives
	objs := b.feasibleFront()
	front := len(objs)
	for _, d := range feasible {
		objs = append(objs, d.objectives...)
	}
	z := normalised(objs, m)
	var picked []*design
	for _, k := range addByVolume(z[front:], m, n, slices.Clone(z[:front]), &s.volume) {
		picked = append(picked, feasible[k])
	}
	return picked
}
