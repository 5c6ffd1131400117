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
// (With single steps one in six designs of a search gets another crossover, in a range so narrow that a gain 2 % off exceeds the limit: two thirds of them more bandwidth, one third less.)
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
		s.seen, s.tight, s.round = l.added, false, false
		if t, ok := l.trial(s.good); !ok || l.failsNear(&t) || l.hots == 0 && !l.holds(&t) {
			l.lower(s)
		} else {
			l.bound(s)
		}
		if t, ok := l.trial(s.good); i == 0 && s.good > 0 && ok && l.findSlowest(&t) {
			l.bound(s)
		}
	}
	best := l.decide()
	l.Use(best.shape)
	if best.good == 0 {
		l.hots = 0
		return Tuned{Result: l.explain(0, best.above), Shape: best.shape}
	}
	l.addWitness(best.last)
	return Tuned{l.explain(best.good, best.bad), best.shape, best.bandwidth / (2 * math.Pi), best.closed / (2 * math.Pi)}
}
