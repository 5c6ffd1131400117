package mechanics

import (
	"math"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/gonum"
)

// eigen is the memory of the symmetric eigenproblem K x = w² M x.
type eigen struct {
	mass   []float64 // over the pattern
	k, m   []float64 // n by n
	values []float64 // n, ascending, (rad/s)²
	work   []float64
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

func newEigen(m *Model) *eigen {
	n := m.Unknowns()
	e := &eigen{mass: make([]float64, m.Pattern.Len()), k: make([]float64, n*n), m: make([]float64, n*n), values: make([]float64, n)}
	var want [1]float64
	gonum.Implementation{}.Dsyev(lapack.EVNone, blas.Lower, n, nil, max(n, 1), nil, want[:], -1)
	e.work = make([]float64, int(want[0]))
	return e
}

// FirstFrequency returns the lowest in-plane natural frequency at a solved
// pose, Hz, actuators free: the least f with det(K - (2πf)² M) = 0. Held
// unknowns do not take part.
func (s *Scratch) FirstFrequency(pose *Pose) float64 {
	e, m := s.eigen, s.Model
	n := m.Unknowns()
	s.Mass(pose, e.mass)
	m.Pattern.Expand(pose.K, e.k)
	m.Pattern.Expand(e.mass, e.m)
	n = m.compact(e.k)
	m.compact(e.m)
	var impl gonum.Implementation
	if !impl.Dpotrf(blas.Lower, n, e.m, n) {
		panic("mechanics: mass matrix not positive definite")
	}
	// K <- L⁻¹ K L⁻ᵀ
	b := blas64.Implementation()
	b.Dtrsm(blas.Left, blas.Lower, blas.NoTrans, blas.NonUnit, n, n, 1, e.m, n, e.k, n)
	b.Dtrsm(blas.Right, blas.Lower, blas.Trans, blas.NonUnit, n, n, 1, e.m, n, e.k, n)
	if !impl.Dsyev(lapack.EVNone, blas.Lower, n, e.k, n, e.values, e.work, len(e.work)) {
		return math.NaN()
	}
	return math.Sqrt(max(e.values[0], 0)) / (2 * math.Pi)
}
