package servo

//go:generate go run -C ../../.ci/lanes . -what scan -pkg servo -columns ../../models/servo/scan -out ../../models/servo/scan_amd64.s -stubs ../../models/servo/scan_stubs_amd64.go

import (
	"math"

	"flexwright/models/elementary"
)

// ladder is the crossovers that a scan tries, from the ceiling down to the lowest, and the plant at the centre there: what
// sets the gains, whatever the controller's shape.
type ladder struct {
	wc     []float64 // rad/s
	per    []float64 // 1/wc
	xx, yy []float64 // |P_xx|², |P_yy|² at the first pose of the first plant, (m/N)²
	known  []bool    // of each eight
	s      []float64 // |S|² at one point
	places []place   // where other shapes failed; none in the fine one
}

func newLadder(s *Settings, step float64) ladder {
	low, high := 2*math.Pi*s.From, 2*math.Pi*s.Ceiling
	steps := int(math.Ceil(math.Log(high/low) / math.Log1p(step)))
	ratio := elementary.Pow(low/high, 1/float64(steps))
	columns := steps + 1 + 2*lanes
	d := ladder{per: make([]float64, columns), xx: make([]float64, columns), yy: make([]float64, columns), s: make([]float64, columns), known: make([]bool, steps/lanes+1)}
	for wc := high; len(d.wc) < steps; wc *= ratio {
		d.wc = append(d.wc, wc)
	}
	d.wc = append(d.wc, low)
	for i := range d.per {
		d.per[i] = 1 / d.wc[min(i, steps)]
	}
	return d
}

// rung is [Loop.trial] at crossover i of a ladder.
func (l *Loop) rung(d *ladder, i int) (t trial, ok bool) {
	l.climb(d, i)
	return l.gains(d.wc[i], d.xx[i], d.yy[i])
}

// place is a point of a case.
type place struct {
	number, index int
	known         bool
}

// passOver goes down to the next crossover at which neither the point that failed last fails, nor one that did there with another shape. It returns how many it has passed over.
func (l *Loop) passOver(s *search) (n int) {
	d := s.ladder
	from := s.next
	for more := true; more; {
		was := s.next
		if l.hots > 0 && l.hot[0].index >= 0 {
			last := place{l.hot[0].number, l.hot[0].index, true}
			if l.passPlace(s, last); s.next > was {
				s.other.known = false
				l.remember(d, was, s.next, last)
			}
		}
		for more = false; s.next < len(d.places) && d.places[s.next].known; more = true {
			other := d.places[s.next]
			if l.passPlace(s, other) == 0 {
				break
			}
			s.other = other
		}
	}
	return s.next - from
}

// remember keeps a place for other shapes that fails at crossovers from one up to another of a ladder.
func (l *Loop) remember(d *ladder, from, to int, at place) {
	if d == &l.coarse {
		for i := from; i < to; i++ {
			d.places[i] = at
		}
	} else if len(l.shapes) > 1 {
		coarse, fine := len(l.coarse.wc)-1, len(d.wc)-1
		nearest := func(i int) int { return (i*coarse + fine/2) / fine }
		for i := nearest(from); i <= nearest(to-1); i++ {
			l.coarse.places[i] = at
		}
	}
}

// passPlace goes down to the next crossover at which a place does not fail. It returns how many it has passed over.
func (l *Loop) passPlace(s *search, at place) (n int) {
	d := s.ladder
	from := s.next
	c, i := &l.cases[at.number], at.index
	if !l.inColumns() {
		var n node
		for ; s.next < len(d.wc); s.next++ {
			if t, ok := l.rung(d, s.next); !ok {
				continue
			} else if l.node(c, i, &t, &n); max(n.s[0], n.s[1]) <= l.limit2 {
				break
			}
		}
		return s.next - from
	}
	g, q := l.seen(c, i), &l.corners
	of := [rungsScalars]float64{
		rungsByW: c.scale * c.r.w[i], rungsByA: q.a, rungsByB: q.b, rungsByFirst: q.real, rungsByCd: q.cd, rungsBySum: q.sum, rungsByQ: l.atCrossover,
		rungsByPlantXRe: real(g.xx), rungsByPlantXIm: imag(g.xx), rungsByPlantYRe: real(g.yy), rungsByPlantYIm: imag(g.yy), rungsByCrossRe: real(g.cross), rungsByCrossIm: imag(g.cross),
	}
	cols := [rungsColumns][]float64{rungsPer: d.per, rungsXx: d.xx, rungsYy: d.yy, rungsS: d.s}
	for s.next < len(d.wc) {
		l.climb(d, s.next)
		end := min(s.next-s.next%lanes+lanes, len(d.wc))
		rungs(&cols, &of, s.next, end-s.next)
		for ; s.next < end; s.next++ {
			if d.s[s.next] <= l.limit2 {
				return s.next - from
			}
		}
	}
	return s.next - from
}

// climb evaluates the centre at the eight crossovers that one is among, unless that is done.
func (l *Loop) climb(d *ladder, i int) {
	if d.known[i/lanes] {
		return
	}
	d.known[i/lanes] = true
	first := i - i%lanes
	at := d.wc[first:min(first+lanes, len(d.wc))]
	var p, arm [lanes]plantValue
	l.responses[0].values(at, &p, &arm)
	for k, w := range at {
		d.xx[first+k], d.yy[first+k] = l.own(w, &p[k], &arm[k])
	}
}

// centre is |P_xx|² and |P_yy|² at the first pose of the first plant.
func (l *Loop) centre(w float64) (xx, yy float64) {
	var p, a plantValue
	l.responses[0].value(w, &p, &a)
	return l.own(w, &p, &a)
}

// own is |P_xx|² and |P_yy|² of a plant.
func (l *Loop) own(w float64, p, arm *plantValue) (xx, yy float64) {
	if l.s.Sensor == SensorSplit {
		v := p.joined(arm, l.lowPart(w))
		p = &v
	}
	return square(p[0]), square(p[3])
}

// trial returns the crossover wc with its gains: |C P| = 1 at wc at the centre, the first
// pose, of the first plant.
func (l *Loop) trial(wc float64) (t trial, ok bool) {
	xx, yy := l.centre(wc)
	return l.gains(wc, xx, yy)
}

func (l *Loop) gains(wc, xx, yy float64) (t trial, ok bool) {
	q := l.atCrossover * l.s.notched2(wc)
	t.wc, t.per = wc, 1/wc
	t.kx = 1 / math.Sqrt(q*xx)
	if l.axes == 2 {
		t.ky = 1 / math.Sqrt(q*yy)
	}
	return t, !math.IsInf(t.kx, 0) && !math.IsInf(t.ky, 0)
}
