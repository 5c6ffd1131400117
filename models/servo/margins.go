package servo

import (
	"math"

	"flexwright/models/elementary"
)

// Margins are those of one crossover at the poses of the first plant with the first
// scale, the worst over poses and axes, each axis with the other axis's loop closed
// (unless Settings.OtherAxisOpen).
type Margins struct {
	Phase    float64    // rad, least |π + arg L| where |L| = 1
	Gain     float64    // least factor, up or down, on the gain at which L goes through −1; +Inf when none does
	Peak     float64    // largest |S|
	MinusHz  float64    // Hz, lowest frequency at which the closed loop |L/(1+L)| falls below −3 dB (1/√2)
	Position [2]float64 // N/m, gain k of the controller of each axis; 0 of one that is not driven
}

// Margins computes the margins at the crossover hz (Hz) for the plants last given to
// [Loop.Prepare] or [Loop.Crossover]. ok is false when a sensor does not see its axis.
// The margins of an unstable loop mean nothing.
func (l *Loop) Margins(hz float64) (m Margins, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return m, false
	}
	m = Margins{Phase: math.Pi, Gain: math.Inf(1), MinusHz: math.Inf(1), Position: [2]float64{t.kx, t.ky}}
	for i := range l.poses {
		c := &l.cases[i]
		// The second sweep looks between the points for what exceeds the first's largest.
		first := finding{limit2: math.Inf(1), whole: true}
		l.sweep(c, &t, &first)
		second := finding{limit2: first.peak, whole: true}
		l.sweep(c, &t, &second)
		m.Peak = math.Max(m.Peak, math.Sqrt(second.peak))
		for axis := range l.axes {
			l.axisMargins(c, &t, axis, &m)
		}
	}
	return m, true
}

// gain is L of one axis with the other loop closed.
func (l *Loop) gain(d *difference, axis int) complex128 { return l.returnDifference(d, axis) - 1 }

// parts is how many steps the loop takes from one point of the grid to the next: around a resonance L may cross an axis
// and come back between two points.
const parts = 4

func (l *Loop) axisMargins(c *loopCase, t *trial, axis int, m *Margins) {
	r := c.r
	var d difference
	l.at(c, 0, t, &d)
	old := l.gain(&d, axis)
	tracking := true
	for i := 1; i < r.n; i++ {
		a := r.w[i-1]
		step := elementary.Pow(r.w[i]/a, 1./parts)
		for part := 1; part <= parts; part++ {
			b := a * step
			if part == parts {
				b = r.w[i]
				l.at(c, i, t, &d)
			} else {
				l.anywhere(c, b, t, &d)
			}
			z := l.gain(&d, axis)
			if (square(z) < 1) != (square(old) < 1) {
				_, x := l.locate(c, t, axis, a, b, func(z complex128) float64 { return square(z) - 1 })
				m.Phase = math.Min(m.Phase, math.Abs(math.Atan2(-imag(x), -real(x))))
			}
			if (imag(z) < 0) != (imag(old) < 0) && (real(z) < 0 || real(old) < 0) {
				if _, x := l.locate(c, t, axis, a, b, func(z complex128) float64 { return imag(z) }); real(x) < 0 {
					g := math.Sqrt(square(x))
					m.Gain = math.Min(m.Gain, math.Max(g, 1/g))
				}
			}
			a, old = b, z
		}
		if tracking && dropped(old) < 0 {
			tracking = false
			w, _ := l.locate(c, t, axis, r.w[i-1], r.w[i], dropped)
			m.MinusHz = math.Min(m.MinusHz, w*c.scale/(2*math.Pi))
		}
	}
}

// dropped is negative where |L/(1+L)|² < 1/2.
func dropped(z complex128) float64 { return 2*square(z) - square(1+z) }

// locate finds where a value of L between a and b changes its sign, by false position (Illinois), every fourth step by halves.
func (l *Loop) locate(c *loopCase, t *trial, axis int, a, b float64, value func(complex128) float64) (w float64, z complex128) {
	var d difference
	at := func(w float64) float64 {
		l.anywhere(c, w, t, &d)
		z = l.gain(&d, axis)
		return value(z)
	}
	va, vb := at(a), at(b)
	w = b
	side := 0 // that moved last
	for n := 1; n <= 100; n++ {
		was := w
		w = a + (b-a)*va/(va-vb)
		if n%4 == 0 || !(w > a && w < b) {
			w = 0.5 * (a + b)
		}
		v := at(w)
		if math.Abs(w-was) < 1e-13*w || v == 0 {
			break
		}
		if (v < 0) == (va < 0) {
			if a, va = w, v; side < 0 {
				vb *= 0.5
			}
			side = -1
		} else {
			if b, vb = w, v; side > 0 {
				va *= 0.5
			}
			side = 1
		}
	}
	return w, z
}

// Tracking returns how a sine at frequency (Hz) is followed with the crossover hz,
// without feedforward: the largest |S|, which times the amplitude is the tracking
// error, and the largest phase by which the position lags its set point, rad, over
// poses, axes and scales of the first plant. ok is false when a sensor
// does not see its axis at hz.
func (l *Loop) Tracking(hz, frequency float64) (ratio, lag float64, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return 0, 0, false
	}
	for i := range l.poses * len(l.s.Scales) {
		c := &l.cases[i]
		var d difference
		l.anywhere(c, 2*math.Pi*frequency/c.scale, &t, &d)
		for axis := range l.axes {
			f := l.returnDifference(&d, axis)
			ratio = math.Max(ratio, 1/math.Sqrt(square(f)))
			z := 1 - 1/f // closed loop
			lag = math.Max(lag, -math.Atan2(imag(z), real(z)))
		}
	}
	return ratio, lag, true
}

// Feedforward returns what is left of a sine at frequency (Hz) on both axes, of the amplitude, when a model of
// stiffness and mass commands the force as well: the largest row sum of
//
//	(I + P C)⁻¹ (I − P ((1 ± δ_k) K − (1 ± δ_m) M ω²)),   K = P(0)⁻¹,  M = K (Σ out inᵀ/ω_k⁴) K
//
// over the four signs, and poses and scales of the first plant. K and M are those of the pose and the scale, as a built stage's force over
// its travel is measured; δ_k and δ_m are what that misses by. The model knows neither modes nor delay. Without a stiffness (rigid-body modes) only
// the loop acts, as in [Loop.Tracking]. ok is false when a sensor does not see its axis.
func (l *Loop) Feedforward(hz, frequency, stiffness, mass float64) (ratio float64, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return 0, false
	}
	w := 2 * math.Pi * frequency
	for i := range l.poses * len(l.s.Scales) {
		c := &l.cases[i]
		if c.r.omega[0] == 0 {
			ratio, _, ok = l.Tracking(hz, frequency)
			return ratio, ok
		}
		x := w / c.scale // of the unscaled grid, whose K and M serve, too: P (K − M ω²) is a function of ω/scale
		var p, a plantValue
		c.r.value(x, &p, &a)
		controller := l.s.shape(w, t.wc) * l.s.lag(w)
		if l.s.Sensor == SensorSplit {
			p = p.joined(&a, l.lowPart(w))
		}
		k, m := c.r.model()
		f := complex(1/(c.scale*c.scale), 0)
		cx, cy := controller*complex(t.kx, 0)*f, controller*complex(t.ky, 0)*f
		// I + P C and its inverse
		loop := plantValue{1 + p[0]*cx, p[1] * cy, p[2] * cx, 1 + p[3]*cy}
		det := loop[0]*loop[3] - loop[1]*loop[2]
		sensitivity := plantValue{loop[3] / det, -loop[1] / det, -loop[2] / det, loop[0] / det}
		for _, sign := range [4][2]float64{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}} {
			var force plantValue
			for n := range force {
				force[n] = complex((1+sign[0]*stiffness)*k[n]-(1+sign[1]*mass)*m[n]*x*x, 0)
			}
			rest := p.times(&force)
			rest = plantValue{1 - rest[0], -rest[1], -rest[2], 1 - rest[3]}
			e := sensitivity.times(&rest)
			for row := range l.axes {
				ratio = math.Max(ratio, math.Sqrt(square(e[2*row]))+math.Sqrt(square(e[2*row+1])))
			}
		}
	}
	return ratio, true
}

// model returns stiffness and mass, N/m and kg, of what the sensor sees at low frequency.
func (r *response) model() (k, m [4]float64) {
	out := r.stage
	if r.sensor == SensorArm {
		out = r.arm
	}
	var c, d [4]float64 // Σ out inᵀ/ω², /ω⁴
	for n, w := range r.omega {
		q := 1 / (w * w)
		for i := range 2 {
			for j := range 2 {
				x := out[2*n+i] * r.force[2*n+j] * q
				c[2*i+j] += x
				d[2*i+j] += x * q
			}
		}
	}
	if c[3] == 0 && c[1] == 0 && c[2] == 0 { // nothing is driven along y
		return [4]float64{1 / c[0]}, [4]float64{d[0] / (c[0] * c[0])}
	}
	det := c[0]*c[3] - c[1]*c[2]
	k = [4]float64{c[3] / det, -c[1] / det, -c[2] / det, c[0] / det}
	var kd [4]float64
	for i := range 2 {
		for j := range 2 {
			kd[2*i+j] = k[2*i]*d[j] + k[2*i+1]*d[2+j]
		}
	}
	for i := range 2 {
		for j := range 2 {
			m[2*i+j] = kd[2*i]*k[j] + kd[2*i+1]*k[2+j]
		}
	}
	return k, m
}

// ModeRule is the rule of thumb that a loop may be as fast as the lowest unwanted mode
// divided by n, Hz in and out. It knows neither how strongly the mode couples nor with
// which sign: for comparison only.
func ModeRule(lowestUnwanted, n float64) float64 {
	if !(n > 0) {
		panic("servo: divisor of the mode rule")
	}
	return lowestUnwanted / n
}
