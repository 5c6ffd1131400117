package mechanics

import "flexwright/models"

// Nearby is what a solved stage, the nominal one, tells of stages that differ little from
// it: equilibria, stiffness and the lowest modes by derivatives, from the factorisations
// of the nominal stage alone. It belongs to one goroutine.
//
// With R(x, d) = 0 the equilibrium of a stage of dimensions d, and K its tangent at the
// nominal stage, the derivative of x is -K⁻¹ ∂R/∂d. R of the other stage at the
// nominal x stands for ∂R/∂d times the change of d, so that one solution serves all changes
// together, and what is not linear in the dimensions themselves is kept.
type Nearby struct {
	of    *Scratch
	poses []nearbyPose

	// of the lowest modes ([Nearby.TakeModes])
	dynamics *Dynamics
	memory   *eigenMemory // whose rows are shapes
	shapes   []nearbyModes
	over     *eigenMemory // the same out of the plane
	outside  []nearbyModes
	lowest   float64 // ω² of all of these, (rad/s)²
	ritz     ritzMemory
	product  []float64 // 3 nodes
	lanes    []float64 // what the poses off the centre tell, side by side; see nearbyNumbers
}

// nearbyPose is what is known of a nominal pose beside [Pose].
type nearbyPose struct {
	pushed  [2][]float64 // na × 3 nodes: motion per unit actuator force, actuators free, m/N
	pulled  [2][]float64 // the same per unit force on the stage along each prescribed coordinate
	columns [2][]float64 // directions of the actuator forces
	yields  [4]float64   // na by na: motion of the prescribed coordinates per unit actuator force, m/N
}

// NewNearby returns memory for stages of the model of d.
func NewNearby(d *Dynamics) *Nearby {
	m := d.s.Model
	n := &Nearby{dynamics: d, of: d.s, poses: make([]nearbyPose, m.Poses()), product: make([]float64, m.Unknowns())}
	for i := range n.poses {
		p := &n.poses[i]
		for k := range m.prescribed {
			p.pushed[k], p.pulled[k], p.columns[k] = make([]float64, m.Unknowns()), make([]float64, m.Unknowns()), make([]float64, m.Unknowns())
		}
	}
	n.newModes()
	return n
}

// TakeStatics takes over the poses that the nominal stage's Statics has solved, which must
// stay as they are. It spoils the scratch's iterate.
func (n *Nearby) TakeStatics() {
	s := n.of
	m := s.Model
	stage := 3 * m.Node[m.Topology.Stage]
	for i := range n.poses {
		pose, p := &s.Poses[i], &n.poses[i]
		copy(s.q, pose.Q)
		copy(s.p, pose.P)
		copy(s.force, pose.Force)
		s.assemble(&s.start, 1)
		for k, axis := range m.prescribed {
			copy(p.columns[k], s.column[k])
			copy(p.pushed[k], s.column[k])
			m.Pattern.Solve(pose.Factor, p.pushed[k])
			clear(p.pulled[k])
			p.pulled[k][stage+int(axis)] = 1
			m.Pattern.Solve(pose.Factor, p.pulled[k])
		}
		for r, axis := range m.prescribed {
			for k := range m.prescribed {
				p.yields[2*r+k] = p.pushed[k][stage+int(axis)]
			}
		}
	}
	n.takeLanes()
}

// Statics estimates the poses of ±travel of the stage that s was prepared with, to first
// order in all that differs, displacements and actuator forces to second order as far as
// the nominal tangent goes on to serve. It fills s.Poses but for Factor and Steps. What is
// beyond the blades' range is a verdict; whether the tangent is definite is not looked at.
func (n *Nearby) Statics(s *Scratch, travel float64) models.Verdict {
	s.found++
	if v := n.estimate(s, 0, travel); !v.OK() {
		return v
	}
	alone := s.octet == nil || n.of.octet == nil || !n.sideBySide(s, travel)
	for i := 1; i < len(n.poses); i++ {
		v := s.Poses[i].Verdict
		if alone {
			v = n.estimate(s, i, travel)
		}
		if !v.OK() {
			return v
		}
	}
	return models.Verdict{}
}

// estimate is Statics of one pose.
func (n *Nearby) estimate(s *Scratch, i int, travel float64) models.Verdict {
	pose := &s.Poses[i]
	pose.X, pose.Y, pose.Steps = PoseSigns[i][0]*travel, PoseSigns[i][1]*travel, 0
	nominal := &n.of.Poses[i]
	copy(s.q, nominal.Q)
	copy(s.p, nominal.P)
	copy(s.force, nominal.Force)
	pose.Verdict = models.Verdict{Status: models.NoConvergence, Format: reasonSteps, Index: i}
	if !n.step(s, pose, i) {
		return pose.Verdict
	}
	if _, ok := s.assemble(pose, 1); !ok {
		return pose.Verdict
	}
	s.deflections(pose)
	copy(pose.link, s.link)
	copy(pose.K, s.k)
	n.drive(s, pose, i)
	if !n.solve(s, pose, i) {
		return pose.Verdict
	}
	copy(pose.Q, s.q)
	copy(pose.P, s.p)
	copy(pose.Force, s.force)
	pose.Verdict = s.rangeOfBlades(pose)
	return pose.Verdict
}

// step is a step of Newton's method with the nominal tangent.
func (n *Nearby) step(s *Scratch, pose *Pose, i int) bool {
	if _, ok := s.assemble(pose, 1); !ok {
		return false
	}
	return n.solve(s, pose, i)
}

// solve brings the iterate of s nearer to equilibrium by what was assembled there.
func (n *Nearby) solve(s *Scratch, pose *Pose, i int) bool {
	m, p := s.Model, &n.poses[i]
	stage := m.Topology.Stage
	at := 3 * m.Node[stage]
	r := s.residual
	for k := range r {
		r[k] = -r[k]
	}
	m.Pattern.Solve(n.of.Poses[i].Factor, r)
	var gap [2]float64
	target := [2]float64{pose.X, pose.Y}
	for k, axis := range m.prescribed {
		gap[k] = target[axis] - s.q[3*stage+int(axis)] - r[at+int(axis)]
	}
	force, ok := solve2(len(m.prescribed), p.yields, gap)
	if !ok {
		return false
	}
	for k := range m.prescribed {
		s.force[k] += force[k]
		addScaled(r, force[k], p.pushed[k])
	}
	move, turn := s.update(r)
	return move-move == 0 && turn-turn == 0
}

// drive fills pose.Drive from the tangent that was assembled. Of the motion e K⁻¹ c of the
// prescribed coordinates per unit actuator force, C, the derivative is
//
//	dC = -(K⁻¹e)ᵀ dK (K⁻¹c) + (K⁻¹e)ᵀ dc
//
// and that of the stiffness -C⁻¹ dC C⁻¹: blades act side by side, so that stiffness is nearer to
// linear in their errors than flexibility.
func (n *Nearby) drive(s *Scratch, pose *Pose, i int) {
	m, p := s.Model, &n.poses[i]
	na := len(m.prescribed)
	var change [4]float64
	for k := range na {
		m.Pattern.Multiply(pose.K, p.pushed[k], n.product)
		for r := range na {
			sum := p.yields[2*r+k]
			for u, y := range p.pulled[r] {
				sum += y * (s.column[k][u] - p.columns[k][u] - n.product[u])
			}
			change[2*r+k] = sum
		}
	}
	pose.drivenLike(&n.of.Poses[i], na, &change)
}

// drivenLike fills Drive from a nominal pose and the changed flexibility of n coordinates.
func (p *Pose) drivenLike(o *Pose, n int, change *[4]float64) {
	nominal := &o.Drive
	var half [4]float64
	for r := range n {
		for c := range n {
			for k := range n {
				half[2*r+c] += change[2*r+k] * nominal[2*k+c]
			}
		}
	}
	for r := range n {
		for c := range n {
			p.Drive[2*r+c] = nominal[2*r+c]
			for k := range n {
				p.Drive[2*r+c] -= nominal[2*r+k] * half[2*k+c]
			}
		}
	}
}

// GuideStiffness returns what the stiffness between the driven arm of an axis and
// the stage along it, at the actuator's point, is at a pose over the nominal one, from the
// flexibility gᵀ K⁻¹ g under a pair of forces g: its derivative is -(K⁻¹g)ᵀ dK (K⁻¹g).
// It is 1 where the driven body is the stage, and for a guide that is more than twice as stiff, which is beyond the estimate.
func (n *Nearby) GuideStiffness(s *Scratch, i, axis int) float64 {
	m, p := s.Model, &n.poses[i]
	at := 3*m.Node[m.Topology.Stage] + axis
	nominal := 0.0 // gᵀ K⁻¹ g with g the actuator's direction less the stage's
	for u, c := range p.columns[axis] {
		nominal += c * (p.pushed[axis][u] - p.pulled[axis][u])
	}
	nominal -= p.pushed[axis][at] - p.pulled[axis][at]
	x := s.residual
	for u := range x {
		x[u] = p.pushed[axis][u] - p.pulled[axis][u]
	}
	m.Pattern.Multiply(s.Poses[i].K, x, n.product)
	sum := 0.0
	for u, v := range x {
		sum += v * n.product[u]
	}
	if ratio := nominal / (2*nominal - sum); ratio > 0 {
		return ratio
	}
	return 1
}
