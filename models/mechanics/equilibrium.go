package mechanics

import (
	"math"

	"flexwright/models"
)

// Limits of the Newton iteration.
const (
	maxSteps = 14 // of one solution; a good one takes 3 to 5
	// stepTolerance is the largest last step, over the length of the longest
	// blade (rad for rotations): convergence is quadratic, so that what is left
	// is of the order of its square.
	stepTolerance = 1e-7
	// residualTolerance is the largest residual force over the largest internal
	// force; rounding leaves about 1e-12.
	residualTolerance = 1e-9
	finestFraction    = 1.0 / 1024 // of the way, before step control gives up
)

// Reasons of a pose that is not solved.
const (
	reasonSteps    = "no equilibrium found at pose %[1]d: the iteration did not settle"
	reasonBuckled  = "unstable with constant actuator forces at pose %[1]d"
	reasonAxial    = "axial force of %[1]s: P L²/EI = %.4[2]g, beyond %[3]g"
	reasonDeflects = "deflection of %[1]s: |w|/L = %.4[2]g, more than %[3]g"
)

// newton iterates (q, p, force) of s to the equilibrium in which the stage's
// prescribed coordinates are factor·(x, y) and the loads are scaled by factor.
// At success the tangent is in s.k and the last assembly belongs to the result.
func (s *Scratch) newton(pose *Pose, x, y, factor float64) bool {
	m := s.Model
	stage := m.Topology.Stage
	target := [2]float64{factor * x, factor * y}
	small := false
	for step := 0; step <= maxSteps; step++ {
		scale, ok := s.assemble(pose, factor)
		if !ok {
			return false
		}
		worst := 0.0
		for node := range m.Body {
			worst = max(worst, math.Abs(s.residual[3*node]), math.Abs(s.residual[3*node+1]))
		}
		if worst != worst {
			return false
		}
		if step == 0 && s.atRest(target) {
			return true
		}
		// At least two steps: with a good prediction the first can be below the
		// tolerance while the forces are not settled.
		if small && step >= 2 && worst <= residualTolerance*scale+math.SmallestNonzeroFloat64 {
			return true
		}
		copy(pose.Factor, s.k)
		if _, ok := m.Pattern.Factor(pose.Factor); !ok {
			return false
		}
		pose.Steps++
		r := s.residual
		for i := range r {
			r[i] = -r[i]
		}
		m.Pattern.Solve(pose.Factor, r)
		if n := len(m.prescribed); n > 0 {
			// bordered system: the actuator forces that bring the stage to its place
			var a [4]float64
			var gap [2]float64
			at := 3 * m.Node[stage]
			for k := range n {
				m.Pattern.Solve(pose.Factor, s.column[k])
			}
			for i, axis := range m.prescribed {
				gap[i] = target[axis] - s.q[3*stage+int(axis)] - r[at+int(axis)]
				for k := range n {
					a[2*i+k] = s.column[k][at+int(axis)]
				}
			}
			df, ok := solve2(n, a, gap)
			if !ok {
				return false
			}
			for k := range n {
				s.force[k] += df[k]
				for i, c := range s.column[k] {
					r[i] += df[k] * c
				}
			}
		}
		move, turn := s.update(r)
		small = move <= stepTolerance*s.size && turn <= stepTolerance
		if !(move < 4*s.size) || !(turn < 2) {
			return false
		}
	}
	return false
}

// atRest reports whether what was assembled is an equilibrium to the last bit, as a stage without loads is in its middle.
func (s *Scratch) atRest(target [2]float64) bool {
	m := s.Model
	for _, r := range s.residual {
		if r != 0 {
			return false
		}
	}
	for i := range s.link {
		if s.link[i].residual != 0 {
			return false
		}
	}
	for _, axis := range m.prescribed {
		if s.q[3*m.Topology.Stage+int(axis)] != target[axis] {
			return false
		}
	}
	return true
}

// update adds the step d (3 nodes) to the iterate and lets the axial forces
// follow from the axial equations linearised at the old one.
func (s *Scratch) update(d []float64) (move, turn float64) {
	m := s.Model
	for i := range m.blades {
		s.p[i] += s.axialStep(i, d) + s.link[i].residual/s.link[i].c
	}
	for node, b := range m.Body {
		x, y, yaw := d[3*node], d[3*node+1], d[3*node+2]
		s.q[3*b] += x
		s.q[3*b+1] += y
		s.q[3*b+2] += yaw
		move = max(move, math.Abs(x), math.Abs(y))
		turn = max(turn, math.Abs(yaw))
		if x != x || y != y || yaw != yaw {
			return math.NaN(), math.NaN()
		}
	}
	return move, turn
}

// axialStep is the change of the normalised axial force of blade i with the
// step d of the bodies, its residual apart.
func (s *Scratch) axialStep(i int, d []float64) float64 {
	bb, lk := &s.Model.blades[i], &s.link[i]
	var dx, dy, along, across, turnA, turnB float64
	if k := bb.tipNode; k >= 0 {
		dx, dy, turnB = d[3*k], d[3*k+1], d[3*k+2]
	}
	if k := bb.rootNode; k >= 0 {
		dx -= d[3*k]
		dy -= d[3*k+1]
		turnA = d[3*k+2]
	}
	along = lk.nx*dx + lk.ny*dy + lk.bn*turnB - lk.an*turnA
	across = lk.nx*dy - lk.ny*dx + lk.bm*turnB - lk.am*turnA
	rotation := across / lk.chord
	return (along/s.Section[i].Length + lk.rowA*(turnA-rotation) + lk.rowB*(turnB-rotation)) / lk.c
}

// solve2 solves the n by n system a x = b, n at most 2, a row-major with stride 2.
func solve2(n int, a [4]float64, b [2]float64) (x [2]float64, ok bool) {
	if n == 1 {
		x[0] = b[0] / a[0]
		return x, a[0] != 0 && x[0]-x[0] == 0
	}
	det := a[0]*a[3] - a[1]*a[2]
	x[0] = (b[0]*a[3] - b[1]*a[1]) / det
	x[1] = (b[1]*a[0] - b[0]*a[2]) / det
	return x, det != 0 && x[0]-x[0] == 0 && x[1]-x[1] == 0
}

// Solve finds the equilibrium with the stage at (x, y), or, in a topology
// without actuators, under the loads alone, from the prediction in the iterate;
// if that fails, from rest in steps. It fills pose. The verdict is the worst of
// no_convergence, buckled (negative eigenvalues of the tangent with constant
// actuator forces) and out_of_range (of the blade model).
func (s *Scratch) solve(number int, pose *Pose, x, y float64) {
	pose.X, pose.Y, pose.Steps = x, y, 0
	pose.Verdict = models.Verdict{}
	if !s.newton(pose, x, y, 1) && !s.inSteps(pose, x, y) {
		pose.Verdict = s.whyNot(number, pose)
		return
	}
	copy(pose.Q, s.q)
	copy(pose.P, s.p)
	copy(pose.Force, s.force)
	copy(pose.link, s.link)
	copy(pose.K, s.k)
	copy(pose.Factor, s.k)
	negative, ok := s.Model.Pattern.Factor(pose.Factor)
	if !ok || negative > 0 {
		pose.Verdict = models.Verdict{Status: models.Buckled, Format: reasonBuckled, Index: number}
		return
	}
	s.driveStiffness(pose)
	s.deflections(pose)
	pose.Verdict = s.rangeOfBlades(pose)
}

// inSteps goes from rest to (x, y) in fractions, halved where one fails and
// doubled where one holds.
func (s *Scratch) inSteps(pose *Pose, x, y float64) bool {
	clear(s.q)
	clear(s.p)
	clear(s.force)
	from := &s.start
	copy(from.Q, s.q)
	copy(from.P, s.p)
	copy(from.Force, s.force)
	done, step := 0.0, 0.25
	for done < 1 {
		next := min(1, done+step)
		if s.newton(pose, x, y, next) {
			copy(from.Q, s.q)
			copy(from.P, s.p)
			copy(from.Force, s.force)
			done, step = next, 2*step
			continue
		}
		copy(s.q, from.Q)
		copy(s.p, from.P)
		copy(s.force, from.Force)
		if step /= 2; step < finestFraction {
			s.reached = done
			return false
		}
	}
	return true
}

// whyNot judges the last equilibrium on the way to a pose that was not found, which
// inSteps has left in the iterate: beyond the range of the blades, or unstable,
// there is nothing to be found farther on. Only else is it no_convergence.
func (s *Scratch) whyNot(number int, pose *Pose) models.Verdict {
	if _, ok := s.assemble(pose, s.reached); ok {
		s.deflections(pose)
		if v := s.rangeOfBlades(pose); !v.OK() {
			return v
		}
		copy(pose.Factor, s.k)
		if negative, ok := s.Model.Pattern.Factor(pose.Factor); !ok || negative > 0 {
			return models.Verdict{Status: models.Buckled, Format: reasonBuckled, Index: number}
		}
	}
	return models.Verdict{Status: models.NoConvergence, Format: reasonSteps, Index: number}
}

// driveStiffness fills pose.Drive: the inverse of the flexibility of the
// prescribed coordinates under the actuator forces, from the factor at the pose.
// It leaves in column the motion of all bodies per unit force.
func (s *Scratch) driveStiffness(pose *Pose) {
	m := s.Model
	n := len(m.prescribed)
	if n == 0 {
		return
	}
	var a [4]float64
	at := 3 * m.Node[m.Topology.Stage]
	for k := range n {
		m.Pattern.Solve(pose.Factor, s.column[k])
		for i, axis := range m.prescribed {
			a[2*i+k] = s.column[k][at+int(axis)]
		}
	}
	pose.drive(n, a)
}

// drive fills Drive with the inverse of the flexibility a of n coordinates, row-major with stride 2.
func (p *Pose) drive(n int, a [4]float64) (ok bool) {
	ok = true
	for i := range n {
		var unit [2]float64
		unit[i] = 1
		x, regular := solve2(n, a, unit)
		ok = ok && regular
		for k := range n {
			p.Drive[2*k+i] = x[k]
		}
	}
	return ok
}
