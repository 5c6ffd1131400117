package servo

import "math"

// A symmetric stage fails at several poses at once, and rounding alone would say at which.
// Of these the first in the order of the cases is named, and of two axes x: a rule, so that
// the words are the same for designs that are alike.
const (
	sameModes = 1e-9 // relative difference of the natural frequencies of poses that mirror each other
	samePeak  = 1e-6 // of |S|², whose largest value is found to about that at either
)

// firstAlike returns the first case of the same plant and scale that fails as case number
// does, with what was found there.
func (l *Loop) firstAlike(number int, t *trial, f *finding) int {
	c := &l.cases[number]
	for i := number - c.pose; i < number; i++ {
		if !mirrored(l.cases[i].r.omega, c.r.omega) {
			continue
		}
		g := finding{limit2: l.limit2, whole: true}
		l.near(&l.cases[i], t, f.index, &g)
		if g.reason == f.reason && (f.reason != Sensitivity || math.Abs(g.peak-f.peak) <= samePeak*f.peak) {
			*f = g
			return i
		}
	}
	return number
}

// mirrored reports whether two poses have the same natural frequencies.
func mirrored(a, b []float64) bool {
	for k := range a {
		if math.Abs(a[k]-b[k]) > sameModes*b[k] {
			return false
		}
	}
	return true
}

// firstAxis returns x where both axes have the largest |S| of a case, else the axis found.
func (l *Loop) firstAxis(c *loopCase, t *trial, f *finding) int {
	if f.reason != Sensitivity || l.axes == 1 {
		return f.axis
	}
	var d difference
	l.anywhere(c, f.w/c.scale, t, &d)
	if x, y := l.sensitivity(&d); math.Abs(x-y) <= samePeak*y {
		return 0
	}
	return f.axis
}
