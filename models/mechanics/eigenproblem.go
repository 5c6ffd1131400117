package mechanics

import (
	"flexwright/models/dense"
)

// eigenMemory is what one generalised eigenproblem needs.
type eigenMemory struct {
	model  *Model
	mass   []float64 // over the pattern
	k      []float64 // over the pattern
	factor []float64 // over the pattern
	drop   bool      // leave held unknowns out
	exact  bool      // computed by solve: the low modes have no error of the high ones
	// what is solved: M x = K x/ω², else K x = ω² M x; every motion has a mass
	flexible, massive bool
	full              []float64 // n by n
	rows              []float64 // n by width
	values            []float64 // n, (rad/s)²
	eigen             *dense.Eigen
	// where motions follow others, the problem of those: nil otherwise
	reduced *dense.Reduced
}

func newEigenMemory(m *Model, reduction *dense.Reduction, width int) *eigenMemory {
	n := m.Unknowns()
	f := func(n int) []float64 { return make([]float64, n) }
	e := &eigenMemory{model: m, mass: f(m.Pattern.Len()), k: f(m.Pattern.Len()), factor: f(m.Pattern.Len()), full: f(n * n), rows: f(n * width), values: f(n), eigen: dense.NewEigen(n, width)}
	if reduction != nil {
		e.reduced = dense.NewReduced(reduction)
	}
	return e
}

// solve solves the problem in e, with as many rows as width, and returns the
// number of modes; held unknowns are left out.
//
// It solves M x = K x/ω² where K is safely definite: that keeps the low modes exact,
// where the other form leaves them an error of eps times the largest ω², which is far from
// them in a stage of soft guides and stiff blades, and it does not ask for a mass
// everywhere. An assembly that floats free is solved as K x = ω² M x.
func (e *eigenMemory) solve(width int) (n int, ok bool) {
	if n, ok = e.whiten(width); !ok || !e.eigen.Solve(e.full, n, e.rows, width, e.values) {
		return 0, false
	}
	return e.turn(n, width), true
}

// solveBoth is solve of two problems at the same time, with the same bits.
func solveBoth(e, f *eigenMemory, width int) (n, m int, ok bool) {
	n, ok = e.whiten(width)
	m, both := f.whiten(width)
	if !ok || !both || !dense.SolveBoth(e.eigen, f.eigen, e.full, f.full, n, m, e.rows, f.rows, width, e.values, f.values) {
		return 0, 0, false
	}
	return e.turn(n, width), f.turn(m, width), true
}

// turn turns what the ordinary problem of order n came to into modes.
func (e *eigenMemory) turn(n, width int) int {
	e.exact = e.flexible
	if e.flexible {
		return fromFlexibility(e.values[:n], e.rows, width, e.massive)
	}
	return n
}

// whiten makes the ordinary problem of order n, full and rows.
func (e *eigenMemory) whiten(width int) (n int, ok bool) {
	if e.reduced != nil {
		return e.whitenReduced(width)
	}
	m := e.model
	copy(e.factor, e.mass)
	negative, ok := m.Pattern.Factor(e.factor)
	e.massive = ok && negative == 0
	of := e.k
	e.flexible = e.stiff()
	switch {
	case e.flexible:
		of = e.mass
	case !e.massive:
		return 0, false
	default:
		copy(e.factor, e.mass)
		m.Pattern.Factor(e.factor)
	}
	m.Pattern.Expand(of, e.full)
	m.Pattern.Whiten(e.factor, e.full)
	m.Pattern.Half(e.factor, e.rows, width)
	n = m.Unknowns()
	if e.drop {
		n = m.compact(e.full)
		for i, row := range m.free {
			copy(e.rows[i*width:(i+1)*width], e.rows[row*width:(row+1)*width])
		}
	}
	return n, true
}

// whitenReduced is whiten for the motions that do not follow others.
func (e *eigenMemory) whitenReduced(width int) (n int, ok bool) {
	x := e.reduced
	if !x.Reduce(e.k, e.mass, e.rows, width) {
		return 0, false
	}
	return e.whitenKept(width)
}

// solveKept solves the reduced problem once it is there.
func (e *eigenMemory) solveKept(width int) (n int, ok bool) {
	if n, ok = e.whitenKept(width); !ok || !e.eigen.Solve(e.full, n, e.rows, width, e.values) {
		return 0, false
	}
	return e.turn(n, width), true
}

// whitenKept is whiten of the reduced problem once it is there.
func (e *eigenMemory) whitenKept(width int) (n int, ok bool) {
	x := e.reduced
	n = x.Order()
	negative, ok := x.Factor(0, true)
	e.massive = ok && negative == 0
	negative, ok = x.Factor(0, false)
	e.flexible = ok && negative == 0
	of := x.M
	switch {
	case e.flexible:
	case !e.massive:
		return 0, false
	default:
		of = x.K
		x.Factor(0, true)
	}
	x.Whiten(of, e.full)
	x.Half(e.rows, width)
	return n, true
}

// stiff factors k into factor and reports whether it is positive definite by
// more than rounding: a rigid motion leaves a pivot of eps times its diagonal.
func (e *eigenMemory) stiff() bool {
	const rounding = 1e-11
	copy(e.factor, e.k)
	negative, ok := e.model.Pattern.Factor(e.factor)
	if !ok || negative > 0 {
		return false
	}
	for i := 0; i < 9*e.model.Pattern.Nodes(); i += 9 {
		for axis := 0; axis < 9; axis += 4 {
			// the factor holds the reciprocal of the pivot
			if !(e.factor[i+axis]*rounding*e.k[i+axis] < 1) {
				return false
			}
		}
	}
	return true
}
