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
	everything             int // sum of what must be numbers
	gather, assemble, step *dense.Straight
	finish                 *dense.Straight
}

// blade is the number of column c of [bendBlades] at blade i, link that of [pullLinks].
func (o *octetPlan) blade(c, i int) int { return o.bend + c*o.blades + i }
func (o *octetPlan) link(c, i int) int  { return o.pull + c*o.linked + i }

// mostInLanes is the largest number of unknowns that are solved in lanes: some 12,000 numbers, a megabyte.
const mostInLanes = 600

// octet returns the plan for m, nil where poses are not solved side by side.
func (m *Model) octet() *octetPlan {
	m.octetOnce.Do(func() {
		if n := len(m.prescribed); n > 0 && len(m.blades) > 0 && m.Unknowns() <= mostInLanes {
			m.octetPlan = newOctetPlan(m)
		}
	})
	return m.octetPlan
}

func newOctetPlan(m *Model) *octetPlan {
	t := m.Topology
	nb, ne, nl, na, n := len(t.Bodies), len(m.blades), len(m.links), len(t.Actuators), m.Unknowns()
	o := &octetPlan{poses: m.Poses(), blades: ne, linked: nl, gather: new(dense.Straight), assemble: new(dense.Straight), step: new(dense.Straight), finish: new(dense.Straight)}
	take := o.take
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

	o.planGather(m)
	o.planAssembly(m)
	s := o.assemble
	for e := range m.Pattern.Len() {
		if e >= 9*len(m.Body) || e%9%4 == 0 || e%9 == 3 || e%9 > 5 { // above the diagonal nothing is read
			s.Copy(o.factor+e, o.k+e)
		}
	}
	s.Factor(m.Pattern, o.factor, take(9))
	for k := range m.prescribed {
		s.Solve(m.Pattern, o.factor, o.columns[k])
	}
	o.planStep(m)
	o.planFinish(m)
	for _, s := range []*dense.Straight{o.gather, o.assemble, o.step, o.finish} {
		s.Done()
	}
	return o
}

// take returns the first of n numbers.
func (o *octetPlan) take(n int) (at int) {
	at, o.numbers = o.numbers, o.numbers+n
	return at
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

// sum is what a number is the sum of.
type sum struct{ plus, minus []int }

func (s *sum) add(number int, minus bool) {
	if minus {
		s.minus = append(s.minus, number)
	} else {
		s.plus = append(s.plus, number)
	}
}

// planAssembly is [Scratch.assemble] from what the kernels have computed.
func (o *octetPlan) planAssembly(m *Model) {
	s := o.assemble
	stiffness, residual := make([]sum, m.Pattern.Len()), make([]sum, m.Unknowns())
	var sizes []int
	stiff := func(e int, from int, minus bool) { stiffness[e].add(from, minus) }
	for i := range residual {
		residual[i].add(o.load+i, false)
	}
	for i := range m.blades {
		bb := &m.blades[i]
		b := func(c int) int { return o.blade(c, i) }
		sizes = append(sizes, b(bendBladesSize))
		if k := bb.tipNode; k >= 0 {
			residual[3*k].add(b(bendBladesFx), false)
			residual[3*k+1].add(b(bendBladesFy), false)
			residual[3*k+2].add(b(bendBladesTipYaw), false)
			stiff(9*k, b(bendBladesKxx), false)
			stiff(9*k+3, b(bendBladesKxy), false)
			stiff(9*k+4, b(bendBladesKyy), false)
			stiff(9*k+6, b(bendBladesTbx), false)
			stiff(9*k+7, b(bendBladesTby), false)
			stiff(9*k+8, b(bendBladesYawB), false)
		}
		if k := bb.rootNode; k >= 0 {
			residual[3*k].add(b(bendBladesFx), true)
			residual[3*k+1].add(b(bendBladesFy), true)
			residual[3*k+2].add(b(bendBladesRootYaw), false)
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
		sizes = append(sizes, b(pullLinksSize))
		if k := lb.toNode; k >= 0 {
			residual[3*k].add(b(pullLinksGx), false)
			residual[3*k+1].add(b(pullLinksGy), false)
			residual[3*k+2].add(b(pullLinksToYaw), false)
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
		residual[3*k].add(b(pullLinksGx), true)
		residual[3*k+1].add(b(pullLinksGy), true)
		residual[3*k+2].add(b(pullLinksFromYaw), true)
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
			force := o.take(1)
			s.Product(force, k, q)
			residual[3*node+axis].add(force, false)
			stiff(9*node+4*axis, k, false)
			if axis < 2 {
				sizes = append(sizes, force)
			}
		}
	}
	o.planActuators(m, stiffness, residual)
	for e := range stiffness {
		s.Sum(o.k+e, stiffness[e].plus, stiffness[e].minus)
	}
	for i := range residual {
		s.Sum(o.residual+i, residual[i].plus, residual[i].minus)
	}
	s.Largest(o.size, sizes)
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
	var forces []int
	for node := range m.Body {
		forces = append(forces, o.residual+3*node, o.residual+3*node+1)
	}
	s.Largest(o.worst, forces)
}

// planActuators is [Scratch.applyActuators].
func (o *octetPlan) planActuators(m *Model, stiffness, residual []sum) {
	s := o.assemble
	for k, a := range m.Topology.Actuators {
		for i := range m.Unknowns() {
			s.Copy(o.columns[k]+i, o.zero)
		}
		for end := range 2 {
			body, node, sign := m.actuatorEnd(k, end)
			if node < 0 {
				continue
			}
			back := sign < 0
			signed := func(to, from int) {
				if back {
					s.Sum(to, nil, []int{from})
				} else {
					s.Copy(to, from)
				}
			}
			column := o.columns[k] + 3*node
			if a.Axis == models.AxisYaw {
				signed(column+2, o.one)
			} else {
				// the point, turned, along the force and across
				along, across := o.take(1), o.take(1)
				x, y, sin := o.armX+2*k+end, o.armY+2*k+end, o.sin+body
				turn, turnBack := s.LessProduct, s.PlusProduct
				if a.Axis == models.AxisY {
					x, y, turn, turnBack = y, x, turnBack, turn
				}
				s.Copy(along, x)
				s.LessProduct(along, x, o.versine+body)
				turn(along, y, sin)
				s.Copy(across, y)
				s.LessProduct(across, y, o.versine+body)
				turnBack(across, x, sin)
				signed(column+int(a.Axis), o.one)
				moment := o.take(1)
				if a.Axis == models.AxisX { // -y
					s.Sum(moment, nil, []int{across})
				} else {
					s.Copy(moment, across)
				}
				signed(column+2, moment)
				force := o.take(1)
				s.Product(force, o.force+k, along)
				stiffness[9*node+8].add(force, back)
			}
			for i := range 3 {
				force := o.take(1)
				s.Product(force, o.force+k, column+i)
				residual[3*node+i].add(force, true)
			}
		}
	}
}

// planStep is a step of Newton's method from what is assembled, and what blades need of it.
func (o *octetPlan) planStep(m *Model) {
	s := o.step
	for i := range m.Unknowns() {
		s.Sum(o.change+i, nil, []int{o.residual + i})
	}
	s.Solve(m.Pattern, o.factor, o.change)
	// bordered system: the actuator forces that bring the stage to its place
	stage := m.Topology.Stage
	at := 3 * m.Node[stage]
	var gap, df [2]int
	var a [4]int
	for i, axis := range m.prescribed {
		gap[i], df[i] = o.take(1), o.take(1)
		s.Sum(gap[i], []int{o.target + i}, []int{[2]int{o.qx, o.qy}[axis] + stage, o.change + at + int(axis)})
		for k := range m.prescribed {
			a[2*i+k] = o.columns[k] + at + int(axis)
		}
	}
	inverse := o.take(1)
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
		s.Sum(o.force+k, []int{o.force + k, df[k]}, nil)
		for i := range m.Unknowns() {
			s.PlusProduct(o.change+i, df[k], o.columns[k]+i)
		}
	}
	var moves, turns []int
	for node, b := range m.Body {
		d := o.change + 3*node
		for axis, q := range [3]int{o.qx + b, o.qy + b, o.yaw + b} {
			s.Sum(q, []int{q, d + axis}, nil)
		}
		moves, turns = append(moves, d, d+1), append(turns, d+2)
	}
	s.Largest(o.move, moves)
	s.Largest(o.turned, turns)
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
			s.Sum(to(axis), []int{of(bb.tipNode, axis)}, []int{of(bb.rootNode, axis)})
		}
		s.Copy(to(2), of(bb.rootNode, 2))
		s.Copy(to(3), of(bb.tipNode, 2))
	}
}

// planFinish adds up what a pose is told by.
func (o *octetPlan) planFinish(m *Model) {
	var all []int
	add := func(from, n int) {
		for k := range n {
			all = append(all, from+k)
		}
	}
	add(o.qx, len(m.Topology.Bodies))
	add(o.qy, len(m.Topology.Bodies))
	add(o.yaw, len(m.Topology.Bodies))
	add(o.force, len(m.Topology.Actuators))
	for _, c := range [...]int{bendBladesP, bendBladesRootM, bendBladesTipM} {
		add(o.blade(c, 0), o.blades)
	}
	add(o.shaped, len(shapeOwn)*o.blades)
	for node := range m.Body {
		all = append(all, o.factor+9*node, o.factor+9*node+4, o.factor+9*node+8)
	}
	o.everything = o.take(1)
	o.finish.Sum(o.everything, all, nil)
}
