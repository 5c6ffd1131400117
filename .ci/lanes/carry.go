package main

import "fmt"

func init() {
	sets["carry"] = func() {
		carryUpright()
		carryInPlane()
		carryLinks()
	}
}

// matrix is one of three motions.
type matrix [3][3]Value

// carried is lᵀ m r, where l and r are how far z (or what comes first) follows the other two motions.
func carried(m matrix, l, r [2]Value) (to matrix) {
	to[0] = [3]Value{m[0][0], m[0][1].Add(m[0][0].Mul(r[0])), m[0][2].Add(m[0][0].Mul(r[1]))}
	for i := range 2 {
		to[1+i] = [3]Value{m[1+i][0].Add(l[i].Mul(m[0][0])), m[1+i][1].Add(m[1+i][0].Mul(r[0])).Add(l[i].Mul(to[0][1])),
			m[1+i][2].Add(m[1+i][0].Mul(r[1])).Add(l[i].Mul(to[0][2]))}
	}
	return to
}

// direction is where the first of two axes points.
type direction struct{ cos, sin Value }

// vector turns two components out of axes of that direction.
func (d direction) vector(v [2]Value) [2]Value {
	return [2]Value{d.cos.Mul(v[0]).Sub(d.sin.Mul(v[1])), d.sin.Mul(v[0]).Add(d.cos.Mul(v[1]))}
}

// tensor does so with a matrix of two by two.
func (d direction) tensor(m [2][2]Value) (to [2][2]Value) {
	xx, xy, yy := d.cos.Square(), d.cos.Mul(d.sin), d.sin.Square()
	mixed, apart := xy.Mul(m[0][1].Add(m[1][0])), xy.Mul(m[0][0].Sub(m[1][1]))
	return [2][2]Value{{xx.Mul(m[0][0]).Sub(mixed).Add(yy.Mul(m[1][1])), apart.Add(xx.Mul(m[0][1])).Sub(yy.Mul(m[1][0]))},
		{apart.Add(xx.Mul(m[1][0])).Sub(yy.Mul(m[0][1])), yy.Mul(m[0][0]).Add(mixed).Add(xx.Mul(m[1][1]))}}
}

// upright turns a matrix of z, roll and pitch, inPlane one of x, y and yaw.
func (d direction) upright(m matrix) matrix {
	first, last := d.vector([2]Value{m[0][1], m[0][2]}), d.vector([2]Value{m[1][0], m[2][0]})
	t := d.tensor([2][2]Value{{m[1][1], m[1][2]}, {m[2][1], m[2][2]}})
	return matrix{{m[0][0], first[0], first[1]}, {last[0], t[0][0], t[0][1]}, {last[1], t[1][0], t[1][1]}}
}

func (d direction) inPlane(m matrix) matrix {
	last, first := d.vector([2]Value{m[2][0], m[2][1]}), d.vector([2]Value{m[0][2], m[1][2]})
	t := d.tensor([2][2]Value{{m[0][0], m[0][1]}, {m[1][0], m[1][1]}})
	return matrix{{t[0][0], t[0][1], first[0]}, {t[1][0], t[1][1], first[1]}, {last[0], last[1], m[2][2]}}
}

// inSymmetric and inAll read one, of a symmetric one the lower triangle.
func inSymmetric(k *Kernel, name string) (m matrix) {
	for i := range 3 {
		for j := range i + 1 {
			m[i][j] = k.In(fmt.Sprintf("%s%d%d", name, i, j))
			m[j][i] = m[i][j]
		}
	}
	return m
}

func inAll(k *Kernel, name string) (m matrix) {
	for i := range 3 {
		for j := range 3 {
			m[i][j] = k.In(fmt.Sprintf("%s%d%d", name, i, j))
		}
	}
	return m
}

// outLower and outAll write a matrix, in a column for each number.
func outLower(k *Kernel, name string, m matrix) {
	for i := range 3 {
		for j := range i + 1 {
			k.Out(fmt.Sprintf("%s%d%d", name, i, j), m[i][j])
		}
	}
}

func outAll(k *Kernel, name string, m matrix) {
	for i := range 3 {
		for j := range 3 {
			k.Out(fmt.Sprintf("%s%d%d", name, i, j), m[i][j])
		}
	}
}

// carryUpright carries blades to the origins of their bodies, out of the plane: see mechanics.Dynamics.Vertical.
func carryUpright() {
	k := NewKernel("carryUpright", `carryUpright carries stiffness (k00 to k22, the upper triangle), mass, weight (of half a blade, and its moments) of blades at poses to the origins of
their bodies, displaced, for z, roll and pitch: the lower triangles of root and tip, and the block with rows of the tip and columns of the root.`)
	nx, ny, chord := k.In("nx"), k.In("ny"), k.In("chord")
	ax, ay, bx, by := k.In("am"), k.In("an").Neg(), k.In("bm"), k.In("bn").Neg()
	// from the chord's axes to the plate's
	axes := direction{nx, ny}
	turned, turn := axes.vector, axes.upright
	k01, k02, k12 := k.In("k01"), k.In("k02"), k.In("k12")
	stiff := turn(matrix{{k.In("k00"), k01, k02}, {k01, k.In("k11"), k12}, {k02, k12, k.In("k22")}})
	rootEnd := turned([2]Value{ay, ax.Neg()})
	root, tip := turned([2]Value{ay, ax.Neg().Sub(chord)}), turned([2]Value{by, bx.Neg()})
	outLower(k, "stiffRoot", carried(stiff, root, root))
	outLower(k, "stiffTip", carried(stiff, tip, tip))
	couple := carried(stiff, tip, root)
	for i := range couple {
		for j := range couple[i] {
			couple[i][j] = couple[i][j].Neg()
		}
	}
	outAll(k, "stiffCouple", couple)

	// the consistent mass of a beam
	total, rotary, nothing := k.In("mass").Times(1.0/420), k.In("rotary").Times(1.0/6), k.Const(0)
	along := total.Mul(chord)
	around := along.Mul(chord)
	block := func(middle, first, last, roll, pitch Value) matrix {
		return turn(matrix{{middle, nothing, first}, {nothing, roll, nothing}, {last, nothing, pitch}})
	}
	twice := rotary.Times(2)
	arm := along.Times(22)
	outLower(k, "massRoot", carried(block(total.Times(156), arm.Neg(), arm.Neg(), twice, around.Times(4).Add(twice)), rootEnd, rootEnd))
	outLower(k, "massTip", carried(block(total.Times(156), arm, arm, twice, around.Times(4).Add(twice)), tip, tip))
	arm = along.Times(13)
	outAll(k, "massCouple", carried(block(total.Times(54), arm.Neg(), arm, rotary, rotary.Sub(around.Times(3))), tip, rootEnd))

	f := k.In("weight")
	for _, end := range []struct {
		name          string
		x, y, towards Value
	}{{"Root", ax, ay, chord}, {"Tip", bx, by, chord.Neg()}} {
		moment := turned([2]Value{f.Mul(end.y), f.Mul(end.x.Add(end.towards.Times(1.0 / 6))).Neg()})
		k.Out("roll"+end.name, moment[0])
		k.Out("pitch"+end.name, moment[1])
	}
}

// carryInPlane carries the mass of blades to the origins of their bodies, in the plane: see mechanics.Scratch.Mass.
func carryInPlane() {
	k := NewKernel("carryInPlane", `carryInPlane carries the mass of blades at poses to the origins of their bodies, displaced, for x, y and yaw: the lower triangles of root and
tip, and the block with rows of the tip and columns of the root; and what yaws them where everything is accelerated along x and y.`)
	nx, ny := k.In("nx"), k.In("ny")
	total, l := k.In("mass").Times(1.0/420), k.In("length")
	xx, xy, yy := nx.Square(), nx.Mul(ny), ny.Square()
	arm, around := total.Mul(l), total.Mul(l).Mul(l)
	type end struct{ n, m Value } // the lever arm turned by 90 degrees: along the chord and across
	// axial and lateral of a beam's block, the lateral one against the rotation of the later end and the other way round, the rotation
	block := func(axial, lateral, last, first, rotation Value, e, f end) (to matrix) {
		across := lateral.Mul(f.m).Add(last) // of yaw of f, beside the chord
		back := lateral.Mul(e.m).Add(first)  // the same of yaw of e
		along, other := axial.Mul(f.n), axial.Mul(e.n)
		return matrix{
			{axial.Mul(xx).Add(lateral.Mul(yy)), axial.Sub(lateral).Mul(xy), nx.Mul(along).Sub(ny.Mul(across))},
			{axial.Sub(lateral).Mul(xy), axial.Mul(yy).Add(lateral.Mul(xx)), ny.Mul(along).Add(nx.Mul(across))},
			{nx.Mul(other).Sub(ny.Mul(back)), ny.Mul(other).Add(nx.Mul(back)), e.n.Mul(along).Add(e.m.Mul(across)).Add(first.Mul(f.m)).Add(rotation)},
		}
	}
	a, b := end{k.In("an"), k.In("am")}, end{k.In("bn"), k.In("bm")}
	side := arm.Times(22)
	outLower(k, "massRoot", block(total.Times(140), total.Times(156), side, side, around.Times(4), a, a))
	outLower(k, "massTip", block(total.Times(140), total.Times(156), side.Neg(), side.Neg(), around.Times(4), b, b))
	side = arm.Times(13)
	outAll(k, "massCouple", block(total.Times(70), total.Times(54), side, side.Neg(), around.Times(-3), b, a))
	half := k.In("mass").Times(0.5)
	k.Out("half", half)
	moment := half.Mul(l).Times(1.0 / 6)
	for _, e := range []struct {
		name string
		end
		moment Value
	}{{"Root", a, moment}, {"Tip", b, moment.Neg()}} {
		// the arm from the origin: along the chord m, across -n
		x, y := e.m.Mul(nx).Add(e.n.Mul(ny)), e.m.Mul(ny).Sub(e.n.Mul(nx))
		k.Out("yawX"+e.name, half.Mul(y).Neg().Sub(e.moment.Mul(ny)))
		k.Out("yawY"+e.name, half.Mul(x).Add(e.moment.Mul(nx)))
	}
}

// carryLinks turns links to the yaw of their first part: see mechanics.Dynamics.verticalLinks.
func carryLinks() {
	k := NewKernel("carryLinks", `carryLinks turns stiffness and mass of links to the yaw of their first part: mass in the plane (level), mass (upright) and stiffness out of it, the latter
carried from the second part's origin over rx, ry to the first one's; of both parts the lower triangles, and the block with rows of the second; and what one
pulls both with where everything is accelerated along z by scalar.`)
	axes := direction{k.In("cos"), k.In("sin")}
	outLower(k, "massFrom", axes.inPlane(inSymmetric(k, "levelFrom")))
	outLower(k, "massTo", axes.inPlane(inSymmetric(k, "levelTo")))
	outAll(k, "massCouple", axes.inPlane(inAll(k, "levelCouple")))

	from, to, couple := axes.upright(inSymmetric(k, "uprightFrom")), axes.upright(inSymmetric(k, "uprightTo")), axes.upright(inAll(k, "uprightCouple"))
	outLower(k, "outMassFrom", from)
	outLower(k, "outMassTo", to)
	outAll(k, "outMassCouple", couple)
	along := k.Scalar("along")
	for r := range 3 {
		k.Out(fmt.Sprint("weightFrom", r), along.Mul(from[r][0].Add(couple[0][r])))
		k.Out(fmt.Sprint("weightTo", r), along.Mul(to[r][0].Add(couple[r][0])))
	}

	stiff := axes.upright(inSymmetric(k, "stiff"))
	nothing := k.Const(0)
	// the first part takes z along with roll and pitch
	arm, none := [2]Value{k.In("ry"), k.In("rx").Neg()}, [2]Value{nothing, nothing}
	outLower(k, "stiffTo", stiff)
	outLower(k, "stiffFrom", carried(stiff, arm, arm))
	block := carried(stiff, none, arm)
	for i := range block {
		for j := range block[i] {
			block[i][j] = block[i][j].Neg()
		}
	}
	outAll(k, "stiffCouple", block)
}
