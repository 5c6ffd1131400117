package mechanics

import (
	"flexwright/models"
	"flexwright/models/dense"
)

// octetPlan says where the numbers of an [octet] are, and what is done with them: made once for a model.
type octetPlan struct {
	poses, numbers int
	blades, linked int

	zero, one              int
	qx, qy, yaw            int // of each body
	sin, versine           int
	force, target          int // of each actuator, of each prescribed coordinate
	load                   int // 3 nodes, negative
	armX, armY, springs    int
	bend, pull             int // columns of [bendBlades], [pullLinks]
	moved, shaped          int // other columns of [followBlades], [shapeBlades]
	k, factor              int // over the pattern
	residual, change       int // 3 nodes
	columns                [2]int
	worst, size            int // largest residual, largest internal force
	move, turned           int // largest displacement and yaw of a step
	gather, assemble, step *dense.Straight
}

// blade is the number of column c of [bendBlades] at blade i, link that of [pullLinks].
func (o *octetPlan) blade(c, i int) int { return o.bend + c*o.blades + i }
func (o *octetPlan) link(c, i int) int  { return o.pull + c*o.linked + i }

// octet returns the plan for m, nil where poses are not solved side by side.
func (m *Model) octet() *octetPlan {
	m.octetOnce.Do(func() {
		if n := len(m.prescribed); n > 0 && len(m.Body) > 0 && m.Unknowns() <= 3*mostSideBySide {
			m.octetPlan = newOctetPlan(m)
		}
	})
	return m.octetPlan
}

func newOctetPlan(m *Model) *octetPlan {
	t := m.Topology
	nb, ne, nl, na, n := len(t.Bodies), len(m.blades), len(m.links), len(t.Actuators), m.Unknowns()
	o := &octetPlan{poses: m.Poses(), blades: ne, linked: nl, gather: new(dense.Straight), assemble: new(dense.Straight), step: new(dense.Straight)}
	take := func(n int) (at int) {
		at, o.numbers = o.numbers, o.numbers+n
		return at
	}
	o.zero, o.one = take(1), take(1)
	o.qx, o.qy, o.yaw, o.sin, o.versine = take(nb), take(nb), take(nb), take(nb), take(nb)
	o.force, o.target, o.load = take(na), take(len(m.prescribed)), take(n)
	o.armX, o.armY, o.springs = take(2*na), take(2*na), take(3*len(m.mounted))
	o.bend, o.pull = take(bendBladesColumns*ne), take(pullLinksColumns*nl)
	o.moved, o.shaped = take(len(followOwn)*ne), take(len(shapeOwn)*ne)
	o.k, o.factor = take(m.Pattern.Len()), take(m.Pattern.Len())
	o.residual, o.change = take(n), take(n)
	for k := range m.prescribed {
		o.columns[k] = take(n)
	}
	o.worst, o.size, o.move, o.turned = take(1), take(1), take(1), take(1)
	spare := take(12)

	o.planGather(m)
	o.planAssembly(m, spare)
	s := o.assemble
	for e := range m.Pattern.Len() {
		if e >= 9*len(m.Body) || e%9%4 == 0 || e%9 == 3 || e%9 > 5 { // above the diagonal nothing is read
			s.Copy(o.factor+e, o.k+e)
		}
	}
	s.Factor(m.Pattern, o.factor, spare)
	for k := range m.prescribed {
		s.Solve(m.Pattern, o.factor, o.columns[k])
	}
	o.planStep(m, spare)
	for _, s := range []*dense.Straight{o.gather, o.assemble, o.step} {
		s.Done()
	}
	return o
}

// planGather brings the motion of bodies to blades and links.
func (o *octetPlan) planGather(m *Model) {
	for i := range m.blades {
		bb := &m.blades[i]
		for _, c := range [...][3]int{
			{bendBladesXa, bendBladesXb, o.qx}, {bendBladesYa, bendBladesYb, o.qy}, {bendBladesFa, bendBladesFb, o.yaw},
			{bendBladesSa, bendBladesSb, o.sin}, {bendBladesVa, bendBladesVb, o.versine},
		} {
			o.gather.Copy(o.blade(c[0], i), c[2]+bb.root)
			o.gather.Copy(o.blade(c[1], i), c[2]+bb.tip)
		}
	}
	for i := range m.links {
		lb := &m.links[i]
		for _, c := range [...][2]int{
			{pullLinksXa, o.qx + lb.from}, {pullLinksYa, o.qy + lb.from}, {pullLinksFa, o.yaw + lb.from}, {pullLinksSa, o.sin + lb.from},
			{pullLinksVa, o.versine + lb.from}, {pullLinksXb, o.qx + lb.to}, {pullLinksYb, o.qy + lb.to}, {pullLinksFb, o.yaw + lb.to},
		} {
			o.gather.Copy(o.link(c[0], i), c[1])
		}
	}
}

// planAssembly is [Scratch.assemble] from what the kernels have computed.
func (o *octetPlan) planAssembly(m *Model, spare int) {
	s := o.assemble
	begun := make([]bool, m.Pattern.Len())
	stiff := func(e int, from int, minus bool) {
		switch {
		case begun[e] && minus:
			s.Minus(o.k+e, from)
		case begun[e]:
			s.Plus(o.k+e, from)
		case minus:
			s.Negative(o.k+e, from)
		default:
			s.Copy(o.k+e, from)
		}
		begun[e] = true
	}
	for i := range m.Unknowns() {
		s.Copy(o.residual+i, o.load+i)
	}
	s.Copy(o.size, o.zero)
	for i := range m.blades {
		bb := &m.blades[i]
		b := func(c int) int { return o.blade(c, i) }
		s.Largest(o.size, b(bendBladesSize))
		if k := bb.tipNode; k >= 0 {
			s.Plus(o.residual+3*k, b(bendBladesFx))
			s.Plus(o.residual+3*k+1, b(bendBladesFy))
			s.Plus(o.residual+3*k+2, b(bendBladesTipYaw))
			stiff(9*k, b(bendBladesKxx), false)
			stiff(9*k+3, b(bendBladesKxy), false)
			stiff(9*k+4, b(bendBladesKyy), false)
			stiff(9*k+6, b(bendBladesTbx), false)
			stiff(9*k+7, b(bendBladesTby), false)
			stiff(9*k+8, b(bendBladesYawB), false)
		}
		if k := bb.rootNode; k >= 0 {
			s.Minus(o.residual+3*k, b(bendBladesFx))
			s.Minus(o.residual+3*k+1, b(bendBladesFy))
			s.Plus(o.residual+3*k+2, b(bendBladesRootYaw))
			stiff(9*k, b(bendBladesKxx), false)
			stiff(9*k+3, b(bendBladesKxy), false)
			stiff(9*k+4, b(bendBladesKyy), false)
			stiff(9*k+6, b(bendBladesTax), true)
			stiff(9*k+7, b(bendBladesTay), true)
			stiff(9*k+8, b(bendBladesYawA), false)
		}
		if bb.couple < 0 {
			continue
		}
		stiff(bb.couple, b(bendBladesKxx), true)
		stiff(bb.couple+1, b(bendBladesKxy), true)
		stiff(bb.couple+3, b(bendBladesKxy), true)
		stiff(bb.couple+4, b(bendBladesKyy), true)
		stiff(bb.couple+8, b(bendBladesYawAB), false)
		right, below := [2]int{bendBladesTbx, bendBladesTby}, [2]int{bendBladesTax, bendBladesTay}
		if bb.coupleFlips { // rows of the tip, columns of the root
			right, below = below, right
		}
		for r := range 2 {
			stiff(bb.couple+2+3*r, b(right[r]), !bb.coupleFlips)
			stiff(bb.couple+6+r, b(below[r]), bb.coupleFlips)
		}
	}
	for i := range m.links {
		lb := &m.links[i]
		b := func(c int) int { return o.link(c, i) }
		s.Largest(o.size, b(pullLinksSize))
		if k := lb.toNode; k >= 0 {
			s.Plus(o.residual+3*k, b(pullLinksGx))
			s.Plus(o.residual+3*k+1, b(pullLinksGy))
			s.Plus(o.residual+3*k+2, b(pullLinksToYaw))
			stiff(9*k, b(pullLinksKxx), false)
			stiff(9*k+3, b(pullLinksKxy), false)
			stiff(9*k+4, b(pullLinksKyy), false)
			stiff(9*k+6, b(pullLinksKxt), false)
			stiff(9*k+7, b(pullLinksKyt), false)
			stiff(9*k+8, b(pullLinksK8), false)
		}
		k := lb.fromNode
		if k < 0 {
			continue
		}
		s.Minus(o.residual+3*k, b(pullLinksGx))
		s.Minus(o.residual+3*k+1, b(pullLinksGy))
		s.Minus(o.residual+3*k+2, b(pullLinksFromYaw))
		stiff(9*k, b(pullLinksKxx), false)
		stiff(9*k+3, b(pullLinksKxy), false)
		stiff(9*k+4, b(pullLinksKyy), false)
		stiff(9*k+6, b(pullLinksBx), true)
		stiff(9*k+7, b(pullLinksBy), true)
		stiff(9*k+8, b(pullLinksYaw), false)
		if lb.couple < 0 {
			continue
		}
		stiff(lb.couple, b(pullLinksKxx), true)
		stiff(lb.couple+1, b(pullLinksKxy), true)
		stiff(lb.couple+3, b(pullLinksKxy), true)
		stiff(lb.couple+4, b(pullLinksKyy), true)
		stiff(lb.couple+8, b(pullLinksBt), false)
		right, below := [2]int{pullLinksKxt, pullLinksKyt}, [2]int{pullLinksBx, pullLinksBy}
		if lb.coupleFlips { // rows of the second part
			right, below = below, right
		}
		for r := range 2 {
			stiff(lb.couple+2+3*r, b(right[r]), !lb.coupleFlips)
			stiff(lb.couple+6+r, b(below[r]), lb.coupleFlips)
		}
	}
	for i, body := range m.mounted {
		node := m.Node[body]
		for axis, q := range [3]int{o.qx + body, o.qy + body, o.yaw + body} {
			k := o.springs + 3*i + axis
			s.Product(spare, k, q)
			s.Plus(o.residual+3*node+axis, spare)
			stiff(9*node+4*axis, k, false)
			if axis < 2 {
				s.Largest(o.size, spare)
			}
		}
	}
	o.planActuators(m, spare, stiff)
	for e := range begun {
		if !begun[e] {
			s.Copy(o.k+e, o.zero)
		}
	}
	for _, h := range m.held {
		m.Pattern.HoldAt(h.node, h.axis, func(e int, one bool) {
			if one {
				s.Copy(o.k+e, o.one)
			} else {
				s.Copy(o.k+e, o.zero)
			}
		})
		s.Copy(o.residual+3*h.node+h.axis, o.zero)
		for k := range m.prescribed {
			s.Copy(o.columns[k]+3*h.node+h.axis, o.zero)
		}
	}
	s.Copy(o.worst, o.zero)
	for node := range m.Body {
		s.Largest(o.worst, o.residual+3*node)
		s.Largest(o.worst, o.residual+3*node+1)
	}
}

// planActuators is [Scratch.applyActuators].
func (o *octetPlan) planActuators(m *Model, spare int, stiff func(e, from int, minus bool)) {
	s := o.assemble
	along, across, force := spare, spare+1, spare+2
	for k, a := range m.Topology.Actuators {
		for i := range m.Unknowns() {
			s.Copy(o.columns[k]+i, o.zero)
		}
		for end := range 2 {
			body, node, sign := m.actuatorEnd(k, end)
			if node < 0 {
				continue
			}
			signed := s.Copy
			if sign < 0 {
				signed = s.Negative
			}
			column := o.columns[k] + 3*node
			// the point, turned: of the coordinate along the force, and of the other
			x, y := o.armX+2*k+end, o.armY+2*k+end
			switch a.Axis {
			case models.AxisYaw:
				signed(column+2, o.one)
			case models.AxisX:
				s.Copy(along, x)
				s.LessProduct(along, x, o.versine+body)
				s.LessProduct(along, y, o.sin+body)
				s.Copy(across, y)
				s.LessProduct(across, y, o.versine+body)
				s.PlusProduct(across, x, o.sin+body)
				s.Negative(across, across)
				signed(column, o.one)
			case models.AxisY:
				s.Copy(along, y)
				s.LessProduct(along, y, o.versine+body)
				s.PlusProduct(along, x, o.sin+body)
				s.Copy(across, x)
				s.LessProduct(across, x, o.versine+body)
				s.LessProduct(across, y, o.sin+body)
				signed(column+1, o.one)
			}
			if a.Axis != models.AxisYaw {
				signed(column+2, across)
				s.Product(force, o.force+k, along)
				stiff(9*node+8, force, sign < 0)
			}
			for i := range 3 {
				s.LessProduct(o.residual+3*node+i, o.force+k, column+i)
			}
		}
	}
}

// planStep is a step of Newton's method from what is assembled, and what blades need of it.
func (o *octetPlan) planStep(m *Model, spare int) {
	s := o.step
	for i := range m.Unknowns() {
		s.Negative(o.change+i, o.residual+i)
	}
	s.Solve(m.Pattern, o.factor, o.change)
	// bordered system: the actuator forces that bring the stage to its place
	stage := m.Topology.Stage
	at := 3 * m.Node[stage]
	var gap, df [2]int
	var a [4]int
	for i, axis := range m.prescribed {
		gap[i], df[i] = spare+i, spare+2+i
		s.Copy(gap[i], o.target+i)
		s.Minus(gap[i], [2]int{o.qx, o.qy}[axis]+stage)
		s.Minus(gap[i], o.change+at+int(axis))
		for k := range m.prescribed {
			a[2*i+k] = o.columns[k] + at + int(axis)
		}
	}
	inverse := spare + 4
	if len(m.prescribed) == 1 {
		s.Inverse(inverse, a[0])
		s.Product(df[0], gap[0], inverse)
	} else {
		s.Product(inverse, a[0], a[3])
		s.LessProduct(inverse, a[1], a[2])
		s.Inverse(inverse, inverse)
		s.Product(df[0], gap[0], a[3])
		s.LessProduct(df[0], gap[1], a[1])
		s.Product(df[1], gap[1], a[0])
		s.LessProduct(df[1], gap[0], a[2])
		s.Product(df[0], df[0], inverse)
		s.Product(df[1], df[1], inverse)
	}
	for k := range m.prescribed {
		s.Plus(o.force+k, df[k])
		for i := range m.Unknowns() {
			s.PlusProduct(o.change+i, df[k], o.columns[k]+i)
		}
	}
	s.Copy(o.move, o.zero)
	s.Copy(o.turned, o.zero)
	for node, b := range m.Body {
		d := o.change + 3*node
		s.Plus(o.qx+b, d)
		s.Plus(o.qy+b, d+1)
		s.Plus(o.yaw+b, d+2)
		s.Largest(o.move, d)
		s.Largest(o.move, d+1)
		s.Largest(o.turned, d+2)
	}
	for i := range m.blades {
		bb := &m.blades[i]
		to := func(c int) int { return o.moved + c*o.blades + i }
		of := func(node, axis int) int {
			if node < 0 {
				return o.zero
			}
			return o.change + 3*node + axis
		}
		for axis := range 2 {
			s.Copy(to(axis), of(bb.tipNode, axis))
			if bb.rootNode >= 0 {
				s.Minus(to(axis), of(bb.rootNode, axis))
			}
		}
		s.Copy(to(2), of(bb.rootNode, 2))
		s.Copy(to(3), of(bb.tipNode, 2))
	}
}
