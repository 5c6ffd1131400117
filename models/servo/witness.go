package servo

import "math"

// witness is a place where a crossover failed: a point of a case, or a case as a whole.
type witness struct {
	number, index int     // index −1: unstable without a point of large sensitivity
	w             float64 // rad/s of the unscaled grid, where |S| was large; 0: not known better than by index
	crest         crest

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

// failsNear looks near all places where crossovers failed before, and through the whole of the case that
// failed last; where nothing is known yet, through one case.
func (l *Loop) failsNear(t *trial) bool {
	if l.hots == 0 {
		return l.failsFirst(t)
	}
	if w := &l.hot[0]; w.index >= 0 && (l.failsAround(w, t) || l.failsFar(w, t)) {
		return true
	}
	for h := range l.hots {
		if w := &l.hot[h]; h > 0 && w.index >= 0 && l.failsAround(w, t) || w.index < 0 && l.height(w, t) > 0 {
			l.promote(h)
			return true
		}
	}
	return false
}

// failsBetween looks at the peaks between the points at all places where crossovers failed before.
func (l *Loop) failsBetween(t *trial) bool { return l.heightBetween(t) > 0 }

// heightBetween is failsBetween, and says the height of the first that fails.
func (l *Loop) heightBetween(t *trial) float64 {
	for i := range l.hots {
		if h := l.height(&l.hot[i], t); h > 0 {
			l.promote(i)
			return h
		}
	}
	return 0
}

// failsAround looks at the points next to a place; the place moves to where |S| is largest of those that fail.
func (l *Loop) failsAround(w *witness, t *trial) bool {
	c := &l.cases[w.number]
	return l.failsIn(w, t, max(w.index-2, 0), min(w.index+2, c.r.n-1))
}

// failsFar does so with all points of its case.
func (l *Loop) failsFar(w *witness, t *trial) bool {
	c := &l.cases[w.number]
	return l.failsIn(w, t, c.r.index(0.2*t.wc/c.scale), l.negligibleFrom(c, t))
}

func (l *Loop) failsIn(w *witness, t *trial, first, last int) bool {
	s := l.peaks(&l.cases[w.number], t, first, last)
	most, at := l.limit2, -1
	for i := first; i <= last; i++ {
		if !(s[i] <= most) {
			most, at = s[i], i
		}
	}
	if at >= 0 {
		w.moveTo(at)
	}
	return at >= 0
}

// failsFirst looks at all points of the case that is judged first; where it fails, that is the first place known.
func (l *Loop) failsFirst(t *trial) bool {
	w := witness{number: l.middle(&l.cases[l.poses-1]), index: -1}
	fails := l.failsFar(&w, t)
	if fails {
		l.addWitness(w)
	}
	return fails
}

// moveTo makes a place one of another point.
func (w *witness) moveTo(i int) {
	if i != w.index {
		w.index, w.w, w.crest.step = i, 0, 0
	}
}

// failsThere looks at one place as closely as a sweep does.
func (l *Loop) failsThere(w *witness, t *trial) bool {
	if w.index < 0 {
		return l.height(w, t) > 0
	}
	f := finding{limit2: l.limit2}
	l.look(&l.cases[w.number], t, w.index, &f)
	return f.reason != Ceiling
}

func (l *Loop) promote(h int) {
	w := l.hot[h]
	copy(l.hot[1:h+1], l.hot[:h])
	l.hot[0] = w
}

func (l *Loop) newWitness(number int, f *finding, t *trial) witness {
	w := witness{number: number, index: f.index, w: f.w / l.cases[number].scale, alone: f.reason == UnstableAlone, axis: f.axis, at: *t}
	if w.alone {
		m := f.least[f.axis]
		w.room = m / (1 + m)
	}
	return w
}

// addWitness puts a place first, and forgets the one that was the last longest, or another of the same case next to it.
func (l *Loop) addWitness(w witness) {
	l.added++
	for h := range l.hots {
		if o := &l.hot[h]; o.number == w.number && (o.index == w.index || o.index >= 0 && w.index >= 0 && max(o.index-w.index, w.index-o.index) <= reach) {
			l.promote(h)
			l.hot[0] = w
			return
		}
	}
	if l.hots < len(l.hot) {
		l.hots++
	}
	copy(l.hot[1:l.hots], l.hot[:l.hots-1])
	l.hot[0] = w
}

// failsAlike looks in all cases near the mode at which the last one failed, at points of the grid, and where |S| is largest at the
// peaks between them, too. Scales in the middle are left out: they seldom fail where the others hold.
func (l *Loop) failsAlike(t *trial) bool { return l.heightAlike(t) > 0 }

// heightAlike is failsAlike, and says the height of the first that fails.
func (l *Loop) heightAlike(t *trial) float64 {
	if l.hots == 0 || l.hot[0].index < 0 {
		return 0
	}
	r := l.cases[l.hot[0].number].r
	cluster := 0
	for cluster < r.clusters-1 && r.ends[cluster] < l.hot[0].index {
		cluster++
	}
	back := r.ends[cluster] - l.hot[0].index
	middle := l.spread.middle
	if len(l.s.Scales) < 3 {
		middle = -1
	}
	var high [4]struct { // the highest first
		s             float64
		number, index int
	}
	for i := range l.inUse {
		c := &l.cases[i]
		if cluster >= c.r.clusters || i/l.poses%len(l.s.Scales) == middle {
			continue
		}
		centre := max(c.r.ends[cluster]-back, 0)
		most, at := l.highest(c, centre, t)
		k := len(high)
		for k > 0 && !(most <= high[k-1].s) {
			k--
		}
		if k < len(high) {
			copy(high[k+1:], high[k:])
			high[k].s, high[k].number, high[k].index = most, i, at
		}
	}
	for i := range high {
		p := &high[i]
		if !(p.s > low*l.limit2) {
			break
		}
		known := false
		for _, w := range l.hot[:l.hots] {
			known = known || w.number == p.number && max(w.index-p.index, p.index-w.index) <= reach
		}
		if known && p.s <= l.limit2 {
			continue
		}
		w := witness{number: p.number, index: p.index}
		if h := l.height(&w, t); h > 0 {
			l.addWitness(w)
			return h
		}
	}
	return 0
}
