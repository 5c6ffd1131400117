package main

import "fmt"

func init() {
	sets["duty"] = func() {
		dutyForces()
		dutyScale()
		dutyVoltage()
		k := NewKernel("foldSums", "foldSums adds b to a and d to c.")
		k.Out("a", k.In("a").Add(k.In("b")))
		k.Out("c", k.In("c").Add(k.In("d")))
		k = NewKernel("foldPeaks", "foldPeaks makes a the larger of a and b, and c of c and d.")
		k.Out("a", k.In("a").Max(k.In("b")))
		k.Out("c", k.In("c").Max(k.In("d")))
		pathStress()
	}
}

// nine returns the columns or scalars of a name with 0 to 8 behind it.
func nine(of func(name string) Value, name string) (list [9]Value) {
	for i := range list {
		list[i] = of(fmt.Sprint(name, i))
	}
	return list
}

// dutyForces is Field.at of models/drive, and what moves, of one axis.
func dutyForces() {
	k := NewKernel("dutyForces", `dutyForces is [Field.at] at the moments of a program, with the forces of mass, damping and magnet, their rates, and what the
force constant is there, of one axis.`)
	in, scalar := k.In, k.Scalar
	three := func(name string) [3]Value { return [3]Value{in(name + "0"), in(name + "1"), in(name + "2")} }
	xl, xh, xdl, xdh := three("xl"), three("xh"), three("xdl"), three("xdh")
	yl, yh, ydl, ydh := three("yl"), three("yh"), three("ydl"), three("ydh")
	force, restX, restY := nine(scalar, "force"), nine(scalar, "restX"), nine(scalar, "restY")
	dot := func(a [3]Value, b []Value) Value { return a[0].Mul(b[0]).Add(a[1].Mul(b[1])).Add(a[2].Mul(b[2])) }
	var static, alongX, alongY Value
	for j := range 3 {
		v, rx, ry := force[3*j:3*j+3], restX[3*j:3*j+3], restY[3*j:3*j+3]
		a, b := dot(xl, v).Add(dot(xh, rx)), dot(xl, ry)
		da, db := dot(xdl, v).Add(dot(xdh, rx)), dot(xdl, ry)
		f := yl[j].Mul(a).Add(yh[j].Mul(b))
		x := yl[j].Mul(da).Add(yh[j].Mul(db))
		y := ydl[j].Mul(a).Add(ydh[j].Mul(b))
		if j == 0 {
			static, alongX, alongY = f, x, y
		} else {
			static, alongX, alongY = static.Add(f), alongX.Add(x), alongY.Add(y)
		}
	}
	k.Out("static", static)
	k.Out("rate", in("vx").Mul(alongX).Add(in("vy").Mul(alongY)))
	p, v, a, jerk := in("p"), in("v"), in("a"), in("j")
	travel, mass, damping, spring := scalar("travel"), scalar("mass"), scalar("damping"), scalar("spring")
	k.Out("moving", travel.Mul(mass.Mul(a).Add(damping.Mul(v)).Add(spring.Mul(p))))
	k.Out("movingRate", travel.Mul(mass.Mul(jerk).Add(damping.Mul(a)).Add(spring.Mul(v))))
	one := k.Const(1)
	x := p.Mul(travel).Abs().Mul(scalar("perHalf")).Min(one)
	g := one.Sub(scalar("fallOff").Mul(x.Square()))
	constant := scalar("constant").Mul(g)
	k.Out("perForce", one.Div(constant))
	k.Out("perSquare", one.Div(g.Square()))
	k.Out("induced", constant.Mul(v).Mul(travel))
}

func dutyScale() {
	k := NewKernel("dutyScale", "dutyScale has the force at a stiffness that is so many times the nominal, its square in the mean, and that of the current.")
	f := k.Scalar("stiffness").Mul(k.In("static")).Add(k.In("moving"))
	square := k.In("weight").Mul(f.Square())
	k.Out("square", square)
	k.Out("heating", square.Mul(k.In("perSquare")))
	k.Out("peak", f.Abs().Max(k.In("peak")))
}

func dutyVoltage() {
	k := NewKernel("dutyVoltage", "dutyVoltage has the largest voltage so far; hot is the resistance of the warm coil.")
	stiffness := k.Scalar("stiffness")
	f := stiffness.Mul(k.In("static")).Add(k.In("moving"))
	rate := stiffness.Mul(k.In("rate")).Add(k.In("movingRate"))
	u := k.Scalar("hot").Mul(f).Add(k.Scalar("inductance").Mul(rate)).Mul(k.In("perForce")).Add(k.In("induced"))
	k.Out("voltage", u.Abs().Max(k.In("voltage")))
}

// pathStress goes on to the next point of a path.
func pathStress() {
	k := NewKernel("pathStress", `pathStress has the least and the largest stress so far, of both faces at both ends of blades, from moments and axial forces at the nine poses
and their weights at a point of the path.`)
	weight := nine(k.Scalar, "weight")
	mean := func(name string) Value {
		list := nine(k.In, name)
		sum := weight[0].Mul(list[0])
		for i := 1; i < 9; i++ {
			sum = sum.Add(weight[i].Mul(list[i]))
		}
		return sum
	}
	bending, pull := k.In("bending"), k.In("perArea").Mul(mean("axial"))
	for _, end := range [2]string{"root", "tip"} {
		m := bending.Mul(mean(end))
		for face, stress := range [2]Value{pull.Add(m), pull.Sub(m)} {
			low, high := fmt.Sprint(end, "Low", face), fmt.Sprint(end, "High", face)
			k.Out(low, stress.Min(k.In(low)))
			k.Out(high, stress.Max(k.In(high)))
		}
	}
}
