package mechanics

import "flexwright/models/dense"

// octetPlan says where the numbers of an [octet] are, and what is done with them: made once for a model.
type octetPlan struct {
	poses, numbers int
	bodies         int
	blades, linked int

	zero, one           int
	qx, qy, yaw         int // of each body
	sin, versine        int
	force, target       int // of each actuator, of each prescribed coordinate
	load                int // 3 nodes, negative
	armX, armY, springs int
	bend, pull          int // columns of [bendBlades], [pullLinks]
	moved, shaped       int // other columns of [followBlades], [shapeBlades]
	k, factor           int // over the pattern
	residual, change    int // 3 nodes
	columns             [2]int
	worst, size         int // largest residual, largest internal force
	move, turned        int // largest displacement and yaw of a step
	everything          int // sum of what must be numbers
	near                nearbyNumbers

	// bring motions to blades and links; add up residual, tangent and directions of the forces; factor and solve for the latter; take a step;
	// add up everything
	gather, assemble, factoring, step, finish *dense.Straight
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
	o := &octetPlan{poses: m.Poses(), bodies: nb, blades: ne, linked: nl, gather: new(dense.Straight), assemble: new(dense.Straight), factoring: new(dense.Straight), step: new(dense.Straight), finish: new(dense.Straight)}
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
	o.worst, o.size, o.move, o.turned, o.everything = take(1), take(1), take(1), take(1), take(1)

	o.planGather(m)
	o.planAssembly(m)
	s := o.factoring
	for e := range m.Pattern.Len() {
		if m.read(e) {
			s.Copy(o.factor+e, o.k+e)
		}
	}
	s.Factor(m.Pattern, o.factor, take(9))
	for k := range m.prescribed {
		s.Solve(m.Pattern, o.factor, o.columns[k])
	}
	o.planStep(m, o.step, o.factor, o.columns)
	o.planSum(m, o.finish, o.pivots(m))
	o.planNearby(m)
	for _, s := range []*dense.Straight{o.gather, o.assemble, o.factoring, o.step, o.finish, o.near.step, o.near.drive, o.near.finish} {
		s.Done()
	}
	return o
}

// read reports whether number e of a matrix over the pattern is looked at: above the diagonal of a diagonal block none is.
func (m *Model) read(e int) bool {
	return e >= 9*len(m.Body) || e%9%4 == 0 || e%9 == 3 || e%9 > 5
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

// planStep is a step of Newton's method from what is assembled, with a factor and the motions per actuator force, and what blades need of it.
func (o *octetPlan) planStep(m *Model, s *dense.Straight, factor int, columns [2]int) {
	for i := range m.Unknowns() {
		s.Sum(o.change+i, nil, []int{o.residual + i})
	}
	s.Solve(m.Pattern, factor, o.change)
	// bordered system: the actuator forces that bring the stage to its place
	stage := m.Topology.Stage
	at := 3 * m.Node[stage]
	var gap, df [2]int
	var a [4]int
	for i, axis := range m.prescribed {
		gap[i], df[i] = o.take(1), o.take(1)
		s.Sum(gap[i], []int{o.target + i}, []int{[2]int{o.qx, o.qy}[axis] + stage, o.change + at + int(axis)})
		for k := range m.prescribed {
			a[2*i+k] = columns[k] + at + int(axis)
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
			s.PlusProduct(o.change+i, df[k], columns[k]+i)
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

// planSum adds up everything that a pose is told by, and more.
func (o *octetPlan) planSum(m *Model, s *dense.Straight, more []int) {
	add := func(from, n int) {
		for k := range n {
			more = append(more, from+k)
		}
	}
	add(o.qx, 3*o.bodies) // x, y and yaw
	add(o.force, len(m.Topology.Actuators))
	for _, c := range [...]int{bendBladesP, bendBladesRootM, bendBladesTipM} {
		add(o.blade(c, 0), o.blades)
	}
	add(o.shaped, len(shapeOwn)*o.blades)
	s.Sum(o.everything, more, nil)
}

// pivots are the numbers of the reciprocals of a factor's pivots.
func (o *octetPlan) pivots(m *Model) (list []int) {
	for node := range m.Body {
		list = append(list, o.factor+9*node, o.factor+9*node+4, o.factor+9*node+8)
	}
	return list
}
