package main

import "math"

func init() {
	sets["tangents"] = func() { bladeTangents() }
}

// gauss are abscissas and weights of Gauss's rule of five points on [0, 1]: M. Abramowitz, I. A. Stegun, Handbook of
// Mathematical Functions, 25.4.29.
func gauss() (x, w [5]float64) {
	r, s := 2*math.Sqrt(10.0/7), 13*math.Sqrt(70)
	far, near := math.Sqrt(5+r)/3, math.Sqrt(5-r)/3
	for i, v := range [5]float64{-far, -near, 0, near, far} {
		x[i] = (1 + v) / 2
	}
	return x, [5]float64{(322 - s) / 1800, (322 + s) / 1800, 64.0 / 225, (322 + s) / 1800, (322 - s) / 1800}
}

// five are values at the points of Gauss's rule: in the middle, sums and differences of those at the same distance from it,
// the farther ones first.
type five struct {
	middle   Value
	sum      [2]Value
	distance [2]Value // the later one less the earlier one
}

func fiveOf(v [5]Value) five {
	return five{v[2], [2]Value{v[4].Add(v[0]), v[3].Add(v[1])}, [2]Value{v[4].Sub(v[0]), v[3].Sub(v[1])}}
}

// exponential is e^x for -44 <= x <= 0: 2^k times the Taylor series of the rest.
func exponential(x Value) Value {
	const whole = 3 << 51 // to add it leaves a whole number
	k := x.Times(1 / math.Ln2).Plus(whole).Minus(whole)
	const high, low = 0x1.62e42feep-1, 0x1.a39ef35793c76p-33 // ln 2
	r := x.Sub(k.Times(high)).Sub(k.Times(low))
	factorial := 1.0
	var coefficients []float64
	for n := range 14 {
		coefficients = append([]float64{1 / factorial}, coefficients...)
		factorial *= float64(n + 1)
	}
	y := x.k.Const(coefficients[0])
	for _, c := range coefficients[1:] {
		y = y.Mul(r).Plus(c)
	}
	for n := 32; n > 0; n /= 2 {
		is := k.LessEqual(x.k.Const(-float64(n)))
		y = Select(is, y.Times(math.Ldexp(1, -n)), y)
		k = Select(is, k.Plus(float64(n)), k)
	}
	return y
}

// bladeTangents is blade.OutOfPlane.Tangent, of which the names are.
func bladeTangents() {
	k := NewKernel("tangents", `tangents writes what [OutOfPlane.Tangent] says of blades at poses: k00 to k22, the upper triangle of the stiffness; and to
plain what is not 0 where only the plain code tells: beside buckling in torsion, beyond it, and where the flexibility is not positive.`)
	one := k.Const(1)
	a, b, axial, l := k.In("a"), k.In("b"), k.In("axial"), k.In("length")
	sine := func(a Value) Value { return a.Mul(one.Sub(a.Square().Times(1.0 / 6))) }
	sa, sb := sine(a), sine(b)
	s0, s1, s2 := sa, sa.Times(-4).Sub(sb.Times(2)), sa.Add(sb).Times(3)
	p := axial.Mul(k.In("column"))
	extra := sa.Add(sb).Times(0.5).Mul(k.In("steep").Sub(p.Div(p.Times(2).Plus(160))))
	c1, c2, c3, c4, c5 := s0.Square(), s0.Mul(s1), s1.Square().Add(s0.Mul(s2).Times(2)).Times(1.0/3), s1.Mul(s2).Times(0.5), s2.Square().Times(0.2)
	tip := one.Sub(c1.Add(c2).Add(c3).Add(c4).Add(c5).Times(0.5)).Sub(extra.Mul(s2).Times(4.0 / 105))

	x, weights := gauss()
	var m, t [3][5]Value
	for i, s := range x {
		u := s * (1 - s)
		slope, rise := u*(16-80*u), s*s*(8+s*(-32+s*(40-16*s)))
		moved := [3]float64{rise, s * s * s * (16.0/3 + s*(-24+s*(32-s*40/3))), s * s * s * s * (4 + s*(-19.2+s*(80.0/3-s*80/7)))}
		sin := s0.Add(s1.Times(s)).Add(s2.Times(s * s)).Add(extra.Times(slope))
		q := sin.Square()
		cos := one.Sub(q.Mul(q.Times(0.125).Plus(0.5)))
		y := s0.Times(s).Add(s1.Times(s * s / 2)).Add(s2.Times(s * s * s / 3)).Add(extra.Times(rise))
		lost := c1.Times(s).Add(c2.Times(s * s)).Add(c3.Times(s * s * s)).Add(c4.Times(s * s * s * s)).Add(c5.Times(s * s * s * s * s)).Times(0.5)
		along := k.Const(s).Sub(lost).Sub(extra.Mul(s0.Times(moved[0]).Add(s1.Times(moved[1])).Add(s2.Times(moved[2]))))
		mx, my := y.Neg().Mul(l), along.Sub(tip).Mul(l)
		m[0][i], m[1][i], m[2][i] = cos.Mul(my).Sub(sin.Mul(mx)), sin.Neg(), cos
		t[0][i], t[1][i], t[2][i] = cos.Mul(mx).Add(sin.Mul(my)), cos, sin
	}
	var tt [3][5]Value // Legendre's coefficients of t
	for r := range 3 {
		f := fiveOf(t[r])
		for j := range 5 {
			weight := func(i int) float64 {
				v := 2*x[i] - 1
				v2 := v * v
				return float64(2*j+1) * weights[i] * [5]float64{1, v, (3*v2 - 1) / 2, v * (5*v2 - 3) / 2, (35*v2*v2 - 30*v2 + 3) / 8}[j]
			}
			if j%2 == 1 {
				tt[r][j] = f.distance[0].Times(weight(4)).Add(f.distance[1].Times(weight(3)))
			} else {
				tt[r][j] = f.sum[0].Times(weight(4)).Add(f.sum[1].Times(weight(3))).Add(f.middle.Times(weight(2)))
			}
		}
	}

	// twist
	z := k.In("gj").Add(axial.Mul(k.In("polar"))).Mul(k.In("perWarp"))
	torsion := z.Less(k.Const(2)) // below it closed forms lose digits
	z = z.Max(k.Const(2))
	e := one.Div(z)
	scale := k.In("twist").Mul(e)
	root := z.Sqrt()
	q := exponential(root.Times(-2).Max(k.Const(-44)))
	up, down := one.Sub(q), q.Plus(1)
	tau, sigma := up.Div(down.Mul(root)), down.Div(up.Mul(root))
	b2, b3, b4 := e.Times(3).Plus(1), e.Times(15).Plus(1), e.Mul(e.Times(105).Plus(45)).Plus(1)
	t1 := sigma.Sub(e)
	t2 := b2.Mul(tau).Sub(e.Times(3))
	t3 := b3.Mul(t1).Sub(e.Times(5))
	t4 := b4.Mul(tau).Sub(e.Mul(e.Times(105).Plus(10)))
	t5 := e.Mul(e.Times(945).Plus(105)).Plus(1).Mul(t1).Sub(e.Mul(e.Times(315).Plus(14)))
	r00, r02, r04 := scale.Mul(one.Sub(tau)), scale.Mul(t2).Neg(), scale.Mul(t4).Neg()
	r22, r24, r44 := scale.Mul(k.Const(0.2).Sub(b2.Mul(t2))), scale.Mul(e.Times(7).Sub(b4.Mul(t2))), scale.Mul(k.Const(1.0/9).Sub(b4.Mul(t4)))
	r11, r13, r33 := scale.Mul(k.Const(1.0/3).Sub(t1)), scale.Mul(t3).Neg(), scale.Mul(k.Const(1.0/7).Sub(b3.Mul(t3)))
	r15, r35 := scale.Mul(t5).Neg(), scale.Mul(b3).Mul(t5).Neg()

	cosA, cosB := one.Sub(sa.Square().Times(0.5)), one.Sub(sb.Square().Times(0.5))
	m0 := [3]Value{cosA.Mul(tip).Mul(l).Neg(), sa.Neg(), cosA}
	m1 := [3]Value{k.Const(0), sb.Neg(), cosB}
	fifth := extra.Mul(l).Times(-16.0 / 63)
	var f [3][3]Value
	for i := range 3 {
		u := &tt[i]
		e0 := r00.Mul(u[0]).Add(r02.Mul(u[2])).Add(r04.Mul(u[4]))
		e2 := r02.Mul(u[0]).Add(r22.Mul(u[2])).Add(r24.Mul(u[4]))
		e4 := r04.Mul(u[0]).Add(r24.Mul(u[2])).Add(r44.Mul(u[4]))
		o1 := r11.Mul(u[1]).Add(r13.Mul(u[3]))
		o3 := r13.Mul(u[1]).Add(r33.Mul(u[3]))
		mean := m0[i].Add(m1[i]).Mul(k.In("loseBending"))
		shear := m1[i].Sub(m0[i]).Mul(k.In("loseShear"))
		for j := range i + 1 {
			v, w := &tt[j], m[j]
			sum := m[i][0].Times(weights[0]).Mul(w[0])
			for n := 1; n < 5; n++ {
				sum = sum.Add(m[i][n].Times(weights[n]).Mul(w[n]))
			}
			sum = sum.Mul(k.In("bend"))
			if j == 0 {
				from := fifth.Mul(r15.Mul(u[1]).Add(r35.Mul(u[3])))
				sum = sum.Add(from)
				if i == 0 {
					sum = sum.Add(from)
				}
			}
			sum = sum.Add(e0.Mul(v[0])).Add(o1.Mul(v[1])).Add(e2.Mul(v[2])).Add(o3.Mul(v[3])).Add(e4.Mul(v[4]))
			f[j][i] = sum.Sub(mean.Mul(m0[j].Add(m1[j]))).Sub(shear.Mul(m1[j].Sub(m0[j])))
		}
	}
	f[0][0] = f[0][0].Add(k.In("shear"))

	// with what gives at the ends, inverted, with the axial force's stiffening
	a00, a01, a02 := f[0][0].Add(k.In("end0")), f[0][1].Add(k.In("end1")), f[0][2].Add(k.In("end2"))
	a11, a12, a22 := f[1][1].Add(k.In("end3")), f[1][2].Add(k.In("end4")), f[2][2].Add(k.In("end5"))
	k00, k01, k02 := a11.Mul(a22).Sub(a12.Square()), a02.Mul(a12).Sub(a01.Mul(a22)), a01.Mul(a12).Sub(a02.Mul(a11))
	det := a00.Mul(k00).Add(a01.Mul(k01)).Add(a02.Mul(k02))
	second := a00.Mul(a11).Sub(a01.Square())
	nothing := k.Const(0)
	positive := nothing.Less(a00).And(nothing.Less(a11)).And(nothing.Less(second)).And(nothing.Less(det))
	k.Out("plain", Select(torsion.Not().And(positive), nothing, one))
	per := one.Div(det)
	k.Out("k00", k00.Mul(per).Add(axial.Times(1.2).Div(l)))
	k.Out("k01", k01.Mul(per))
	k.Out("k02", k02.Mul(per).Add(axial.Times(0.1)))
	k.Out("k11", a00.Mul(a22).Sub(a02.Square()).Mul(per))
	k.Out("k12", a01.Mul(a02).Sub(a00.Mul(a12)).Mul(per))
	k.Out("k22", second.Mul(per).Add(axial.Times(2.0/15).Mul(l)))
}
