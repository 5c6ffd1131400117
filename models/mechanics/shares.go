package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/blade"
)

// Member is a kind of metal that gives way.
type Member uint8

const (
	MemberBlade Member = iota
	MemberRoot         // of blades, in the bodies that they grow from
	MemberProng        // with its foot
	MemberBack         // of an arm
	MemberGuide        // body of a guide
	MemberMount        // springs under the frame
	NumMembers
)

var memberNames = [NumMembers]string{"blades", "roots of blades", "prongs and feet", "backs of arms", "guide bodies", "mount"}

// String names the members of a kind.
func (m Member) String() string { return memberNames[m] }

// Shares is what of a compliance sits where: parts of the energy that a force stores at a pose,
// ½ f² times the compliance, as the tangent there has it. They add up to 1.
type Shares struct {
	Compliance float64 // motion of the loaded point along the force, over it, m/N
	Of         [NumMembers]float64
}

// finish turns energies under a unit force into shares; the blades have the rest, with
// what forces at the pose add to the tangent.
func (s *Shares) finish() {
	rest := 1.0
	for m := MemberBlade + 1; m < NumMembers; m++ {
		s.Of[m] /= s.Compliance / 2
		rest -= s.Of[m]
	}
	s.Of[MemberBlade] = rest
}

// linkShares adds the energies of the beams of link i under the force f on its end, in the plane or
// out of it, in the axes of the plate at rest.
func (s *Scratch) linkShares(i int, f [3]float64, upright bool, to *Shares) {
	l, b := &s.Stage.Links[i], s.Model.Topology.Links[i].To
	x, y := s.Stage.X[b], s.Stage.Y[b]
	for k := range l.N {
		q := &l.Beams[k]
		length := math.Hypot(q.X1-q.X0, q.Y1-q.Y0)
		rates := ratesOf(q, length)
		whole := rates.upTo(length)
		var in, out plane3
		whole.add(&in, &out, (q.X1-q.X0)/length, (q.Y1-q.Y0)/length, q.X1, q.Y1, x, y, x, y)
		flexibility := &in
		if upright {
			flexibility = &out
		}
		member := MemberProng
		if q.Back {
			member = MemberBack
		}
		to.Of[member] += energy3(flexibility, f)
	}
}

// energy3 returns ½ fᵀ a f.
func energy3(a *plane3, f [3]float64) (sum float64) {
	for r := range 3 {
		for c := range 3 {
			sum += a[3*r+c] * f[r] * f[c] / 2
		}
	}
	return sum
}

func times3(a *plane3, x [3]float64) (y [3]float64) {
	for r := range 3 {
		y[r] = a[3*r]*x[0] + a[3*r+1]*x[1] + a[3*r+2]*x[2]
	}
	return y
}

// node3 returns the three unknowns of a body in a solution, zero for a fixed one.
func (m *Model) node3(x []float64, body int) (q [3]float64) {
	if n := m.Node[body]; n >= 0 {
		copy(q[:], x[3*n:3*n+3])
	}
	return q
}

// DriveShares tells what gives way to actuator k at a solved pose of a stage whose blades are
// whole, all else free: the compliance of its point along its axis.
func (d *Dynamics) DriveShares(pose *Pose, k int) (sh Shares) {
	s, m := d.s, d.s.Model
	rows := make([]float64, m.Unknowns()*d.width)
	d.inPlaneRows(pose, rows)
	push, x := make([]float64, m.Unknowns()), make([]float64, m.Unknowns())
	for u := range push {
		push[u] = rows[u*d.width+RowActuator+k]
	}
	copy(x, push)
	m.Pattern.Solve(pose.Factor, x)
	for u, p := range push {
		sh.Compliance += p * x[u]
	}
	for i := range m.links {
		lb, c := &m.links[i], &s.links[i]
		a, b := m.node3(x, lb.from), m.node3(x, lb.to)
		sin, cos := math.Sincos(pose.Q[3*lb.from+2])
		dx, dy := b[0]-a[0], b[1]-a[1]
		// as in assembleLinks: R(-φa)(dqb - dqa) + (u_y, -u_x) dφa
		wx := s.Stage.X[lb.to] + pose.Q[3*lb.to] - s.Stage.X[lb.from] - pose.Q[3*lb.from]
		wy := s.Stage.Y[lb.to] + pose.Q[3*lb.to+1] - s.Stage.Y[lb.from] - pose.Q[3*lb.from+1]
		dx, dy = dx+wy*a[2], dy-wx*a[2]
		s.linkShares(i, times3(&c.in, [3]float64{cos*dx + sin*dy, cos*dy - sin*dx, b[2] - a[2]}), false, &sh)
	}
	for i := range m.blades {
		copy(s.link, pose.link)
		section := &s.Section[i]
		force := section.EI / (section.Length * section.Length) * s.axialStep(i, x) // axial
		root, bars := partedEnds(s.Stage, i)
		sh.Of[MemberRoot] += force * force * root.axial / 2
		sh.Of[MemberProng] += force * force * bars[0].axial / 2
		sh.Of[MemberGuide] += force * force * bars[1].axial / 2
	}
	for i, b := range m.mounted {
		q := m.node3(x, b)
		for axis := range 3 {
			sh.Of[MemberMount] += s.Stage.Springs[i][axis] * q[axis] * q[axis] / 2
		}
	}
	sh.finish()
	return sh
}

// partedEnds returns the roots of blade i together, and the bars at its root and at its tip.
func partedEnds(st *models.Stage, i int) (roots endFlexibility, bars [2]endFlexibility) {
	r, t := bladeEnds(st, i, i)
	bars[0].add(&st.RootBar[i])
	bars[1].add(&st.TipBar[i])
	roots.axial = r.axial + t.axial - bars[0].axial - bars[1].axial
	return roots, bars
}

// SupportShares tells what gives way to a force along z on the stage's origin at a
// solved pose of a stage whose blades are whole.
func (d *Dynamics) SupportShares(pose *Pose) (sh Shares, ok bool) {
	s, m, st := d.s, d.upright, d.s.Stage
	stage := m.Node[m.Topology.Stage]
	if _, ok := d.Vertical(pose); !ok || stage < 0 || !d.factorVertical() {
		return sh, false
	}
	x := make([]float64, m.Unknowns())
	x[3*stage] = 1
	m.Pattern.Solve(d.factor, x)
	sh.Compliance = x[3*stage]
	for i := range m.links {
		lb, c := &m.links[i], &s.links[i]
		a, b := m.node3(x, lb.from), m.node3(x, lb.to)
		rx := st.X[lb.to] + pose.Q[3*lb.to] - st.X[lb.from] - pose.Q[3*lb.from]
		ry := st.Y[lb.to] + pose.Q[3*lb.to+1] - st.Y[lb.from] - pose.Q[3*lb.from+1]
		z, roll, pitch := b[0]-a[0]-ry*a[1]+rx*a[2], b[1]-a[1], b[2]-a[2]
		sin, cos := math.Sincos(pose.Q[3*lb.from+2])
		s.linkShares(i, times3(&c.out, [3]float64{z, cos*roll + sin*pitch, cos*pitch - sin*roll}), true, &sh)
	}
	for i, spec := range m.Topology.Blades {
		var e ends
		var k plane3
		if !d.wholeBlade(pose, i, &e, &k) {
			return sh, false
		}
		a, b := m.node3(x, spec.From), m.node3(x, spec.To)
		turned := func(q [3]float64) (roll, pitch float64) { return e.nx*q[1] + e.ny*q[2], e.nx*q[2] - e.ny*q[1] }
		rollA, pitchA := turned(a)
		rollB, pitchB := turned(b)
		// at the tip, as both bodies carry it: z + across·roll - along·pitch
		za := a[0] + e.ay*rollA - (e.ax+e.chord)*pitchA
		zb := b[0] + e.by*rollB - e.bx*pitchB
		_, bars := partedEnds(st, i)
		r, t := bladeEnds(st, i, i)
		motion := [3]float64{zb - za, rollB - rollA, pitchB - pitchA}
		force := d.blades[i].ChainForce(&k, pose.Axial[i], motion)
		part := func(root, tip *[6]float64) float64 {
			f := blade.EndsAtTip(s.Section[i].Length, root, tip)
			return energy3(&plane3{f[0], f[1], f[2], f[1], f[3], f[4], f[2], f[4], f[5]}, force)
		}
		var none [6]float64
		all, foot, guide := part(&r.out, &t.out), part(&bars[0].out, &none), part(&none, &bars[1].out)
		sh.Of[MemberProng] += foot
		sh.Of[MemberGuide] += guide
		sh.Of[MemberRoot] += all - foot - guide
	}
	for i, b := range m.mounted {
		q := m.node3(x, b)
		for axis := range 3 {
			sh.Of[MemberMount] += st.Springs[i][3+axis] * q[axis] * q[axis] / 2
		}
	}
	sh.finish()
	return sh, true
}
