package servo

import (
	"math"

	"flexwright/models/elementary"
)

// witness is a place where a crossover failed: a point of a case, or a case as a whole.
type witness struct {
	number, index int     // index −1: unstable without a point of large sensitivity
	w             float64 // rad/s, of that point; 0: not known better than by index

	// of an axis unstable alone: which, and how far the controller may move before it
	// can become stable
	alone bool
	axis  int
	at    trial
	room  float64 // largest |C'/C − 1| at which 1 + L cannot have passed through zero
}

// still reports whether an axis that was unstable alone must be so at t, too: as long
// as |C' − C| |P| < |1 + C P| at all frequencies the encirclements stay (Rouché). With
// |C P| ≤ 1 + |1 + C P| it is enough that
// |C'/C − 1| < m/(1 + m), m the least |1 + C P|.
func (l *Loop) still(w *witness, t *trial) bool {
	if !w.alone {
		return false
	}
	ratio := t.kx / w.at.kx
	if w.axis == 1 {
		ratio = t.ky / w.at.ky
	}
	move := math.Abs(math.Log(ratio)) + l.slopeMost*math.Abs(math.Log(t.wc/w.at.wc))
	return math.Expm1(move) < w.room
}

// failsNear looks where crossovers failed before, through the whole of the case that
// failed last, and at the same mode in all others: what settles most crossovers.
func (l *Loop) failsNear(wc float64) bool {
	t, ok := l.trial(wc)
	return !ok || l.failsAtWitness(&t, true) || l.failsAlike(&t)
}

// failsKnown looks only near the places where crossovers failed before.
func (l *Loop) failsKnown(wc float64) bool {
	t, ok := l.trial(wc)
	return !ok || l.failsAtWitness(&t, false)
}

// end narrows good (holds at the place that failed last) and bad (does not) to 1e-5: by the summit of |S| there, and where
// the place itself does not agree, by that.
func (l *Loop) end(good, bad float64) (float64, float64) {
	const close = 1e-5
	if w := &l.hot[0]; l.hots > 0 && w.index >= 0 {
		h := summit{c: &l.cases[w.number], w: w.w / l.cases[w.number].scale}
		if h.step = h.c.r.spacing(w.index); w.w == 0 {
			h.w = h.c.r.w[w.index]
		}
		at, _ := narrow(good, bad, 0.3*close, func(wc float64) float64 { return l.height(wc, &h) })
		fails := l.failsThere(at)
		for range 8 { // what is judged by intervals is right to 1e-4 of |S|, a few steps of the crossover
			next := at / (1 + 0.99*close)
			if !fails {
				next = at * (1 + 0.99*close)
			}
			next = min(max(next, good), bad)
			if end := next == bad || next > good && l.failsThere(next); end != fails {
				return min(at, next), max(at, next)
			}
			at = next
		}
	}
	return narrow(good, bad, close, l.excess)
}

// narrow narrows good, where excess is not positive, and bad to a ratio of 1 + close.
func narrow(good, bad, close float64, excess func(wc float64) float64) (float64, float64) {
	low, high := excess(good), excess(bad)
	side := 0 // that moved last
	// Twenty steps of false position, then halvings: from a factor of 100 to 1e-5 takes twenty.
	for n := 0; bad/good > 1+close && n < 60; n++ {
		x := math.Sqrt(good * bad)
		if n < 20 && low <= 0 && high > 0 && !math.IsInf(low, 0) && !math.IsInf(high, 0) {
			// False position in ln ωc, the value at the end that stays halved
			// (Illinois), aimed a little beyond the root so that the other end moves,
			// too.
			f := low / (low - high)
			width := math.Log(bad / good)
			aim := 0.3 * close
			if -low > high {
				aim = -aim
			}
			x = good * elementary.Exp(min(max(f*width-aim, 0.01*width), 0.99*width))
		}
		e := excess(x)
		if e > 0 {
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
	}
	return good, bad
}

// failsThere looks near the place that failed last only.
func (l *Loop) failsThere(wc float64) bool {
	t, ok := l.trial(wc)
	if !ok {
		return true
	}
	w := &l.hot[0]
	f := finding{limit2: l.limit2}
	l.look(&l.cases[w.number], &t, w.index, false, &f)
	return f.reason != Ceiling
}

// summit is a peak of |S| that is followed as the crossover moves.
type summit struct {
	c    *loopCase
	w    float64 // of the unscaled grid, rad/s
	step float64 // rad/s, far less than the peak's width
}

// spacing is a tenth of the distance of the points next to one.
func (r *response) spacing(i int) float64 {
	return 0.1 * (r.w[min(i+1, r.n-1)] - r.w[max(i-1, 0)])
}

// height is ln of |S|² over its limit at a summit, by parabolas of 1/|S|²; an estimate. It is no number where there is none.
func (l *Loop) height(wc float64, h *summit) float64 {
	t, ok := l.trial(wc)
	if !ok {
		return math.NaN()
	}
	var n [3]node
	l.nodeAt(h.c, h.w, &t, &n[1])
	for range 6 {
		l.nodeAt(h.c, h.w-h.step, &t, &n[0])
		l.nodeAt(h.c, h.w+h.step, &t, &n[2])
		axis := 0
		if n[1].s[1] > n[1].s[0] {
			axis = 1
		}
		a, b, c := 1/n[0].s[axis], 1/n[1].s[axis], 1/n[2].s[axis]
		move := 0.5 * (a - c) / (a - 2*b + c)
		if !(a-2*b+c > 0) {
			break
		}
		h.w += h.step * min(max(move, -3), 3)
		l.nodeAt(h.c, h.w, &t, &n[1])
		if math.Abs(move) < 1 {
			return math.Log(max(n[1].s[0], n[1].s[1]) / l.limit2)
		}
	}
	return math.NaN()
}

// excess is ln of the largest |S|² near the place that failed last over its limit,
// +Inf where that is not a matter of sensitivity and fails.
func (l *Loop) excess(wc float64) float64 {
	t, ok := l.trial(wc)
	if !ok || l.hots == 0 {
		return math.Inf(1)
	}
	w := &l.hot[0]
	f := finding{limit2: l.limit2, whole: true}
	if w.index < 0 {
		if !l.still(w, &t) {
			f.whole = false
			if l.sweep(&l.cases[w.number], &t, &f); f.reason == Ceiling {
				return math.Inf(-1)
			}
		}
		return math.Inf(1)
	}
	l.look(&l.cases[w.number], &t, w.index, false, &f)
	return math.Log(f.peak / l.limit2)
}

func (l *Loop) failsAtWitness(t *trial, far bool) bool {
	for h := range l.hots {
		w := &l.hot[h]
		c := &l.cases[w.number]
		if w.index < 0 {
			if l.still(w, t) {
				l.promote(h)
				return true
			}
			f := finding{limit2: l.limit2}
			if l.sweep(c, t, &f); f.reason != Ceiling {
				*w = newWitness(w.number, &f, t)
				l.promote(h)
				return true
			}
			continue
		}
		f := finding{limit2: l.limit2}
		if l.look(c, t, w.index, far && h == 0, &f); f.reason != Ceiling {
			w.index, w.w = f.index, f.w
			l.promote(h)
			return true
		}
	}
	return false
}

func (l *Loop) promote(h int) {
	w := l.hot[h]
	copy(l.hot[1:h+1], l.hot[:h])
	l.hot[0] = w
}

func newWitness(number int, f *finding, t *trial) witness {
	w := witness{number: number, index: f.index, w: f.w, alone: f.reason == UnstableAlone, axis: f.axis, at: *t}
	if w.alone {
		m := f.least[f.axis]
		w.room = m / (1 + m)
	}
	return w
}

func (l *Loop) addWitness(w witness) {
	if l.hots < len(l.hot) {
		l.hots++
	}
	copy(l.hot[1:l.hots], l.hot[:l.hots-1])
	l.hot[0] = w
}

// failsAlike looks in all cases near the mode at which the last one failed, at the
// points of the grid only, and keeps the worst.
func (l *Loop) failsAlike(t *trial) bool {
	if l.hots == 0 || l.hot[0].index < 0 {
		return false
	}
	r := l.cases[l.hot[0].number].r
	cluster := 0
	for cluster < r.clusters-1 && r.ends[cluster] < l.hot[0].index {
		cluster++
	}
	back := r.ends[cluster] - l.hot[0].index
	worst := finding{limit2: l.limit2} // notes the largest so far
	number := -1
	var n node
	for i := range l.inUse {
		c := &l.cases[i]
		if cluster >= c.r.clusters {
			continue
		}
		centre := max(c.r.ends[cluster]-back, 0)
		for k := max(centre-reach, 0); k <= min(centre+reach, c.r.n-1); k++ {
			before := worst.peak
			l.node(c, k, t, &n)
			if worst.noteNode(&n, c.scale, k); worst.peak > before && worst.reason != Ceiling {
				number = i
			}
		}
	}
	if number >= 0 {
		l.addWitness(newWitness(number, &worst, t))
	}
	return number >= 0
}
