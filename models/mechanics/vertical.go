package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/blade"
	"flexwright/models/dense"
)

// Dynamics is the scratch memory for what happens around the poses that
// Statics has solved: natural frequencies and shapes, and everything out of the
// plane. It belongs to one goroutine. nb bodies, ne blades, na actuators,
// n unknowns (three per moving body).
type Dynamics struct {
	s *Scratch
	// The models of the unknowns in the plane and out of it: the scratch's own,
	// but for a subdivided stage, whose blades are whole out of the plane.
	plane, upright *Model
	fine           *Subdivision // nil for one element per blade
	segments       int          // per blade
	width          int          // rows of the modes

	// settings, constant for a run
	Point [3]float64 // point of interest on the stage, from its origin at rest, m
	Up    Upright    // what points up: standing, only masses above the mid-plane load the stage out of it

	// computed by Prepare
	blades  []blade.OutOfPlane // ne
	one     *bladeColumns      // of one pose
	oneLink *linkColumns
	beside  *beside   // of all side by side; nil where the processor has no lanes for them
	half    []float64 // ne: half the blade's mass, kg
	rotary  []float64 // ne: its inertia about an in-plane axis, b²/12 of its mass, kg m²
	alone   bool      // one pose after the other: the processor has no lanes
	tall    bool      // some mass, or a force that is wanted, is not in the mid-plane

	// computed by Vertical: z, roll and pitch of every moving body, over the pattern
	k      []float64
	mass   []float64
	weight []float64 // n: weight, and the moments of weight and actuator forces above the mid-plane, N and N m

	// computed by Supports: all poses out of the plane
	Carried []Carried
	factor  []float64 // of k, over the pattern
	column  []float64 // n
	forms   []float64 // n by NumRows
	lowest  lowest
	above   *dense.Batch // all poses out of the plane side by side; nil where the processor has no lanes for them

	// computed by Frequencies: all poses
	Modes  []Modes
	memory *eigenMemory // in the plane
	second *eigenMemory // of the pose beside; made when first needed
	batch  *dense.Batch // all poses side by side; nil where the processor has no lanes for them
	over   *eigenMemory // out of it
	six    *sixMemory   // made when first needed
	// of a condensed subdivision, over the fine model
	fineK, fineMass, fineRows []float64
	pieces                    []blade.Piece
}

// NewDynamics returns the memory for candidates of s.
func NewDynamics(s *Scratch) *Dynamics {
	d := newDynamics(s, s.Model, s.Model)
	d.segments = 1
	return d
}

// NewFineDynamics returns the memory for candidates of s, a scratch for u.Fine.
// Condensed, the inner nodes of the blades follow their ends, and the modes are as
// many as without subdivision; otherwise the blades' own modes are among them, at the cost
// of a problem of all nodes.
func NewFineDynamics(s *Scratch, u *Subdivision, condensed bool) *Dynamics {
	if s.Model != u.Fine {
		panic("mechanics: scratch of another model than the subdivision's")
	}
	plane := u.Fine
	if condensed {
		plane = u.Coarse
	}
	d := newDynamics(s, plane, u.Coarse)
	d.fine, d.segments, d.pieces = u, u.N, make([]blade.Piece, u.N)
	if condensed {
		n, size := u.Fine.Unknowns(), u.Fine.Pattern.Len()
		d.fineK, d.fineMass, d.fineRows = make([]float64, size), make([]float64, size), make([]float64, n*d.width)
	}
	return d
}

// mostSideBySide is the largest order of problems that are solved side by side: four matrices in the cache of a
// processor next to it.
const mostSideBySide = 64

func newDynamics(s *Scratch, plane, upright *Model) *Dynamics {
	n, ne := upright.Unknowns(), len(upright.Topology.Blades)
	f := func(n int) []float64 { return make([]float64, n) }
	d := &Dynamics{s: s, plane: plane, upright: upright, width: rowWidth(plane.Topology), alone: dense.NewEigens(1, 0) == nil,
		blades: make([]blade.OutOfPlane, ne), half: f(ne), rotary: f(ne),
		k: f(upright.Pattern.Len()), mass: f(upright.Pattern.Len()), weight: f(n), factor: f(upright.Pattern.Len()),
		column: f(n), forms: f(n * NumRows), lowest: newLowest(n), memory: newEigenMemory(plane, plane.plane, rowWidth(plane.Topology)),
	}
	if plane.plane != nil && plane.plane.Order() <= mostSideBySide && d.width == NumRows { // a batch has eight rows
		d.batch = dense.NewBatch(plane.plane, filled(plane, rowPlaces(plane)))
	}
	d.over = newEigenMemory(upright, upright.upright, 0)
	if upright.upright.Order() <= mostSideBySide {
		d.above = dense.NewBatch(upright.upright, filled(upright, formPlaces(upright)), supportProducts[:]...)
	}
	d.one, d.oneLink = newBladeColumns(upright, 1, d.width), newLinkColumns(upright, 1, d.width)
	if d.above != nil || d.batch != nil {
		d.beside = newBeside(d)
	}
	d.Carried, d.Modes = make([]Carried, len(s.Poses)), make([]Modes, len(s.Poses))
	for i := range d.Modes {
		d.Modes[i] = *newModes(plane, upright)
	}
	return d
}

// Topology is that of the stage itself, without what a subdivision adds.
func (d *Dynamics) Topology() *models.Topology { return d.upright.Topology }

// NewModes returns room for the modes at a pose.
func (d *Dynamics) NewModes() *Modes { return newModes(d.plane, d.upright) }

// Prepare takes over the dimensions that the scratch was prepared with.
func (d *Dynamics) Prepare() {
	st := d.s.Stage
	for i := range d.blades {
		e := i * d.segments
		length, t, b := float64(d.segments)*d.s.Section[e].Length, st.Thickness[e], st.Width[e]
		if k := d.s.Like(e); k < e && d.segments == 1 {
			d.blades[i], d.half[i], d.rotary[i] = d.blades[k], d.half[k], d.rotary[k]
			continue
		}
		d.blades[i] = blade.NewOutOfPlane(length, t, b, st.Young[e], st.Poisson[e])
		root, tip := bladeEnds(st, e, e+d.segments-1)
		d.blades[i].Yield(&root.out, &tip.out)
		d.half[i] = 0.5 * st.Density[e] * length * t * b
		d.rotary[i] = 2 * d.half[i] * b * b / 12
	}
	d.one.prepared = false
	if d.beside != nil {
		d.beside.blades.prepared = false
	}
	d.tall = d.Point[2] != 0
	for _, b := range d.upright.Body {
		d.tall = d.tall || st.Z[b] != 0
	}
	for _, list := range [...][]float64{st.ActZ, st.EncZ, st.GapZ} {
		for _, z := range list {
			d.tall = d.tall || z != 0
		}
	}
}

// gravity is the standard acceleration of free fall, m/s² (3rd CGPM, 1901).
const gravity = 9.80665

// Vertical assembles stiffness, mass and weight out of the plane at a solved
// pose: per moving body z of its origin (m), roll and pitch (rad, about x and
// y), in that order. Blades act by their tangent when bent as at the pose
// ([blade.OutOfPlane.Tangent]), carried rigidly to the bodies' displaced
// origins. A blade's mass is consistent, as in the plane: cubic in z along the chord,
// linear in roll, with the rotary inertia b²/12 of its width. Masses above the mid-plane have
// their m h² here; what couples them to the plane is in [Dynamics.Natural]. Held
// unknowns are of the plane: out of it every moving body is free.
//
// It returns false and the number of a blade that has buckled in torsion.
func (d *Dynamics) Vertical(pose *Pose) (blade int, ok bool) {
	c := d.one
	if blade, ok = c.bend(d, pose, 0); !ok {
		return blade, false
	}
	if blade, ok = c.solve(d.segments == 1); !ok {
		return blade, false
	}
	l := d.oneLink
	l.place(d, pose, 0)
	l.solve()
	d.verticalBodies(pose)
	l.add(l.stiff, 0, d.k)
	l.add(l.mass, 0, d.mass)
	l.add(l.weight, 0, d.weight)
	c.add(c.stiff, 0, d.k)
	c.add(c.mass, 0, d.mass)
	c.add(c.weight, 0, d.weight)
	return 0, true
}

// verticalBodies is Vertical without blades and links.
func (d *Dynamics) verticalBodies(pose *Pose) {
	m, st := d.upright, d.s.Stage
	clear(d.k)
	clear(d.mass)
	clear(d.weight)
	for i, b := range m.mounted {
		for axis := range 3 {
			d.k[9*m.Node[b]+4*axis] += st.Springs[i][3+axis]
		}
	}
	for node, b := range m.Body {
		diag := d.mass[9*node : 9*node+9]
		tall := st.Mass[b] * st.Z[b] * st.Z[b]
		diag[0], diag[4], diag[8] = st.Mass[b], st.Ix[b]+tall, st.Iy[b]+tall
		diag[5], diag[7] = -st.Ixy[b], -st.Ixy[b]
		switch f := -gravity * st.Mass[b]; d.Up {
		case Flat:
			d.weight[3*node] = f
		case XUp:
			d.weight[3*node+2] = f * st.Z[b]
		case YUp:
			d.weight[3*node+1] = -f * st.Z[b]
		}
	}
	for k, a := range m.Topology.Actuators {
		for end := range 2 {
			_, node, sign := m.actuatorEnd(k, end)
			if node < 0 {
				continue
			}
			if f := sign * st.ActZ[k] * pose.Force[k]; a.Axis == models.AxisX {
				d.weight[3*node+2] += f
			} else {
				d.weight[3*node+1] -= f
			}
		}
	}
}

// ends is where a blade is: its chord, with direction n, and its root and tip end
// from the origins of their bodies, along n and across.
type ends struct{ nx, ny, chord, ax, ay, bx, by float64 }

func (d *Dynamics) wholeBlade(pose *Pose, i int, e *ends, k *[9]float64) bool {
	lk := &pose.link[i]
	*e = ends{lk.nx, lk.ny, lk.chord, lk.am, -lk.an, lk.bm, -lk.bn}
	return d.blades[i].Tangent(lk.turn, lk.turn+pose.Phi[i], pose.Axial[i], k)
}

// bladeInPieces is wholeBlade for the segments of blade i.
func (d *Dynamics) bladeInPieces(pose *Pose, i int, e *ends, k *[9]float64) bool {
	at, n := i*d.segments, d.segments
	links := pose.link[at : at+n]
	var x, y, axial float64
	for j := range links {
		lk := &links[j]
		x, y = x+lk.chord*lk.nx, y+lk.chord*lk.ny
		axial += pose.Axial[at+j] / float64(n)
	}
	e.chord = math.Sqrt(x*x + y*y)
	e.nx, e.ny = x/e.chord, y/e.chord
	turn := func(lk *link, along, across float64) (float64, float64) {
		x, y := along*lk.nx-across*lk.ny, along*lk.ny+across*lk.nx
		return e.nx*x + e.ny*y, e.nx*y - e.ny*x
	}
	e.ax, e.ay = turn(&links[0], links[0].am, -links[0].an)
	e.bx, e.by = turn(&links[n-1], links[n-1].bm, -links[n-1].bn)
	x, y = 0, 0
	for j := range links {
		lk := &links[j]
		p := &d.pieces[j]
		*p = blade.Piece{X: x, Y: y, Nx: e.nx*lk.nx + e.ny*lk.ny, Ny: e.nx*lk.ny - e.ny*lk.nx}
		p.A = lk.turn
		p.B = p.A + pose.Phi[at+j]
		x, y = x+lk.chord*p.Nx, y+lk.chord*p.Ny
	}
	d.smooth(at, e.chord)
	return d.blades[i].TangentAlong(d.pieces, e.chord, axial, k)
}

// smooth takes from the pieces of the blade whose segments begin with e what their
// factors make of its sway ([segmentFactors]): three steps give an S its stiffness and its
// shortening, but not its shape, which [blade.OutOfPlane.FlexibilityAlong] has. With the
// flexibilities φ of the segments and x from the middle in the length of the blade, the
// slope beyond the chord's is that of the sway times
//
//	1 - ∫_|x|^½ ξ φ dξ / 2 ∫_0^½ ξ² φ dξ
//
// where a beam has 1 - 6 (¼ - x²).
func (d *Dynamics) smooth(e int, chord float64) {
	n := d.segments
	factors := d.s.Stage.BendingFactor[e : e+n]
	if factors[0] == factors[n/2] {
		return
	}
	first, last := &d.pieces[0], &d.pieces[n-1]
	sway := 0.5 * (first.Ny + first.A*first.Nx + last.Ny + last.B*last.Nx)
	bend := 0.0
	for k, f := range factors {
		a, b := float64(k)/float64(n)-0.5, float64(k+1)/float64(n)-0.5
		bend += (b*b*b - a*a*a) / (3 * f)
	}
	slope, rise := 0.0, 0.0 // what they have beyond a beam, per sway, where a piece begins
	for k, f := range factors {
		p := &d.pieces[k]
		a, b := float64(k)/float64(n)-0.5, float64(k+1)/float64(n)-0.5
		steps, beam := 1/(f*bend), 12.0 // slope' = steps x of one, beam x of the other
		slopeB := slope + (steps-beam)*(b*b-a*a)/2
		riseB := rise + (slope-(steps-beam)*a*a/2)*(b-a) + (steps-beam)*(b*b*b-a*a*a)/6
		turn := (riseB - rise) / (b - a) * sway
		p.Y -= sway * rise * chord
		p.Nx, p.Ny = p.Nx+turn*p.Ny, p.Ny-turn*p.Nx
		p.A -= sway*slope - turn
		p.B -= sway*slopeB - turn
		slope, rise = slopeB, riseB
	}
}
