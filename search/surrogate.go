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

	recent []*design // the latest

	goals  radial // m objectives, as shares of span
	span   Ranges
	bounds radial // limits, or one signed violation; goals has them if joint
	limits int    // outputs of bounds
	top    int    // the last stage that a limit failed at
	joint  bool
	avoid  []float64 // features of points of which the limits are not known

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
	set := slices.Clone(b.parents)
	for i := len(s.recent) - 1; i >= 0 && len(set) < maxCentres; i-- {
		if !slices.Contains(b.parents, s.recent[i]) {
			set = append(set, s.recent[i])
		}
	}
	s.top = math.MinInt
	s.limits = 0
	goals, bounds := 0, 0 // points with known objectives, with known limits
	violated := false
	measured := func(d *design) bool { return len(d.limits) > 0 && allFinite(d.limits) }
	for _, d := range set {
		if d.objectives != nil {
			goals++
		}
		if measured(d) {
			bounds++
		}
		s.limits = max(s.limits, len(d.limits))
		if !d.feasible() {
			violated = true
			s.top = max(s.top, d.stage)
		}
	}
	enough := s.dim + 10
	if goals < enough {
		return false
	}
	// Limits are learned one by one where most points have them, else as one.
	single := 2*bounds < len(set)
	inBounds := func(i int) bool {
		if single {
			return !math.IsInf(set[i].violation, 1)
		}
		return measured(set[i])
	}
	if single {
		s.limits = 1
	}
	if !violated && single {
		s.limits = 0
	}
	s.joint = true
	s.avoid = s.avoid[:0]
	for i, d := range set {
		in := inBounds(i) || s.limits == 0
		s.joint = s.joint && d.objectives != nil && in
		if !in {
			s.features(d.u, s.feature)
			s.avoid = append(s.avoid, s.feature...)
		}
	}
	var signed []float64
	if single && s.limits > 0 {
		signed = s.signed(set)
	}
	s.setSpan(b)
	goalsOf := func(i int, v []float64) {
		for k, f := range set[i].objectives {
			v[k] = min((f-s.span.Low[k])/(s.span.High[k]-s.span.Low[k]), worstShare)
		}
	}
	boundsOf := func(i int, v []float64) {
		if single {
			v[0] = signed[i]
		} else {
			copy(v, set[i].limits)
		}
	}
	m := b.objectives
	if s.joint {
		return s.fit(&s.goals, set, m+s.limits, func(int) bool { return true }, func(i int, v []float64) {
			goalsOf(i, v)
			if s.limits > 0 {
				boundsOf(i, v[m:])
			}
		})
	}
	return s.fit(&s.goals, set, m, func(i int) bool { return set[i].objectives != nil }, goalsOf) &&
		(s.limits == 0 || s.fit(&s.bounds, set, s.limits, inBounds, boundsOf))
}

// fit passes the chosen points of set to a radial basis function.
func (s *surrogate) fit(f *radial, set []*design, outputs int, in func(int) bool, of func(int, []float64)) bool {
	s.centre, s.value = s.centre[:0], s.value[:0]
	for i, d := range set {
		if !in(i) {
			continue
		}
		s.features(d.u, s.feature)
		s.centre = append(s.centre, s.feature...)
		s.value = lengthen(s.value, len(s.value)+outputs)
		of(i, s.value[len(s.value)-outputs:])
	}
	return len(s.value) > 0 && f.fit(s.dim, s.tail, outputs, s.centre, s.value)
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

// total is the violation as the model sees it, which knows no stages: each stage
// that was not reached adds 1.
func (s *surrogate) total(d *design) float64 {
	if d.feasible() {
		return 0
	}
	return d.violation + float64(s.top-d.stage)
}

// signed turns violations into values that fall through zero at the edge of the
// feasible region: a feasible point has minus its distance from the nearest
// point with a violation, times the median slope there.
func (s *surrogate) signed(set []*design) []float64 {
	n := len(set)
	f := make([]float64, n*s.dim)
	for i := range n {
		s.features(set[i].u, f[i*s.dim:(i+1)*s.dim])
	}
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

// answer is the batch of the search on the model.
func (s *surrogate) answer(p *Proposals) ([]Outcome, error) {
	in := s.inner
	m, n := in.objectives, len(p.Points)
	s.y = lengthen(s.y, m+s.limits)
	s.out = lengthen(s.out, n)
	s.flat = lengthen(s.flat, n*m)
	for i, c := range in.children {
		c.predicted = true
		s.features(c.u, s.feature)
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
			o.Objectives[k] = s.span.Low[k] + s.y[k]*(s.span.High[k]-s.span.Low[k])
		}
	}
	return s.out[:n], nil
}

// propose searches the model from the parents and returns at most n designs. They
// are the memory of the search and valid until the next call.
func (s *surrogate) propose(b *breeding, n int) []*design {
	if b.objectives == 0 || !s.learn(b) {
		return nil
	}
	in := s.inner
	in.objectives, in.front, in.portfolio = b.objectives, b.front, b.portfolio
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
		if err := in.next(); err != nil {
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
