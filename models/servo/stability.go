package servo

import "math"

// loopCase is one plant that must hold: a pose of a plant, with its mode frequencies scaled.
//
// Scaling all mode frequencies by f turns P(s) into P(s/f)/f², so that the same
// evaluated points serve at frequencies f times higher.
type loopCase struct {
	set, pose int
	scale     float64
	r         *response
	through   []through // at the points of the grid
	done      []bool
	halves    []through // at the middle and the quarters of the intervals
	halved    []bool
	cos, sin  []float64 // of the delay at the points, see [Loop.delay]
	delayed   []bool    // of each eight points, whether they have them
	poles     [3]int    // at the origin, of 1 + L_x, 1 + L_y and det(I + L)
}

// trial is a crossover with the gains that go with it.
type trial struct {
	wc     float64 // rad/s
	per    float64 // 1/wc
	kx, ky float64 // N/m
}

// difference holds the return differences at one frequency: 1 + L_x, 1 + L_y with the
// other loop open, and det(I + L). With the other loop closed the return difference is
// det/(1 + L_other), since 1 + C_x (P_xx − C_y P_xy P_yx/(1 + C_y P_yy)) = det(I + C
// P)/(1 + C_y P_yy).
type difference struct {
	x, y, det complex128
	shape     float64    // |C/k|² without delay and notches
	across    [2]float64 // at least |P_xy|, |P_yx|, with the case's scale, m/N
	free      complex128 // all three are multiplied by it where actuators brake, else 1
}

// sensitivity returns |S|² of both axes; 0 of one that is not driven.
func (l *Loop) sensitivity(d *difference) (x, y float64) {
	if l.axes == 1 {
		return square(d.free) / square(d.x), 0
	}
	if l.s.OtherAxisOpen {
		free := square(d.free)
		return free / square(d.x), free / square(d.y)
	}
	q := 1 / square(d.det)
	return square(d.y) * q, square(d.x) * q
}

// size is no less than |z|.
func size(z complex128) float64 { return math.Abs(real(z)) + math.Abs(imag(z)) }

func square(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }

// through is the plant with delay, notches and the scale of the frequencies, at one
// frequency of a case: what of the loop does not change with the crossover.
type through struct {
	xx, yy complex128 // P_xx, P_yy
	cross  complex128 // P_xy P_yx
	across [2]float64 // at least |P_xy|, |P_yx|
	free   complex128 // what the return differences are multiplied by, see freed
}

// at computes the return differences at point i.
func (l *Loop) at(c *loopCase, i int, t *trial, d *difference) {
	l.close(c.scale*c.r.w[i], l.seen(c, i), t, d)
}

// seen is the plant at point i.
func (l *Loop) seen(c *loopCase, i int) *through {
	if !c.done[i] {
		c.done[i] = true
		c.r.at(i)
		var a *plantValue
		if l.s.Sensor == SensorSplit {
			a = &c.r.a[i]
		}
		p := &c.r.p[i]
		if c.r.inEights() {
			v := c.r.plantColumns.read(i)
			p = &v
		}
		l.pass(c, c.r.w[i], p, a, &c.through[i])
	}
	return &c.through[i]
}

// anywhere computes the return differences at any frequency w of the unscaled grid.
func (l *Loop) anywhere(c *loopCase, w float64, t *trial, d *difference) {
	var p, a plantValue
	c.r.value(w, &p, &a)
	var g through
	l.pass(c, w, &p, &a, &g)
	l.close(c.scale*w, &g, t, d)
}

func (l *Loop) pass(c *loopCase, w float64, p, a *plantValue, g *through) {
	w *= c.scale
	if l.s.Sensor == SensorSplit {
		v := p.joined(a, l.lowPart(w))
		p = &v
	}
	f := 1 / (c.scale * c.scale)
	lag := l.s.lag(w)
	lag = complex(real(lag)*f, imag(lag)*f)
	g.xx, g.yy, g.cross = lag*p[0], lag*p[3], lag*lag*(p[1]*p[2])
	g.across[0], g.across[1] = f*size(p[1]), f*size(p[2])
	g.free = c.r.freed(w / c.scale)
}

func (l *Loop) close(w float64, g *through, t *trial, d *difference) {
	q := l.corners.shape(w, t.wc, t.per)
	x, y := q*g.xx, q*g.yy
	x, y = complex(1+real(x)*t.kx, imag(x)*t.kx), complex(1+real(y)*t.ky, imag(y)*t.ky)
	cross := q * q * g.cross
	both := t.kx * t.ky
	d.x, d.y = x, y
	d.det = x*y - complex(both*real(cross), both*imag(cross))
	d.shape, d.across, d.free = square(q), g.across, g.free
	if l.s.ActuatorDamping > 0 {
		d.x, d.y, d.det = d.x*g.free, d.y*g.free, d.det*g.free
	}
}

// lowPart is the first-order low-pass 1/(1 + jw/ω_s) that the stage's signal passes in
// [SensorSplit].
func (l *Loop) lowPart(w float64) complex128 {
	x := w / (2 * math.Pi * l.s.SplitFrequency)
	q := 1 / (1 + x*x)
	return complex(q, -x*q)
}

// joined is what is read of a stage p and an arm a where the stage's signal passes a low-pass.
func (p *plantValue) joined(a *plantValue, low complex128) (v plantValue) {
	for i := range v {
		v[i] = a[i] + low*(p[i]-a[i])
	}
	return v
}

// winding counts how often a curve crosses the negative real axis counter-clockwise.
type winding struct {
	from      float64 // where it starts, rad
	last      complex128
	crossings int
}

func (c *winding) start(z complex128) { *c = winding{from: math.Atan2(imag(z), real(z)), last: z} }

// resume starts a curve that has come from one angle to another, as is known to within 180°, and thus to z.
func (c *winding) resume(from, to float64, z complex128) {
	*c = winding{from: from, last: z, crossings: int(math.Round((to - math.Atan2(imag(z), real(z))) / (2 * math.Pi)))}
}

func (c *winding) step(z complex128) {
	was, is := imag(c.last) >= 0, imag(z) >= 0
	// where the chord meets the real axis: the sign of its real part there
	if was != is && (real(c.last)*imag(z)-imag(c.last)*real(z) < 0) == (imag(z) > imag(c.last)) {
		if was {
			c.crossings++
		} else {
			c.crossings--
		}
	}
	c.last = z
}

// rest follows the curve on to z without a crossing.
func (c *winding) rest(z complex128) { c.last = z }

// unstable returns the number of closed-loop poles in the right half plane, of a
// return difference F = 1 + L that starts just above zero frequency with poles of L at the
// origin and ends where L is less than 1. Open loop otherwise stable, F turns by
//
//	(poles/2 − unstable) π
//
// from 0+ to infinity: argument principle, the indentation around the origin left out.
func (c *winding) unstable(poles int) int {
	return int(math.Round(0.5*float64(poles) + c.from/math.Pi - 2*float64(c.crossings)))
}

// join adds the crossings of another part of the curve, where it starts.
func (c *winding) join(start *winding) {
	c.from = start.from
	c.crossings += start.crossings
}

// turns follows the three return differences of a case.
type turns struct{ x, y, det winding }

func (t *turns) start(d *difference) {
	t.x.start(d.x)
	t.y.start(d.y)
	t.det.start(d.det)
}

func (t *turns) rest(d *difference) {
	t.x.rest(d.x)
	t.y.rest(d.y)
	t.det.rest(d.det)
}

func (t *turns) step(d *difference) {
	t.x.step(d.x)
	t.y.step(d.y)
	t.det.step(d.det)
}

func (t *turns) join(start *turns) {
	t.x.join(&start.x)
	t.y.join(&start.y)
	t.det.join(&start.det)
}
