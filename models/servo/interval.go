package servo

import "math"

// affordable is the largest row sum |P_i1| + |P_i2| between two points with which no row sum |L_i1| + |L_i2| exceeds most.
func (l *Loop) affordable(c *loopCase, t *trial, a, b *node, most float64) float64 {
	// |C| grows from one point to the next by no more than its five corners allow
	x := 2.5 * (b.w - a.w) / a.w
	controller := max(t.kx, t.ky) * math.Sqrt(max(a.shape, b.shape)) * (1 + x + x*x)
	return most * c.scale * c.scale / controller
}

// negligible is the largest row sum |L_i1| + |L_i2| with which |S| keeps within a limit and nothing is encircled: eigenvalues of I + L within 0.7 of 1 keep
// det right of the imaginary axis.
func negligible(limit2 float64) float64 { return min(0.7, 1-1/math.Sqrt(limit2)) }

// arc bounds what the loop does in an interval besides following its chords.
type arc struct {
	x, y     float64 // how far 1 + L_x and 1 + L_y leave theirs
	coupling float64 // |L_xy L_yx|
	det      float64 // how far det(I + L) leaves its chord

	spreadX, spreadY float64 // of x and y, what several scales differ by
}

// deviates bounds the interval from a to b, in the unscaled grid's frequencies.
func (l *Loop) deviates(c *loopCase, t *trial, a, b *node, z *bend) (d arc) {
	h, f := b.w-a.w, c.scale
	with := &z.narrow
	var wide controlled
	if z.narrow.grows == 0 {
		first, second := l.slope(f*a.w, f*b.w, t.wc)
		if !z.with(&wide, h, f*first, f*f*second) {
			return arc{x: math.Inf(1)}
		}
		with = &wide
	}
	q := math.Sqrt(max(a.shape, b.shape)) * with.grows
	shape := 0.25 * h * h * q / (f * f)
	both := t.kx * t.ky
	d.x, d.y = shape*t.kx*with.bend[alongX], shape*t.ky*with.bend[alongY]
	xy := max(a.across[0], b.across[0])*q + shape*with.bend[acrossXY]
	yx := max(a.across[1], b.across[1])*q + shape*with.bend[acrossYX]
	d.coupling = both * xy * yx
	d.det = d.x + d.y + shape*q*with.bend[determinant]*both/(f*f)
	return d
}

// slope bounds |d ln C/dw| and |d² ln C/dw²| between two frequencies, the split sensor's
// low-pass in it. A corner at distance r adds 1/r to one and 1/r² to the other, the delay to the first only; the
// integrator's pole and zero cancel far above it. A notch, which may be 0 at its frequency, counts by its
// complement 1 − N, a band-pass of at most 1 with a zero at the origin and two poles at jω₀ to within the width: the
// bounds hold for |C| without the notches.
func (l *Loop) slope(from, to, wc float64) (first, second float64) {
	s := &l.s
	w2 := from * from
	corner := func(x float64) {
		q := 1 / (w2 + x*x)
		first += math.Sqrt(q)
		second += q
	}
	x := wc * l.corners.a
	q := math.Sqrt(w2 + x*x)
	once := 1 / (from * q)
	first = x * once
	second = first * once * (from + q)
	if s.LeadRatio > 0 {
		corner(wc / s.LeadRatio)
	}
	corner(s.TamingRatio * wc)
	if !math.IsInf(s.LowPassRatio, 1) {
		corner(s.LowPassRatio * wc)
	}
	if s.Sensor == SensorSplit {
		corner(0)
		corner(2 * math.Pi * s.SplitFrequency)
	}
	first += s.Delay
	for i := range s.Notches {
		n := &s.Notches[i]
		w, zeta := 2*math.Pi*n.Frequency, 0.5*n.Width
		imaginary := w * math.Sqrt(max(0, 1-zeta*zeta))
		off := max(0, max(from-imaginary, imaginary-to))
		near, far := 1/math.Hypot(off, zeta*w), 1/(from+imaginary)
		first += 1/from + near + far
		second += 1/w2 + near*near + far*far
	}
	return first, second
}

// verdict of an interval.
type verdict uint8

const (
	unsettled verdict = iota // halve it
	within                   // |S| stays below the limit
	exceeds                  // it does not
)

// sensitive judges |S|² = |n/d|² on an interval, n and d within dn and dd of their chords. It
// stays within where
//
//	limit |d| ≥ |n| + m,   m = limit dd + dn
//
// holds for the chords at the same place throughout. peak goes with exceeds.
func sensitive(na, nb, da, db complex128, dn, dd, limit2 float64) (v verdict, peak float64) {
	if math.IsInf(limit2, 1) { // asked for stability only
		return within, 0
	}
	limit := math.Sqrt(limit2)
	m := limit*dd + dn
	a, b := square(na), square(nb)
	// |limit d|² − |n|² is a parabola in the place s from 0 to 1
	pa, pb := limit2*square(da)-a, limit2*square(db)-b
	curve := limit2*square(db-da) - square(nb-na)
	s, least := 0.0, pa
	if pb < pa {
		s, least = 1, pb
	}
	if x := 0.5 * (pa - pb + curve); curve > 0 && x > 0 && x < curve {
		s = x / curve
		least = pa - x*s
	}
	n := math.Sqrt(max(a, b))
	need := m * (2*n + m)
	if least >= need {
		return within, 0
	}
	if m > 0.01*n || -least < need && m > sure*n {
		return unsettled, 0
	}
	if least >= 0 {
		return within, 0
	}
	z := complex(s, 0)
	return exceeds, square(na+z*(nb-na)) / square(da+z*(db-da))
}

// sure is the relative error of |S| that is left undecided.
const sure = 1e-4

// clearance is the distance of the chord from a to b from the origin.
func clearance(a, b complex128) float64 {
	along := b - a
	l2 := square(along)
	if foot := -dot(a, along); foot > 0 && foot < l2 {
		return math.Abs(real(a)*imag(b)-imag(a)*real(b)) / math.Sqrt(l2)
	}
	return math.Sqrt(min(square(a), square(b)))
}

// judge says of the interval from a to b whether |S| keeps within the limit for both axes, and whether each
// return difference turns as its chord does.
func (l *Loop) judge(a, b *node, d *arc, f *finding) (v verdict, peak float64, axis int) {
	x, y := clearance(a.x, b.x)-d.x, clearance(a.y, b.y)-d.y
	if !(x > 0 && y > 0) { // a curve within that of its chord does not pass the origin on the other side
		return unsettled, 0, 0
	}
	f.least[0], f.least[1] = min(f.least[0], x), min(f.least[1], y)
	if l.axes == 1 {
		u, s := sensitive(1, 1, a.x, b.x, 0, d.x, f.limit2)
		return u, s, 0
	}
	if l.s.OtherAxisOpen {
		u, s := sensitive(1, 1, a.x, b.x, 0, d.x, f.limit2)
		v, r := sensitive(1, 1, a.y, b.y, 0, d.y, f.limit2)
		return worse(u, v, s, r)
	}
	// With little coupling 1/S_x = (1 + L_x) − L_xy L_yx/(1 + L_y), and det turns as both axes do together, by less than
	// 60° for each and 30° at either end. From scale to scale each turns by less than 30°.
	if 2*d.coupling < x*y && x > d.spreadX && y > d.spreadY && gentle(a.x, b.x) && gentle(a.y, b.y) &&
		(x-d.coupling/y)*(x-d.coupling/y)*f.limit2 >= 1 && (y-d.coupling/x)*(y-d.coupling/x)*f.limit2 >= 1 {
		return within, 0, 0
	}
	if !(clearance(a.det, b.det) > d.det) {
		return unsettled, 0, 0
	}
	u, s := sensitive(a.y, b.y, a.det, b.det, d.y, d.det, f.limit2)
	v, r := sensitive(a.x, b.x, a.det, b.det, d.x, d.det, f.limit2)
	return worse(u, v, s, r)
}

// worse joins the verdicts on both axes.
func worse(x, y verdict, peakX, peakY float64) (verdict, float64, int) {
	switch {
	case x == unsettled || y == unsettled:
		return unsettled, 0, 0
	case peakY > peakX:
		return y, peakY, 1
	}
	return x, peakX, 0
}

// gentle reports a turn of less than 60°.
func gentle(a, b complex128) bool {
	d := dot(a, b)
	return d > 0 && 4*d*d > square(a)*square(b)
}

func dot(a, b complex128) float64 { return real(a)*real(b) + imag(a)*imag(b) }
