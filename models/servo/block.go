package servo

import "math"

// The points of the grid are evaluated, and what lies between them is bounded, eight at a time: side by side in the lanes of a vector register, or four and
// four, where the processor has such, else one after the other with the same bits. Products are rounded before they are added to.
const lanes = 8

// Rows of eight numbers; with seven more, so that each row begins a column.
type (
	// pointSums are sums over the modes at eight frequencies: real parts of xx, xy, yx, yy, and the imaginary parts.
	pointSums [8 * lanes]float64

	// pointsAt are eight frequencies w: w² and 2 ζ w.
	pointsAt [2 * lanes]float64

	// intervalSums are those of eight intervals.
	intervalSums [numSums*lanes + lanes - 1]float64

	// intervalsAt are eight intervals: a, b, √(1 − ζ²), ζ, and the row sums at a.
	intervalsAt [5*lanes + lanes - 1]float64
)

// sums of the modes in an interval: value, slope and bend times each of their weights, and of the pairs of a mode with itself
const (
	sumValue = weights * iota
	sumSlope
	sumBend
	sumOwn
	numSums = sumOwn + 3
)

// remote is how many widths off a pole is as far as its peak, to 3 %.
const remote = 4

func plainPoints(omega, residue []float64, x *pointsAt, to *pointSums) {
	residue = residue[:4*len(omega)]
	for l := range lanes {
		w2, b := x[l], x[lanes+l]
		var re0, re1, re2, re3, im0, im1, im2, im3 float64
		for k, w := range omega {
			re, im := float64(w*w)-w2, b*w
			q := 1 / (float64(re*re) + float64(im*im))
			re *= q
			im *= q
			r := residue[4*k : 4*k+4 : 4*k+4]
			re0 += float64(r[0] * re)
			im0 -= float64(r[0] * im)
			re1 += float64(r[1] * re)
			im1 -= float64(r[1] * im)
			re2 += float64(r[2] * re)
			im2 -= float64(r[2] * im)
			re3 += float64(r[3] * re)
			im3 -= float64(r[3] * im)
		}
		for i, v := range [8]float64{re0, re1, re2, re3, im0, im1, im2, im3} {
			to[lanes*i+l] = v
		}
	}
}

func plainIntervals(omega, strength []float64, x *intervalsAt, to *intervalSums, n int) {
	for l := range n {
		var s [numSums]float64
		sumInterval(x[l], x[lanes+l], x[2*lanes+l], x[3*lanes+l], omega, strength, &s)
		for i, v := range s {
			to[lanes*i+l] = v
		}
	}
}

// sumInterval is one of eight.
func sumInterval(a, b, root, zeta float64, omega, strength []float64, s *[numSums]float64) {
	var value0, value1, value2, value3, slope0, slope1, slope2, slope3, bend0, bend1, bend2, bend3 float64
	var own0, own1, own2 float64
	strength = strength[:weights*len(omega)]
	for k, w := range omega {
		peak, width := w*root, zeta*w
		near, far := a-peak, b-peak
		off := near > remote*width || far < -remote*width
		near, far = math.Abs(near), math.Abs(far)
		if !off {
			w2 := width * width
			near, far = math.Sqrt(float64(near*near)+w2), math.Sqrt(float64(far*far)+w2)
		}
		sum, both := a+peak, near*far
		once := 1 / (both * sum) // for three divisions
		g, fa, fb := once*both, once*far*sum, once*near*sum
		f := max(fa, fb)
		if a < peak && peak < b {
			f = 1 / width
		}
		v := f * g
		d := v * (f + g)
		q := float64(fa*fb*(v+float64(g*g))) + float64(v*g*g)
		c := strength[weights*k : weights*(k+1) : weights*(k+1)]
		x, y, xy, yx := c[alongX], c[alongY], c[acrossXY], c[acrossYX]
		value0 += float64(x * v)
		value1 += float64(y * v)
		value2 += float64(xy * v)
		value3 += float64(yx * v)
		slope0 += float64(x * d)
		slope1 += float64(y * d)
		slope2 += float64(xy * d)
		slope3 += float64(yx * d)
		bend0 += float64(x * q)
		bend1 += float64(y * q)
		bend2 += float64(xy * q)
		bend3 += float64(yx * q)
		x *= y
		own0 += float64(x * v * v)
		own1 += float64(x * v * d)
		q *= v
		own2 += float64(x * (q + q + float64(d*d)))
	}
	*s = [numSums]float64{
		value0, value1, value2, value3, slope0, slope1, slope2, slope3,
		bend0, bend1, bend2, bend3, own0, own1, own2,
	}
}

// sumPoints evaluates eight points from i on, those before end, of a plant without braking actuators and with one sensor.
func (r *response) sumPoints(i, end int) {
	var x pointsAt
	for l := range lanes {
		w := r.w[min(i+l, end-1)]
		x[l], x[lanes+l] = w*w, 2*r.zeta*w
	}
	var to pointSums
	sumPoints(r.omega, r.seen().residue, &x, &to)
	for k := range r.parts {
		*(*[lanes]float64)(r.parts[k][i:]) = *(*[lanes]float64)(to[lanes*k:])
	}
}

// seen is the modes as the one sensor reads them.
func (r *response) seen() *modalSum {
	if r.sensor == SensorArm {
		return r.armSum
	}
	return r.stageSum
}

// quarters bounds the plant in the four parts of the interval that ends at point i, parts 4 to 7 of [Loop.nodeBetween].
func (r *response) quarters(i int) *[4]bend {
	m := &r.bends
	if k := m.quarter[i]; k > 0 {
		return &m.quarters[k-1]
	}
	n := len(m.quarters)
	if n == cap(m.quarters) { // grows to the most met, as the grid does
		m.quarters = append(m.quarters, make([][4]bend, 16)...)
	}
	m.quarters = m.quarters[:n+1]
	m.quarter[i] = n + 1
	a, b := r.w[i-1], r.w[i]
	middle := math.Sqrt(a * b)
	ends := [5]float64{a, math.Sqrt(a * middle), middle, math.Sqrt(middle * b), b}
	low, high := r.nearby(a, b)
	var x intervalsAt
	for l := range 4 {
		x[l], x[lanes+l], x[2*lanes+l], x[3*lanes+l] = ends[l], ends[l+1], m.root, r.zeta
	}
	var sums intervalSums
	sumIntervals(r.omega[low:high], m.strength[weights*low:weights*high], &x, m.poles, &sums, 4)
	z := &m.quarters[n]
	for l := range z {
		s := sums.lane(l)
		m.join(ends[l], ends[l+1], low, high, &s, &z[l])
	}
	return z
}

// lane is one of eight intervals.
func (s *intervalSums) lane(l int) (one [numSums]float64) {
	for k := range one {
		one[k] = s[lanes*k+l]
	}
	return one
}
