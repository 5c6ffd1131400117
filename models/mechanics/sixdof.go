package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/dense"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack/gonum"
)

// sixMemory is what the modes of bodies with six degrees of freedom need: the
// unknowns of the plane, then the n out of it, a in all.
type sixMemory struct {
	all int // a
	out int // n
	// where motions follow others: how all unknowns of the plane and out of it follow the
	// kept ones, and rows of the latter problem
	follow, followOut []float64
	outRows           []float64
	k, mass           []float64 // a by a
	rows              []float64 // a by width + n
	part              []float64 // one of the two problems
	values            []float64
	eigen             *dense.Eigen
	side              *dense.Eigens // all poses side by side; made when first needed
}

// Natural fills out with the natural modes at a solved pose. Where all masses,
// forces, sensors and the point of interest lie in the plate's mid-plane these are the
// modes in the plane ([Dynamics.InPlane]), which nothing couples to the others.
// Where they do not, all modes of the bodies with six degrees of freedom are
// solved: the tangent is that of the two problems side by side, a mass m at the
// height h couples them by m h between x and pitch, -m h between y and roll, and
// the rows include what roll and pitch do at a height. That problem is of twice
// the order: its eigenvalues take about eight times as many operations.
func (d *Dynamics) Natural(pose *Pose, out *Modes) models.Verdict {
	if !d.tall {
		return d.InPlane(pose, out)
	}
	if v := d.sixOrdinary(pose); !v.OK() {
		return v
	}
	six := d.six
	if !six.eigen.Solve(six.k, six.all, six.rows, d.width+six.out, six.values) {
		return models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	return six.take(out)
}

// sixOrdinary makes the ordinary problem of Natural.
func (d *Dynamics) sixOrdinary(pose *Pose) models.Verdict {
	if v := d.sixProblem(pose); !v.OK() {
		return v
	}
	n, all := d.six.out, d.six.all
	in, width, six := all-n, d.width+n, d.six
	// M = S Sᵀ with S lower: the last n of z = Sᵀ x are the motion out of the
	// plane beyond what goes with the plane's, in units of √(kinetic energy).
	if !six.whiten(six.rows, d.width, width) {
		return models.Verdict{Status: models.Failed, Format: reasonTallMass}
	}
	for j := range n {
		six.rows[(in+j)*width+d.width+j] = 1
	}
	return models.Verdict{}
}

// take turns the solution of the ordinary problem into modes.
func (six *sixMemory) take(out *Modes) models.Verdict {
	own, width := out.Width, out.Width+six.out
	for k := range six.all {
		row := six.rows[k*width : (k+1)*width]
		sum := 0.0
		for _, z := range row[own:] {
			sum += z * z
		}
		out.Out[k] = math.Min(sum, 1)
		copy(six.rows[k*own:(k+1)*own], row[:own])
	}
	return out.fill(six.values[:six.all], six.rows, false)
}

// sixSideBySide is sideBySide of a stage with heights.
func (d *Dynamics) sixSideBySide() (v models.Verdict, ok bool) {
	poses := d.s.Poses
	if d.six != nil && d.six.all > 2*mostSideBySide {
		return v, false
	}
	for i := range poses {
		if v := d.sixOrdinary(&poses[i]); !v.OK() {
			return v, false
		}
		six := d.six
		if six.all > 2*mostSideBySide {
			return v, false
		}
		if six.side == nil {
			six.side = dense.NewEigens(six.all, d.width+six.out)
		}
		six.side.Put(i, six.k, six.rows, d.width+six.out)
	}
	six := d.six
	six.side.Solve(len(poses))
	for i := range poses {
		if !six.side.Take(i, six.rows, d.width+six.out, six.values) {
			return v, false
		}
		if v = six.take(&d.Modes[i]); !v.OK() {
			v.Index = i
			return v, true
		}
	}
	return v, true
}

// whiten replaces the stiffness by S⁻¹ K S⁻ᵀ and the first columns of rows,
// width apart, by S⁻¹ of them; mass becomes S.
func (six *sixMemory) whiten(rows []float64, columns, width int) bool {
	all := six.all
	var lapack gonum.Implementation
	b := blas64.Implementation()
	if !lapack.Dpotrf(blas.Lower, all, six.mass, all) {
		return false
	}
	b.Dtrsm(blas.Left, blas.Lower, blas.NoTrans, blas.NonUnit, all, all, 1, six.mass, all, six.k, all)
	b.Dtrsm(blas.Right, blas.Lower, blas.Trans, blas.NonUnit, all, all, 1, six.mass, all, six.k, all)
	b.Dtrsm(blas.Left, blas.Lower, blas.NoTrans, blas.NonUnit, all, columns, 1, six.mass, all, rows, width)
	return true
}

// sixProblem fills d.six: stiffness and mass of the plane and of what is out of
// it, coupled by heights, and the rows.
func (d *Dynamics) sixProblem(pose *Pose) models.Verdict {
	if d.six == nil {
		f := func(n int) []float64 { return make([]float64, n) }
		p, n := d.plane.Unknowns(), d.upright.Unknowns()
		a := p + n
		d.six = &sixMemory{k: f(a * a), mass: f(a * a), rows: f(a * (d.width + n)), part: f(max(n*n, p*p)),
			values: f(a), eigen: dense.NewEigen(a, d.width+n)}
	}
	return d.sixReduced(pose)
}

// Shape is one natural mode with the motion of every body.
type Shape struct {
	Omega float64 // rad/s
	Out   float64 // share of the motion out of the plane in the kinetic energy
	// Per body of the topology: x, y (m), yaw (rad), z (m), roll, pitch (rad) of its
	// origin, mass-normalised (per √kg); zero for fixed bodies.
	Bodies [][6]float64
}

// Shapes returns all natural modes at a solved pose, in the plane and out of it,
// ascending. It allocates.
func (d *Dynamics) Shapes(pose *Pose) ([]Shape, models.Verdict) {
	if v := d.sixProblem(pose); !v.OK() {
		return nil, v
	}
	six, all := d.six, d.six.all
	rows := make([]float64, all*all)
	for i := range all {
		rows[i*all+i] = 1
	}
	if !six.whiten(rows, all, all) {
		return nil, models.Verdict{Status: models.Failed, Format: reasonTallMass}
	}
	values := make([]float64, all)
	if !dense.NewEigen(all, all).Solve(six.k, all, rows, all, values) {
		return nil, models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	in := all - six.out
	plane, upright := make([]float64, d.plane.Unknowns()), make([]float64, d.upright.Unknowns())
	var list []Shape
	for k := range all {
		x := rows[k*all : (k+1)*all]
		shape := Shape{Omega: math.Sqrt(max(values[k], 0)), Bodies: make([][6]float64, len(d.upright.Topology.Bodies))}
		// z = Sᵀ x
		for i := in; i < all; i++ {
			z := 0.0
			for j := i; j < all; j++ {
				z += six.mass[j*all+i] * x[j]
			}
			shape.Out += z * z
		}
		shape.Out = math.Min(shape.Out, 1)
		d.expand(x, in, plane, upright)
		for node, b := range d.plane.Body {
			if b < len(shape.Bodies) {
				copy(shape.Bodies[b][:3], plane[3*node:3*node+3])
			}
		}
		for node, b := range d.upright.Body {
			copy(shape.Bodies[b][3:], upright[3*node:3*node+3])
		}
		list = append(list, shape)
	}
	return list, models.Verdict{}
}

// expand writes the motions of all nodes in the plane and out of it that belong to x, of
// which in are in the plane.
func (d *Dynamics) expand(x []float64, in int, plane, upright []float64) {
	switch {
	case d.memory.reduced != nil:
		d.memory.reduced.Follow(x[:in], plane)
	default:
		for i, u := range d.plane.free {
			plane[u] = x[i]
		}
	}
	if d.over.reduced != nil {
		d.over.reduced.Follow(x[in:], upright)
		return
	}
	copy(upright, x[in:])
}

const reasonTallMass = "a moving body without mass or inertia, where heights couple the plane and what is out of it"
