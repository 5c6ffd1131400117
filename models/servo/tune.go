package servo

import (
	"math"
	"slices"
)

// Shape is what of a controller does not move with its crossover: its corners, as ratios as in [Settings].
type Shape struct{ Integrator, Lead, Taming, LowPass float64 }

// ShapeList is what [Loop.Tune] looks through by default: integrator, lead (taming alike) and low-pass ratio, of 140 shapes the
// few that on designs of fronts bring all but 0.2 % of the bandwidth, and two with a strong integrator.
var ShapeList = []Shape{
	{10, 3, 3, 10}, {10, 2.5, 2.5, 20}, {10, 2.5, 2.5, 7}, {10, 5, 5, 20}, {10, 4, 4, 20}, {5, 2.5, 2.5, 20}, {3.5, 4, 4, 20}, {2, 5, 5, 20},
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
	shape       Shape
	bounds      shapeBounds
	good, above float64 // rad/s
	bandwidth   float64 // rad/s; 0: none, or less than another shape's
}

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
// admissible crossover as of [Loop.Crossover]: of those within 1 % of the largest bandwidth (and no less than that of the settings' own), the one with the
// largest closed-loop frequency, then with the strongest integrator. The loop then has that shape.
// Responses are evaluated once. Shapes after the first are scanned in four times Settings.Step, and given up where the bandwidth, in
// the case where the best shape's is least, falls below that: lower crossovers would make it smaller.
func (l *Loop) Tune(plants ...*Plant) Tuned {
	l.Prepare(plants...)
	largest, crossover, step := 0.0, 0.0, l.s.Step
	for i := range l.shapes {
		s := &l.shapes[i]
		l.Use(s.shape)
		s.bandwidth = 0
		s.good, s.above = l.scan(step, crossover, alike*largest)
		step = 4 * l.s.Step
		if s.good == 0 {
			continue
		}
		before := l.slowest
		t, _ := l.trial(s.good)
		s.bandwidth = l.rises(&t, alike*largest)
		if s.bandwidth <= largest {
			l.slowest = before
			continue
		}
		largest, crossover = s.bandwidth, 1.1*s.good
	}
	best := &l.shapes[0]
	closed := -1.0
	for i := range l.shapes {
		s := &l.shapes[i]
		if s.bandwidth == 0 || s.bandwidth < math.Max(alike*largest, l.shapes[0].bandwidth) {
			continue
		}
		l.Use(s.shape)
		t, _ := l.trial(s.good)
		if w := l.falls(&t); w > closed || w == closed && s.shape.Integrator < best.shape.Integrator {
			best, closed = s, w
		}
	}
	l.Use(best.shape)
	return Tuned{l.explain(best.good, best.above), best.shape, best.bandwidth / (2 * math.Pi), math.Max(closed, 0) / (2 * math.Pi)}
}

// alike is what counts as the same bandwidth.
const alike = 0.99
