package main

func init() {
	sets["scan"] = func() {
		peaks()
		rungs()
	}
}

// corner is what a kernel needs of a controller: its shape at x = w/ωc is t/d, with t complex and d ≥ 0.
func corner(k *Kernel, x Value) (t Complex, d Value) {
	a, b, first, cd, sum := k.Scalar("a"), k.Scalar("b"), k.Scalar("first"), k.Scalar("cd"), k.Scalar("sum")
	// (1 + ab + j (bx − a/x)) / (1 − cd x² + j (c + d) x), both times x, the numerator times the conjugate
	x2 := x.Square()
	n := Complex{first.Mul(x), b.Mul(x2).Sub(a)}
	c := Complex{x.Mul(k.Const(1).Sub(cd.Mul(x2))), sum.Mul(x2).Neg()}
	return n.Mul(c), c.Square()
}

// peaks is |S|² at points of a grid. Both return differences are taken times d.
func peaks() {
	k := NewKernel("peaks", `peaks writes |S|² of the axis where it is larger, the other axis's loop closed, at points with the plant xx, xy, yx, yy and the cosine and sine of the delay.`)
	order(k, "w", "cos", "sin")
	order(k, plantColumns...)
	t, d := corner(k, k.Scalar("scale").Mul(k.In("w")).Mul(k.Scalar("per")))
	f := k.Scalar("f")
	t = t.Mul(Complex{f.Mul(k.In("cos")), f.Mul(k.In("sin")).Neg()})
	kx, ky := k.Scalar("kx"), k.Scalar("ky")
	x, y := t.Mul(k.InComplex("xx")).Scale(kx), t.Mul(k.InComplex("yy")).Scale(ky)
	x.Re, y.Re = x.Re.Add(d), y.Re.Add(d)
	cross := t.Mul(t).Scale(kx.Mul(ky)).Mul(k.InComplex("xy").Mul(k.InComplex("yx")))
	k.Out("s", x.Square().Max(y.Square()).Mul(d.Square()).Div(x.Mul(y).Sub(cross).Square()))
}

// rungs is |S|² at many crossovers. With q = |C/k|² |P|² at each of them, k = 1/√q: both return differences are taken times d √q.
func rungs() {
	k := NewKernel("rungs", `rungs writes |S|² of the axis where it is larger at a point, for crossovers 1/per at which |P_xx|² and |P_yy|² of the centre are xx and yy.`)
	t, d := corner(k, k.Scalar("w").Mul(k.In("per")))
	scalar := func(name string) Complex { return Complex{k.Scalar(name + "Re"), k.Scalar(name + "Im")} }
	qx, qy := k.Scalar("q").Mul(k.In("xx")), k.Scalar("q").Mul(k.In("yy"))
	x, y := t.Mul(scalar("plantX")), t.Mul(scalar("plantY"))
	x.Re, y.Re = x.Re.Add(d.Mul(qx.Sqrt())), y.Re.Add(d.Mul(qy.Sqrt()))
	det := x.Mul(y).Sub(t.Mul(t).Mul(scalar("cross")))
	k.Out("s", x.Square().Mul(qy).Max(y.Square().Mul(qx)).Mul(d.Square()).Div(det.Square()))
}
