package servo

import "math"

// Frequencies returns, for the crossover hz and the shape in use, both in Hz: the bandwidth, at which |S| of an axis, the other
// axis's loop closed (unless Settings.OtherAxisOpen), first rises to −3 dB (1/√2), the least over plants, scales, poses and axes;
// and the lowest frequency at which the closed loop |L/(1 + L)| falls below −3 dB, over poses and axes of the
// first plant with the first scale. Up to the first, feedback does something (S. Skogestad, I.
// Postlethwaite, Multivariable Feedback Control, 2005, section 2.4.5); the second may lie on either side of it. ok is false
// when a sensor does not see its axis.
func (l *Loop) Frequencies(hz float64) (bandwidth, closedLoop float64, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return 0, 0, false
	}
	return l.rises(&t) / (2 * math.Pi), l.falls(&t) / (2 * math.Pi), true
}

// rises is the bandwidth in rad/s, and where it is least l.slowest. A case is followed no farther than to the least so far.
func (l *Loop) rises(t *trial) float64 {
	lowest, first := math.Inf(1), l.slowest
	for _, r := range l.responses {
		r.heard = 0
	}
	var a, b node
	most := math.Inf(1)
	if c := &l.cases[first]; l.around(c, t, 0.6*t.wc, &a, &b) {
		most = b.w * c.scale * (1 + sharp)
	}
	for i := range l.inUse {
		number := (first + i) % l.inUse
		c := &l.cases[number]
		l.listen(c, t, most)
		if w := l.rise(c, t, c.r.heard, most); w < lowest {
			lowest, l.slowest = w, number
			most = lowest * (1 - sharpest)
		}
	}
	return lowest
}

// listen finds the intervals of a pose in which |S| of no axis reaches 1/√2 with any scale, as far as a case needs them up to most, rad/s.
func (l *Loop) listen(c *loopCase, t *trial, most float64) {
	r := c.r
	if !l.together() {
		return
	}
	most /= c.scale
	c = &l.cases[l.middle(c)]
	f := finding{limit2: half, whole: true}
	var turn turns
	from := r.heard
	if from == 0 {
		end, _ := l.suspended(r, t, half)
		for i := range end + 1 {
			r.quiet[i] = true
		}
		from = end + 1
	}
	to := from - 1
	for to+1 < r.n && r.w[to+1] < most {
		to++
	}
	l.begin(c, t, half)
	l.alike(c, t, from, to, &turn, &f)
	for i := from; i <= to; i++ {
		r.quiet[i] = l.columns.verdict[i] < 2
	}
	r.heard = to + 1
}

// rise is where |S| of an axis first reaches 1/√2 in a case, rad/s; infinite where that is not up to most. Of the
// intervals up to a point, heard, those that are quiet are left out.
func (l *Loop) rise(c *loopCase, t *trial, heard int, most float64) float64 {
	r := c.r
	most /= c.scale
	from := 1
	if heard == 0 {
		end, _ := l.suspended(r, t, half)
		from += end
	}
	known := from // intervals from here on have not been judged by columns
	var nodes [2]node
	a, b := &nodes[0], &nodes[1]
	for i := from; i < r.n && r.w[i-1] < most; i++ {
		if i < heard && r.quiet[i] {
			continue
		}
		if known <= i && i >= heard && r.w[i] < most && l.inColumns() {
			to := i
			for known = i; known < r.n && known < i+4*lanes && r.w[known] < most; known++ {
				to = known
			}
			l.begin(c, t, half)
			l.judgePoints(i, to, false)
		}
		if i < known && i >= heard && l.columns.verdict[i] < 2 {
			continue
		}
		if l.node(c, i-1, t, a); r.w[i] > most {
			l.nodeAt(c, most, t, b)
		} else {
			l.node(c, i, t, b)
		}
		var z *bend
		if r.bounded() && b.w > r.low {
			z = r.upTo(i)
		}
		if w, ok := l.reaches(c, t, a, b, z, deepest); ok {
			return w * c.scale
		}
	}
	return math.Inf(1)
}

// findSlowest makes l.slowest the case in which |S| of an axis reaches 1/√2 first, as far as is seen at single frequencies, and reports whether it is another.
func (l *Loop) findSlowest(t *trial) (changed bool) {
	w := l.risen(&l.cases[l.slowest], t, 0.6*t.wc)
	for range 8 {
		number := l.loudest(t, w)
		if number < 0 || number == l.slowest {
			break
		}
		l.slowest, changed = number, true
		w = min(w, l.risen(&l.cases[number], t, w))
	}
	return changed
}

// loudest is the case in which |S| of an axis is largest at w, rad/s, and no less than 1/√2; −1 where it is less in all.
func (l *Loop) loudest(t *trial, w float64) (number int) {
	number = -1
	scales := len(l.s.Scales)
	most := half
	var at [lanes]float64
	var p, arm [lanes]plantValue
	for i := range l.inUse / scales {
		first := i/l.poses*scales*l.poses + i%l.poses
		for n, scale := range l.s.Scales {
			at[n] = w / scale
		}
		l.cases[first].r.values(at[:scales], &p, &arm)
		for n := range scales {
			c := &l.cases[first+n*l.poses]
			var g through
			var d difference
			l.pass(c, at[n], &p[n], &arm[n], &g)
			l.close(w, &g, t, &d)
			if x, y := l.sensitivity(&d); max(x, y) >= most {
				most, number = max(x, y), first+n*l.poses
			}
		}
	}
	return number
}

// risen is where |S| of an axis reaches 1/√2 in a case near a frequency, rad/s, a little above it: no less than what rise finds; infinite where it does not.
func (l *Loop) risen(c *loopCase, t *trial, near float64) float64 {
	var a, b node
	if !l.around(c, t, near, &a, &b) {
		return math.Inf(1)
	}
	// false position, aimed above
	for n := 0; n < 12 && b.w > a.w*(1+1e-4); n++ {
		low, high := a.excess(), b.excess()
		f := 0.5
		if n%3 < 2 {
			f = min(max(low/(low-high)+1e-3, 0.01), 0.99)
		}
		var m node
		l.nodeAt(c, a.w+f*(b.w-a.w), t, &m)
		if m.excess() >= 0 {
			if b = m; b.excess()*(b.w-a.w) < 1e-4*a.w*(b.excess()-a.excess()) {
				break
			}
		} else {
			a = m
		}
	}
	return b.w * c.scale
}

// around finds two points next to each other near a frequency, rad/s: at the second |S| of an axis is no less than 1/√2, at the first it is
// less, but where the second is the first of all. It is false where there are none above that frequency.
func (l *Loop) around(c *loopCase, t *trial, near float64, a, b *node) (ok bool) {
	i := c.r.index(near / c.scale)
	if l.node(c, i, t, b); b.excess() < 0 {
		for b.excess() < 0 {
			if i++; i == c.r.n {
				return false
			}
			*a = *b
			l.node(c, i, t, b)
		}
		return true
	}
	*a = *b
	for ; i > 0 && !(a.excess() < 0); i-- {
		*b = *a
		l.node(c, i-1, t, a)
	}
	if !(a.excess() < 0) {
		*b = *a
	}
	return true
}

const (
	half     = 0.5   // |S|² at −3 dB
	sharp    = 1e-6  // relative distance before a frequency at which |S| may reach it already
	sharpest = 1e-10 // relative error of a frequency
	tiny     = 1e-11 // |S|² is ½
	narrow   = 0.25  // part of an interval, next to a resonance, beyond which the plant is bounded anew
)

// excess is |S|² less ½ of the axis in which it is larger.
func (n *node) excess() float64 { return max(n.s[0], n.s[1]) - half }

// reaches returns the first frequency between two points at which |S|² of an axis is ½.
func (l *Loop) reaches(c *loopCase, t *trial, a, b *node, z *bend, depth int) (w float64, ok bool) {
	low, high := a.excess(), b.excess()
	if low < 0 && high >= 0 {
		return l.crosses(c, t, a, b, z, depth), true
	}
	f := finding{limit2: half}
	v, part := unsettled, 0.5
	if z == nil || z.braked != nil {
		v, _, _ = l.verdict(c, t, a, b, z, &f)
	} else {
		d := l.deviates(c, t, a, b, z)
		if v, _, _ = l.judge(a, b, &d, &f); v == unsettled && depth > deepest/2 { // halvings from there on come to the end before their number does
			part = d.clears(b, low, high)
		}
	}
	if v == within && high < 0 {
		return 0, false
	}
	if b.w < a.w*(1+sharp) || depth == 0 {
		return b.w, high >= 0
	}
	var m node
	l.nodeAt(c, a.w+part*(b.w-a.w), t, &m)
	if w, ok := l.reaches(c, t, a, &m, z, depth-1); ok {
		return w, true
	}
	if part < narrow {
		var rest bend
		c.r.bend(m.w, b.w, &rest)
		return l.reaches(c, t, &m, b, &rest, depth-1)
	}
	return l.reaches(c, t, &m, b, z, depth-1)
}

// clears is up to what part of an interval |S|² is likely to be known to keep below ½, from which it is low, negative, at one end and high at the other, b.
func (d *arc) clears(b *node, low, high float64) float64 {
	// how far |S|² may be off, as the square of the part: by the bounds of det, and of either axis alone, which coupling brings nearer to ½
	x, y := math.Sqrt(square(b.x)), math.Sqrt(square(b.y))
	both := 0.0
	for _, n := range [2][2]float64{{y, d.y}, {x, d.x}} {
		m := math.Sqrt(half)*d.det + n[1]
		both = max(both, m*(2*n[0]+m))
	}
	part := reachable(both/square(b.det), low, high)
	coupled := d.coupling / (x * y)
	alone := reachable(max(d.x/x, d.y/y), low+coupled, high+coupled)
	if part = max(part, alone); !(part > 0.02 && part < 1) {
		return 0.5
	}
	return 0.98 * part
}

// reachable is where a parabola that is off at 1, and 0 at 0, meets a line that is −low there and −high at 1; 0 where low is not negative.
func reachable(off, low, high float64) float64 {
	if low >= 0 {
		return 0
	}
	rise := high - low
	return (math.Sqrt(rise*rise-4*off*low) - rise) / (2 * off)
}

// crosses is reaches where |S|² is less than ½ at a and no less at b: by inverse quadratic interpolation (T. R. Chandrupatla, Advances in Engineering
// Software 28, 1997, pp. 145–149), with what lies before the crossing found judged.
func (l *Loop) crosses(c *loopCase, t *trial, a, b *node, z *bend, depth int) float64 {
	var m node
	x1, f1, x2, f2 := a.w, a.excess(), b.w, b.excess() // on either side
	x3, f3 := x1, f1                                   // the point before
	part := f1 / (f1 - f2)
	for n := 0; n < 100 && math.Abs(x2-x1) > sharpest*x1 && math.Abs(f1) > tiny; n++ {
		if !(part > 0.5*sharpest && part < 1-0.5*sharpest) {
			part = 0.5
		}
		l.nodeAt(c, x1+part*(x2-x1), t, &m)
		if f := m.excess(); (f < 0) == (f1 < 0) {
			x3, f3 = x1, f1
		} else {
			x3, f3, x2, f2 = x2, f2, x1, f1
		}
		x1, f1 = m.w, m.excess()
		xi, phi := (x1-x2)/(x3-x2), (f1-f2)/(f3-f2)
		if part = 0.5; phi*phi < xi && (1-phi)*(1-phi) < 1-xi {
			part = f1/(f2-f1)*f3/(f2-f3) + (x3-x1)/(x2-x1)*f1/(f3-f1)*f2/(f3-f2)
		}
	}
	if x := x1 * (1 - sharp); depth > 0 && x > a.w {
		l.nodeAt(c, x, t, &m)
		if w, ok := l.reaches(c, t, a, &m, z, depth-1); ok {
			return w
		}
	}
	return x1
}

// falls is the closed loop's −3 dB frequency in rad/s, and where it is least l.laggard. A case is followed no farther than to the least so far.
func (l *Loop) falls(t *trial) float64 {
	lowest := math.Inf(1)
	for i := range l.poses {
		c := &l.cases[i]
		at := l.drops(c, t, lowest)
		for axis := range l.axes {
			if w := l.fallsBefore(c, t, axis, at[axis], lowest*(1-sharpest)); w < lowest {
				lowest, l.laggard = w, laggard{i, axis}
			}
		}
	}
	return lowest
}

// laggard is an axis of a case.
type laggard struct{ number, axis int }

// drops finds the first points of a case, up to the first one beyond most, rad/s, at which the closed loop of each axis is below −3 dB; r.n where there
// is none.
func (l *Loop) drops(c *loopCase, t *trial, most float64) (at [2]int) {
	r := c.r
	at = [2]int{r.n, r.n}
	most /= c.scale
	columns := l.inColumns()
	if columns {
		l.begin(c, t, half)
	}
	var d difference
	for i, left := 0, l.axes; i < r.n && left > 0 && (i == 0 || r.w[i-1] < most); i++ {
		if !columns {
			l.at(c, i, t, &d)
		} else if i%lanes == 0 {
			last := min(i+lanes, r.n) - 1
			r.points(i, last)
			l.differ(i, last)
		}
		for axis := range l.axes {
			if at[axis] == r.n && (columns && l.columns.dropped(i, axis) || !columns && dropped(l.gain(&d, axis)) < 0) {
				at[axis] = i
				left--
			}
		}
	}
	return at
}

// dropped reports whether the closed loop 1 − 1/(1 + L) of an axis is below −3 dB at a point.
func (k *columns) dropped(i, axis int) bool {
	re, im := k.nodes[differYRe-differSlope], k.nodes[differYIm-differSlope] // the other axis
	if axis == 1 {
		re, im = k.nodes[differXRe-differSlope], k.nodes[differXIm-differSlope]
	}
	det, other := complex(k.nodes[differDetRe-differSlope][i], k.nodes[differDetIm-differSlope][i]), complex(re[i], im[i])
	return 2*square(det-other) < square(det)
}

// fallsBefore is where the closed loop of an axis that is below −3 dB first at a point falls there, rad/s; infinite where that is not up to most.
func (l *Loop) fallsBefore(c *loopCase, t *trial, axis, at int, most float64) float64 {
	r := c.r
	if at == 0 {
		return r.w[0] * c.scale
	}
	if at == r.n || r.w[at-1]*c.scale >= most {
		return math.Inf(1)
	}
	b := r.w[at]
	if b*c.scale > most {
		var d difference
		b = most / c.scale
		if l.anywhere(c, b, t, &d); dropped(l.gain(&d, axis)) >= 0 {
			return math.Inf(1)
		}
	}
	w, _ := l.locate(c, t, axis, r.w[at-1], b, dropped)
	return w * c.scale
}
