package main

import (
	"math"
	"strings"
)

func init() {
	sets["judge"] = func() {
		delays()
		differ()
		sensitivities()
		rowSums()
		bound()
		settles("settle", false)
		settles("settleScales", true)
		settleBelow()
	}
}

// plantColumns, nodeColumns and bendColumns are in the order in which models/servo keeps them.
var (
	plantColumns = []string{"xxRe", "xyRe", "yxRe", "yyRe", "xxIm", "xyIm", "yxIm", "yyIm"}
	nodeColumns  = []string{"slope", "bow", "size", "xRe", "xIm", "yRe", "yIm", "detRe", "detIm", "shift"}
	weightNames  = []string{"X", "Y", "XY", "YX"}
)

func bendColumns() (names []string) {
	for _, kind := range []string{"value", "slope", "bend"} {
		for _, w := range append(weightNames, "Det") {
			names = append(names, kind+w)
		}
	}
	return append(names, "row")
}

// order gives columns numbers in that order, whenever they are read or written.
func order(k *Kernel, names ...string) {
	for _, name := range names {
		k.In(name)
	}
}

// round is the nearest whole number of numbers up to 2⁵¹.
func round(v Value) Value {
	const whole = 3 << 51
	return v.Plus(whole).Minus(whole)
}

// delays is the cosine and the sine of w times a time: of the angle less a multiple of π/2, which is taken away in three parts.
func delays() {
	k := NewKernel("delays", "delays writes the cosine and the sine of w times a time.")
	angle := k.In("w").Mul(k.Scalar("time"))
	n := round(angle.Times(2 / math.Pi))
	x := angle.Sub(n.Times(0x1.921fb544p0)).Sub(n.Times(0x1.0b4611a6p-34)).Sub(n.Times(0x1.3198a2e037073p-69))
	sin, versine := sine(x)
	cos := k.Const(1).Sub(versine)
	turn := n.Sub(round(n.Times(0.25)).Times(4)) // −2 to 2 quarters
	half := k.Const(1.5).Less(turn.Abs())
	odd := k.Const(0.5).Less(turn.Abs()).And(half.Not())
	c, s := Select(odd, sin, cos), Select(odd, cos, sin)
	k.Out("cos", Select(half.Or(k.Const(0.5).Less(turn)), c.Neg(), c))
	k.Out("sin", Select(half.Or(turn.Less(k.Const(-0.5))), s.Neg(), s))
}

// differ is the loop at the points of a grid.
func differ() {
	k := NewKernel("differ", `differ writes the return differences x, y and det of [difference], |C| without gain, g = |d ln C/d ln w|, a bound of
|dg/d ln w| up to the scale farthest off, and what the scales differ by ([Loop.shifts]), at points with the plant xx, xy, yx, yy and the cosine and sine of the delay.`)
	order(k, "w", "cos", "sin")
	order(k, plantColumns...)
	order(k, nodeColumns...)
	u := k.Scalar("scale").Mul(k.In("w"))
	a, b, first, cd, sum := k.Scalar("a"), k.Scalar("b"), k.Scalar("first"), k.Scalar("cd"), k.Scalar("sum")
	one := k.Const(1)
	x := u.Mul(k.Scalar("per"))
	ax, bx := a.Div(x), b.Mul(x)
	// a corner adds y/(1 + y²), y its frequency over w or the other way round
	half := k.Const(0.5)
	bow := ax.Min(half).Add(bx.Min(half)).Add(x.Mul(k.Scalar("c")).Min(half)).Add(x.Mul(k.Scalar("d")).Min(half))
	bow = bow.Mul(k.Scalar("wide")).Add(u.Mul(k.Scalar("longest")))
	k.Out("bow", bow)
	ni, nd := bx.Sub(ax), bx.Add(ax)
	x2 := x.Square().Mul(cd)
	dr, di := one.Sub(x2), x.Mul(sum)
	n2, d2 := first.Square().Add(ni.Square()), dr.Square().Add(di.Square())
	over := one.Div(n2.Mul(d2))
	q := n2.Mul(over) // 1/d2
	c := Complex{first.Mul(dr).Add(ni.Mul(di)).Mul(q), ni.Mul(dr).Sub(first.Mul(di)).Mul(q)}
	k.Out("size", n2.Mul(q).Sqrt())

	f := k.Scalar("f")
	lag := Complex{f.Mul(k.In("cos")), f.Mul(k.In("sin")).Neg()}
	c = c.Mul(lag)
	xx, xy, yx, yy := k.InComplex("xx"), k.InComplex("xy"), k.InComplex("yx"), k.InComplex("yy")
	kx, ky := k.Scalar("kx"), k.Scalar("ky")
	lx, ly := c.Mul(xx).Scale(kx), c.Mul(yy).Scale(ky)
	lx.Re, ly.Re = one.Add(lx.Re), one.Add(ly.Re)
	k.OutComplex("x", lx)
	k.OutComplex("y", ly)
	k.OutComplex("det", lx.Mul(ly).Sub(c.Mul(c).Scale(kx.Mul(ky)).Mul(xy.Mul(yx))))

	dd := x2.Times(-2)
	g := Complex{
		nd.Mul(ni).Mul(d2).Sub(dd.Mul(dr).Add(di.Square()).Mul(n2)).Mul(over),
		nd.Mul(first).Mul(d2).Sub(di.Mul(dr).Sub(dd.Mul(di)).Mul(n2)).Mul(over).Sub(u.Mul(k.Scalar("delay"))),
	}
	k.Out("slope", g.Square().Sqrt())
	g.Re = g.Re.Minus(2)
	far := k.Scalar("far")
	k.Out("shift", far.Mul(g.Square().Sqrt().Add(far.Times(0.5).Mul(bow))))
}

func sensitivities() {
	k := NewKernel("sensitivities", "sensitivities writes |S|² of the axis where it is larger, the other axis's loop closed.")
	order(k, nodeColumns...)
	q := k.Const(1).Div(k.InComplex("det").Square())
	k.Out("s", k.InComplex("x").Square().Max(k.InComplex("y").Square()).Mul(q))
}

func rowSums() {
	k := NewKernel("rowSums", "rowSums writes the larger row sum of magnitudes of the plant.")
	order(k, plantColumns...)
	size := func(name string) Value { return k.InComplex(name).Square().Sqrt() }
	k.Out("row", size("xx").Add(size("xy")).Max(size("yx").Add(size("yy"))))
}

// bound joins what the modes do in an interval.
func bound() {
	k := NewKernel("bound", `bound writes what [bend] holds of intervals from a to b, of the modes' sums and, of the modes far below and far above, the sums of strengths,
before, and of strengths over ω², over, times what makes values, slopes and bends of them; and the largest row sum between the two points with those of aRow and bRow.`)
	order(k, "a", "b", "aRow", "bRow")
	for _, kind := range []string{"sumValue", "sumSlope", "sumBend"} {
		for _, w := range weightNames {
			order(k, kind+w)
		}
	}
	order(k, "ownValue", "ownSlope", "ownBend")
	order(k, bendColumns()...)
	for _, kind := range []string{"before", "over"} {
		for _, w := range weightNames {
			k.Scalar(kind + w)
		}
	}
	for _, side := range []string{"below", "above"} {
		for _, kind := range []string{"Value", "Slope", "Bend"} {
			k.Scalar(side + kind)
		}
	}
	a, b := k.In("a"), k.In("b")
	qa := k.Const(1).Div(a)
	qa2 := qa.Square()
	var v, d, q [4]Value
	for i, name := range weightNames {
		below, above := k.Scalar("before"+name).Mul(qa2), k.Scalar("over"+name)
		v[i] = below.Mul(k.Scalar("belowValue")).Add(above.Mul(k.Scalar("aboveValue"))).Add(k.In("sumValue" + name))
		below = below.Mul(qa)
		d[i] = below.Mul(k.Scalar("belowSlope")).Add(above.Mul(k.Scalar("aboveSlope"))).Add(k.In("sumSlope" + name))
		below = below.Mul(qa)
		q[i] = below.Mul(k.Scalar("belowBend")).Add(above.Mul(k.Scalar("aboveBend"))).Add(k.In("sumBend" + name))
		k.Out("value"+name, v[i])
		k.Out("slope"+name, d[i])
		k.Out("bend"+name, q[i])
	}
	zero := k.Const(0)
	k.Out("valueDet", v[0].Mul(v[1]).Sub(k.In("ownValue")).Max(zero))
	k.Out("slopeDet", v[0].Mul(d[1]).Add(d[0].Mul(v[1])).Sub(k.In("ownSlope").Times(2)).Max(zero))
	k.Out("bendDet", v[0].Mul(q[1]).Add(d[0].Mul(d[1])).Add(q[0].Mul(v[1])).Sub(k.In("ownBend")).Max(zero))
	h := b.Sub(a)
	// each row bends as the sums along x and y, whose weights are at least those of either row
	k.Out("row", k.In("aRow").Max(k.In("bRow")).Add(h.Square().Times(0.25).Mul(q[0].Add(q[1]))))
}

// orderOfInterval is what all that judge intervals have in common.
func orderOfInterval(k *Kernel) {
	for _, end := range []string{"a", "b"} {
		for _, column := range append([]string{"w", "XYRe", "YXRe", "XYIm", "YXIm"}, nodeColumns...) {
			order(k, end+strings.ToUpper(column[:1])+column[1:])
		}
	}
	order(k, bendColumns()...)
	order(k, "leastX", "leastY", "verdict")
	for _, name := range []string{"f", "far", "kx", "ky", "limit", "limit2", "negligible", "clear"} {
		k.Scalar(name)
	}
}

// settles judges what lies between two points.
func settles(name string, together bool) {
	doc := name + ` judges what lies between points a and b by the bounds of [Loop.deviates] and [Loop.judge]: verdict is 0 where |S| keeps within the limit and
every return difference turns as its chord, without crossing the real axis, 1 where it may cross that, 2 where all that is not known. leastX and leastY are how near 1 + L comes
to the origin at least. The bounds of the controller come from its slopes at the two points.`
	if together {
		doc += " All that is so for all scales (see [arc.widen])."
	}
	k := NewKernel(name, doc)
	orderOfInterval(k)
	one := k.Const(1)
	aw, bw := k.In("aW"), k.In("bW")
	h := bw.Sub(aw)
	rel := h.Div(aw)
	bows := k.In("aBow").Max(k.In("bBow")).Mul(one.Add(rel)) // each of its parts grows no faster than w, or falls
	change := rel.Times(0.5).Mul(bows)
	g := k.In("aSlope").Max(k.In("bSlope")).Add(change) // |d ln C/d ln w| at most
	turn := g.Mul(rel)
	x := turn.Times(0.5)
	known := x.LessEqual(one)
	size := k.In("aSize").Max(k.In("bSize")).Mul(one.Add(x).Add(x.Square())) // |C| at most
	f, kx, ky := k.Scalar("f"), k.Scalar("kx"), k.Scalar("ky")
	both := kx.Mul(ky)

	// h² times the second divided difference of C P, per |C|
	s0, s1, s2 := rel.Square(), h.Mul(turn), h.Square()
	second := g.Add(bows)
	half := g.Square().Add(second).Times(0.5).Mul(s0)
	bent := func(i string, value, slope Value) Value {
		return s2.Mul(k.In("bend" + i)).Add(slope.Mul(k.In("slope" + i))).Add(value.Mul(k.In("value" + i)))
	}
	shape := size.Mul(f).Times(0.25)
	dx, dy := shape.Mul(kx).Mul(bent("X", half, s1)), shape.Mul(ky).Mul(bent("Y", half, s1))
	across := func(i string) Value {
		of := func(end string) Value {
			c := k.InComplex(end + i)
			return c.Re.Abs().Add(c.Im.Abs())
		}
		return of("a").Max(of("b")).Mul(f).Mul(size).Add(shape.Mul(bent(i, half, s1)))
	}
	coupling := both.Mul(across("XY")).Mul(across("YX"))
	product := shape.Mul(size).Mul(f).Mul(both).Mul(bent("Det", g.Square().Times(2).Add(second).Mul(s0), s1.Times(2)))
	ddet := dx.Add(dy).Add(product)

	ax, bx, ay, by, ad, bd := k.InComplex("aX"), k.InComplex("bX"), k.InComplex("aY"), k.InComplex("bY"), k.InComplex("aDet"), k.InComplex("bDet")
	// det is the product of x and y, which leaves the chord by a quarter of that of both chords besides, but for the coupling
	modulus := func(a, b Complex) Value { return a.Square().Max(b.Square()).Sqrt() }
	steps := bx.Sub(ax).Square().Mul(by.Sub(ay).Square()).Sqrt().Times(0.25)
	ddet = ddet.Min(steps.Add(dx.Mul(modulus(ay, by))).Add(dy.Mul(modulus(ax, bx))).Add(dx.Mul(dy)).Add(coupling).Add(coupling))
	product = product.Min(ddet.Add(dx).Add(dy))
	row := k.In("row").Mul(kx.Max(ky)).Mul(f).Mul(size)
	ok := known
	spreadX, spreadY := k.Const(0), k.Const(0)
	if together {
		y := k.In("aShift").Max(k.In("bShift")).Add(change.Mul(k.Scalar("far")))
		ok = ok.And(y.LessEqual(k.Const(0.5)))
		e := y.Mul(one.Add(y.Times(0.6)))
		row = row.Mul(one.Add(e))
		less := func(z Complex) Value { return Complex{z.Re.Minus(1), z.Im}.Square() }
		spreadX = e.Mul(less(ax).Max(less(bx)).Sqrt().Add(dx))
		spreadY = e.Mul(less(ay).Max(less(by)).Sqrt().Add(dy))
		once := func(x, y, det Complex) Complex { return det.Add(det).Sub(x).Sub(y) }
		twice := func(x, y, det Complex) Value {
			z := det.Sub(x).Sub(y)
			return z.Re.Plus(1).Abs().Add(z.Im.Abs())
		}
		first := once(ax, ay, ad).Square().Max(once(bx, by, bd).Square()).Sqrt()
		other := twice(ax, ay, ad).Max(twice(bx, by, bd))
		more := e.Mul(first.Add(dx).Add(dy).Add(product).Add(product)).Add(e.Square().Mul(other.Add(product)))
		ddet = ddet.Add(more)
		dx, dy = dx.Add(spreadX), dy.Add(spreadY)
		coupling = coupling.Mul(one.Add(e).Square())
	}
	silent := known.And(row.LessEqual(k.Scalar("negligible")))

	// distance² of a chord from the origin, as a fraction
	distance := func(a, b Complex) (inside Mask, up, down, ends Value) {
		along := b.Sub(a)
		down = along.Square()
		foot := dot(a, along).Neg()
		inside = k.Const(0).Less(foot).And(foot.Less(down))
		return inside, a.Re.Mul(b.Im).Sub(a.Im.Mul(b.Re)).Square(), down, a.Square().Min(b.Square())
	}
	clearance := func(a, b Complex) Value {
		inside, up, down, ends := distance(a, b)
		return Select(inside, up.Div(down), ends).Sqrt()
	}
	leastX, leastY := clearance(ax, bx).Sub(dx), clearance(ay, by).Sub(dy)
	zero := k.Const(0)
	ok = ok.And(zero.Less(leastX)).And(zero.Less(leastY))
	limit, limit2 := k.Scalar("limit"), k.Scalar("limit2")

	// little coupling
	area := leastX.Mul(leastY)
	clear := area.Sub(coupling).Mul(limit)
	gentle := func(a, b Complex) Mask {
		d := dot(a, b)
		return zero.Less(d).And(a.Square().Mul(b.Square()).Less(d.Square().Times(4)))
	}
	little := coupling.Times(2).Less(area).And(leastX.LessEqual(clear)).And(leastY.LessEqual(clear)).And(gentle(ax, bx)).And(gentle(ay, by))
	if together {
		little = little.And(spreadX.Less(leastX)).And(spreadY.Less(leastY))
	}

	inside, up, down, ends := distance(ad, bd)
	turns := ddet.Square().Mul(Select(inside, down, one)).Less(Select(inside, up, ends))
	keeps := func(na, nb Complex, dn Value) Mask {
		m := limit.Mul(ddet).Add(dn)
		na2, nb2 := na.Square(), nb.Square()
		pa, pb := limit2.Mul(ad.Square()).Sub(na2), limit2.Mul(bd.Square()).Sub(nb2)
		curve := limit2.Mul(bd.Sub(ad).Square()).Sub(nb.Sub(na).Square())
		at := pa.Sub(pb).Add(curve).Times(0.5) // the least of the parabola is at that over curve
		n := na2.Max(nb2).Sqrt()
		need := m.Mul(n.Times(2).Add(m))
		need = Select(m.LessEqual(n.Times(1e-4)), zero, need)
		// curve × (the least of the parabola − need), where it lies between
		between := zero.Less(at).And(at.Less(curve))
		lies := Select(between, at.Square(), zero).LessEqual(Select(between, pa.Sub(need).Mul(curve), one))
		return lies.And(need.LessEqual(pa.Min(pb)))
	}
	keep := turns.And(keeps(ay, by, dy)).And(keeps(ax, bx, dx))
	ok = ok.And(little.Or(keep))

	crosses := crossing(ax, bx, ay, by, ad, bd)
	k.Out("leastX", Select(silent, k.Scalar("clear"), leastX))
	k.Out("leastY", Select(silent, k.Scalar("clear"), leastY))
	verdict := Select(ok, Select(crosses, one, zero), k.Const(2))
	k.Out("verdict", Select(silent, zero, verdict))
}

func dot(a, b Complex) Value { return a.Re.Mul(b.Re).Add(a.Im.Mul(b.Im)) }

// crossing reports whether one of three chords may cross the real axis.
func crossing(ax, bx, ay, by, ad, bd Complex) Mask {
	return ax.Im.Mul(bx.Im).Min(ay.Im.Mul(by.Im)).Min(ad.Im.Mul(bd.Im)).LessEqual(ax.Re.k.Const(0))
}

// settleBelow judges intervals in which nothing but the integrator acts.
func settleBelow() {
	k := NewKernel("settleBelow", `settleBelow judges what lies between points where only the integrator acts, for all scales, as [Loop.alikeBelow] does.`)
	orderOfInterval(k)
	zero, one := k.Const(0), k.Const(1)
	shift := k.In("aShift").Max(k.In("bShift"))
	e := shift.Mul(one.Add(shift.Times(0.6)))
	ax, bx, ay, by, ad, bd := k.InComplex("aX"), k.InComplex("bX"), k.InComplex("aY"), k.InComplex("bY"), k.InComplex("aDet"), k.InComplex("bDet")
	size := func(z Complex) Value { return z.Square().Sqrt() }
	less := func(z Complex) Value { return size(Complex{z.Re.Minus(1), z.Im}) }
	// left is what is left of a return difference, nothing where that may be less than half
	left := func(of, change Value) Value {
		return Select(change.Times(2).LessEqual(of), one.Sub(change.Div(of)), zero)
	}
	grows := func(x, y, det Complex) Value {
		sx, sy := size(x), size(y)
		dx, dy := e.Mul(less(x)), e.Mul(less(y))
		alone := left(sx, dx).Min(left(sy, dy))
		rest := det.Sub(x).Sub(y)
		change := e.Mul(size(det.Add(rest))).Add(e.Square().Mul(size(Complex{rest.Re.Plus(1), rest.Im})))
		both := left(size(det), change)
		grows := one.Add(dx.Div(sx).Max(dy.Div(sy))).Div(both)
		return Select(zero.Less(alone.Min(both)), grows, k.Const(1e300)) // then nothing keeps within a limit
	}
	grow := grows(ax, ay, ad).Max(grows(bx, by, bd))
	limit2 := k.Scalar("limit2").Div(grow.Square())
	ok := shift.LessEqual(k.Const(0.5)).And(zero.Less(dot(ax, bx))).And(zero.Less(dot(ay, by))).And(zero.Less(dot(ad, bd)))
	chord := func(otherA, otherB Complex) Mask {
		na, nb, da, db := otherA.Square(), otherB.Square(), ad.Square(), bd.Square()
		small := na.Div(da).Max(nb.Div(db)).Less(limit2.Times(0.02))
		over := func(det, other Complex, n Value) Complex {
			return Complex{dot(det, other), det.Im.Mul(other.Re).Sub(det.Re.Mul(other.Im))}.Scale(one.Div(n))
		}
		a, b := over(ad, otherA, na), over(bd, otherB, nb)
		a2, b2 := a.Square(), b.Square()
		d, c2 := dot(a, b), b.Sub(a).Square()
		inside := d.Less(a2.Min(b2))
		cross := a.Re.Mul(b.Im).Sub(a.Im.Mul(b.Re))
		d2 := Select(inside, cross.Square().Div(c2), a2.Min(b2))
		clear := d2.Sqrt().Sub(c2.Sqrt().Times(0.16)) // bulge of models/servo
		fine := zero.Less(d).And(zero.Less(clear)).And(one.Less(clear.Square().Mul(limit2)))
		return fine.Or(small)
	}
	ok = ok.And(chord(ay, by)).And(chord(ax, bx))
	k.Out("leastX", size(ax).Min(size(bx)).Times(0.25).Min(k.Const(0.5)))
	k.Out("leastY", size(ay).Min(size(by)).Times(0.25).Min(k.Const(0.5)))
	k.Out("verdict", Select(ok, Select(crossing(ax, bx, ay, by, ad, bd), one, zero), k.Const(2)))
}
