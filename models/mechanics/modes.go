package mechanics

import (
	"math"

	"flexwright/models"
)

// Rows of the in-plane shapes that are always computed: the motion of a point
// along a direction. All but the floor's are per √kg, the floor's √kg.
const (
	RowActuator = iota     // at actuator k along its axis: RowActuator + k
	RowPointX   = iota + 1 // point of interest on the stage
	RowPointY
	RowStageX // origin of the stage
	RowStageY
	RowFloorX // φᵀM e: excitation by a floor that accelerates along x
	RowFloorY
	NumRows
)

// Modes are the natural modes at one pose, ascending: those in the plane, or all
// where heights couple them to those out of it.
type Modes struct {
	Count int       // number of modes
	Omega []float64 // rad/s; 0 for a rigid-body mode
	Rows  []float64 // Count × Width: mass-normalised shapes at the points of interest
	Width int       // NumRows, or more where the topology has sensors
	Out   []float64 // Count: share of the motion out of the plane in the kinetic energy, 0 to 1
	// The guided modes, by number: the ones with the largest share φ²/ω² of the
	// stage's compliance along x and along y; -1 where the stage does not move.
	GuidedX, GuidedY int
	single           bool // one driven axis, x: no mode is guided along y
}

func newModes(plane, upright *Model) *Modes {
	n := plane.Unknowns() + upright.Unknowns()
	width := rowWidth(plane.Topology)
	return &Modes{single: len(plane.Topology.Actuators) == 1, Width: width, Omega: make([]float64, n), Rows: make([]float64, n*width), Out: make([]float64, n)}
}

// InPlane fills out with all in-plane modes at a solved pose: K x = ω² M x with
// the tangent at constant actuator forces, the consistent mass of the blades, and
// the actuators' own stiffness and mass. Held unknowns do not take part. Of two
// modes of the same frequency the first is turned so that it carries all of the
// stage's motion along x.
//
// A body may have no mass: the motions that no mass follows have no mode. The
// verdict is buckled when an actuator's negative stiffness makes a mode unstable, and
// failed when a motion has neither mass nor stiffness.
func (d *Dynamics) InPlane(pose *Pose, out *Modes) models.Verdict {
	e := d.memory
	d.inPlaneProblem(pose, e)
	n, ok := e.solve(d.width)
	if !ok {
		return models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	return out.take(e, n)
}

// inPlaneBoth is InPlane of two poses at the same time, with the same bits.
func (d *Dynamics) inPlaneBoth(a, b *Pose, first, second *Modes) (models.Verdict, models.Verdict) {
	if d.second == nil {
		d.second = newEigenMemory(d.plane, d.plane.plane, d.width)
	}
	e, f := d.memory, d.second
	d.inPlaneProblem(a, e)
	d.inPlaneProblem(b, f)
	n, m, ok := solveBoth(e, f, d.width)
	if !ok { // one by one, to tell which
		v := d.InPlane(a, first)
		return v, d.InPlane(b, second)
	}
	return first.take(e, n), second.take(f, m)
}

// take takes over the n modes that e has come to.
func (o *Modes) take(e *eigenMemory, n int) models.Verdict {
	clear(o.Out[:n])
	return o.fill(e.values[:n], e.rows, e.exact)
}

// fill takes over eigenvalues, (rad/s)², and their rows; exact ones have no
// error of the largest in the least.
func (o *Modes) fill(values, rows []float64, exact bool) models.Verdict {
	n := len(values)
	noise := 0.0
	if n > 0 && !exact {
		noise = 40 * float64(n) * 0x1p-52 * values[n-1]
	}
	copy(o.Rows, rows[:n*o.Width])
	return o.settle(values, noise)
}

// settle takes over eigenvalues, with an error, once the rows are there.
func (o *Modes) settle(values []float64, noise float64) models.Verdict {
	n := len(values)
	o.Count = n
	for k, w2 := range values {
		if w2 < -noise {
			return models.Verdict{Status: models.Buckled, Format: reasonUnstable}
		}
		if w2 < noise {
			w2 = 0
		}
		o.Omega[k] = math.Sqrt(w2)
	}
	for k := 0; k+1 < n; k++ {
		if values[k+1]-values[k] <= noise+1e-9*values[k] {
			turnPair(o.Rows[k*o.Width:(k+1)*o.Width], o.Rows[(k+1)*o.Width:(k+2)*o.Width])
			k++
		}
	}
	o.guided()
	return models.Verdict{}
}

const (
	reasonMass     = "a moving body has neither mass nor stiffness in some direction"
	reasonUnstable = "the stiffness of an actuator makes the stage unstable"
	reasonTorsion  = "%[1]s has buckled in torsion"
)

// turnPair turns two modes so that the first has all of the stage's motion along x.
func turnPair(a, b []float64) {
	c, s := a[RowStageX], b[RowStageX]
	h := math.Sqrt(c*c + s*s)
	if h == 0 {
		return
	}
	c, s = c/h, s/h
	for i, x := range a {
		y := b[i]
		a[i], b[i] = c*x+s*y, c*y-s*x
	}
}

// share is the part φ²/ω² of mode k in the compliance of the stage along an
// axis. (Its part m φ² of the stage's kinetic energy would not do: it is largest
// in the drive train's modes, in which the stage swings against its arms.)
func (o *Modes) share(k, axis int) float64 {
	x := o.Rows[k*o.Width+RowStageX+axis]
	return x * x / (o.Omega[k]*o.Omega[k] + math.SmallestNonzeroFloat64)
}

// guided finds the modes with the largest share of the stage's compliance along
// x and y; where one mode is the largest for both, the pair with the larger sum wins.
func (o *Modes) guided() {
	var best, second [2]int
	var most, next [2]float64 // their shares
	for axis := range 2 {
		best[axis], second[axis] = -1, -1
	}
	for k := range o.Count {
		for axis := range 2 {
			switch size := o.share(k, axis); {
			case size == 0:
			case best[axis] < 0 || size > most[axis]:
				second[axis], next[axis] = best[axis], most[axis]
				best[axis], most[axis] = k, size
			case second[axis] < 0 || size > next[axis]:
				second[axis], next[axis] = k, size
			}
		}
	}
	o.GuidedX, o.GuidedY = best[0], best[1]
	if o.single {
		o.GuidedY = -1
		return
	}
	if best[0] != best[1] || best[0] < 0 {
		return
	}
	strength := func(x, y int) (sum float64) {
		if x >= 0 {
			sum += o.share(x, 0)
		}
		if y >= 0 {
			sum += o.share(y, 1)
		}
		return sum
	}
	if strength(best[0], second[1]) >= strength(second[0], best[1]) {
		o.GuidedY = second[1]
	} else {
		o.GuidedX = second[0]
	}
}

// inPlaneProblem fills matrices and rows of e, condensed to the ends
// of the blades if they are subdivided.
func (d *Dynamics) inPlaneProblem(pose *Pose, e *eigenMemory) {
	e.drop = len(d.plane.held) > 0
	if d.segments == 1 {
		d.one.place(d, pose, 0)
		d.one.solveInPlane()
		d.oneLink.place(d, pose, 0)
		d.oneLink.solve()
	}
	if d.fineK == nil {
		d.inPlaneMatrices(pose, e.k, e.mass)
		d.inPlaneRows(pose, e.rows)
		return
	}
	d.inPlaneMatrices(pose, d.fineK, d.fineMass)
	d.inPlaneRows(pose, d.fineRows)
	d.fine.condense(d.fineK, d.fineMass, d.fineRows, e.k, e.mass, e.rows, d.width)
	for _, h := range d.plane.held {
		d.plane.Pattern.Hold(e.k, h.node, h.axis)
		d.plane.Pattern.Hold(e.mass, h.node, h.axis)
	}
}

// inPlaneMatrices fills k and mass over the pattern of the scratch's model; links, and blades that are one element each, have been solved in columns.
func (d *Dynamics) inPlaneMatrices(pose *Pose, stiff, mass []float64) {
	m := d.s.Model
	copy(stiff, pose.K)
	if d.segments == 1 {
		d.s.massOfBodies(mass)
		d.oneLink.add(d.oneLink.inPlaneMass, 0, mass)
		d.one.add(d.one.inPlaneMass, 0, mass)
	} else {
		d.s.Mass(pose, mass)
	}
	d.actuatorStiffness(pose, stiff)
	for _, h := range m.held {
		m.Pattern.Hold(stiff, h.node, h.axis)
		m.Pattern.Hold(mass, h.node, h.axis)
	}
}

// addInPlanePoint adds a stiffness (or mass) of sx along x and sy along y at
// (x, y) from the origin.
func addInPlanePoint(to []float64, sx, sy, x, y float64) {
	to = to[:9]
	to[0] += sx
	to[4] += sy
	to[2] -= sx * y
	to[6] -= sx * y
	to[5] += sy * x
	to[7] += sy * x
	to[8] += sx*y*y + sy*x*x
}

// OutOfPlane appends to out all natural frequencies out of the plane at a
// solved pose, rad/s, ascending, as if the plane stood still.
func (d *Dynamics) OutOfPlane(pose *Pose, out []float64) ([]float64, models.Verdict) {
	if i, ok := d.Vertical(pose); !ok {
		return out, models.Verdict{Status: models.Buckled, Format: reasonTorsion, Index: i, Blades: d.upright.Topology}
	}
	values, ok := d.verticalValues()
	if !ok {
		return out, models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	for _, w2 := range values {
		out = append(out, math.Sqrt(max(w2, 0)))
	}
	return out, models.Verdict{}
}

// Lists returns the natural frequencies at a solved pose, rad/s, ascending: in
// the plane and out of it. Where heights couple the two a mode is in the list of
// where it has more of its kinetic energy. It fills modes ([Dynamics.Natural]), and
// allocates.
func (d *Dynamics) Lists(pose *Pose, modes *Modes) (in, out []float64, v models.Verdict) {
	if v = d.Natural(pose, modes); !v.OK() {
		return nil, nil, v
	}
	for k, w := range modes.Omega[:modes.Count] {
		if modes.Out[k] < 0.5 {
			in = append(in, w)
		} else {
			out = append(out, w)
		}
	}
	if !d.tall {
		out, v = d.OutOfPlane(pose, nil)
	}
	return in, out, v
}

// verticalValues returns all eigenvalues of the matrices that Vertical has
// assembled, ascending; they are overwritten by the next problem.
func (d *Dynamics) verticalValues() ([]float64, bool) {
	e := d.over
	copy(e.k, d.k)
	copy(e.mass, d.mass)
	e.drop = false
	n, ok := e.solve(0)
	return e.values[:n], ok
}

// compact drops the rows and columns of held unknowns from a full matrix, in
// place, and returns how many remain.
func (m *Model) compact(full []float64) int {
	if len(m.held) == 0 {
		return m.Unknowns()
	}
	n, kept := m.Unknowns(), len(m.free)
	for i, row := range m.free {
		for j, column := range m.free {
			full[i*kept+j] = full[row*n+column]
		}
	}
	return kept
}
