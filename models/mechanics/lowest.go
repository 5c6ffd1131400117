package mechanics

import "math"

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

// lowestVertical returns the lowest eigenvalue, (rad/s)², of the matrices that Vertical has assembled and
// factorVertical has found definite; false where it has not been found and proved.
func (d *Dynamics) lowestVertical() (value float64, ok bool) {
	l := &d.lowest
	n := d.upright.Unknowns()
	if r := d.over.reduced; r != nil {
		if !r.Reduce(d.k, d.mass, nil, 0) {
			return 0, false
		}
		n = r.Order()
		if _, ok := r.Factor(0, false); !ok {
			return 0, false
		}
	}
	x, v, u := l.x[:n], l.v[:n], l.u[:n]
	steps := 1
	if !l.known {
		steps = 4
		for i := range x { // any motion will do that has a part of the one that is wanted
			x[i] = 0.1 + 0.01*float64(i*i%7)
		}
	}
	d.verticalMomentum(x, u)
	shift := 0.0
	for range steps {
		shift = d.inverseStep(0, x, v, u)
	}
	for range 6 {
		if !d.shiftVertical(shift) {
			return 0, false
		}
		next := d.inverseStep(shift, x, v, u)
		done := math.Abs(next-shift) <= settled*math.Abs(next)
		shift = next
		if done {
			l.known = true
			return shift, d.verticalBelow(shift*(1-sameValue)) == 0
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
func (d *Dynamics) inverseStep(shift float64, x, v, u []float64) float64 {
	copy(v, u)
	switch r := d.over.reduced; {
	case r != nil:
		r.Solve(v)
	case shift == 0:
		d.upright.Pattern.Solve(d.factor, v)
	default:
		d.upright.Pattern.Solve(d.over.factor, v)
	}
	along := 0.0
	for i, a := range v {
		along += a * u[i]
	}
	d.verticalMomentum(v, u)
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

// verticalMomentum makes u the mass times x.
func (d *Dynamics) verticalMomentum(x, u []float64) {
	if r := d.over.reduced; r != nil {
		r.Multiply(r.M, x, u)
		return
	}
	d.upright.Pattern.Multiply(d.mass, x, u)
}

// shiftVertical factors the stiffness less shift times the mass; false where the shift is an eigenvalue or not
// a number.
func (d *Dynamics) shiftVertical(shift float64) bool {
	if r := d.over.reduced; r != nil {
		r.Factor(shift, false)
		return shift-shift == 0
	}
	f := d.over.factor
	for j, k := range d.k {
		f[j] = k - shift*d.mass[j]
	}
	_, ok := d.upright.Pattern.Factor(f)
	return ok
}
