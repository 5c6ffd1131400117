package main

func init() {
	sets["poses"] = func() {
		turnBodies()
		bendBlades()
		pullLinks()
		followBlades()
		shapeBlades()
	}
}

// polynomial of x with the first coefficient at the highest power.
func polynomial(x Value, coefficients ...float64) Value {
	y := x.Times(coefficients[0])
	for i, c := range coefficients[1:] {
		if y = y.Plus(c); i < len(coefficients)-2 {
			y = y.Mul(x)
		}
	}
	return y
}

// sine returns the sine and 1 - cosine of x within a quarter of a half turn, |x| <= π/4: S. L. Moshier, Cephes, sin.c, as math.Sincos.
func sine(x Value) (sin, versine Value) {
	z := x.Square()
	sin = x.Add(x.Mul(z).Mul(polynomial(z, 1.58962301576546568060e-10, -2.50507477628578072866e-8, 2.75573136213857245213e-6,
		-1.98412698295895385996e-4, 8.33333333332211858878e-3, -1.66666666666666307295e-1)))
	versine = z.Times(0.5).Sub(z.Square().Mul(polynomial(z, -1.13585365213876817300e-11, 2.08757008419747316778e-9, -2.75573141792967388112e-7,
		2.48015872888517045348e-5, -1.38888888888730564116e-3, 4.16666666666665929218e-2)))
	return sin, versine
}

// arctangent of |t| <= 0.66: S. L. Moshier, Cephes, atan.c, as math.Atan.
func arctangent(t Value) Value {
	z := t.Square()
	p := polynomial(z, -8.750608600031904122785e-01, -1.615753718733365076637e+01, -7.500855792314704667340e+01, -1.228866684490136173410e+02, -6.485021904942025371773e+01)
	q := polynomial(z, 1, 2.485846490142306297962e+01, 1.650270098316988542046e+02, 4.328810604912902668951e+02, 4.853903996359136964868e+02, 1.945506571482613964425e+02)
	return t.Add(t.Mul(z.Mul(p).Div(q)))
}

func turnBodies() {
	k := NewKernel("turnBodies", "turnBodies writes sine and versine of the yaw of bodies, up to π/4.")
	sin, versine := sine(k.In("yaw"))
	k.Out("sin", sin)
	k.Out("versine", versine)
}

// padeOf is pade of models/blade.
func padeOf(p Value, pole float64) (f, f1, f2 Value) {
	k := p.k
	x := p.Max(k.Const(-25))
	a := x.Times(1 / pole)
	r := k.Const(1).Div(a.Plus(1))
	r2 := r.Square()
	f, f1, f2 = x.Square().Mul(r), x.Mul(a.Plus(2)).Mul(r2), r2.Mul(r).Times(2)
	d := p.Sub(x)
	return f.Add(d.Mul(f1.Add(f2.Mul(d).Times(0.5)))), f1.Add(f2.Mul(d)), f2
}

// bendBlades is Scratch.assemble of models/mechanics, of blades, with blade.Section.At in it.
func bendBlades() {
	k := NewKernel("bendBlades", `bendBlades is what [Scratch.assemble] does of blades: force and tangent in the axes of the plate, what the update of the axial force needs,
and the ends' moments. steep is 1 where a blade has turned over or its chord turned by more than the series is for.`)
	in := k.In
	xa, ya, fa, sa, va := in("xa"), in("ya"), in("fa"), in("sa"), in("va")
	xb, yb, fb, sb, vb := in("xb"), in("yb"), in("fb"), in("sb"), in("vb")
	ax, ay, bx, by, c, s := in("rootX"), in("rootY"), in("tipX"), in("tipY"), in("cos"), in("sin")
	length, perLength, stiff, arc, perArc := in("length"), in("perLength"), in("stiff"), in("arc"), in("perArc")
	shortS, shortArc, c0, p := in("shortS"), in("shortArc"), in("c0"), in("p")
	one, zero := k.Const(1), k.Const(0)

	// lever arms, turned, and their change
	dax, day := va.Mul(ax).Add(sa.Mul(ay)).Neg(), sa.Mul(ax).Sub(va.Mul(ay))
	dbx, dby := vb.Mul(bx).Add(sb.Mul(by)).Neg(), sb.Mul(bx).Sub(vb.Mul(by))
	ux, uy := xb.Sub(xa).Add(dbx.Sub(dax)), yb.Sub(ya).Add(dby.Sub(day))
	ax, ay, bx, by = ax.Add(dax), ay.Add(day), bx.Add(dbx), by.Add(dby)
	// chord, in the frame of the blade at rest
	u, w := c.Mul(ux).Add(s.Mul(uy)), c.Mul(uy).Sub(s.Mul(ux))
	along := length.Add(u)
	chord := along.Square().Add(w.Square()).Sqrt()
	e := length.Times(2).Mul(u).Add(u.Square()).Add(w.Square()).Mul(perLength).Div(chord.Add(length))
	slope := w.Div(along)
	turn := arctangent(slope)
	ta, tb := fa.Sub(turn), fb.Sub(turn)
	k.Out("steep", Select(length.Times(-0.9).Less(u).And(slope.Abs().LessEqual(k.Const(0.66))), zero, one))

	// blade.Section.At
	sum, diff := ta.Add(tb).Times(0.5), tb.Sub(ta).Times(0.5)
	q := p.Mul(perArc)
	fs, fs1, fs2 := padeOf(q, 90)
	fd, fd1, fd2 := padeOf(q, 42)
	s2, d2 := sum.Square(), diff.Square()
	ks := p.Mul(shortS).Plus(6).Sub(arc.Mul(fs).Times(1.0 / 1400))
	ks1, ks2 := shortS.Sub(fs1.Times(1.0/1400)), perArc.Mul(fs2).Times(1.0/1400)
	kd := arc.Times(2).Add(p.Mul(shortArc)).Sub(arc.Mul(fd).Times(1.0 / 360))
	kd1, kd2 := shortArc.Sub(fd1.Times(1.0/360)), perArc.Mul(fd2).Times(1.0/360)
	const quartic, quarticX = 4.0 / 35, 4.0 / 5
	ks, kd = ks.Times(2), kd.Times(2)
	gs := sum.Mul(ks.Sub(s2.Times(4 * quartic)).Sub(d2.Times(2 * quarticX)))
	gd := diff.Mul(kd.Sub(s2.Times(2 * quarticX)))
	half := stiff.Times(0.5)
	pull, rootM, tipM := stiff.Mul(p), half.Mul(gs.Sub(gd)), half.Mul(gs.Add(gd))
	rs, rd := ks1.Mul(sum), kd1.Mul(diff)
	ra, rb := rs.Sub(rd), rs.Add(rd)
	compliance := c0.Add(ks2.Mul(s2)).Add(kd2.Mul(d2))
	residual := e.Add(ks1.Mul(s2)).Add(kd1.Mul(d2)).Sub(c0.Mul(p))
	hss := ks.Sub(s2.Times(12 * quartic)).Sub(d2.Times(2 * quarticX))
	hsd := sum.Mul(diff).Times(-4 * quarticX)
	hdd := kd.Sub(s2.Times(2 * quarticX))
	ic := one.Div(compliance)
	ta0 := stiff.Mul(ic)
	t1, t2 := ta0.Mul(ra), ta0.Mul(rb)
	quarter := stiff.Times(0.25)
	t3 := quarter.Mul(hss.Sub(hsd.Times(2)).Add(hdd)).Add(t1.Mul(ra))
	t4 := quarter.Mul(hss.Sub(hdd)).Add(t1.Mul(rb))
	t5 := quarter.Mul(hss.Add(hsd.Times(2)).Add(hdd)).Add(t2.Mul(rb))

	il := one.Div(chord)
	ct, stn := along.Mul(il), w.Mul(il)
	nx, ny := c.Mul(ct).Sub(s.Mul(stn)), s.Mul(ct).Add(c.Mul(stn))
	an, am := ny.Mul(ax).Sub(nx.Mul(ay)), nx.Mul(ax).Add(ny.Mul(ay))
	bn, bm := ny.Mul(bx).Sub(nx.Mul(by)), nx.Mul(bx).Add(ny.Mul(by))
	k.Out("nx", nx)
	k.Out("ny", ny)
	k.Out("an", an)
	k.Out("am", am)
	k.Out("bn", bn)
	k.Out("bm", bm)
	k.Out("chord", chord)
	k.Out("turn", ta)
	k.Out("rowA", ra)
	k.Out("rowB", rb)
	k.Out("residual", residual)
	k.Out("compliance", compliance)
	k.Out("rootM", rootM)
	k.Out("tipM", tipM)

	// residual, with the axial equation condensed
	extra := ta0.Mul(residual)
	axial := pull.Add(extra).Mul(perLength)
	ma, mb := rootM.Add(extra.Mul(ra)), tipM.Add(extra.Mul(rb))
	shear := ma.Add(mb).Mul(il).Neg()
	k.Out("size", axial.Abs().Max(shear.Abs()))
	k.Out("fx", axial.Mul(nx).Sub(shear.Mul(ny)))
	k.Out("fy", axial.Mul(ny).Add(shear.Mul(nx)))
	k.Out("tipYaw", axial.Mul(bn).Add(shear.Mul(bm)).Add(mb))
	k.Out("rootYaw", ma.Sub(axial.Mul(an)).Sub(shear.Mul(am)))

	// tangent in the basis a, b, φa, φb
	axial = pull.Mul(perLength)
	k.Out("axial", axial)
	moments := rootM.Add(tipM)
	shear = moments.Mul(il).Neg()
	ll, pl := il.Square(), perLength.Mul(il)
	aa := ta0.Mul(perLength).Mul(perLength)
	ab := moments.Mul(ll).Sub(t1.Add(t2).Mul(pl))
	bb := t3.Add(t4.Times(2)).Add(t5).Mul(ll).Add(axial.Mul(il))
	aA, aB := t1.Mul(perLength), t2.Mul(perLength)
	bA, bB := t3.Add(t4).Mul(il).Neg(), t4.Add(t5).Mul(il).Neg()
	fx, fy := axial.Mul(nx).Sub(shear.Mul(ny)), axial.Mul(ny).Add(shear.Mul(nx))
	fRa, fRb := fx.Mul(ax).Add(fy.Mul(ay)), fx.Mul(bx).Add(fy.Mul(by))
	tbn, tbm := aa.Mul(bn).Add(ab.Mul(bm)).Add(aB), ab.Mul(bn).Add(bb.Mul(bm)).Add(bB)
	tan, tam := aA.Sub(aa.Mul(an)).Sub(ab.Mul(am)), bA.Sub(ab.Mul(an)).Sub(bb.Mul(am))
	k.Out("yawB", bn.Mul(tbn.Add(aB)).Add(bm.Mul(tbm.Add(bB))).Add(t5).Sub(fRb))
	k.Out("yawA", t3.Add(fRa).Sub(an.Mul(tan.Add(aA))).Sub(am.Mul(tam.Add(bA))))
	k.Out("yawAB", bn.Mul(tan).Add(bm.Mul(tam)).Sub(aB.Mul(an)).Sub(bB.Mul(am)).Add(t4))
	xx, yy, xy := nx.Square(), ny.Square(), nx.Mul(ny)
	twice := ab.Times(2).Mul(xy)
	k.Out("kxx", aa.Mul(xx).Sub(twice).Add(bb.Mul(yy)))
	k.Out("kyy", aa.Mul(yy).Add(twice).Add(bb.Mul(xx)))
	k.Out("kxy", aa.Sub(bb).Mul(xy).Add(ab.Mul(xx.Sub(yy))))
	k.Out("tbx", tbn.Mul(nx).Sub(tbm.Mul(ny)))
	k.Out("tby", tbn.Mul(ny).Add(tbm.Mul(nx)))
	k.Out("tax", tan.Mul(nx).Sub(tam.Mul(ny)))
	k.Out("tay", tan.Mul(ny).Add(tam.Mul(nx)))
}

// pullLinks is Scratch.assembleLinks of models/mechanics.
func pullLinks() {
	k := NewKernel("pullLinks", "pullLinks is what [Scratch.assembleLinks] computes; from and to are its parts.")
	in := k.In
	xa, ya, fa, sin, v := in("xa"), in("ya"), in("fa"), in("sa"), in("va")
	xb, yb, fb := in("xb"), in("yb"), in("fb")
	rhoX, rhoY := in("rhoX"), in("rhoY")
	k0, k1, k2, k3, k4, k5, k6, k7, k8 := in("k0"), in("k1"), in("k2"), in("k3"), in("k4"), in("k5"), in("k6"), in("k7"), in("k8")
	dx, dy, turn := xb.Sub(xa), yb.Sub(ya), fb.Sub(fa)
	cos := k.Const(1).Sub(v)
	ex := cos.Mul(dx).Add(sin.Mul(dy)).Sub(v.Mul(rhoX)).Add(sin.Mul(rhoY))
	ey := cos.Mul(dy).Sub(sin.Mul(dx)).Sub(sin.Mul(rhoX)).Sub(v.Mul(rhoY))
	fx := k0.Mul(ex).Add(k1.Mul(ey)).Add(k2.Mul(turn))
	fy := k3.Mul(ex).Add(k4.Mul(ey)).Add(k5.Mul(turn))
	mt := k6.Mul(ex).Add(k7.Mul(ey)).Add(k8.Mul(turn))
	ux, uy := ex.Add(rhoX), ey.Add(rhoY)
	gx, gy := cos.Mul(fx).Sub(sin.Mul(fy)), sin.Mul(fx).Add(cos.Mul(fy))
	cc, ss, cs := cos.Square(), sin.Square(), cos.Mul(sin)
	twice := cs.Times(2).Mul(k1)
	kxx := cc.Mul(k0).Sub(twice).Add(ss.Mul(k4))
	kyy := ss.Mul(k0).Add(twice).Add(cc.Mul(k4))
	kxy := cs.Mul(k0.Sub(k4)).Add(cc.Sub(ss).Mul(k1))
	kxt, kyt, ktt := cos.Mul(k2).Sub(sin.Mul(k5)), sin.Mul(k2).Add(cos.Mul(k5)), k8
	wx, wy := sin.Mul(ux).Add(cos.Mul(uy)).Neg(), cos.Mul(ux).Sub(sin.Mul(uy))
	bx, by := kxx.Mul(wx).Add(kxy.Mul(wy)).Add(kxt).Neg(), kxy.Mul(wx).Add(kyy.Mul(wy)).Add(kyt).Neg()
	bt := kxt.Mul(wx).Add(kyt.Mul(wy)).Add(ktt).Neg()
	k.Out("size", gx.Abs().Max(gy.Abs()).Max(k.Scalar("rounded").Mul(kxx.Add(kyy)).Mul(xb.Abs().Add(yb.Abs()))))
	k.Out("gx", gx)
	k.Out("gy", gy)
	k.Out("toYaw", mt)
	k.Out("fromYaw", mt.Add(gx.Mul(wx)).Add(gy.Mul(wy)))
	k.Out("kxx", kxx)
	k.Out("kyy", kyy)
	k.Out("kxy", kxy)
	k.Out("kxt", kxt)
	k.Out("kyt", kyt)
	k.Out("bt", bt)
	k.Out("yaw", wx.Mul(bx).Add(wy.Mul(by)).Add(bt).Add(fx.Mul(ux)).Add(fy.Mul(uy)).Neg())
	k.Out("bx", bx.Sub(gy))
	k.Out("by", by.Add(gx))
}

// followBlades is Scratch.axialStep of models/mechanics, and the step.
func followBlades() {
	k := NewKernel("followBlades", "followBlades adds to the axial forces p what [Scratch.axialStep] says, and the residual.")
	in := k.In
	dx, dy, turnA, turnB := in("dx"), in("dy"), in("turnA"), in("turnB")
	nx, ny := in("nx"), in("ny")
	along := nx.Mul(dx).Add(ny.Mul(dy)).Add(in("bn").Mul(turnB)).Sub(in("an").Mul(turnA))
	across := nx.Mul(dy).Sub(ny.Mul(dx)).Add(in("bm").Mul(turnB)).Sub(in("am").Mul(turnA))
	rotation := across.Div(in("chord"))
	sum := along.Mul(in("perLength")).Add(in("rowA").Mul(turnA.Sub(rotation))).Add(in("rowB").Mul(turnB.Sub(rotation))).Add(in("residual"))
	k.Out("p", in("p").Add(sum.Div(in("compliance"))))
}

// shapeBlades is Scratch.deflections of models/mechanics.
func shapeBlades() {
	k := NewKernel("shapeBlades", "shapeBlades is [Scratch.deflections], of turns up to π/4.")
	in := k.In
	sin, versine := sine(in("turn"))
	chord, perLength := in("chord"), in("perLength")
	k.Out("w", chord.Mul(perLength).Mul(sin).Neg())
	p := in("p")
	across := in("rootM").Add(in("tipM")).Div(chord.Mul(perLength).Mul(in("stiff"))).Mul(sin)
	k.Out("rootP", p.Sub(p.Mul(versine)).Sub(across))
	k.Out("phi", in("fb").Sub(in("fa")))
}
