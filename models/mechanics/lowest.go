package mechanics

import (
	"math"

	"flexwright/models/dense"
)

// lowest finds the lowest eigenvalue out of the plane: a few steps of inverse iteration, then
// Rayleigh's quotient as the shift (A. M. Ostrowski, Arch. Rational Mech. Anal. 1 (1958) 233), whose error is cubed by
// every step. The quotient is never below the lowest eigenvalue; that none is lower by more than [sameValue] is what the number of
// negative pivots says (J. J. Sylvester's law of inertia).
type lowest struct {
	x, v, u []float64 // a motion, the next one, its momentum
	known   bool      // x is the motion of a pose before
	below   [NumPoses]int
	work    [NumPoses]float64   // of the weight, twice, N m
	kept    [NumPoses][]float64 // stiffness and mass of poses that go one after the other; made when first needed
}

func newLowest(n int) lowest {
	f := func(n int) []float64 { return make([]float64, n) }
	return lowest{x: f(n), v: f(n), u: f(n)}
}

// lowestVertical returns the lowest eigenvalue, (rad/s)², of the condensed problem out of the plane of pose i, the one in d.over; of all where it
// has not been found and proved by itself. d.lowest.below then says how many each pose has below it: only pose i unless side by side. It
// returns false where the problem has no solution.
func (d *Dynamics) lowestVertical(i int, side bool) (value float64, ok bool) {
	l := &d.lowest
	if value, ok = l.find(d.over.reduced); ok {
		if d.countBelow(i, side, value); l.below[i] == 0 {
			return value, true
		}
	}
	n, ok := d.over.solveKept(0)
	if !ok || n == 0 {
		return math.Inf(1), ok
	}
	d.countBelow(i, side, d.over.values[0])
	return d.over.values[0], true
}

// countBelow counts eigenvalues below a value, but for rounding.
func (d *Dynamics) countBelow(i int, side bool, value float64) {
	l, shift := &d.lowest, value*(1-sameValue)
	if side {
		var told [NumPoses]bool
		n := len(d.Carried)
		d.above.Factor(shift, false, l.below[:n], told[:n])
		return
	}
	l.below[i], _ = d.over.reduced.Factor(shift, false)
}

// find returns an eigenvalue of r, definite, most often the lowest; false where it has not settled.
func (l *lowest) find(r *dense.Reduced) (value float64, ok bool) {
	n := r.Order()
	if n == 0 {
		return 0, false
	}
	x, v, u := l.x[:n], l.v[:n], l.u[:n]
	shift := 0.0
	if l.known {
		r.Multiply(r.M, x, u)
		r.Multiply(r.K, x, v)
		shift = dot(x, v) / dot(x, u)
	} else {
		for i := range x { // any motion will do that has a part of the one that is wanted
			x[i] = 0.1 + 0.01*float64(i*i%7)
		}
		r.Multiply(r.M, x, u)
		r.Factor(0, false)
		for range 2 {
			shift = inverseStep(r, 0, x, v, u)
		}
	}
	for range 6 {
		r.Factor(shift, false)
		next := inverseStep(r, shift, x, v, u)
		done := math.Abs(next-shift) <= settled*math.Abs(next)
		shift = next
		if done {
			l.known = true
			return shift, true
		}
	}
	return 0, false
}

// settled is the last change of the quotient, relative: what it still lacks is of the order of the cube.
const settled = 1e-4

// sameValue is how near two eigenvalues are, relative, that count as one: rounding, no more.
const sameValue = 1e-9

// inverseStep replaces x by the motion under its momentum u with the factored stiffness less shift times the
// mass, of unit kinetic energy, and returns Rayleigh's quotient of it.
func inverseStep(r *dense.Reduced, shift float64, x, v, u []float64) float64 {
	copy(v, u)
	r.Solve(v)
	along := dot(v, u)
	r.Multiply(r.M, v, u)
	energy := dot(v, u)
	scale := 1 / math.Sqrt(energy)
	for i, a := range v {
		x[i] = a * scale
		u[i] *= scale
	}
	return shift + along/energy
}

func dot(a, b []float64) (sum float64) {
	for i, x := range a {
		sum += x * b[i]
	}
	return sum
}
