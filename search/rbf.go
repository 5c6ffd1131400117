package search

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/lapack/gonum"
)

// radial interpolates several outputs at once over scattered points x:
//
//	y(x) = sum_j w_j |x - x_j|^3 + c_0 + sum_d c_d x_d,
//
// the cubic radial basis function with a linear tail, whose coefficients solve
// the interpolation conditions and sum_j w_j p(x_j) = 0 for p = 1 and each x_d
// (M. J. D. Powell, The theory of radial basis function approximation in 1990).
// A small ridge on the diagonal keeps nearly equal points and directions in
// which the points do not differ harmless.
type radial struct {
	tail       int // features of a point that the tail has: the first
	n, outputs int
	chosen     []int     // n: the centres among the points
	weight     []float64 // (n + 1 + tail) x outputs
	matrix     []float64
	pivot      []int
}

const (
	ridgeKernel = 1e-9 // of |x - x_j|^3, in a unit cube
	ridgeTail   = 1e-6
)

// fit computes the coefficients from the chosen points, rows of dim features, and
// their values, n x outputs. It reports false when the system is singular in
// floating point.
func (f *radial) fit(dim, tail, outputs int, points []float64, chosen []int, value []float64) bool {
	n := len(chosen)
	f.tail, f.n, f.outputs = tail, n, outputs
	f.chosen = append(f.chosen[:0], chosen...)
	size := n + 1 + tail
	f.matrix = lengthen(f.matrix, size*size)
	f.weight = lengthen(f.weight, size*outputs)
	a := f.matrix
	for i := range n {
		p := points[chosen[i]*dim:][:dim]
		for j := range i {
			v := cube3(p, points[chosen[j]*dim:][:dim])
			a[i*size+j], a[j*size+i] = v, v
		}
		a[i*size+i] = ridgeKernel
		a[i*size+n], a[n*size+i] = 1, 1
		for d := range tail {
			a[i*size+n+1+d], a[(n+1+d)*size+i] = p[d], p[d]
		}
	}
	for i := n; i < size; i++ {
		for j := n; j < size; j++ {
			a[i*size+j] = 0
		}
		a[i*size+i] = -ridgeTail
	}
	copy(f.weight, value)
	clear(f.weight[n*outputs:])
	return f.solve(a, f.weight, size, outputs)
}

// cube3 is the third power of the distance.
func cube3(p, q []float64) float64 {
	var s float64
	q = q[:len(p)]
	for d, x := range p {
		t := x - q[d]
		s += t * t
	}
	return s * math.Sqrt(s)
}

// predict writes the outputs at x, given the third powers of its distances from
// all points of which the centres were chosen.
func (f *radial) predict(x, cubes, y []float64) {
	k := f.outputs
	y = y[:k]
	copy(y, f.weight[f.n*k:(f.n+1)*k])
	for d := range f.tail {
		w := f.weight[(f.n+1+d)*k:][:k]
		for o, c := range w {
			y[o] += c * x[d]
		}
	}
	// Four centres at a time, added in their order: y is read and written a fourth as often.
	j, chosen := 0, f.chosen
	for ; j+4 <= len(chosen); j += 4 {
		v0, v1, v2, v3 := cubes[chosen[j]], cubes[chosen[j+1]], cubes[chosen[j+2]], cubes[chosen[j+3]]
		w0 := f.weight[j*k:][:k]
		w1, w2, w3 := f.weight[(j+1)*k:][:k], f.weight[(j+2)*k:][:k], f.weight[(j+3)*k:][:k]
		for o := range y {
			y[o] = y[o] + w0[o]*v0 + w1[o]*v1 + w2[o]*v2 + w3[o]*v3
		}
	}
	for ; j < len(chosen); j++ {
		v := cubes[chosen[j]]
		for o, c := range f.weight[j*k:][:k] {
			y[o] += c * v
		}
	}
}

// solve overwrites b, size x columns, with the solution of a x = b, and a with its
// factors: elimination with partial pivoting. It reports false at a zero pivot.
func (f *radial) solve(a, b []float64, size, columns int) bool {
	var lapack gonum.Implementation
	f.pivot = lengthen(f.pivot, size)
	if !lapack.Dgetrf(size, size, a, size, f.pivot) {
		return false
	}
	lapack.Dgetrs(blas.NoTrans, size, columns, a, size, f.pivot, b, columns)
	return allFinite(b[:size*columns])
}
