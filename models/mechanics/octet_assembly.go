package mechanics

import "flexwright/models"

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
