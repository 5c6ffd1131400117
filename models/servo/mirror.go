package servo

import "math"

// A symmetric stage fails at several poses at once, and rounding alone would say at which.
// Of these the first in the order of the cases is named, and of two axes x: a rule, so that
// the words are the same for designs that are alike.
const (
	sameModes = 1e-9 // relative difference of the natural frequencies of poses that mirror each other
	samePeak  = 1e-6 // of |S|²
)

// firstAlike returns the first case of the same plant and scale that fails as case number does; what was found there is then of that case.
func (l *Loop) firstAlike(number int, t *trial, f *finding) int {
	c := &l.cases[number]
	for i := number - c.pose; i < number; i++ {
		if !mirrored(l.cases[i].r.omega, c.r.omega) {
			continue
		}
		if f.reason != Sensitivity {
			g := finding{limit2: l.limit2, whole: true}
			if l.sweep(&l.cases[i], t, &g); g.reason == f.reason {
				*f = g
				return i
			}
			continue
		}
		var n, own node
		l.nodeAt(&l.cases[i], f.w/c.scale, t, &n)
		l.nodeAt(c, f.w/c.scale, t, &own)
		if s := max(own.s[0], own.s[1]); math.Abs(max(n.s[0], n.s[1])-s) <= samePeak*s {
			if f.axis = 0; n.s[1] > n.s[0] {
				f.axis = 1
			}
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
