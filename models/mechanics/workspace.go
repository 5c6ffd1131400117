package mechanics

import (
	"math"
	"slices"

	"flexwright/models"
)

// Carried is what happens out of the plane at one pose.
type Carried struct {
	Stiffness float64    // force along z on the stage's origin over its deflection there, tilt free, N/m
	Sag       [3]float64 // of the stage under the weight of everything that moves: z (m), roll, pitch (rad)
}

// Frequencies solves the modes ([Dynamics.Natural]) of the poses that
// Statics has solved, into d.Modes, and returns the worst verdict; it stops at the
// first pose that fails.
func (d *Dynamics) Frequencies() models.Verdict {
	poses := d.s.Poses
	if v, ok := d.sideBySide(); ok {
		return v
	}
	for i := 0; i < len(poses); {
		var v, w models.Verdict
		both := !d.tall && i+1 < len(poses)
		if both {
			v, w = d.inPlaneBoth(&poses[i], &poses[i+1], &d.Modes[i], &d.Modes[i+1])
		} else {
			v = d.Natural(&poses[i], &d.Modes[i])
		}
		if v.OK() && both {
			v = w
			i++
		}
		if !v.OK() {
			if v.Blades == nil {
				v.Index = i
			}
			return v
		}
		i++
	}
	return models.Verdict{}
}

// sideBySide is Frequencies of all poses at a time; with the same bits. ok is false where
// one has no solution: one by one it is told which.
func (d *Dynamics) sideBySide() (v models.Verdict, ok bool) {
	switch {
	case d.alone:
		return v, false
	case d.tall:
		return d.sixSideBySide()
	case d.batch == nil:
		return v, false
	}
	e, b, poses := d.memory, d.batch, d.s.Poses
	b.Clear()
	if d.segments == 1 {
		d.putInPlane()
	} else {
		for i := range poses {
			d.inPlaneProblem(&poses[i], e)
			b.Put(i, e.k, e.mass, e.rows)
		}
	}
	var massive, flexible [NumPoses]bool
	var light, loose [NumPoses]int
	n := len(poses)
	if !b.Condense(n) {
		return v, false
	}
	b.Factor(0, false, loose[:n], flexible[:n])
	if slices.Contains(flexible[:n], false) || loose != [NumPoses]int{} {
		return v, false
	}
	b.Half()
	b.Whiten(n)
	b.Solve(n)
	asked := false
	for i := range poses {
		values := e.values[:b.Order()]
		if !b.Sort(i, values) {
			return v, false
		}
		if !asked && !allMassive(values) { // seldom: whether every motion has a mass
			b.Factor(0, true, light[:n], massive[:n])
			asked = true
		}
		if v = d.Modes[i].takeShapes(b, i, values, massive[i] && light[i] == 0); !v.OK() {
			v.Index = i
			return v, true
		}
	}
	return v, true
}

// Guided returns the frequency of the guided mode along x (0) or y (1) at a
// pose, rad/s; 0 without one.
func (d *Dynamics) Guided(pose, axis int) float64 {
	m := &d.Modes[pose]
	k := [2]int{m.GuidedX, m.GuidedY}[axis]
	if k < 0 {
		return 0
	}
	return m.Omega[k]
}

// alike is how near in frequency, relative, modes lie that may share a motion: the guided pair of a
// symmetric stage is one double mode, whose two shapes are any two of its motions. Errors of
// making split it by a few per cent, and the next modes lie several times higher.
const alike = 0.1

// GuidedMass returns the mass that moves with the stage along x (0) or y (1): 1/Σφ² of the
// guided mode and of the modes alike in frequency, φ the stage's part of a shape, kg. It panics where no mode is guided along the axis.
func (m *Modes) GuidedMass(axis int) float64 {
	k := [2]int{m.GuidedX, m.GuidedY}[axis]
	if k < 0 {
		panic("mechanics: no mode is guided along the axis")
	}
	sum := 0.0
	for i, w := range m.Omega[:m.Count] {
		if math.Abs(w-m.Omega[k]) <= alike*m.Omega[k] {
			phi := m.Rows[i*m.Width+RowStageX+axis]
			sum += phi * phi
		}
	}
	return 1 / sum
}

// First returns the lowest frequency in the plane, rad/s: of the modes that move
// more in it than out of it. +Inf where there is none.
func (m *Modes) First() float64 {
	for k, w := range m.Omega[:m.Count] {
		if m.Out[k] < 0.5 {
			return w
		}
	}
	return math.Inf(1)
}

// WorstFirst returns the least in-plane frequency over all poses, rad/s.
func (d *Dynamics) WorstFirst() float64 {
	least := math.Inf(1)
	for i := range d.Modes {
		least = min(least, d.Modes[i].First())
	}
	return least
}

// LowestOut returns the lowest frequency over all poses of the modes that
// move more out of the plane than in it, rad/s, where heights couple the two and
// Frequencies has solved for both; +Inf otherwise, and [Dynamics.Supports] has it.
func (d *Dynamics) LowestOut() float64 {
	least := math.Inf(1)
	for i := range d.Modes {
		m := &d.Modes[i]
		for k, w := range m.Omega[:m.Count] {
			if m.Out[k] >= 0.5 {
				least = min(least, w)
				break
			}
		}
	}
	return least
}

// Coupled reports whether heights couple the plane and what is out of it.
func (d *Dynamics) Coupled() bool { return d.tall }

// Unwanted returns the lowest of the modes over all poses that is not a
// guided one, rad/s, with its pose and number; +Inf and -1 where there is none.
func (d *Dynamics) Unwanted() (omega float64, pose, mode int) {
	omega, pose, mode = math.Inf(1), -1, -1
	for i := range d.Modes {
		m := &d.Modes[i]
		for k, w := range m.Omega[:m.Count] {
			if k == m.GuidedX || k == m.GuidedY {
				continue
			}
			if w < omega {
				omega, pose, mode = w, i, k
			}
			break
		}
	}
	return omega, pose, mode
}

// Spread returns how much the guided modes change over the workspace: the
// largest over both axes of (largest - least)/value at the centre.
func (d *Dynamics) Spread() float64 {
	worst := 0.0
	for axis := range 2 {
		low, high := math.Inf(1), 0.0
		for i := range d.Modes {
			w := d.Guided(i, axis)
			low, high = min(low, w), max(high, w)
		}
		if centre := d.Guided(0, axis); centre > 0 {
			worst = max(worst, (high-low)/centre)
		}
	}
	return worst
}

// BladeMode returns the least natural frequency over blades and poses of a
// blade between its clamps, rad/s: first mode of a clamped beam, with the axial
// force P = p EI/L²,
//
//	ω = 2π · 1.028 (t/L²) √(E/ρ) √(1 + p/4π²)
//
// (S. Timoshenko, D. H. Young, Vibration Problems in Engineering, art. 54 and 56:
// βL = 4.730, and 4π² EI/L² is the load at which a clamped beam buckles). 0 where a
// blade has reached it.
func (d *Dynamics) BladeMode() float64 {
	st := d.s.Stage
	least := math.Inf(1)
	n := float64(d.segments)
	for i := range d.s.Section {
		p := math.Inf(1)
		for k := range d.s.Poses {
			p = min(p, d.s.Poses[k].Axial[i])
		}
		p *= d.s.WholeCompliance(i)
		length := n * d.s.Section[i].Length
		f := 1.028 * st.Thickness[i] / (length * length) * math.Sqrt(st.Young[i]/st.Density[i]*max(1+p/(4*math.Pi*math.Pi), 0))
		least = min(least, 2*math.Pi*f)
	}
	return least
}

func (d *Dynamics) factorVertical() bool {
	copy(d.factor, d.k)
	negative, ok := d.upright.Pattern.Factor(d.factor)
	return ok && negative == 0
}

// Support fills k with the stiffness of a body's support at a solved pose,
// everything else free to follow: the inverse of its 3 by 3 flexibility in z,
// roll and pitch, row-major, N/m, N/rad, N m/rad. It returns false on a fixed
// body and where the stage is unstable out of its plane.
func (d *Dynamics) Support(pose *Pose, body int, k *[9]float64) bool {
	node := d.upright.Node[body]
	if node < 0 {
		return false
	}
	if _, ok := d.Vertical(pose); !ok || !d.factorVertical() {
		return false
	}
	var f [9]float64
	for c := range 3 {
		clear(d.column)
		d.column[3*node+c] = 1
		d.upright.Pattern.Solve(d.factor, d.column)
		for r := range 3 {
			f[3*r+c] = d.column[3*node+r]
		}
	}
	return invert(&f, k)
}

// SagOf returns how a body moves at a solved pose under the weight of
// everything that moves, gravity along -z: z (m), roll, pitch (rad).
func (d *Dynamics) SagOf(pose *Pose, body int) (q [3]float64, ok bool) {
	node := d.upright.Node[body]
	if node < 0 {
		return q, true
	}
	if _, ok := d.Vertical(pose); !ok || !d.factorVertical() {
		return q, false
	}
	copy(d.column, d.weight)
	d.upright.Pattern.Solve(d.factor, d.column)
	copy(q[:], d.column[3*node:3*node+3])
	return q, true
}

// invert inverts a 3 by 3 matrix.
func invert(a, b *[9]float64) bool {
	c0, c1, c2 := a[4]*a[8]-a[5]*a[7], a[5]*a[6]-a[3]*a[8], a[3]*a[7]-a[4]*a[6]
	q := 1 / (a[0]*c0 + a[1]*c1 + a[2]*c2)
	*b = [9]float64{
		c0 * q, (a[2]*a[7] - a[1]*a[8]) * q, (a[1]*a[5] - a[2]*a[4]) * q,
		c1 * q, (a[0]*a[8] - a[2]*a[6]) * q, (a[2]*a[3] - a[0]*a[5]) * q,
		c2 * q, (a[1]*a[6] - a[0]*a[7]) * q, (a[0]*a[4] - a[1]*a[3]) * q,
	}
	return q-q == 0
}

// StageSag returns the largest deflection of the stage's origin along z under
// weight over all poses, m. Like the following it reads what Supports left.
func (d *Dynamics) StageSag() float64 {
	worst := 0.0
	for i := range d.Carried {
		worst = max(worst, math.Abs(d.Carried[i].Sag[0]))
	}
	return worst
}

// LeastSupport returns the least [Carried] stiffness over all poses, N/m.
func (d *Dynamics) LeastSupport() float64 {
	least := math.Inf(1)
	for i := range d.Carried {
		least = min(least, d.Carried[i].Stiffness)
	}
	return least
}

// Straightness returns the range of the stage's z over all poses under
// weight, m, and the larger of the ranges of its roll and pitch, rad.
func (d *Dynamics) Straightness() (z, tilt float64) {
	var span [3]float64
	for c := range span {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range d.Carried {
			low, high = min(low, d.Carried[i].Sag[c]), max(high, d.Carried[i].Sag[c])
		}
		span[c] = high - low
	}
	return span[0], max(span[1], span[2])
}

// AbbeError returns the largest motion over all poses of the point of
// interest against the stage's origin, rotation × offset, m: its yaw, and its
// roll and pitch under weight, counted from the centre pose (E. Abbe's
// principle: an offset turns a rotation into an error of position).
func (d *Dynamics) AbbeError() float64 {
	worst := 0.0
	at := 3*d.s.Model.Topology.Stage + 2
	p := &d.Point
	for i := range d.Carried {
		roll := d.Carried[i].Sag[1] - d.Carried[0].Sag[1]
		pitch := d.Carried[i].Sag[2] - d.Carried[0].Sag[2]
		yaw := d.s.Poses[i].Q[at] - d.s.Poses[0].Q[at]
		x, y, z := pitch*p[2]-yaw*p[1], yaw*p[0]-roll*p[2], roll*p[1]-pitch*p[0]
		worst = max(worst, math.Sqrt(x*x+y*y+z*z))
	}
	return worst
}

// Upright says which in-plane axis points up when the stage stands.
type Upright uint8

const (
	Flat Upright = iota // z up
	XUp                 // x up
	YUp                 // y up
)

// AddWeight appends to loads the weight of every moving body and of the blades'
// halves at their ends (with the offset at rest), for a stage that stands with x or
// y up; flat it appends nothing. The blades' own bending under their weight, of order
// ρ L⁴/(E t²), is left out. It allocates only where loads has no room for one per
// moving body, four per blade and six per link.
func AddWeight(m *Model, st *models.Stage, up Upright, loads []models.Load) []models.Load {
	if up == Flat {
		return loads
	}
	axis := models.AxisX
	if up == YUp {
		axis = models.AxisY
	}
	add := func(body int, mass, x, y float64) []models.Load {
		if m.Node[body] < 0 {
			return loads
		}
		f := -gravity * mass
		loads = append(loads, models.Load{Body: body, Axis: axis, Value: f})
		arm := -y
		if up == YUp {
			arm = x
		}
		if arm != 0 {
			loads = append(loads, models.Load{Body: body, Axis: models.AxisYaw, Value: f * arm})
		}
		return loads
	}
	for _, b := range m.Body {
		loads = add(b, st.Mass[b], 0, 0)
	}
	var c linkConstants
	for i, l := range m.Topology.Links {
		c.prepare(&st.Links[i], st.X[l.From], st.Y[l.From], st.X[l.To], st.Y[l.To])
		from, to := c.load(int(axis), 1, 0, false)
		for k, body := range [2]int{l.From, l.To} {
			for a, f := range [2][3]float64{from, to}[k] {
				if m.Node[body] >= 0 && f != 0 {
					loads = append(loads, models.Load{Body: body, Axis: models.Axis(a), Value: -gravity * f})
				}
			}
		}
	}
	for i, b := range m.Topology.Blades {
		dx, dy := st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i]
		half := 0.5 * st.Density[i] * math.Sqrt(dx*dx+dy*dy) * st.Thickness[i] * st.Width[i]
		loads = add(b.From, half, st.RootX[i]-st.X[b.From], st.RootY[i]-st.Y[b.From])
		loads = add(b.To, half, st.TipX[i]-st.X[b.To], st.TipY[i]-st.Y[b.To])
	}
	return loads
}
