package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/dense"
)

// Frequencies of stages near a nominal one, by energy: of a single mode with the shape φ
//
//	dω² = φᵀ (dK − ω² dM) φ
//
// (Lord Rayleigh, The Theory of Sound, vol. 1, 1877, section 90). Modes that are equal or
// near one another mix at the slightest change, so that the lowest are taken together, up
// to the first clear gap: K and M of the other stage projected on them, a problem of
// their number (W. Ritz, 1909). Of an exact pair its values' mean is the pair's derivative,
// their difference the split, as of degenerate perturbation.

const (
	mostRitz = 12  // modes taken together
	clearGap = 1.1 // ratio of ω² at which the modes above are left out
)

// nearbyModes are the lowest modes of a nominal pose.
type nearbyModes struct {
	count int
	shape []float64 // mostRitz × order: mass-normalised, of the unknowns that have modes
	least float64   // the lowest ω², (rad/s)²
}

// ritzMemory is what a problem of the lowest modes needs.
type ritzMemory struct {
	k, m   [mostRitz * mostRitz]float64
	rows   [mostRitz * NumRows]float64
	values [mostRitz]float64
	full   []float64
	eigen  *dense.Eigen
}

// newModes makes the memory of modes: in the plane, and out of it.
func (n *Nearby) newModes() {
	d := n.dynamics
	plane, upright := d.plane.Unknowns(), d.upright.Unknowns()
	n.memory = newEigenMemory(d.plane, d.plane.plane, plane)
	n.over = newEigenMemory(d.upright, d.upright.upright, upright)
	poses := d.plane.Poses()
	n.shapes, n.outside = make([]nearbyModes, poses), make([]nearbyModes, poses)
	for i := range poses {
		n.shapes[i].shape, n.outside[i].shape = make([]float64, mostRitz*plane), make([]float64, mostRitz*upright)
	}
	size := max(plane, upright)
	n.ritz.full = make([]float64, size*size)
	n.ritz.eigen = dense.NewEigen(mostRitz, NumRows)
}

// HasModes reports whether modes of stages like the nominal one can be estimated:
// heights couple none in the plane to motion out of it, nothing is held, and axes are read where they are pushed.
func (n *Nearby) HasModes() bool {
	return !n.dynamics.tall && n.dynamics.width == NumRows && len(n.dynamics.plane.held) == 0
}

// order is the number of unknowns that have modes.
func (e *eigenMemory) order() int {
	if e.reduced != nil {
		return e.reduced.Order()
	}
	return e.model.Unknowns()
}

// reduce leaves stiffness and mass of the unknowns that have modes, and rows of some width, where
// they were, or in reduced.
func (e *eigenMemory) reduce(width int) bool {
	return e.reduced == nil || e.reduced.Reduce(e.k, e.mass, e.rows, width)
}

// vertical fills d.over with the problem out of the plane at a pose.
func (d *Dynamics) vertical(pose *Pose) bool {
	_, ok := d.Vertical(pose)
	copy(d.over.k, d.k)
	copy(d.over.mass, d.mass)
	return ok && d.over.reduce(0)
}

// TakeModes finds the lowest modes in the plane of a nominal pose, the guided ones among them.
func (n *Nearby) TakeModes(i int) bool {
	d := n.dynamics
	d.inPlaneProblem(&d.s.Poses[i], d.memory)
	guided := max(d.Modes[i].GuidedX, d.Modes[i].GuidedY, 0)
	return d.memory.reduce(NumRows) && n.shapes[i].take(d.memory, n.memory, 1+guided)
}

// TakeOutOfPlane finds the lowest modes out of the plane of all nominal poses.
func (n *Nearby) TakeOutOfPlane() bool {
	d := n.dynamics
	n.lowest = math.Inf(1)
	for i := range n.outside {
		if !d.vertical(&d.s.Poses[i]) || !n.outside[i].take(d.over, n.over, 1) {
			return false
		}
		n.lowest = min(n.lowest, n.outside[i].least)
	}
	return true
}

// take finds the lowest modes of the problem that own has been left with, at least low of them, up to a clear gap.
func (s *nearbyModes) take(own, e *eigenMemory, low int) bool {
	order := own.order()
	clear(e.rows[:order*order])
	for u := range order {
		e.rows[u*order+u] = 1
	}
	var count int
	var ok bool
	if own.reduced != nil {
		copy(e.reduced.K, own.reduced.K)
		copy(e.reduced.M, own.reduced.M)
		count, ok = e.solveKept(order)
	} else {
		copy(e.k, own.k)
		copy(e.mass, own.mass)
		count, ok = e.solve(order)
	}
	if !ok || count == 0 {
		return false
	}
	for low < count && low < mostRitz && e.values[low] < clearGap*e.values[low-1] {
		low++
	}
	s.count, s.least = min(low, count, mostRitz), e.values[0]
	copy(s.shape, e.rows[:s.count*order])
	return true
}

// Modes estimates the lowest modes of the stage that d was prepared with at pose i, of
// whose statics [Nearby.Statics] was the estimate, into d.Modes[i].
func (n *Nearby) Modes(d *Dynamics, i int) models.Verdict {
	e, s, z := d.memory, &n.shapes[i], &n.ritz
	d.inPlaneProblem(&d.s.Poses[i], d.memory)
	if !e.reduce(NumRows) || !z.solve(e, s, NumRows) {
		return models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	out := &d.Modes[i]
	clear(out.Out[:s.count])
	return out.fill(z.values[:s.count], z.rows[:], true)
}

// OutOfPlane estimates the lowest frequency out of the plane over the poses, rad/s; poses whose lowest is
// clear of the least of all are left out.
func (n *Nearby) OutOfPlane(d *Dynamics) (omega float64, v models.Verdict) {
	least := math.Inf(1)
	for i := range n.outside {
		s := &n.outside[i]
		if s.least > clearGap*n.lowest {
			continue
		}
		if !d.vertical(&d.s.Poses[i]) || !n.ritz.solve(d.over, s, 0) {
			return 0, models.Verdict{Status: models.Buckled, Format: reasonVertical, Index: i}
		}
		least = min(least, n.ritz.values[0])
	}
	return math.Sqrt(max(least, 0)), models.Verdict{}
}

// solve solves the problem that e has been left with for the modes of s, with rows of some width.
func (z *ritzMemory) solve(e *eigenMemory, s *nearbyModes, width int) bool {
	order, count := e.order(), s.count
	z.project(e, s, order, true, z.k[:count*count])
	z.project(e, s, order, false, z.m[:count*count])
	for a := range count {
		row := z.rows[a*width : (a+1)*width]
		clear(row)
		for u, v := range s.shape[a*order : (a+1)*order] {
			addScaled(row, v, e.rows[u*width:(u+1)*width])
		}
	}
	return whitenSmall(z.m[:count*count], z.k[:count*count], z.rows[:count*width], count, width) &&
		z.eigen.Solve(z.k[:count*count], count, z.rows[:count*width], width, z.values[:count])
}

// project writes φᵀ A φ of the lowest modes, A the stiffness or the mass of e.
func (z *ritzMemory) project(e *eigenMemory, s *nearbyModes, order int, stiffness bool, to []float64) {
	a := e.mass
	if stiffness {
		a = e.k
	}
	full := z.full
	if e.reduced != nil {
		if a = e.reduced.M; stiffness {
			a = e.reduced.K
		}
		e.reduced.Expand(a, full)
	} else {
		e.model.Pattern.Expand(a, full)
	}
	count := s.count
	for c := range count {
		y := s.shape[c*order : (c+1)*order]
		clear(to[c*count : (c+1)*count])
		for u := range order {
			sum := 0.0
			for v, w := range full[u*order : (u+1)*order] {
				sum += w * y[v]
			}
			for r := range c + 1 {
				to[c*count+r] += sum * s.shape[r*order+u]
			}
		}
		for r := range c {
			to[r*count+c] = to[c*count+r]
		}
	}
}

// whitenSmall replaces a by L⁻¹ A L⁻ᵀ and rows, width wide, by L⁻¹ of them, with
// m = L Lᵀ, of which it is the order n.
func whitenSmall(m, a, rows []float64, n, width int) bool {
	for i := range n {
		for j := range i + 1 {
			sum := m[i*n+j]
			for k := range j {
				sum -= m[i*n+k] * m[j*n+k]
			}
			if i != j {
				m[i*n+j] = sum / m[j*n+j]
				continue
			}
			if !(sum > 0) {
				return false
			}
			m[i*n+i] = math.Sqrt(sum)
		}
	}
	forward := func(x []float64, width int) {
		for i := range n {
			row := x[i*width : (i+1)*width]
			for k := range i {
				addScaled(row, -m[i*n+k], x[k*width:(k+1)*width])
			}
			for c := range row {
				row[c] /= m[i*n+i]
			}
		}
	}
	forward(a, n)
	for i := range n {
		for j := range i {
			a[i*n+j], a[j*n+i] = a[j*n+i], a[i*n+j]
		}
	}
	forward(a, n)
	if width > 0 {
		forward(rows, width)
	}
	return true
}
