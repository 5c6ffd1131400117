package mechanics

import (
	"math"

	"flexwright/models"
)

// An actuator pushes one body and, at the same point of space at rest, another one back:
// its ends, 0 and 1. From a fixed body it has no second end.

// actuatorEnd returns the body at an end of actuator k, its node, negative where there is
// nothing to push, and the sign of the force on it.
func (m *Model) actuatorEnd(k, end int) (body, node int, sign float64) {
	a := &m.Topology.Actuators[k]
	switch {
	case end == 0:
		return a.Body, m.Node[a.Body], 1
	case a.From == 0:
		return 0, -1, -1
	}
	return a.From - 1, m.Node[a.From-1], -1
}

// applyActuators subtracts the actuator forces from the residual, writes their
// directions into column, and adds to the tangent what they do as their point
// turns with its body: a force F along d at r from the origin has the moment
// F (r × d), which falls by F (r·d) per radian.
func (s *Scratch) applyActuators() {
	for k, a := range s.Model.Topology.Actuators {
		c := s.column[k]
		clear(c)
		for end := range 2 {
			body, node, sign := s.Model.actuatorEnd(k, end)
			if node < 0 {
				continue
			}
			sin, v := s.sin[body], s.versine[body]
			x, y := s.armX[2*k+end], s.armY[2*k+end]
			rx, ry := x*(1-v)-y*sin, y*(1-v)+x*sin
			along, moment := rx, -ry
			if a.Axis == models.AxisY {
				along, moment = ry, rx
			}
			if a.Axis == models.AxisYaw {
				along, moment = 0, 1
			} else {
				c[3*node+int(a.Axis)] = sign
			}
			c[3*node+2] = sign * moment
			f := s.force[k]
			for i := range 3 {
				s.residual[3*node+i] -= f * c[3*node+i]
			}
			s.k[9*node+8] += sign * f * along
		}
	}
}

// ActuatorMotion returns the displacement of actuator k's point at a pose, m, against
// that of the body that it pushes from.
func (s *Scratch) ActuatorMotion(pose *Pose, k int) (x, y float64) {
	for end := range 2 {
		body, node, sign := s.Model.actuatorEnd(k, end)
		if end == 1 && node < 0 {
			break
		}
		q := pose.Q[3*body:]
		sin, cos := math.Sincos(q[2])
		versine := sin * sin / (1 + cos)
		ax, ay := s.armX[2*k+end], s.armY[2*k+end]
		x += sign * (q[0] - versine*ax - sin*ay)
		y += sign * (q[1] + sin*ax - versine*ay)
	}
	return x, y
}

// actuatorArm returns the point of an end of actuator k at a pose, from its body's
// displaced origin, m.
func (d *Dynamics) actuatorArm(pose *Pose, k, end int) (x, y float64) {
	body, _, _ := d.s.Model.actuatorEnd(k, end)
	sin, cos := math.Sincos(pose.Q[3*body+2])
	ax, ay := d.s.armX[2*k+end], d.s.armY[2*k+end]
	return cos*ax - sin*ay, sin*ax + cos*ay
}

// actuatorRows adds the rows in which actuators push, in the plane.
func (d *Dynamics) actuatorRows(pose *Pose, rows []float64) {
	for k, a := range d.s.Model.Topology.Actuators {
		for end := range 2 {
			_, node, sign := d.s.Model.actuatorEnd(k, end)
			if node < 0 {
				continue
			}
			x, y := d.actuatorArm(pose, k, end)
			at := 3 * node * d.width
			if a.Axis == models.AxisX {
				rows[at+RowActuator+k], rows[at+2*d.width+RowActuator+k] = sign, -sign*y
			} else {
				rows[at+d.width+RowActuator+k], rows[at+2*d.width+RowActuator+k] = sign, sign*x
			}
		}
	}
}

// actuatorTilts writes what the height of actuators adds to their rows, on the unknowns
// out of the plane, the first of them at row first of rows that are width wide.
func (d *Dynamics) actuatorTilts(rows []float64, first, width int) {
	for k, a := range d.upright.Topology.Actuators {
		z := d.s.Stage.ActZ[k]
		for end := range 2 {
			_, node, sign := d.upright.actuatorEnd(k, end)
			if node < 0 {
				continue
			}
			if a.Axis == models.AxisX {
				rows[(first+3*node+2)*width+RowActuator+k] = sign * z
			} else {
				rows[(first+3*node+1)*width+RowActuator+k] = -sign * z
			}
		}
	}
}

// actuatorStiffness adds the actuators' own stiffness to that of the bodies.
func (d *Dynamics) actuatorStiffness(pose *Pose, stiff []float64) {
	m := d.s.Model
	for k, a := range m.Topology.Actuators {
		sx, sy := d.s.Stage.ActAlong[k], d.s.Stage.ActAcross[k]
		if sx == 0 && sy == 0 {
			continue
		}
		if a.Axis == models.AxisY {
			sx, sy = sy, sx
		}
		var node [2]int
		var x, y [2]float64
		for end := range 2 {
			_, node[end], _ = m.actuatorEnd(k, end)
			if node[end] < 0 {
				continue
			}
			x[end], y[end] = d.actuatorArm(pose, k, end)
			addInPlanePoint(stiff[9*node[end]:], sx, sy, x[end], y[end])
		}
		if node[0] < 0 || node[1] < 0 {
			continue
		}
		// minus the product of what the two ends move by
		block, flipped := m.Pattern.Block(node[0], node[1])
		i, j := 0, 1
		if flipped {
			i, j = 1, 0
		}
		to := stiff[block : block+9]
		to[0] -= sx
		to[4] -= sy
		to[2] += sx * y[j]
		to[6] += sx * y[i]
		to[5] -= sy * x[j]
		to[7] -= sy * x[i]
		to[8] -= sx*y[i]*y[j] + sy*x[i]*x[j]
	}
}
