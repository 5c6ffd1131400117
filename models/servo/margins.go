package servo

import "math"

// Margins are those of one crossover at the poses of the first plant with the first
// scale, the worst over poses and axes, each axis with the other axis's loop closed
// (unless Settings.OtherAxisOpen).
type Margins struct {
	Phase    float64    // rad, least |π + arg L| where |L| = 1
	Gain     float64    // least factor, up or down, on the gain at which L goes through −1; +Inf when none does
	Peak     float64    // largest |S|
	MinusHz  float64    // Hz, lowest frequency at which the closed loop |L/(1+L)| falls below −3 dB (1/√2)
	Position [2]float64 // N/m, gain k of the controller of each axis
}

// Margins computes the margins at the crossover hz (Hz) for the plants last given to
// [Loop.Prepare] or [Loop.Bandwidth]. ok is false when a sensor does not see its axis.
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
		for axis := range 2 {
			l.axisMargins(c, &t, axis, &m)
		}
	}
	return m, true
}

// gain is L of one axis with the other loop closed.
func (l *Loop) gain(d *difference, axis int) complex128 { return l.returnDifference(d, axis) - 1 }

func (l *Loop) axisMargins(c *loopCase, t *trial, axis int, m *Margins) {
	r := c.r
	d := l.at(c, 0, t)
	old := l.gain(&d, axis)
	tracking := true
	for i := 1; i < r.n; i++ {
		d := l.at(c, i, t)
		z := l.gain(&d, axis)
		if (square(z) < 1) != (square(old) < 1) {
			_, x := l.locate(c, t, axis, r.w[i-1], r.w[i], func(z complex128) bool { return square(z) < 1 })
			m.Phase = math.Min(m.Phase, math.Abs(math.Atan2(-imag(x), -real(x))))
		}
		if (imag(z) < 0) != (imag(old) < 0) && real(z) < 0 && real(old) < 0 {
			_, x := l.locate(c, t, axis, r.w[i-1], r.w[i], func(z complex128) bool { return imag(z) < 0 })
			g := math.Sqrt(square(x))
			m.Gain = math.Min(m.Gain, math.Max(g, 1/g))
		}
		if tracking && dropped(z) {
			tracking = false
			w, _ := l.locate(c, t, axis, r.w[i-1], r.w[i], dropped)
			m.MinusHz = math.Min(m.MinusHz, w*c.scale/(2*math.Pi))
		}
		old = z
	}
}

// dropped reports |L/(1+L)|² < 1/2.
func dropped(z complex128) bool { return 2*square(z) < square(1+z) }

// locate halves the interval in which a property of L changes.
func (l *Loop) locate(c *loopCase, t *trial, axis int, a, b float64, property func(complex128) bool) (float64, complex128) {
	d := l.anywhere(c, a, t)
	was := property(l.gain(&d, axis))
	var z complex128
	for range 40 {
		m := math.Sqrt(a * b)
		d = l.anywhere(c, m, t)
		if z = l.gain(&d, axis); property(z) == was {
			a = m
		} else {
			b = m
		}
	}
	return a, z
}

// Tracking returns how a sine at frequency (Hz) is followed with the crossover hz,
// without feedforward: the largest |S|, which times the amplitude is the tracking
// error, and the largest phase by which the position lags its set point, rad, over
// poses and axes of the first plant with the first scale. ok is false when a sensor
// does not see its axis at hz.
func (l *Loop) Tracking(hz, frequency float64) (ratio, lag float64, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return 0, 0, false
	}
	for i := range l.poses {
		c := &l.cases[i]
		d := l.anywhere(c, 2*math.Pi*frequency/c.scale, &t)
		for axis := range 2 {
			f := l.returnDifference(&d, axis)
			ratio = math.Max(ratio, 1/math.Sqrt(square(f)))
			z := 1 - 1/f // closed loop
			lag = math.Max(lag, -math.Atan2(imag(z), real(z)))
		}
	}
	return ratio, lag, true
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
