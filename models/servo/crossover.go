package servo

import "math"

// Reason says what ends the range of good crossovers.
type Reason uint8

const (
	Ceiling         Reason = iota // nothing up to the highest crossover tried
	Sensitivity                   // |S| of a stable or unstable loop exceeds the limit at a frequency
	UnstableAlone                 // an axis is unstable by itself
	UnstableCoupled               // the axes are unstable together
	Unseen                        // the sensor does not see its own axis at the crossover
	numReason
)

var reasonText = [numReason]string{
	"ceiling of the scan", "sensitivity", "unstable alone", "unstable with the other axis closed", "axis not seen by its sensor",
}

// String returns the words used in tables.
func (r Reason) String() string {
	if r >= numReason {
		panic("servo: unknown reason")
	}
	return reasonText[r]
}

// Reasons lists the words of all.
func Reasons() []string { return reasonText[:] }

// Result is the outcome of [Loop.Crossover].
type Result struct {
	Hz     float64 // highest crossover that holds, ωc/2π; 0 when none does
	Above  float64 // Hz, crossover at which the following was found: just above Hz, or the ceiling
	Reason Reason
	Set    int     // number of the plant
	Pose   int     // and pose
	Scale  float64 // and factor on the mode frequencies at which it fails first
	Axis   int     // 0 x, 1 y
	At     float64 // Hz, frequency of the largest sensitivity found; 0 when instability belongs to none
	Mode   int     // number of the mode nearest to At in that pose, −1 without At
	ModeHz float64 // its frequency, scaled
	Judged int     // number of crossovers judged completely, the measure of the effort
}

// Crossover returns the highest crossover at which, for every plant, pose and scale, each
// axis alone is stable, and with the other axis's loop closed it is stable with |S| at
// most the limit.
//
// The set of good crossovers may have gaps, so it is searched downward from the ceiling in
// steps of Settings.Step; the end of the range found is then located to 1e-5. Most
// crossovers fail where the last one failed: that place is looked at first, and all
// of them are judged only at the end of a range that passes there. Where that gets on too slowly,
// because many places fail in turn, the step's lower end is judged completely instead: a good
// range that lies between two steps is then passed over, as anywhere in a scan.
func (l *Loop) Crossover(plants ...*Plant) Result {
	l.Prepare(plants...)
	good, bad := l.scan(2*math.Pi*l.s.Ceiling, 0)
	return l.explain(good, bad)
}

// scan returns the highest crossover up to top that holds and one just above that does not, both rad/s; 0 where none does,
// and both top where that holds. It gives up, with 0, at crossovers below floor (rad/s).
func (l *Loop) scan(top, floor float64) (good, bad float64) {
	if floor > top {
		return 0, top
	}
	var s search
	s.begin(&l.fine, top)
	if t, ok := l.trial(top); ok && !l.failsNear(&t) && l.holds(&t) {
		return top, top
	}
	for l.descend(&s, floor) {
		if l.proves(&s) {
			return s.good, s.bad
		}
	}
	return 0, s.above
}

// search is a scan on its way down, with a controller of one shape.
type search struct {
	ladder    *ladder
	next      int     // the crossover of the ladder that is tried next
	tries     int     // how many ends of good ranges above it failed elsewhere
	above     float64 // rad/s: down to here all that was tried fails, by an estimate maybe
	failed    float64 // rad/s: what certainly does, no lower
	good, bad float64 // rad/s, the end of a range that is not known to fail, and above it one that fails at last
	last      witness // the place that fails at bad
	judged    bool    // good is, completely
	other     place   // that failed last, of those of other shapes, if none of the witnesses did since
	alike     bool    // other poses and scales are looked at, too, near the mode that fails
}

// begin starts below top.
func (s *search) begin(d *ladder, top float64) {
	*s = search{ladder: d, above: top, failed: top, alike: true}
	for s.next < len(d.wc)-1 && d.wc[s.next] >= top {
		s.next++
	}
}

// descend goes on to the next end of a range that is not known to fail; false where there is none, or that is below floor.
func (l *Loop) descend(s *search, floor float64) bool {
	s.judged = false
	for ; s.next < len(s.ladder.wc); s.next++ {
		if l.passOver(s) > 0 {
			s.above, s.tries = s.ladder.wc[s.next-1], 0
			s.failed = s.above
		}
		if s.above < floor || s.next == len(s.ladder.wc) {
			break
		}
		t, ok := l.rung(s.ladder, s.next)
		if ok && !l.failsNear(&t) {
			if s.other.known {
				l.addWitness(witness{number: s.other.number, index: s.other.index})
			}
			if s.tries++; s.tries > crawl {
				if l.holds(&t) {
					s.good, s.bad = l.halve(t.wc, s.failed)
					s.last, s.judged = l.hot[0], true
					return true
				}
			} else if s.good = l.ends(t.wc, s.above, s.alike); s.good >= t.wc {
				s.last = l.hot[0]
				return s.good >= floor
			}
		}
		s.above, s.failed, s.tries = t.wc, t.wc, 0
		if s.other.known = false; l.hots > 0 && l.hot[0].index >= 0 {
			l.remember(s.ladder, s.next, s.next+1, place{l.hot[0].number, l.hot[0].index, true})
		}
	}
	return false
}

// proves judges an end found by descend completely, having located it to 1e-5; where it fails, descend goes on.
func (l *Loop) proves(s *search) bool {
	if s.judged {
		return true
	}
	if s.good < s.ladder.wc[0] && !l.settle(s) {
		s.above, s.tries = s.ladder.wc[s.next], 0
		s.failed = s.above
		s.next++
		return false
	}
	if t, ok := l.trial(s.good); ok && l.holds(&t) {
		return true
	}
	s.above, s.failed = s.good, s.good
	return false
}

// crawl is how often an end of a good range by the known places may turn out to fail
// elsewhere within one step; one or two is usual.
const crawl = 16

// halve narrows good (holds) and bad (does not), both judged completely, to 1e-5.
func (l *Loop) halve(good, bad float64) (float64, float64) {
	for bad/good > 1+located {
		x := math.Sqrt(good * bad)
		if t, ok := l.trial(x); ok && l.holds(&t) {
			good = x
		} else {
			bad = x
		}
	}
	return good, bad
}

// holds judges a crossover completely.
func (l *Loop) holds(t *trial) bool {
	l.judged++
	if l.together() {
		for i := range l.inUse / len(l.s.Scales) {
			f := finding{limit2: l.limit2}
			if number := l.sweepScales(i/l.poses, l.poses-1-i%l.poses, t, &f); f.reason != Ceiling {
				l.addWitness(l.newWitness(number, &f, t))
				return false
			}
		}
		return true
	}
	// Nominal frequencies come last: they seldom fail where both scaled ones hold. So
	// does the first pose, the centre in the usual order.
	for i := range l.inUse {
		block, pose := i/l.poses+1, l.poses-1-i%l.poses
		number := block*l.poses%l.inUse + pose
		f := finding{limit2: l.limit2}
		if l.sweep(&l.cases[number], t, &f); f.reason != Ceiling {
			l.addWitness(l.newWitness(number, &f, t))
			return false
		}
	}
	return true
}

// explain says what fails at the crossover above.
func (l *Loop) explain(good, above float64) Result {
	if good == above {
		return Result{Hz: l.s.Ceiling, Above: l.s.Ceiling, Scale: 1, Mode: -1, Judged: l.judged}
	}
	res := Result{Hz: good / (2 * math.Pi), Above: above / (2 * math.Pi), Scale: 1, Mode: -1, Reason: Unseen, Judged: l.judged}
	t, ok := l.trial(above)
	if !ok {
		return res
	}
	// The case that is known to fail there; else the worst of all.
	var worst finding
	number, peak := -1, crest{}
	for h := 0; h < l.hots && good > 0 && number < 0; h++ {
		w := &l.hot[h]
		if worst = (finding{limit2: l.limit2, whole: true}); l.showsThere(w, &t, &worst) {
			number, peak = w.number, w.crest
		}
	}
	for limit2 := l.limit2; number < 0; limit2 *= 0.9 { // where it is at the limit to within rounding
		for i := range l.inUse {
			f := finding{limit2: limit2, whole: true}
			l.sweep(&l.cases[i], &t, &f)
			if f.reason != Ceiling && (number < 0 || rank(&f) > rank(&worst) || rank(&f) == rank(&worst) && f.peak > worst.peak) {
				worst, number = f, i
			}
		}
	}
	if worst.reason == Sensitivity && peak.step == 0 {
		l.start(&l.cases[number], &peak, worst.w/l.cases[number].scale)
		l.sharpen(&l.cases[number], &t, &peak, &worst)
	}
	number = l.firstAlike(number, &t, &worst)
	c := &l.cases[number]
	res.Reason, res.Set, res.Pose, res.Scale, res.Axis = worst.reason, c.set, c.pose, c.scale, l.firstAxis(c, &t, &worst)
	if worst.w > 0 {
		res.At = worst.w / (2 * math.Pi)
		nearest := math.Inf(1)
		for k, w := range c.r.omega {
			if far := math.Abs(math.Log(w * c.scale / worst.w)); far < nearest {
				nearest, res.Mode, res.ModeHz = far, k, w*c.scale/(2*math.Pi)
			}
		}
	}
	return res
}

// showsThere finds what fails at a place just above a crossover that holds; where |S| is at the limit there, that is all.
func (l *Loop) showsThere(w *witness, t *trial, f *finding) bool {
	c := &l.cases[w.number]
	if w.index < 0 {
		if l.height(w, t) > 0 {
			l.sweep(c, t, f)
		}
		return f.reason != Ceiling
	}
	if w.crest.step > 0 {
		if l.sharpen(c, t, &w.crest, f); f.reason == Ceiling {
			w.crest.step = 0
		}
	}
	if f.reason == Ceiling {
		l.look(c, t, w.index, f)
	}
	if f.peak >= 1.1*l.limit2 {
		*f, w.crest.step = finding{limit2: f.limit2, whole: f.whole}, 0
		l.sweep(c, t, f)
	}
	return f.reason != Ceiling
}

// sharpen notes |S| at the top of a crest.
func (l *Loop) sharpen(c *loopCase, t *trial, h *crest, f *finding) {
	if _, top := l.top(c, h, t); top > 0 {
		var n node
		l.nodeAt(c, top, t, &n)
		f.noteNode(&n, c.scale, c.r.index(top))
	}
}

// rank orders findings by how much is wrong.
func rank(f *finding) int {
	switch f.reason {
	case UnstableAlone:
		return 3
	case UnstableCoupled:
		return 2
	case Sensitivity:
		return 1
	}
	return 0
}
