package mechanics

import (
	"math"

	"flexwright/models/dense"
)

// lowest finds the lowest eigenvalue out of the plane and proves it: a few steps of inverse iteration, then
// Rayleigh's quotient as the shift (A. M. Ostrowski, Arch. Rational Mech. Anal. 1 (1958) 233), whose error is cubed by
// every step. The quotient is never below the lowest eigenvalue; that none is lower by more than 1e-9 is what the number of
// negative pivots says (J. J. Sylvester's law of inertia).
type lowest struct {
	x, v, u []float64 // a motion, the next one, its momentum
	known   bool      // x is the motion of a pose before
}

func newLowest(n int) lowest {
	f := func(n int) []float64 { return make([]float64, n) }
	return lowest{x: f(n), v: f(n), u: f(n)}
}

// lowestVertical returns the lowest eigenvalue, (rad/s)², of the condensed problem out of the plane; of all where it
// has not been found and proved by itself. It returns false where the problem has no solution.
func (d *Dynamics) lowestVertical() (value float64, ok bool) {
	if value, ok = d.lowest.find(d.over.reduced); ok {
		return value, true
	}
	if n, ok := d.over.solveKept(0); !ok || n == 0 {
		return math.Inf(1), ok
	}
	return d.over.values[0], true
}

// find returns the lowest eigenvalue of r where it is definite; false where it has not been found and proved.
func (l *lowest) find(r *dense.Reduced) (value float64, ok bool) {
	n := r.Order()
	if negative, ok := r.Factor(0, false); !ok || negative > 0 || n == 0 {
		return 0, false
	}
	x, v, u := l.x[:n], l.v[:n], l.u[:n]
	steps := 1
	if !l.known {
		steps = 4
		for i := range x { // any motion will do that has a part of the one that is wanted
			x[i] = 0.1 + 0.01*float64(i*i%7)
		}
	}
	r.Multiply(r.M, x, u)
	shift := 0.0
	for range steps {
		shift = inverseStep(r, 0, x, v, u)
	}
	for range 6 {
		r.Factor(shift, false)
		next := inverseStep(r, shift, x, v, u)
		done := math.Abs(next-shift) <= settled*math.Abs(next)
		shift = next
		if done {
			l.known = true
			negative, _ := r.Factor(shift*(1-sameValue), false)
			return shift, negative == 0 && r.Regular()
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
	along := 0.0
	for i, a := range v {
		along += a * u[i]
	}
	r.Multiply(r.M, v, u)
	energy := 0.0
	for i, a := range v {
		energy += a * u[i]
	}
	scale := 1 / math.Sqrt(energy)
	for i, a := range v {
		x[i] = a * scale
		u[i] *= scale
	}
	return shift + along/energy
}
