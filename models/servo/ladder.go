package servo

import (
	"math"

	"flexwright/models/elementary"
)

// ladder is the crossovers that a scan tries, from the ceiling down to the lowest, and the plant at the centre there: what
// sets the gains, whatever the controller's shape.
type ladder struct {
	wc     []float64 // rad/s
	xx, yy []float64 // |P_xx|², |P_yy|² at the first pose of the first plant, (m/N)²
	known  []bool    // of each eight
}

func newLadder(s *Settings, step float64) ladder {
	low, high := 2*math.Pi*s.From, 2*math.Pi*s.Ceiling
	steps := int(math.Ceil(math.Log(high/low) / math.Log1p(step)))
	ratio := elementary.Pow(low/high, 1/float64(steps))
	d := ladder{xx: make([]float64, steps+1+lanes), yy: make([]float64, steps+1+lanes), known: make([]bool, steps/lanes+1)}
	for wc := high; len(d.wc) < steps; wc *= ratio {
		d.wc = append(d.wc, wc)
	}
	d.wc = append(d.wc, low)
	return d
}

// rung is [Loop.trial] at crossover i of a ladder.
func (l *Loop) rung(d *ladder, i int) (t trial, ok bool) {
	if !d.known[i/lanes] {
		d.known[i/lanes] = true
		l.climb(d, i-i%lanes)
	}
	return l.gains(d.wc[i], d.xx[i], d.yy[i])
}

// climb evaluates the centre at eight crossovers from one on.
func (l *Loop) climb(d *ladder, first int) {
	r := l.responses[0]
	if r.brake > 0 || l.s.Sensor == SensorSplit {
		for i := first; i < min(first+lanes, len(d.wc)); i++ {
			d.xx[i], d.yy[i] = l.centre(d.wc[i])
		}
		return
	}
	var x pointsAt
	for k := range lanes {
		w := d.wc[min(first+k, len(d.wc)-1)]
		x[k], x[lanes+k] = w*w, 2*r.zeta*w
	}
	var to pointSums
	sumPoints(r.omega, r.strength, r.seen().residue, &x, &to)
	for k := range lanes {
		d.xx[first+k], d.yy[first+k] = square(complex(to[k], to[4*lanes+k])), square(complex(to[3*lanes+k], to[7*lanes+k]))
	}
}

// centre is |P_xx|² and |P_yy|² at the first pose of the first plant.
func (l *Loop) centre(w float64) (xx, yy float64) {
	var p, a plantValue
	l.responses[0].value(w, &p, &a)
	if l.s.Sensor == SensorSplit {
		low := l.lowPart(w)
		for i := range p {
			p[i] = a[i] + low*(p[i]-a[i])
		}
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
