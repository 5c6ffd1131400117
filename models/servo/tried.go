package servo

import "math"

// tried is a shape of the list, and what came of it so far.
type tried struct {
	shape  Shape
	bounds shapeBounds
	search
	held              bool    // judged completely; else good is an upper bound, and so are
	bandwidth, closed float64 // rad/s; 0: no crossover holds
	slowest           int     // the case that gave its bound
	tight             bool    // which is the slowest
	round             bool    // good does not fail at the other poses, by [Loop.failsAlike]
	seen              int     // witnesses that good does not fail at, of all that were added
}

// refined reports whether nothing but a complete judgement tells more of a shape.
func (l *Loop) refined(s *tried) bool {
	return s.held || s.judged || s.seen == l.added && s.tight && (s.alike || s.round)
}

// refine looks closer at the crossover at which a shape is not known to fail, or finds a lower one. It reports whether more is known now.
func (l *Loop) refine(s *tried) (more bool) {
	if l.refined(s) {
		return false
	}
	l.Use(s.shape)
	t, ok := l.trial(s.good)
	if !ok {
		s.seen, s.tight, s.round = l.added, true, true
		return false
	}
	if s.seen < l.added {
		if l.failsBetween(&t) {
			s.above = s.good
			l.lower(s)
			return true
		}
		s.seen = l.added
	}
	if !s.tight {
		if s.tight = true; l.findSlowest(&t) || s.slowest != l.slowest {
			l.bound(s)
			return true
		}
	}
	if !s.alike && !s.round {
		if s.round = true; l.failsAlike(&t) {
			s.alike, s.above = true, s.good
			l.lower(s)
			return true
		}
		s.seen = l.added
	}
	return false
}

// prove judges a shape completely at the crossover at which it is not known to fail, or finds a lower one.
func (l *Loop) prove(s *tried) {
	l.Use(s.shape)
	if !l.proves(&s.search) {
		l.lower(s)
		return
	}
	s.held = true
	t, _ := l.trial(s.good)
	s.bandwidth, s.closed = l.rises(&t), l.falls(&t)
}

// lower goes on to the next crossover at which the shape in use is not known to fail.
func (l *Loop) lower(s *tried) {
	if !l.descend(&s.search, 0) {
		s.good, s.bandwidth, s.closed, s.held = 0, 0, 0, true
		return
	}
	s.seen, s.tight, s.round = l.added, false, false
	l.bound(s)
}

// bound finds bounds of what the shape in use reaches, by the cases that were slowest last: the largest over all lower crossovers.
func (l *Loop) bound(s *tried) {
	const down = 0.95
	s.slowest = l.slowest
	slowest, laggard := &l.cases[l.slowest], &l.cases[l.laggard.number]
	s.bandwidth, s.closed = 0, 0
	near := 0.6 * s.good
	for wc := s.good; wc > s.ladder.wc[len(s.ladder.wc)-1]*down; wc *= down {
		t, ok := l.trial(wc)
		if !ok {
			continue
		}
		more := 1.0
		if s.bandwidth > 0 {
			if l.hasRisen(slowest, s.bandwidth, &t) && l.hasFallen(laggard, l.laggard.axis, s.closed, &t) {
				break
			}
			more = 1 / down // in between they are no larger than in proportion to the crossover
		}
		bandwidth := l.risen(slowest, &t, near)
		s.bandwidth, s.closed = max(s.bandwidth, more*bandwidth), max(s.closed, more*l.fallen(laggard, &t, l.laggard.axis))
		near = 0.93 * bandwidth
	}
}

// hasRisen reports whether |S| of an axis is 1/√2 at least at w, rad/s.
func (l *Loop) hasRisen(c *loopCase, w float64, t *trial) bool {
	if math.IsInf(w, 1) {
		return true
	}
	var n node
	l.nodeAt(c, w/c.scale, t, &n)
	return n.excess() >= 0
}

// hasFallen reports whether the closed loop of an axis is below −3 dB at w, rad/s.
func (l *Loop) hasFallen(c *loopCase, axis int, w float64, t *trial) bool {
	if math.IsInf(w, 1) {
		return true
	}
	var d difference
	l.anywhere(c, w/c.scale, t, &d)
	return dropped(l.gain(&d, axis)) < 0
}

// fallen is where the closed loop of an axis falls below −3 dB, rad/s, a little above it: no less than where it does first; infinite where it does not. It looks
// from the first mode on, or from where the integrator makes the loop gain 4.
func (l *Loop) fallen(c *loopCase, t *trial, axis int) float64 {
	r := c.r
	var d difference
	value := func(i int) float64 {
		l.at(c, i, t, &d)
		return dropped(l.gain(&d, axis))
	}
	value(0)
	i := r.index(min(0.25*r.w[0]*math.Sqrt(square(l.gain(&d, axis))), r.omega[0]))
	for value(i) >= 0 {
		if i++; i == r.n {
			return math.Inf(1)
		}
	}
	for i > 0 && value(i-1) < 0 {
		i--
	}
	if i == 0 {
		return r.w[0] * c.scale
	}
	low, high := value(i-1), value(i)
	a, b := r.w[i-1], r.w[i]
	// false position, aimed above
	for n := 0; n < 12 && b > a*(1+1e-4); n++ {
		f := 0.5
		if n%3 < 2 {
			f = min(max(low/(low-high)+1e-3, 0.01), 0.99)
		}
		m := a + f*(b-a)
		l.anywhere(c, m, t, &d)
		if v := dropped(l.gain(&d, axis)); v < 0 {
			b, high = m, v
		} else {
			a, low = m, v
		}
	}
	return b * c.scale
}
