package servo

import (
	"math"
	"slices"
)

// Shape is what of a controller does not move with its crossover: its corners, as ratios as in [Settings].
type Shape struct{ Integrator, Lead, Taming, LowPass float64 }

// ShapeList is what [Loop.Tune] looks through by default: integrator, lead (taming alike) and low-pass ratio. Of 126 shapes, on
// designs of fronts and of a first generation, they leave out none that follows set points where another does, and at
// most 1.3 % of the bandwidth.
var ShapeList = []Shape{
	{10, 3, 3, 10}, {7, 2.5, 2.5, 20}, {10, 2.5, 2.5, 20}, {5, 2.5, 2.5, 20}, {3.5, 5, 5, 20}, {2, 5, 5, 20}, {10, 5, 5, 20}, {10, 2.5, 2.5, 7},
}

// Range is an interval of a ratio.
type Range struct{ From, To float64 }

// Shapes returns [ShapeList] narrowed to ranges: ratios outside a range are moved to its end, and
// what comes out alike is tried once.
func Shapes(integrator, lead, lowPass Range) []Shape {
	var list []Shape
	clamp := func(x float64, r Range) float64 { return min(max(x, r.From), r.To) }
	for _, s := range ShapeList {
		b := clamp(s.Lead, lead)
		s = Shape{clamp(s.Integrator, integrator), b, b, clamp(s.LowPass, lowPass)}
		if !slices.Contains(list, s) {
			list = append(list, s)
		}
	}
	return list
}

// shapeBounds are bounds that a shape alone gives.
type shapeBounds struct {
	gainMost  float64 // largest |C|/k at and above the crossover
	slopeMost float64 // largest |d ln C/d ln ωc| of the same k
}

func (c Shape) bounds() (b shapeBounds) {
	s := Settings{IntegratorRatio: c.Integrator, LeadRatio: c.Lead, TamingRatio: c.Taming, LowPassRatio: c.LowPass}
	for x := 1e-4; x < 1e4; x *= 1.02 {
		q := s.shape(x, 1)
		if x >= 1 {
			b.gainMost = math.Max(b.gainMost, 1.01*math.Sqrt(square(q)))
		}
		const h = 1e-4
		b.slopeMost = math.Max(b.slopeMost, 1.01*math.Sqrt(square(s.shape(x, 1+h)/q-1))/h)
	}
	return b
}

// tried is a shape of the list, and what came of it so far.
type tried struct {
	shape  Shape
	bounds shapeBounds
	search
	held              bool    // judged completely; else good is an upper bound, and so are
	bandwidth, closed float64 // rad/s; 0: no crossover holds
	tight             bool    // bandwidth is that of the slowest case
	seen              int     // witnesses that good does not fail at, of all that were added
}

// follows reports whether set points are followed to −3 dB up to the bandwidth.
func (s *tried) follows() bool { return s.closed >= s.bandwidth }

// Use makes the controller one of a shape, as a part with errors keeps the shape found for its design.
func (l *Loop) Use(c Shape) {
	l.s.IntegratorRatio, l.s.LeadRatio, l.s.TamingRatio, l.s.LowPassRatio = c.Integrator, c.Lead, c.Taming, c.LowPass
	l.corners = l.s.corners()
	l.atCrossover = square(l.corners.shape(1, 1, 1))
	known := l.hots
	l.hots = 0
	for _, w := range l.hot[:known] {
		if w.index >= 0 { // else it is known of another shape
			l.hot[l.hots] = w
			l.hots++
		}
	}
	for i := range l.shapes {
		if l.shapes[i].shape == c {
			l.shapeBounds = l.shapes[i].bounds
			return
		}
	}
	l.shapeBounds = c.bounds()
}

// Tuned is the outcome of [Loop.Tune].
type Tuned struct {
	Result
	Shape      Shape
	Bandwidth  float64 // Hz, as of [Loop.Frequencies]
	ClosedLoop float64 // Hz
}

// Tune finds the controller's shape among the settings' own ratios and Settings.Shapes, each with its highest
// admissible crossover as of [Loop.Crossover]; where none has one, it is the settings' own. Of those with no less bandwidth than the settings' own it takes, unless
// Settings.BandwidthFirst, those whose closed loop follows set points to −3 dB up to the bandwidth, or all where none does; of these, within
// 1 % of the largest bandwidth, the one with the largest closed-loop frequency, then with the strongest integrator. The loop then has that shape.
//
// Bandwidth alone would leave out the integrator: it costs a few per cent of bandwidth, but without it the suspension holds the
// loop's gain near 1 below the first mode, and set points are followed to a tenth of the bandwidth only.
//
// Responses are evaluated once. Shapes after the first are scanned in four times Settings.Step: a good range of theirs that is narrower may be passed over.
// Only shapes that decide are judged completely; the others are bounded by what they would reach at crossovers that are not known to fail,
// of which bandwidth and closed loop are taken to have one maximum at most.
//
// Up to Settings.AutoNotches notches are then added one by one, each at the mode that ends the crossover, as long as they make it better.
func (l *Loop) Tune(plants ...*Plant) Tuned {
	l.UseNotches(nil)
	l.Prepare(plants...)
	best := l.tune()
	var found [MaxAutoNotches]Notch
	for n := range l.s.AutoNotches {
		notch, ok := l.propose(&best.Result)
		if !ok {
			break
		}
		found[n] = notch
		l.UseNotches(found[:n+1])
		with := l.tune()
		if !l.better(&with, &best) {
			l.UseNotches(found[:n])
			l.Use(best.Shape)
			break
		}
		best = with
	}
	return best
}

// tune is [Loop.Tune] with the notches as they are, by branch and bound. A place where one shape fails is looked at for the others.
func (l *Loop) tune() Tuned {
	for i := range l.shapes {
		s := &l.shapes[i]
		l.Use(s.shape)
		ladder := &l.fine
		if i > 0 {
			ladder = &l.coarse
		}
		s.begin(ladder, ladder.wc[0])
		s.alike = i == 0
		s.held, s.good, s.bad = false, s.above, s.above
		if t, ok := l.trial(s.good); !ok || l.hots == 0 && !l.holds(&t) || l.failsNear(&t) {
			l.lower(s)
		} else {
			l.bound(s)
		}
		if t, ok := l.trial(s.good); i == 0 && s.good > 0 && ok && l.findSlowest(&t) {
			l.bound(s)
		}
	}
	var best *tried
	for {
		i, done := l.decides()
		if i < 0 {
			best = &l.shapes[0]
			break
		}
		if best = &l.shapes[i]; done {
			break
		}
		l.Use(best.shape)
		l.judgeShape(best)
	}
	l.Use(best.shape)
	if best.good == 0 {
		l.hots = 0
		return Tuned{Result: l.explain(0, best.above), Shape: best.shape}
	}
	l.addWitness(best.last)
	return Tuned{l.explain(best.good, best.bad), best.shape, best.bandwidth / (2 * math.Pi), best.closed / (2 * math.Pi)}
}

// decides returns the shape that the rule of [Loop.Tune] takes, whatever the bounds of those that are not judged may come down to; or, not done yet, one that has to be
// judged before that is certain. It is −1 where no shape has a crossover.
func (l *Loop) decides() (number int, done bool) {
	own := &l.shapes[0]
	known := 0.0 // that the settings' own has at least
	if own.held {
		known = own.bandwidth
	}
	following := false
	for i := range l.shapes {
		s := &l.shapes[i]
		following = following || s.bandwidth > 0 && s.bandwidth >= known && s.follows() && !l.s.BandwidthFirst
	}
	most := -1
	for i := range l.shapes {
		s := &l.shapes[i]
		if s.bandwidth > 0 && s.bandwidth >= known && (!following || s.follows()) && (most < 0 || s.bandwidth > l.shapes[most].bandwidth) {
			most = i
		}
	}
	if most < 0 {
		return -1, false
	}
	best := -1
	for i := range l.shapes {
		s := &l.shapes[i]
		if s.bandwidth > 0 && s.bandwidth >= max(own.bandwidth, alike*l.shapes[most].bandwidth) && (!following || s.follows()) && (best < 0 || s.before(&l.shapes[best])) {
			best = i
		}
	}
	if best < 0 {
		return 0, false
	}
	b := &l.shapes[best]
	if !b.held {
		return best, false
	}
	for i := range l.shapes {
		s := &l.shapes[i]
		switch {
		case s.bandwidth == 0 || i == best:
		case !following && !l.s.BandwidthFirst && !s.held && s.closed >= known:
			// its bandwidth may fall to what its closed loop falls to
			if !own.held {
				return 0, false
			}
			return i, false
		case following && !s.held && !s.follows() && alike*s.closed > b.bandwidth:
			return i, false // it may come to follow likewise, with more bandwidth
		case s.before(b) && s.bandwidth >= max(known, alike*b.bandwidth) && !(s.held && following && !s.follows()):
			if !l.shapes[most].held {
				return most, false
			}
			if !s.held {
				return i, false
			}
			if !own.held {
				return 0, false
			}
		}
	}
	return best, true
}

// before reports whether a shape comes before another of about its bandwidth.
func (s *tried) before(other *tried) bool {
	return s.closed > other.closed || s.closed == other.closed && s.shape.Integrator < other.shape.Integrator
}

// lower goes on to the next crossover at which the shape in use is not known to fail.
func (l *Loop) lower(s *tried) {
	if !l.descend(&s.search, 0) {
		s.good, s.bandwidth, s.closed, s.held = 0, 0, 0, true
		return
	}
	l.bound(s)
}

// bound finds bounds of what the shape in use reaches, by the cases that were slowest last: the largest over all lower crossovers.
func (l *Loop) bound(s *tried) {
	const down = 0.95
	s.seen, s.tight = l.added, false
	s.bandwidth, s.closed = 0, 0
	for wc := s.good; wc > s.ladder.wc[len(s.ladder.wc)-1]*down; wc *= down {
		t, ok := l.trial(wc)
		if !ok {
			continue
		}
		bandwidth := l.risen(&l.cases[l.slowest], &t, 0.6*wc)
		closed := l.fall(&l.cases[l.laggard.number], &t, l.laggard.axis, math.Inf(1), 0, false)
		if bandwidth <= s.bandwidth && closed <= s.closed {
			break
		}
		if wc < s.good { // they fall where the crossover grows; in between they are no larger than in proportion to the crossover
			bandwidth, closed = bandwidth/down, closed/down
		}
		s.bandwidth, s.closed = max(s.bandwidth, bandwidth), max(s.closed, closed)
	}
}

// judgeShape judges the shape in use at the crossover at which it is not known to fail, or finds a lower one.
func (l *Loop) judgeShape(s *tried) {
	t, ok := l.trial(s.good)
	switch {
	case s.judged || !ok:
	case s.seen < l.added && l.failsBetween(&t):
		s.above = s.good
		l.lower(s)
		return
	case !s.tight && l.findSlowest(&t):
		l.bound(s)
		s.tight = true
		return
	case !s.alike && l.failsAlike(&t):
		s.alike, s.above = true, s.good
		l.lower(s)
		return
	}
	if !l.proves(&s.search) {
		l.lower(s)
		return
	}
	s.held = true
	t, _ = l.trial(s.good)
	s.bandwidth, s.closed = l.rises(&t, 0, false), l.falls(&t, 0, false)
}

// alike is what counts as the same bandwidth.
const alike = 0.99
