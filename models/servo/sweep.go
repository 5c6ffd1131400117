package servo

import "math"

// finding is what a look at one case found.
type finding struct {
	reason Reason
	axis   int        // 0 x, 1 y
	index  int        // grid point at or after it; −1 when it belongs to no frequency
	w      float64    // rad/s
	peak   float64    // largest |S|² met
	least  [2]float64 // |1 + L| of each axis alone is nowhere less
	limit2 float64    // square of the limit on |S|
	whole  bool       // go on after a violation
	spent  int        // halvings
}

// node is the loop at one frequency.
type node struct {
	w float64 // of the unscaled grid, rad/s
	difference
	s [2]float64 // |S|² of both axes; 0 of one that is not driven
}

func (l *Loop) node(c *loopCase, i int, t *trial, n *node) {
	n.w = c.r.w[i]
	l.at(c, i, t, &n.difference)
	n.s[0], n.s[1] = l.sensitivity(&n.difference)
}

// kept is how many points between two of the grid are computed once: the middle, 1, and the quarters, 2 and 3, whose halves
// would be 4 to 7.
const kept = 3

// nodeBetween is nodeAt in the middle of a and b, part of the interval that ends at point i: the
// whole where part is 1, the halves of part n where it is 2n and 2n + 1.
func (l *Loop) nodeBetween(c *loopCase, i, part int, a, b *node, t *trial, n *node) {
	w := math.Sqrt(a.w * b.w)
	if part > kept {
		l.nodeAt(c, w, t, n)
		return
	}
	k := kept*i + part - 1
	g := &c.halves[k]
	if !c.halved[k] {
		c.halved[k] = true
		p, arm := c.r.half(k, w)
		l.pass(c, w, p, arm, g)
	}
	n.w = w
	l.close(c.scale*w, g, t, &n.difference)
	n.s[0], n.s[1] = l.sensitivity(&n.difference)
}

// nodeAt is node at any frequency w of the unscaled grid.
func (l *Loop) nodeAt(c *loopCase, w float64, t *trial, n *node) {
	n.w = w
	l.anywhere(c, w, t, &n.difference)
	n.s[0], n.s[1] = l.sensitivity(&n.difference)
}

// note records a value of |S|² and reports whether the look may end.
func (f *finding) note(s float64, axis int, w float64, index int) (end bool) {
	if math.IsNaN(s) {
		s = math.Inf(1)
	}
	if s > f.peak {
		f.peak = s
		if s > f.limit2 {
			f.reason, f.axis, f.w, f.index = Sensitivity, axis, w, index
		}
	}
	return s > f.limit2 && !f.whole
}

func (f *finding) noteNode(n *node, scale float64, index int) (end bool) {
	if n.s[0] > n.s[1] || math.IsNaN(n.s[0]) {
		return f.note(n.s[0], 0, n.w*scale, index)
	}
	return f.note(n.s[1], 1, n.w*scale, index)
}

// sweep runs through a case from low to high frequency, to the first sensitivity that
// exceeds the limit. With f.whole it goes on, so that instability is told from sensitivity.
func (l *Loop) sweep(c *loopCase, t *trial, f *finding) {
	f.index = -1
	f.least = [2]float64{1 / l.s.SensitivityLimit, 1 / l.s.SensitivityLimit} // beyond the last point
	last := l.negligibleFrom(c, t)
	var turn turns
	var nodes [2]node
	old, n := &nodes[0], &nodes[1]
	l.node(c, 0, t, old)
	turn.start(&old.difference)
	if f.noteNode(old, c.scale, 0) {
		return
	}
	for i := 1; i <= last; i++ {
		l.node(c, i, t, n)
		if f.noteNode(n, c.scale, i) || l.between(c, t, old, n, i, &turn, f) {
			return
		}
		old, n = n, old
	}
	if last == c.r.n-1 && l.beyond(c, t, old, &turn, f) {
		return
	}
	l.unstable(c, &turn, f)
}

// unstable notes whether a case is unstable, having turned so.
func (l *Loop) unstable(c *loopCase, turn *turns, f *finding) bool {
	switch {
	case turn.x.unstable(c.poles[0]) != 0:
		f.reason, f.axis = UnstableAlone, 0
	case l.axes == 1:
		return false
	case turn.y.unstable(c.poles[1]) != 0:
		f.reason, f.axis = UnstableAlone, 1
	case !l.s.OtherAxisOpen && turn.det.unstable(c.poles[2]) != 0:
		f.reason = UnstableCoupled
	default:
		return false
	}
	return true
}

// beyond follows the loop from the end of the grid, where the gain is normally far
// below 1, until it is.
func (l *Loop) beyond(c *loopCase, t *trial, old *node, turn *turns, f *finding) (end bool) {
	for n := 0; n < 100 && max(square(old.x-1), square(old.y-1), square(old.det-1)) > 0.1; n++ {
		var next node
		l.nodeAt(c, old.w*fine, t, &next)
		var z *bend
		if c.r.bounded() {
			z = new(bend)
			if c.r.brake > 0 {
				z.braked = new(brakedBend)
			}
			c.r.bend(old.w, next.w, z)
		}
		if f.noteNode(&next, c.scale, c.r.n-1) || l.within(c, t, old, &next, c.r.n-1, kept+1, z, turn, f, deepest) {
			return true
		}
		*old = next
	}
	return false
}

const (
	deepest = 40 // halvings of an interval of the grid; a curve that turns faster passes through the origin
	// mostHalvings of one look; a few tens are usual. A response that is no number never settles.
	mostHalvings = 20_000
	bulge        = 0.16 // height of an arc over its chord, of the chord, for the 70° between points on a resonance's circle
	short        = 0.05 // chord, of its distance from the origin, that stands for the arc
)

// between follows the loop from point i − 1 to i, a to b, and reports whether the look
// may end.
func (l *Loop) between(c *loopCase, t *trial, a, b *node, i int, turn *turns, f *finding) (end bool) {
	if !c.r.bounded() || b.w <= c.r.low {
		return l.within(c, t, a, b, i, 1, nil, turn, f, deepest)
	}
	if c.r.brake > 0 {
		return l.within(c, t, a, b, i, 1, c.r.upTo(i), turn, f, deepest)
	}
	most := negligible(f.limit2)
	if c.r.row(i) <= l.affordable(c, t, a, b, most) {
		f.least[0], f.least[1] = min(f.least[0], 1-most), min(f.least[1], 1-most)
		turn.rest(&b.difference)
		return false
	}
	return l.within(c, t, a, b, i, 1, c.r.upTo(i), turn, f, deepest)
}

// within follows an interval, or a part of it (see nodeBetween), halving it until it is known what |S| does in it and how the return
// differences turn ([Loop.judge]; far below all resonances, and with the actuators' damping, [Loop.smooth]).
func (l *Loop) within(c *loopCase, t *trial, a, b *node, i, part int, z *bend, turn *turns, f *finding, depth int) (end bool) {
	v, peak, axis := l.verdict(c, t, a, b, z, f)
	if v != unsettled {
		turn.step(&b.difference)
		return v == exceeds && f.note(peak, axis, b.w*c.scale, i)
	}
	if f.spent++; depth == 0 || f.spent > mostHalvings {
		turn.step(&b.difference)
		return f.note(math.Inf(1), 0, b.w*c.scale, i)
	}
	var m node
	l.nodeBetween(c, i, part, a, b, t, &m)
	if f.noteNode(&m, c.scale, i) {
		return true
	}
	// the bounds of the whole hold for its parts
	left, right := z, z
	own := z != nil && depth%4 == 3
	if own && z.braked == nil && depth == deepest-1 && part <= kept { // of a quarter
		q := c.r.quarters(i)
		left, right, own = &q[2*part-4], &q[2*part-3], false
	} else if own {
		left = c.r.bends.part(depth / 4)
		right = left
		c.r.bend(a.w, m.w, left)
	}
	if l.within(c, t, a, &m, i, 2*part, left, turn, f, depth-1) {
		return true
	}
	if own {
		c.r.bend(m.w, b.w, right)
	}
	return l.within(c, t, &m, b, i, 2*part+1, right, turn, f, depth-1)
}

// verdict judges an interval by what bounds it.
func (l *Loop) verdict(c *loopCase, t *trial, a, b *node, z *bend, f *finding) (v verdict, peak float64, axis int) {
	switch {
	case z == nil:
		return l.smooth(a, b, f)
	case z.braked != nil:
		return l.judgeBraked(c, t, a, b, z.braked, f)
	}
	d := l.deviates(c, t, a, b, z)
	return l.judge(a, b, &d, f)
}

// smooth is the verdict where nothing but the integrator acts, and where the actuators brake a stage without suspension: what lies between two points
// is taken as at most one arc of 70°. Every return difference must turn by less than
// 90°, and its chord either stay clear of the circle of radius 1/limit around the origin or be short.
func (l *Loop) smooth(a, b *node, f *finding) (v verdict, peak float64, axis int) {
	if dot(a.x, b.x) <= 0 || dot(a.y, b.y) <= 0 || dot(a.det, b.det) <= 0 {
		return unsettled, 0, 0
	}
	if square(b.free-a.free) > 0.1*min(square(a.free), square(b.free)) { // braked far beyond critical, it turns already
		return unsettled, 0, 0
	}
	v = within
	f.least[0] = min(f.least[0], 0.5*math.Sqrt(min(square(a.x), square(b.x)))) // the points are all that is known
	f.least[1] = min(f.least[1], 0.5*math.Sqrt(min(square(a.y), square(b.y))))
	for i := range l.axes {
		fine, closest := l.chord(a, b, i, f.limit2)
		if !fine {
			return unsettled, 0, 0
		}
		if closest > peak {
			v, peak, axis = exceeds, closest, i
		}
	}
	return v, peak, axis
}

// chord judges the curve of one axis's return difference between two points. fine is
// false when the interval must be halved. closest is |S|² at the foot of the
// perpendicular from the origin, when the chord is short and has one between its ends,
// else 0.
func (l *Loop) chord(a, b *node, axis int, limit2 float64) (fine bool, closest float64) {
	if m := max(a.s[axis], b.s[axis]); m < 0.02*limit2 {
		return true, 0 // seven times as far off as the limit
	}
	fa, fb := l.returnDifference(&a.difference, axis), l.returnDifference(&b.difference, axis)
	dot := real(fa)*real(fb) + imag(fa)*imag(fb)
	if dot <= 0 {
		return false, 0
	}
	c2 := square(fb - fa)
	inside := dot < square(fa) && dot < square(fb)
	d2 := min(square(fa), square(fb)) // of the chord from the origin
	if inside {
		cross := real(fa)*imag(fb) - imag(fa)*real(fb)
		d2 = cross * cross / c2
	}
	if c2 <= short*short*d2 {
		if inside {
			closest = 1 / d2
		}
		return true, closest
	}
	clear := math.Sqrt(d2) - bulge*math.Sqrt(c2)
	return within > 0 && clear*clear*limit2 > 1, 0
}

// returnDifference is 1 + L of one axis with the other loop closed.
func (l *Loop) returnDifference(d *difference, axis int) complex128 {
	own, other := d.x, d.y
	if axis == 1 {
		own, other = d.y, d.x
	}
	if l.s.OtherAxisOpen {
		if d.free == 1 {
			return own
		}
		return own / d.free
	}
	q := 1 / square(other)
	z := d.det * complex(real(other), -imag(other))
	return complex(real(z)*q, imag(z)*q)
}

const reach = 4 // points on either side

// look searches for a sensitivity above the limit outward from a point, through the
// nearest points and what lies between them.
func (l *Loop) look(c *loopCase, t *trial, centre int, f *finding) {
	f.index = -1
	var near [2*reach + 1]node
	first, last := max(centre-reach, 0), min(centre+reach, c.r.n-1)
	for step := 0; step <= reach; step++ { // most looks end in the middle
		for _, i := range [2]int{centre - step, centre + step} {
			if i < first || i > last || step == 0 && i != centre {
				continue
			}
			l.node(c, i, t, &near[i-first])
			if f.noteNode(&near[i-first], c.scale, i) {
				return
			}
		}
	}
	var turn turns // so that intervals are halved as in a sweep, and give the same values
	turn.rest(&near[0].difference)
	for step := range reach {
		for _, i := range [2]int{centre - step, centre + 1 + step} {
			if i > first && i <= last && l.between(c, t, &near[i-1-first], &near[i-first], i, &turn, f) {
				return
			}
		}
	}
}

// negligibleFrom returns the last point that has to be looked at: beyond it no row sum of the
// loop gain exceeds 1 − 1/limit, so that |S| ≤ limit and nothing is encircled any more
// (‖L‖ < 1 keeps the eigenvalues of I + L, and 1 + L_x, 1 + L_y, in the right half plane).
func (l *Loop) negligibleFrom(c *loopCase, t *trial) int {
	r := c.r
	gain := max(t.kx, t.ky) * l.gainMost / (c.scale * c.scale)
	most := 1 - 1/l.s.SensitivityLimit
	last := r.n - 1
	if r.brake > 0 {
		return last // the bound is that of the undamped modes
	}
	low, high := 0, r.clusters // of clusters, those from high on are known to be the last ones
	for low < high {
		j := (low + high) / 2
		if i := r.ends[j]; r.w[i]*c.scale >= t.wc && gain*r.onward(j) <= most {
			last, high = i, j
		} else {
			low = j + 1
		}
	}
	if last < r.n-1 {
		for l.silent(r, last/lanes, t, most) {
			last = last/lanes*lanes - 1
		}
	}
	return last
}
