package servo

import "math"

// Curve is the frequency response of one axis at one pose.
type Curve struct {
	Hz          []float64
	Plant       []complex128 // sensor over force, m/N, no loop closed
	Open        []complex128 // L, delay and notches in it, with the other axis's loop closed (unless Settings.OtherAxisOpen)
	Sensitivity []complex128 // S = 1/(1 + L)
}

// Curve returns the response of an axis (0 x, 1 y) at a pose of the first plant given to
// [Loop.Prepare] or [Loop.Crossover], with its first scale, for the crossover hz, at ascending
// frequencies, Hz. It allocates. ok is false when a sensor does not see its axis.
func (l *Loop) Curve(hz float64, pose, axis int, at []float64) (c Curve, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return c, false
	}
	of := &l.cases[pose]
	c = Curve{Hz: at, Plant: make([]complex128, len(at)), Open: make([]complex128, len(at)), Sensitivity: make([]complex128, len(at))}
	for i, f := range at {
		w := 2 * math.Pi * f / of.scale
		var p, a plantValue
		of.r.value(w, &p, &a)
		if l.s.Sensor == SensorSplit {
			low := l.lowPart(w * of.scale)
			p[3*axis] = a[3*axis] + low*(p[3*axis]-a[3*axis])
		}
		c.Plant[i] = p[3*axis] * complex(1/(of.scale*of.scale), 0)
		var d difference
		l.anywhere(of, w, &t, &d)
		difference := l.returnDifference(&d, axis)
		c.Open[i] = difference - 1
		c.Sensitivity[i] = 1 / difference
	}
	return c, true
}
