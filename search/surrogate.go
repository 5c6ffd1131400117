package search

import (
	"math"
	"slices"
)

// surrogate breeds points by searching a model of the rows so far: one radial
// basis function for each objective and each limit, through the parents and the
// latest other points. The search on the model is the same breeding from the
// same parents; of what it finds, those points are proposed that add most to
// the hypervolume of the first front, or violate least while none is feasible.
type surrogate struct {
	space Space
	dim   int // features of a point
	tail  int // of them, ordered variables; the others are corners of choices
	inner *breeding
	round uint64

	recent cohort // the latest points told

	goals     radial // m objectives, as shares of low to high
	low, high []float64
	bounds    radial // limits, or one signed violation; goals has them if joint
	limits    int    // outputs of bounds
	top       int    // the last stage that a limit failed at
	joint     bool
	avoid     []float64 // features of points of which the limits are not known

	feature, centre, value, y []float64
	out                       []Outcome
	flat                      []float64
	volume                    hypervolumer
}

const (
	maxCentres       = 300 // the cost of a fit grows with the third power
	innerGenerations = 30  // on the model, from the parents
	worstShare       = 3   // objectives are cut off here: how bad a bad point is says nothing
)

func newSurrogate(b *breeding) *surrogate {
	s := &surrogate{space: b.space}
	for d := range b.space {
		if b.space[d].Kind == Choice {
			s.dim += b.space[d].Choices
		} else {
			s.dim++
			s.tail++
		}
	}
	s.feature = make([]float64, s.dim)
	s.inner = newBreeding(b.space, b.seed, b.o, s.answer)
	s.inner.seen, s.inner.o.Shard = nil, Shard{}
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

// remember keeps the latest points told.
func (s *surrogate) remember(c *cohort, from int) {
	s.recent.adopt(c)
	for i := from; i < c.n; i++ {
		s.recent.take(c, i)
	}
	if s.recent.n > 4*maxCentres {
		var keep cohort
		keep.adopt(&s.recent)
		for i := s.recent.n - maxCentres; i < s.recent.n; i++ {
			keep.take(&s.recent, i)
		}
		s.recent = keep
	}
}

// learn fits the model to the parents and the latest others. It reports false
// where too little is known.
func (s *surrogate) learn(b *breeding) bool {
	var (
		set cohort
		a   = &b.all
	)
	set.adopt(a)
	for i := range b.parents {
		set.take(a, i)
	}
	parent := func(id int64) bool { return slices.Contains(a.id[:b.parents], id) }
	for i := s.recent.n - 1; i >= 0 && set.n < maxCentres; i-- {
		if !parent(s.recent.id[i]) {
			set.take(&s.recent, i)
		}
	}
	s.top = math.MinInt
	goals, bounds := 0, 0 // points with known objectives, with known limits
	violated := false
	for i := range set.n {
		if set.known[i] {
			goals++
		}
		if set.measured[i] {
			bounds++
		}
		if set.violation[i] > 0 {
			violated = true
			s.top = max(s.top, set.stage[i])
		}
	}
	enough := s.dim + 10
	if goals < enough {
		return false
	}
	// Limits are learned one by one where most points have them, else as one.
	single := 2*bounds < set.n
	inBounds := func(i int) bool {
		if single {
			return !math.IsInf(set.violation[i], 1)
		}
		return set.measured[i]
	}
	s.limits = set.limits
	if single {
		s.limits = 1
	}
	if !violated && single {
		s.limits = 0
	}
	s.joint = true
	s.avoid = s.avoid[:0]
	for i := range set.n {
		in := inBounds(i) || s.limits == 0
		s.joint = s.joint && set.known[i] && in
		if !in {
			s.features(set.point(i), s.feature)
			s.avoid = append(s.avoid, s.feature...)
		}
	}
	var signed []float64
	if single && s.limits > 0 {
		signed = s.signed(&set)
	}
	s.span(b)
	goalsOf := func(i int, v []float64) {
		for k, f := range set.objectives(i) {
			v[k] = min((f-s.low[k])/(s.high[k]-s.low[k]), worstShare)
		}
	}
	boundsOf := func(i int, v []float64) {
		if single {
			v[0] = signed[i]
		} else {
			copy(v, set.limit[i*set.limits:(i+1)*set.limits])
		}
	}
	m := set.m
	if s.joint {
		return s.fit(&s.goals, &set, m+s.limits, func(int) bool { return true }, func(i int, v []float64) {
			goalsOf(i, v)
			if s.limits > 0 {
				boundsOf(i, v[m:])
			}
		})
	}
	return s.fit(&s.goals, &set, m, func(i int) bool { return set.known[i] }, goalsOf) &&
		(s.limits == 0 || s.fit(&s.bounds, &set, s.limits, inBounds, boundsOf))
}

// fit passes the chosen points of set to a radial basis function.
func (s *surrogate) fit(f *radial, set *cohort, outputs int, in func(int) bool, of func(int, []float64)) bool {
	s.centre, s.value = s.centre[:0], s.value[:0]
	for i := range set.n {
		if !in(i) {
			continue
		}
		s.features(set.point(i), s.feature)
		s.centre = append(s.centre, s.feature...)
		s.value = lengthen(s.value, len(s.value)+outputs)
		of(i, s.value[len(s.value)-outputs:])
	}
	return len(s.value) > 0 && f.fit(s.dim, s.tail, outputs, s.centre, s.value)
}

// span sets the range of objectives that becomes 0 to 1: that of the parents.
func (s *surrogate) span(b *breeding) {
	a := &b.all
	s.low, s.high = lengthen(s.low, a.m), lengthen(s.high, a.m)
	for k := range a.m {
		s.low[k], s.high[k] = math.Inf(1), math.Inf(-1)
		for i := range b.parents {
			if a.known[i] {
				f := a.objs[i*a.m+k]
				s.low[k], s.high[k] = min(s.low[k], f), max(s.high[k], f)
			}
		}
		if !(s.high[k] > s.low[k]) {
			if !finite(s.low[k]) {
				s.low[k] = 0
			}
			s.high[k] = s.low[k] + 1
		}
	}
}

// total is the violation as the model sees it, which knows no stages: each stage
// that was not reached adds 1.
func (s *surrogate) total(c *cohort, i int) float64 {
	v := c.violation[i]
	if v == 0 {
		return 0
	}
	return v + float64(s.top-c.stage[i])
}

// signed turns violations into values that fall through zero at the edge of the
// feasible region: a feasible point has minus its distance from the nearest
// point with a violation, times the median slope there.
func (s *surrogate) signed(set *cohort) []float64 {
	n := set.n
	f := make([]float64, n*s.dim)
	for i := range n {
		s.features(set.point(i), f[i*s.dim:(i+1)*s.dim])
	}
	gap := slices.Repeat([]float64{math.Inf(1)}, n) // to the nearest of the other side
	for i := range n {
		for j := range i {
			if (set.violation[i] > 0) == (set.violation[j] > 0) {
				continue
			}
			d := math.Cbrt(cube3(f[i*s.dim:(i+1)*s.dim], f[j*s.dim:(j+1)*s.dim]))
			gap[i], gap[j] = min(gap[i], d), min(gap[j], d)
		}
	}
	var slopes, sizes []float64
	value := make([]float64, n)
	for i := range value {
		value[i] = s.total(set, i)
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

// answer is the batch of the search on the model.
func (s *surrogate) answer(p *Proposals) ([]Outcome, error) {
	in := s.inner
	m, n := in.all.m, len(p.Points)
	s.y = lengthen(s.y, m+s.limits)
	s.out = lengthen(s.out, n)
	s.flat = lengthen(s.flat, n*m)
	for i := range n {
		s.features(in.all.point(in.parents+i), s.feature)
		nearest := s.goals.predict(s.feature, s.y)
		if !s.joint && s.limits > 0 {
			nearest = s.bounds.predict(s.feature, s.y[m:])
		}
		o := &s.out[i]
		o.Violation = 0
		for _, v := range s.y[m:] {
			o.Violation += max(v, 0)
		}
		for j := 0; j < len(s.avoid); j += s.dim {
			if cube3(s.feature, s.avoid[j:j+s.dim]) < nearest {
				o.Violation++
				break
			}
		}
		o.Objectives = s.flat[i*m : (i+1)*m]
		for k := range m {
			o.Objectives[k] = s.low[k] + s.y[k]*(s.high[k]-s.low[k])
		}
	}
	return s.out[:n], nil
}

// propose searches the model from the parents and returns at most n points.
// They are the memory of the search and valid until the next call.
func (s *surrogate) propose(b *breeding, n int) [][]float64 {
	if b.all.m == 0 || !s.learn(b) {
		return nil
	}
	in := s.inner
	in.all.truncate(0)
	in.all.adopt(&b.all)
	for i := range b.parents {
		in.all.take(&b.all, i)
		in.all.stage[i], in.all.violation[i] = 0, s.total(&b.all, i)
	}
	in.parents, in.frontier, in.portfolio = b.parents, b.frontier, b.portfolio
	in.scale = append(in.scale[:0], b.scale...)
	s.round++
	in.seed, in.generation = mix(b.seed^mix(s.round)), 0
	for range innerGenerations {
		if err := in.next(); err != nil {
			return nil // a model that answers no number
		}
	}
	var points [][]float64
	for _, i := range s.pick(b, n) {
		points = append(points, in.all.point(i))
	}
	return points
}

// pick returns rows of the inner breeding, the most useful first.
func (s *surrogate) pick(b *breeding, n int) []int {
	in := s.inner
	var found, feasible []int
	for i := range in.parents {
		if in.all.id[i] == 0 { // not one of the outer parents
			found = append(found, i)
			if in.all.violation[i] == 0 {
				feasible = append(feasible, i)
			}
		}
	}
	if len(feasible) == 0 {
		return found[:min(n, len(found))]
	}
	m := in.all.m
	var objs []float64
	for i := range b.frontier {
		if b.all.violation[i] == 0 {
			objs = append(objs, b.all.objectives(i)...)
		}
	}
	front := len(objs)
	for _, i := range feasible {
		objs = append(objs, in.all.objectives(i)...)
	}
	z := normalised(objs, m)
	var rows []int
	for _, k := range addByVolume(z[front:], m, n, slices.Clone(z[:front]), &s.volume) {
		rows = append(rows, feasible[k])
	}
	return rows
}
