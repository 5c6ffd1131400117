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

// tried is a shape of the list, and what came of it.
type tried struct {
	shape             Shape
	bounds            shapeBounds
	good, above       float64 // rad/s
	last              witness // that failed last, just above good
	bandwidth, closed float64 // rad/s; 0: none, or of no use beside another shape
}

// follows reports whether set points are followed to −3 dB up to the bandwidth.
func (s *tried) follows() bool { return s.closed >= s.bandwidth }

// Use makes the controller one of a shape, as a part with errors keeps the shape found for its design.
func (l *Loop) Use(c Shape) {
	l.s.IntegratorRatio, l.s.LeadRatio, l.s.TamingRatio, l.s.LowPassRatio = c.Integrator, c.Lead, c.Taming, c.LowPass
	l.corners = l.s.corners()
	l.atCrossover = square(l.corners.shape(1, 1, 1))
	for h := range l.hots {
		l.hot[h].alone = false // known of another shape
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
// admissible crossover as of [Loop.Crossover]. Of those with no less bandwidth than the settings' own it takes, unless
// Settings.BandwidthFirst, those whose closed loop follows set points to −3 dB up to the bandwidth, or all where none does; of these, within
// 1 % of the largest bandwidth, the one with the largest closed-loop frequency, then with the strongest integrator. The loop then has that shape.
//
// Bandwidth alone would leave out the integrator: it costs a few per cent of bandwidth, but without it the suspension holds the
// loop's gain near 1 below the first mode, and set points are followed to a tenth of the bandwidth only.
//
// Responses are evaluated once. Shapes after the first are scanned in four times Settings.Step, down to where they are of no use
// beside those tried before.
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

// tune is [Loop.Tune] with the notches as they are.
func (l *Loop) tune() Tuned {
	own, largest, followed := 0.0, 0.0, 0.0 // bandwidth of the settings' own, of all, of those that follow
	around := 0.0                           // crossover of the last of use
	for i := range l.shapes {
		s := &l.shapes[i]
		l.Use(s.shape)
		s.bandwidth, s.closed = 0, 0
		step, floor, least, following := l.s.Step, 0.0, 0.0, 0.0
		if i > 0 {
			step = 4 * l.s.Step
			least = max(own, alike*followed)
			if l.s.BandwidthFirst {
				least = max(own, alike*largest)
			} else if followed > 0 {
				following = least
			}
			floor = l.floor(around, least, following)
		}
		if s.good, s.above = l.scan(step, floor); s.good == 0 {
			continue
		}
		s.last = l.hot[0]
		t, _ := l.trial(s.good)
		if s.bandwidth = l.rises(&t, least, false); s.bandwidth == 0 {
			continue
		}
		if s.closed = l.falls(&t, following, false); i == 0 {
			own = s.bandwidth
		}
		largest, around = max(largest, s.bandwidth), s.good
		if s.follows() {
			followed = max(followed, s.bandwidth)
		}
	}
	best := &l.shapes[0]
	following := followed > 0 && !l.s.BandwidthFirst
	least := alike * largest
	if following {
		least = alike * followed
	}
	found := false
	for i := range l.shapes {
		s := &l.shapes[i]
		if s.bandwidth == 0 || s.bandwidth < max(least, own) || following && !s.follows() {
			continue
		}
		if !found || s.closed > best.closed || s.closed == best.closed && s.shape.Integrator < best.shape.Integrator {
			best, found = s, true
		}
	}
	l.Use(best.shape)
	if l.hots > 0 {
		l.hot[0] = best.last
	}
	return Tuned{l.explain(best.good, best.above), best.shape, best.bandwidth / (2 * math.Pi), best.closed / (2 * math.Pi)}
}

// floor is a crossover, rad/s, below which the shape in use is of no use: its bandwidth is less than least in the case where another
// shape's was least, or its closed loop falls below −3 dB before following in the case where another's did.
// Both grow with the crossover. It is looked for from around on, to 2 %.
func (l *Loop) floor(around, least, following float64) float64 {
	useless := func(wc float64) bool {
		t, ok := l.trial(wc)
		if !ok {
			return false
		}
		if l.rise(&l.cases[l.slowest], &t, 0, least) < least {
			return true
		}
		return following > 0 && l.fall(&l.cases[l.laggard.number], &t, l.laggard.axis, following, following, false) < following
	}
	if least == 0 {
		return 0
	}
	low, high := around, around
	if useless(around) {
		for high *= 1.2; useless(high); high *= 1.2 {
			if low = high; high > 2*math.Pi*l.s.Ceiling {
				return high
			}
		}
	} else {
		for low /= 1.2; !useless(low); low /= 1.2 {
			if high = low; low < 2*math.Pi*l.s.From {
				return 0
			}
		}
	}
	for high > 1.02*low {
		if m := math.Sqrt(low * high); useless(m) {
			low = m
		} else {
			high = m
		}
	}
	return low
}

// alike is what counts as the same bandwidth.
const alike = 0.99
