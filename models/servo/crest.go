package servo

import (
	"math"

	"flexwright/models/elementary"
)

// crest is a peak of |S| that is followed as the crossover moves: the plant at three frequencies around it.
type crest struct {
	w, step float64 // rad/s, of the unscaled grid, in the middle; 0: not followed yet
	fine    bool    // the steps are small enough for a parabola to be right to 1e-5
	at      [3]through
}

// height is ln of the largest |S|² at a place over the limit; an estimate, by a parabola of 1/|S|². It is infinite where the place is a
// case as a whole.
func (l *Loop) height(w *witness, t *trial) float64 {
	c := &l.cases[w.number]
	if w.index < 0 {
		if l.still(w, t) {
			return math.Inf(1)
		}
		f := finding{limit2: l.limit2}
		number := w.number
		if l.together() {
			number = l.sweepScales(c.set, c.pose, t, &f)
		} else {
			l.sweep(c, t, &f)
		}
		if f.reason == Ceiling {
			return math.Inf(-1)
		}
		*w = l.newWitness(number, &f, t)
		return math.Inf(1)
	}
	h := &w.crest
	largest, at := l.highest(c, w.index, t)
	known := h.w // a place where |S| is, or was just above, no less than what is looked for
	if h.step == 0 {
		if known, w.w = w.w, 0; known > 0 {
			l.start(c, h, known)
		}
	}
	if h.step > 0 {
		if s, _ := l.top(c, h, t); s >= largest {
			return math.Log(s / l.limit2)
		}
		var n node
		l.nodeAt(c, known, t, &n)
		largest = max(largest, n.s[0], n.s[1])
	}
	if largest < low*l.limit2 || at == 0 || at == c.r.n-1 || at <= w.index-reach || at >= w.index+reach {
		return math.Log(largest / l.limit2)
	}
	for n := range 2 {
		if n == 0 {
			l.start(c, h, l.summit(c, at, t))
		} else {
			l.searchBetween(c, h, at, t)
		}
		if s, _ := l.top(c, h, t); s >= largest {
			return math.Log(s / l.limit2)
		}
	}
	h.step = 0
	f := finding{limit2: l.limit2, whole: true}
	l.look(c, t, w.index, &f)
	return math.Log(f.peak / l.limit2)
}

// searchBetween follows from where |S| is largest of frequencies between the neighbours of a point.
func (l *Loop) searchBetween(c *loopCase, h *crest, at int, t *trial) {
	var w [lanes]float64
	for side := range 2 {
		a, b := c.r.w[at-1+side], c.r.w[at+side]
		for k := range lanes / 2 {
			w[side*lanes/2+k] = a + (b-a)*(float64(k)+0.5)/(lanes/2)
		}
	}
	var p, arm [lanes]plantValue
	c.r.values(w[:], &p, &arm)
	most, best := 0.0, 0
	for k, w := range w {
		var g through
		var d difference
		l.pass(c, w, &p[k], &arm[k], &g)
		l.close(c.scale*w, &g, t, &d)
		if x, y := l.sensitivity(&d); max(x, y) > most {
			most, best = max(x, y), k
		}
	}
	l.follow(c, h, w[best], 0.1*(w[min(best+1, lanes-1)]-w[max(best-1, 0)]))
	h.fine = false
}

// start begins a crest at a frequency, rad/s of the unscaled grid.
func (l *Loop) start(c *loopCase, h *crest, from float64) {
	i := c.r.index(from)
	l.follow(c, h, from, 0.05*(c.r.w[min(i+1, c.r.n-1)]-c.r.w[max(i-1, 0)]))
	h.fine = false
}

// low is what of the limit's square no point may reach around a place where no peak is looked for between them.
const low = 0.4

// top is the largest |S|² at a crest, by a parabola of 1/|S|², and where in the unscaled grid it is; no number where it has none.
func (l *Loop) top(c *loopCase, h *crest, t *trial) (high, w float64) {
	for range 8 {
		var s [3][2]float64
		for k := range s {
			var d difference
			l.close(c.scale*(h.w+float64(k-1)*h.step), &h.at[k], t, &d)
			s[k][0], s[k][1] = l.sensitivity(&d)
		}
		axis := 0
		if s[1][1] > s[1][0] {
			axis = 1
		}
		before, here, after := 1/s[0][axis], 1/s[1][axis], 1/s[2][axis]
		bend := before - 2*here + after
		if !(bend > 0) {
			break
		}
		move := 0.5 * (before - after) / bend
		step := h.step
		if math.Abs(move) <= 1.5 {
			top := 1 / (here - 0.5*bend*move*move)
			if h.fine || top < 0.9*l.limit2 {
				return top, h.w + move*step
			}
			h.fine = true
			step /= 8
		} else if h.fine && math.Abs(move) > 16 {
			h.fine = false
			step *= 8
		}
		l.follow(c, h, h.w+h.step*min(max(move, -8), 8), step)
	}
	return math.NaN(), math.NaN()
}

// highest is the largest |S|² of both axes at the points around one, and where.
func (l *Loop) highest(c *loopCase, centre int, t *trial) (largest float64, at int) {
	first, last := max(centre-reach, 0), min(centre+reach, c.r.n-1)
	s := l.peaks(c, t, first, last)
	for i := first; i <= last; i++ {
		if !(s[i] <= largest) {
			largest, at = s[i], i
		}
	}
	return largest, at
}

// summit is where 1/|S|² would be least by a parabola through a point, at which it is less than at its neighbours, and these.
func (l *Loop) summit(c *loopCase, at int, t *trial) float64 {
	if at == 0 || at == c.r.n-1 {
		return c.r.w[at]
	}
	var n [3]node
	for k := range n {
		l.node(c, at-1+k, t, &n[k])
	}
	axis := 0
	if n[1].s[1] > n[1].s[0] {
		axis = 1
	}
	here := 1 / n[1].s[axis]
	a, b := n[0].w-n[1].w, n[2].w-n[1].w
	before, after := (1/n[0].s[axis]-here)/a, (1/n[2].s[axis]-here)/b
	if bend := (after - before) / (b - a); bend > 0 {
		return n[1].w + min(max(-0.5*(before-bend*a)/bend, 0.5*a), 0.5*b)
	}
	return n[1].w
}

// follow evaluates the plant at three frequencies around w.
func (l *Loop) follow(c *loopCase, h *crest, w, step float64) {
	h.w, h.step = w, step
	at := [...]float64{w - step, w, w + step}
	var p, arm [lanes]plantValue
	c.r.values(at[:], &p, &arm)
	for k, w := range at {
		l.pass(c, w, &p[k], &arm[k], &h.at[k])
	}
}

// values evaluates the plant at up to eight frequencies; arm is used for SensorSplit only.
func (r *response) values(w []float64, p, arm *[lanes]plantValue) {
	if r.brake > 0 || r.sensor == SensorSplit {
		for k, w := range w {
			r.value(w, &p[k], &arm[k])
		}
		return
	}
	var x pointsAt
	for k := range lanes {
		w := w[min(k, len(w)-1)]
		x[k], x[lanes+k] = w*w, 2*r.zeta*w
	}
	var to pointSums
	sumPoints(r.omega, r.seen().residue, &x, &to)
	for k := range w {
		for i := range p[k] {
			p[k][i] = complex(to[lanes*i+k], to[lanes*(4+i)+k])
		}
	}
}

// located is to what ratio the end of a range is.
const located = 1e-5

// ends locates the lowest end of a good range between two crossovers, of those that the known places bound, and with alike those like the last; 0 where one fails at low, too. It is
// an estimate, to be settled.
func (l *Loop) ends(low, high float64, alike bool) float64 {
	for n := range 12 {
		t, ok := l.trial(high)
		if !ok {
			break
		}
		h := l.heightBetween(&t)
		if !(h > 0) && alike {
			h = l.heightAlike(&t)
		}
		if !(h > 0) {
			break
		}
		if high = l.end(low, high, h, n > 2); high == 0 {
			break
		}
	}
	return high
}

// end locates where the place that failed last begins to fail, between a crossover at which it does not, and one at which it does, with what height; 0
// where it fails at both. With anew its peak is looked for at every crossover, instead of followed.
func (l *Loop) end(good, bad, high float64, anew bool) float64 {
	w := &l.hot[0]
	height := func(wc float64) float64 {
		t, ok := l.trial(wc)
		if !ok {
			return math.Inf(1)
		}
		if w.crest.step > 0 && !anew {
			if s, _ := l.top(&l.cases[w.number], &w.crest, &t); s > 0 {
				return math.Log(s / l.limit2)
			}
		}
		return l.height(w, &t)
	}
	low := height(good)
	if low > 0 {
		return 0
	}
	// False position in ln ωc, the value at the end that stays halved (Illinois); from a factor of 100 to 1e-6 halvings take 22.
	side := 0
	for range 40 {
		width := math.Log(bad / good)
		if width < 0.1*located {
			break
		}
		f := 0.5
		if !math.IsInf(low, 0) && !math.IsInf(high, 0) && high > 0 {
			f = min(max(low/(low-high), 0.01), 0.99)
		}
		x := good * elementary.Exp(f*width)
		e := height(x)
		slope := (e - low) / (f * width)
		if e > 0 {
			slope = (high - e) / ((1 - f) * width)
			if bad, high = x, e; side > 0 {
				low *= 0.5
			}
			side = 1
		} else {
			if good, low = x, e; side < 0 {
				high *= 0.5
			}
			side = -1
		}
		if math.Abs(e) < 0.1*located*slope {
			return max(x*elementary.Exp(-e/slope-0.1*located), good)
		}
	}
	return good
}

// settleOnCrest is settle where the crest that ends the range is followed: at its top, whose place moves little, the highest crossover of the grid, from first to last
// and near k, is looked for at which |S| is within the limit. It is judged completely next, so that no closer look is needed; bad is so far up that one sees it fail.
func (l *Loop) settleOnCrest(s *search, at func(k float64) float64, k, first, last float64) bool {
	w := &l.hot[0]
	c := &l.cases[w.number]
	t, ok := l.trial(at(k))
	if !ok {
		return false
	}
	_, top := l.top(c, &w.crest, &t)
	if !(top > 0) {
		return false
	}
	var p, arm plantValue
	var g through
	c.r.value(top, &p, &arm)
	l.pass(c, top, &p, &arm, &g)
	high := func(k float64) float64 {
		t, ok := l.trial(at(k))
		if !ok {
			return math.Inf(1)
		}
		var d difference
		l.close(c.scale*top, &g, &t, &d)
		x, y := l.sensitivity(&d)
		return max(x, y) / l.limit2
	}
	const near = 8
	for n := 0; !(high(k) <= 1); n++ {
		if n == near || k == last {
			return false
		}
		k++
	}
	for n := 0; k > first && high(k-1) <= 1; n++ {
		if n == near {
			return false
		}
		k--
	}
	if high(k) > 1-0.1*sure { // a judge's bounds may say otherwise
		return false
	}
	for step := 1.0; step <= 2*near; step *= 2 {
		if k-step < first {
			s.good, s.bad = at(k), s.failed
			return true
		}
		if high(k-step) > 1+sure {
			s.good, s.bad = at(k), at(k-step)
			return true
		}
	}
	return false
}

// settle moves an end to where a look as close as a sweep's agrees, on a grid of crossovers of its own, so that it does not depend on the way
// there: good there is not seen to fail at the place that failed last, bad next to it does. It is false where the place fails down to the
// next crossover of the ladder.
func (l *Loop) settle(s *search) bool {
	const spacing = 0.99 * located
	ladder := s.ladder.wc
	l.addWitness(s.last)
	if w := &l.hot[0]; w.crest.step > 0 {
		w.index = l.cases[w.number].r.index(w.crest.w)
		s.last = *w
	}
	at := func(k float64) float64 { return ladder[0] * elementary.Exp(-k*spacing) }
	fails := func(k float64) bool {
		t, ok := l.trial(at(k))
		return !ok || l.failsThere(&l.hot[0], &t)
	}
	first, last := math.Floor(math.Log(ladder[0]/s.failed)/spacing+1e-3)+1, math.Floor(math.Log(ladder[0]/ladder[s.next])/spacing)
	if first > last {
		return false
	}
	k := math.Ceil(math.Log(ladder[0]/s.good) / spacing)
	if k > first && k <= last && l.hot[0].crest.step > 0 && l.settleOnCrest(s, at, k, first, last) {
		return true
	}
	k = min(max(k, first), last)
	// bad < good, steps away
	var good, bad float64
	if fails(k) {
		bad = k
		for step := 1.0; ; step *= 2 {
			if bad == last {
				return false
			}
			if good = min(bad+step, last); !fails(good) {
				break
			}
			bad = good
		}
	} else {
		good = k
		for step := 1.0; ; step *= 2 {
			if good == first {
				s.good, s.bad = at(good), s.failed
				return true
			}
			if bad = max(good-step, first); fails(bad) {
				break
			}
			good = bad
		}
	}
	for good > bad+1 {
		if m := math.Floor(0.5 * (good + bad)); fails(m) {
			bad = m
		} else {
			good = m
		}
	}
	s.good, s.bad = at(good), at(bad)
	return true
}
