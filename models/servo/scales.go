package servo

import (
	"math"

	"flexwright/models/elementary"
)

// The scales of a pose differ little, and only in the controller: in the unscaled grid's frequencies u their loops are
//
//	L_s(u) = (1 + ε_s(u)) L_m(u),   1 + ε_s(u) = (m/s)² C(su)/C(mu)
//
// with m the scale in the middle. Where |S| keeps within the limit for every |ε| ≤ e, no less than |ε_s|, it does so for all of them,
// and since no return difference passes zero on the way from m to s, all turn alike. Where that cannot be said, each scale is followed by
// itself: its curve is joined to that of m by what lies between them at the ends.

// spread is what the scales have in common.
type spread struct {
	middle int     // number of the scale in the middle
	least  int     // and of the smallest
	far    float64 // largest |ln s/m|
	most   float64 // largest s/m
	wide   float64 // largest s/m or m/s
}

func newSpread(scales []float64) (p spread) {
	p.far = math.Inf(1)
	for i, m := range scales {
		far, most := 0.0, 0.0
		for _, s := range scales {
			far, most = max(far, math.Abs(math.Log(s/m))), max(most, s/m)
		}
		if far < p.far {
			p.middle, p.far, p.most = i, far, most
		}
		if m < scales[p.least] {
			p.least = i
		}
	}
	p.wide = max(p.most, elementary.Exp(p.far))
	return p
}

// together reports whether the scales can be judged together: what the delay and the four corners do to the controller is
// known, a notch or the split sensor's low-pass, which do not move with the modes, are not.
func (l *Loop) together() bool {
	return len(l.s.Scales) > 1 && l.s.Sensor != SensorSplit && l.s.ActuatorDamping == 0 && len(l.s.Notches) == 0
}

// middle is the number of the case with the scale in the middle.
func (l *Loop) middle(c *loopCase) int {
	return (c.set*len(l.s.Scales)+l.spread.middle)*l.poses + c.pose
}

// shifts bounds |ln (1 + ε_s)| at w, rad/s, for every scale. With g = d ln C/d ln w it is |g − 2| |ln s/m| to first order; a corner adds at most ½ to
// |dg/d ln w|, the delay wτ.
func (l *Loop) shifts(w float64, t *trial) float64 {
	c := &l.corners
	x := w * t.per
	bx, ax := c.b*x, c.a*t.wc/w
	ni, nd := bx-ax, bx+ax // N = real + j ni, dN/d ln w = j nd
	dr, di := 1-x*x*c.cd, x*c.sum
	dd := -2 * x * x * c.cd // dD/d ln w = dd + j di
	n2, d2 := c.real*c.real+ni*ni, dr*dr+di*di
	q := 1 / (n2 * d2)
	re := (nd*ni*d2-(dd*dr+di*di)*n2)*q - 2
	im := (nd*c.real*d2-(di*dr-dd*di)*n2)*q - w*l.s.Delay
	return l.spread.far * (math.Sqrt(re*re+im*im) + 0.5*l.spread.far*l.bows(w))
}

// bows bounds |dg/d ln w| at every scale's frequency where that of m is w.
func (l *Loop) bows(w float64) float64 { return 2 + w*l.s.Delay*l.spread.most }

// deviation is the e of an interval from a to b, w rad/s at its upper end, whose ends have the shifts given; infinite where that is too much.
func (l *Loop) deviation(a, b *node, w, shiftA, shiftB float64) float64 {
	y := max(shiftA, shiftB) + 0.5*(b.w-a.w)/a.w*l.spread.far*l.bows(w)
	return grown(y)
}

// grown is no less than eʸ − 1, by 0.2 % at ½; infinite beyond ½, where scales are not alike enough to be judged together.
func grown(y float64) float64 {
	if y > 0.5 {
		return math.Inf(1)
	}
	return y * (1 + 0.6*y)
}

// widen adds to an arc what |ε| ≤ e may do: 1 + L_x becomes 1 + L_x + ε L_x, det(I + L) becomes
//
//	det + ε (2 det − 2 − L_x − L_y) + ε² det L.
func (d *arc) widen(a, b *node, e float64) {
	d.spreadX = e * (math.Sqrt(max(square(a.x-1), square(b.x-1))) + d.x)
	d.spreadY = e * (math.Sqrt(max(square(a.y-1), square(b.y-1))) + d.y)
	once := max(square(2*a.det-a.x-a.y), square(2*b.det-b.x-b.y))
	twice := max(square(a.det-a.x-a.y+1), square(b.det-b.x-b.y+1))
	of := d.det - d.x - d.y // det L
	d.det += e*(math.Sqrt(once)+d.x+d.y+2*of) + e*e*(math.Sqrt(twice)+of)
	d.x += d.spreadX
	d.y += d.spreadY
	d.coupling *= (1 + e) * (1 + e)
}

// scaleTurns are the turns of each scale.
type scaleTurns [maxScales]turns

// sweepScales runs through a pose of a set as sweep does, through all scales at once where it can. number is the case that fails.
func (l *Loop) sweepScales(set, pose int, t *trial, f *finding) (number int) {
	scales := len(l.s.Scales)
	first := set*scales*l.poses + pose // of the pose's cases, l.poses apart
	c := &l.cases[first+l.spread.middle*l.poses]
	r := c.r
	f.index = -1
	f.least = [2]float64{1 / l.s.SensitivityLimit, 1 / l.s.SensitivityLimit}
	last := l.negligibleFrom(&l.cases[first+l.spread.least*l.poses], t)
	var common turns     // of the middle scale, but for the intervals in which each goes by itself
	var apart scaleTurns // of those
	var a, b node
	end, least := l.suspended(r, t, f.limit2)
	if end >= last {
		end = 0
	}
	if l.node(c, end, t, &a); end > 0 {
		l.resume(c, t, &a.difference, a.w, &common)
		f.least[0], f.least[1] = min(f.least[0], least), min(f.least[1], least)
	} else {
		common.start(&a.difference)
	}
	l.begin(c, t, f.limit2)
	most := negligible(f.limit2)
	for block := (end + 1) / lanes; block*lanes <= last; block++ {
		from := max(block*lanes, end+1)
		for block*lanes <= last && !l.silent(r, block, t, most) {
			block++
		}
		to := min(block*lanes-1, last)
		if l.alike(c, t, from, to, &common, f) {
			return first + l.spread.middle*l.poses
		}
		if len(l.columns.quarters.spots) > 0 {
			for n := range scales {
				if number = first + n*l.poses; l.alone(&l.cases[number], t, &apart[n], f) {
					return number
				}
			}
			l.begin(c, t, f.limit2)
		}
		for i := from; i <= to; i++ {
			if l.columns.verdict[i] != 2 {
				continue
			}
			l.node(c, i-1, t, &a)
			l.node(c, i, t, &b)
			for n := range scales {
				number = first + n*l.poses
				turn := &apart[n]
				turn.rest(&a.difference)
				if l.apart(&l.cases[number], t, i, turn, f) {
					return number
				}
				turn.step(&b.difference)
			}
		}
	}
	if last == r.n-1 {
		l.node(c, last, t, &a)
	}
	for n := range scales {
		number = first + n*l.poses
		own, turn := &l.cases[number], &apart[n]
		if last == r.n-1 {
			turn.rest(&a.difference)
			var end node
			l.node(own, last, t, &end)
			turn.step(&end.difference)
			if l.beyond(own, t, &end, turn, f) {
				return number
			}
		}
		turn.join(&common)
		if l.unstable(own, turn, f) {
			return number
		}
	}
	return number
}

// silent reports whether no row sum |L_i1| + |L_i2| of any scale is more than a number in a block of intervals above the crossover. Of
//
//	|C|² = (1 + a²/x²) (1 + b²x²)/(1 + c²x²) / (1 + d²x²),   x = w/ωc
//
// the first factor and the last fall from where x is least, the one between grows or falls throughout.
func (l *Loop) silent(r *response, block int, t *trial, most float64) bool {
	least, c := l.s.Scales[l.spread.least], &l.corners
	x, y := least*r.w[max(lanes*block-1, 0)]*t.per, l.s.Scales[l.spread.middle]*l.spread.most*r.w[min(lanes*(block+1), r.n)-1]*t.per
	if x < 1 {
		return false
	}
	if c.b < c.c {
		y = x
	}
	ax, by, cy, dx := c.a/x, c.b*y, c.c*y, c.d*x
	gain := max(t.kx, t.ky) * r.rowsIn(block) / (least * least)
	return gain*gain*(1+ax*ax)*(1+by*by) <= most*most*(1+cy*cy)*(1+dx*dx)
}

// apart follows one scale from point i − 1 to i.
func (l *Loop) apart(c *loopCase, t *trial, i int, turn *turns, f *finding) (end bool) {
	var a, b node
	l.node(c, i-1, t, &a)
	turn.step(&a.difference)
	if f.noteNode(&a, c.scale, i-1) {
		return true
	}
	l.node(c, i, t, &b)
	return f.noteNode(&b, c.scale, i) || l.between(c, t, &a, &b, i, turn, f)
}

// alikeBelow is alikeOne where only the integrator acts, for what [Loop.smooth] is sure of.
func (l *Loop) alikeBelow(a, b *node, shift float64, turn *turns, f *finding) bool {
	e := grown(shift)
	if math.IsInf(e, 1) {
		return false
	}
	grows := max(l.grows(a, e), l.grows(b, e))
	if math.IsInf(grows, 1) {
		return false
	}
	g := finding{limit2: f.limit2 / (grows * grows), least: [2]float64{1, 1}}
	if v, _, _ := l.smooth(a, b, &g); v != within {
		return false
	}
	f.least[0], f.least[1] = min(f.least[0], 0.5*g.least[0]), min(f.least[1], 0.5*g.least[1])
	turn.step(&b.difference)
	return true
}

// grows bounds by what factor |S| of any axis grows at a node with an |ε| ≤ e (see [arc.widen]); infinite where a return difference may lose more
// than half, on the way to passing zero.
func (l *Loop) grows(n *node, e float64) float64 {
	left := func(of, change float64) float64 { // of a return difference
		if !(2*change <= of) {
			return 0
		}
		return 1 - change/of
	}
	x, y := math.Sqrt(square(n.x)), math.Sqrt(square(n.y))
	dx, dy := e*math.Sqrt(square(n.x-1)), e*math.Sqrt(square(n.y-1))
	alone := min(left(x, dx), left(y, dy))
	if alone == 0 || l.axes == 1 || l.s.OtherAxisOpen {
		return 1 / alone
	}
	change := e*math.Sqrt(square(2*n.det-n.x-n.y)) + e*e*math.Sqrt(square(n.det-n.x-n.y+1))
	return (1 + max(dx/x, dy/y)) / left(math.Sqrt(square(n.det)), change)
}

// alike follows all scales through the intervals that end at points from one to another, at once if that can be: where not, their verdict is 2. It reports whether
// the look may end, by what the scale in the middle does.
func (l *Loop) alike(c *loopCase, t *trial, from, to int, turn *turns, f *finding) (end bool) {
	q := &l.columns.quarters
	if q.spots = q.spots[:0]; to < from {
		return false
	}
	if l.inColumns() {
		return l.alikeFrom(from, to, turn, f)
	}
	var nodes [2]node
	a, b := &nodes[0], &nodes[1]
	l.node(c, from-1, t, a)
	shiftA := l.shifts(c.scale*a.w, t)
	for i := from; i <= to; i++ {
		l.node(c, i, t, b)
		shiftB := l.shifts(c.scale*b.w, t)
		was := *turn
		turn.rest(&a.difference)
		if l.columns.verdict[i] = 0; !l.alikeOne(c, t, a, b, i, shiftA, shiftB, turn, f) {
			l.columns.verdict[i] = 2
			*turn = was
		}
		a, b, shiftA = b, a, shiftB
	}
	return false
}

// alikeOne follows all scales from point i − 1 to i, with the shifts there, at once, if that can be.
func (l *Loop) alikeOne(c *loopCase, t *trial, a, b *node, i int, shiftA, shiftB float64, turn *turns, f *finding) bool {
	if b.w <= c.r.low {
		return l.alikeBelow(a, b, max(shiftA, shiftB), turn, f)
	}
	e := l.deviation(a, b, c.scale*b.w, shiftA, shiftB)
	if math.IsInf(e, 1) {
		return false
	}
	if most := negligible(f.limit2); most > 0 {
		if c.r.row(i) <= l.affordable(c, t, a, b, most/(1+e)) {
			f.least[0], f.least[1] = min(f.least[0], 1-most), min(f.least[1], 1-most)
			turn.rest(&b.difference)
			return true
		}
	}
	return l.alikeIn(c, t, a, b, i, 1, e, c.r.upTo(i), turn, f)
}

// alikeIn is alikeOne in a part of the interval (see nodeBetween).
func (l *Loop) alikeIn(c *loopCase, t *trial, a, b *node, i, part int, e float64, z *bend, turn *turns, f *finding) bool {
	d := l.deviates(c, t, a, b, z)
	d.widen(a, b, e)
	switch v, _, _ := l.judge(a, b, &d, f); {
	case v == within:
		turn.step(&b.difference)
		return true
	case part > kept:
		return false
	}
	var m node
	l.nodeBetween(c, i, part, a, b, t, &m)
	return l.alikeIn(c, t, a, &m, i, 2*part, e, z, turn, f) && l.alikeIn(c, t, &m, b, i, 2*part+1, e, z, turn, f)
}
