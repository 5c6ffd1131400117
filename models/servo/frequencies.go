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
	return l.rises(&t, 0, true) / (2 * math.Pi), l.falls(&t, 0, true) / (2 * math.Pi), true
}

// rises is the bandwidth in rad/s, and where it is least l.slowest; 0 as soon as it is known to be less than least. Unless exact, a case is
// followed no farther than to the least so far.
func (l *Loop) rises(t *trial, least float64, exact bool) float64 {
	lowest, first := math.Inf(1), l.slowest
	for _, r := range l.responses {
		r.heard = 0
	}
	for i := range l.inUse {
		number := (first + i) % l.inUse
		c := &l.cases[number]
		if i > 0 {
			l.listen(c, t, lowest)
		}
		most := lowest * (1 - sharp)
		if exact {
			most = lowest * (1 + 10*sharp)
		}
		if w := l.rise(c, t, c.r.heard, most); w < lowest {
			if lowest, l.slowest = w, number; lowest < least {
				return 0
			}
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
	f := finding{limit2: half}
	var turn turns
	from := r.heard
	if from == 0 {
		end, _ := l.loud(r, t, half)
		for i := range end + 1 {
			r.quiet[i] = true
		}
		from = end + 1
	}
	to := from - 1
	for to+1 < r.n && r.w[to] < most {
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
		end, _ := l.loud(r, t, half)
		from += end
	}
	known := from // intervals from here on have not been judged by columns
	var a, b node
	for i := from; i < r.n && r.w[i-1] < most; i++ {
		if i < heard && r.quiet[i] {
			continue
		}
		if known <= i && l.inColumns() {
			to := i
			for known = i; known < r.n && known < i+4*lanes && r.w[known-1] < most; known++ {
				if known >= heard || !r.quiet[known] {
					to = known
				}
			}
			l.begin(c, t, half)
			l.judgePoints(i, to, false)
		}
		if i < known {
			if l.columns.verdict[i] < 2 {
				continue
			}
			l.columns.node(l, i-1, &a)
			l.columns.node(l, i, &b)
		} else {
			l.node(c, i-1, t, &a)
			l.node(c, i, t, &b)
		}
		var z *bend
		if r.bounded() && b.w > r.low {
			z = r.upTo(i)
		}
		if b.w > most {
			var end node
			l.nodeAt(c, most, t, &end)
			if _, ok := l.reaches(c, t, &a, &end, z, deepest); !ok {
				break
			}
		}
		if w, ok := l.reaches(c, t, &a, &b, z, deepest); ok {
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
	r := c.r
	var nodes [2]node
	a, b := &nodes[0], &nodes[1]
	i := max(r.index(near/c.scale), 1)
	l.node(c, i, t, b)
	for max(b.s[0], b.s[1]) < half {
		if i++; i == r.n {
			return math.Inf(1)
		}
		l.node(c, i, t, b)
	}
	for ; i > 0; i-- {
		if l.node(c, i-1, t, a); max(a.s[0], a.s[1]) < half {
			break
		}
		a, b = b, a
	}
	if i == 0 {
		return b.w * c.scale
	}
	// false position, aimed above
	for n := 0; n < 12 && b.w > a.w*(1+1e-4); n++ {
		low, high := max(a.s[0], a.s[1])-half, max(b.s[0], b.s[1])-half
		f := 0.5
		if n%3 < 2 {
			f = min(max(low/(low-high)+1e-3, 0.01), 0.99)
		}
		var m node
		l.nodeAt(c, a.w+f*(b.w-a.w), t, &m)
		if max(m.s[0], m.s[1]) >= half {
			*b = m
		} else {
			*a = m
		}
	}
	return b.w * c.scale
}

const (
	half  = 0.5  // |S|² at −3 dB
	sharp = 1e-6 // relative error of a frequency
)

// reaches returns the first frequency between two points at which |S|² of an axis is ½.
func (l *Loop) reaches(c *loopCase, t *trial, a, b *node, z *bend, depth int) (w float64, ok bool) {
	low, high := max(a.s[0], a.s[1])-half, max(b.s[0], b.s[1])-half
	if low < 0 && high >= 0 {
		return l.crosses(c, t, *a, *b, low, high, z, depth), true
	}
	f := finding{limit2: half}
	if v, _, _ := l.verdict(c, t, a, b, z, &f); v == within && high < 0 {
		return 0, false
	}
	if b.w < a.w*(1+sharp) || depth == 0 {
		return b.w, high >= 0
	}
	var m node
	l.nodeAt(c, math.Sqrt(a.w*b.w), t, &m)
	if w, ok := l.reaches(c, t, a, &m, z, depth-1); ok {
		return w, true
	}
	return l.reaches(c, t, &m, b, z, depth-1)
}

// crosses is reaches where |S|² less ½ of the larger is low, negative, at a and high at b: by false position (Illinois), aimed a little beyond so that both ends
// move, with what lies before the new point judged where that is before the crossing.
func (l *Loop) crosses(c *loopCase, t *trial, a, b node, low, high float64, z *bend, depth int) float64 {
	side := 0 // that moved last
	for n := 0; b.w > a.w*(1+sharp); n++ {
		width := b.w - a.w
		aim := 0.3 * sharp * a.w
		if -low > high {
			aim = -aim
		}
		x := low/(low-high)*width - aim
		if n%4 == 3 || math.IsInf(high, 1) {
			x = 0.5 * width
		}
		var m node
		l.nodeAt(c, a.w+min(max(x, 0.01*width), 0.99*width), t, &m)
		if s := max(m.s[0], m.s[1]) - half; s >= 0 {
			if b, high = m, s; side > 0 {
				low *= 0.5
			}
			side = 1
			continue
		} else {
			if depth > 0 {
				if w, ok := l.reaches(c, t, &a, &m, z, depth-1); ok {
					return w
				}
			}
			if a, low = m, s; side < 0 {
				high *= 0.5
			}
			side = -1
		}
	}
	return b.w
}

// falls is the closed loop's −3 dB frequency in rad/s, and where it is least l.laggard; anything below least where it is known to be
// less. Unless exact, a case is followed no farther than to the least so far.
func (l *Loop) falls(t *trial, least float64, exact bool) float64 {
	lowest := math.Inf(1)
	for i := range l.poses {
		for axis := range l.axes {
			most := lowest
			if !exact {
				most *= 1 - sharp
			}
			if w := l.fall(&l.cases[i], t, axis, most, least, exact); w < lowest {
				if lowest, l.laggard = w, (laggard{i, axis}); lowest < least {
					return lowest
				}
			}
		}
	}
	return lowest
}

// laggard is an axis of a case.
type laggard struct{ number, axis int }

// fall is where the closed loop of an axis falls below −3 dB, rad/s; infinite where that is not up to most, anything below least
// where it is before. With exact it may lie beyond most, too, and does not depend on it.
func (l *Loop) fall(c *loopCase, t *trial, axis int, most, least float64, exact bool) float64 {
	r := c.r
	most /= c.scale
	var d difference
	for i := 0; i < r.n && (i == 0 || r.w[i-1] < most); i++ {
		l.at(c, i, t, &d)
		if dropped(l.gain(&d, axis)) >= 0 {
			continue
		}
		if i == 0 || r.w[i]*c.scale < least {
			return r.w[i] * c.scale
		}
		b := r.w[i]
		if b > most && !exact {
			b = most
			if l.anywhere(c, b, t, &d); dropped(l.gain(&d, axis)) >= 0 {
				break
			}
		}
		w, _ := l.locate(c, t, axis, r.w[i-1], b, dropped)
		return w * c.scale
	}
	return math.Inf(1)
}
