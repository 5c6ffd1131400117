package estimate

import (
	"cmp"
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"flexwright/models/elementary"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/lapack/gonum"
)

// Problem is what is known: n unknowns with priors about 0, m measurements, a model.
type Problem struct {
	Prior []float64 // n: standard deviations, positive
	// Step of the central differences of each unknown; nil: a hundredth of the prior
	Step  []float64
	Value []float64 // m: what was measured
	Sigma []float64 // m: standard uncertainties, positive
	// Predict fills out with the m predictions at x; false where the model has none.
	Predict func(x, out []float64) bool
	// Starts is the number of points that the search begins at: the prior's middle, then
	// points drawn from it; 0 is 1. The least of what they lead to is the answer.
	Starts int
}

// ErrNoPrediction says that the model has no prediction at the prior's middle, or on the
// way from there to where the measurements lead.
var ErrNoPrediction = errors.New("the measurements lead to where the model has no answer")

const (
	mostIterations = 60
	// settled is the length of a step, in posterior standard deviations, that ends the search:
	// the derivatives before it are those behind it
	settled = 1e-7
	// apart is the distance, likewise, of two minima that count as two
	apart = 0.1
)

// state of a search, in scaled unknowns.
type state struct {
	p     *Problem
	n, m  int
	x     []float64
	z, e  []float64 // unknowns; residuals
	j     []float64 // m by n: ∂f_i/∂z_j/σ_i
	cost  float64
	other []float64 // m
	steps int
}

// Solve finds the estimate by the method of Levenberg and Marquardt (D. W. Marquardt,
// SIAM J. Appl. Math. 11, 1963), derivatives by central differences.
func Solve(p *Problem) (*Result, error) {
	n, m := len(p.Prior), len(p.Value)
	if n == 0 || m == 0 || len(p.Sigma) != m {
		panic("estimate: nothing to estimate, or nothing measured")
	}
	rng := rand.New(rand.NewPCG(1, uint64(n)))
	var found []*state // minima, told apart
	for start := range max(p.Starts, 1) {
		s := &state{p: p, n: n, m: m, x: make([]float64, n), z: make([]float64, n), e: make([]float64, m), j: make([]float64, m*n), other: make([]float64, m)}
		if start > 0 {
			for k := range s.z {
				s.z[k] = elementary.Normal(rng)
			}
		}
		ok := s.search()
		switch same := slices.IndexFunc(found, func(f *state) bool { return f.distance(s.z) < apart }); {
		case !ok && start == 0:
			return nil, ErrNoPrediction
		case !ok || s.steps == mostIterations && start > 0:
		case same < 0:
			found = append(found, s)
		case s.cost < found[same].cost:
			found[same] = s
		}
	}
	slices.SortFunc(found, func(a, b *state) int { return cmp.Compare(a.cost, b.cost) })
	r := found[0].result()
	for _, s := range found[1:] {
		r.Others = append(r.Others, s.cost-found[0].cost)
	}
	return r, nil
}

// residuals fills s.e and s.cost at z; false where there is no prediction.
func (s *state) residuals(z, e []float64) (cost float64, ok bool) {
	for k, v := range z {
		s.x[k] = v * s.p.Prior[k]
		cost += v * v
	}
	if !s.p.Predict(s.x, e) {
		return 0, false
	}
	for i := range e {
		e[i] = (s.p.Value[i] - e[i]) / s.p.Sigma[i]
		cost += e[i] * e[i]
	}
	return cost, cost-cost == 0
}

// differentiate fills s.j at s.z.
func (s *state) differentiate() bool {
	up := make([]float64, s.m)
	z := append([]float64{}, s.z...)
	for k := range z {
		h := 0.01
		if s.p.Step != nil {
			h = s.p.Step[k] / s.p.Prior[k]
		}
		z[k] = s.z[k] + h
		_, okUp := s.residuals(z, up)
		z[k] = s.z[k] - h
		_, okDown := s.residuals(z, s.other)
		z[k] = s.z[k]
		if !okUp || !okDown {
			return false
		}
		for i := range up {
			s.j[i*s.n+k] = (s.other[i] - up[i]) / (2 * h) // of the prediction: e falls as it rises
		}
	}
	return true
}

// search goes from s.z to the least that it leads to.
func (s *state) search() bool {
	var ok bool
	if s.cost, ok = s.residuals(s.z, s.e); !ok {
		return false
	}
	lambda := 1e-3
	next := make([]float64, s.n)
	for ; s.steps < mostIterations; s.steps++ {
		if !s.differentiate() {
			return false
		}
		for better := false; !better; {
			d := s.step(lambda)
			for k := range next {
				next[k] = s.z[k] + d[k]
			}
			length := s.length(d)
			cost, ok := s.residuals(next, s.other)
			if ok && cost <= s.cost {
				copy(s.z, next)
				copy(s.e, s.other)
				s.cost, better = cost, true
				lambda *= 0.1
			} else {
				lambda = max(10*lambda, 1e-6)
			}
			if length < settled || !better && lambda > 1e12 {
				return true
			}
		}
	}
	return s.differentiate()
}

// length of a step, in posterior standard deviations.
func (s *state) length(d []float64) float64 {
	sum := 0.0
	for _, v := range d {
		sum += v * v
	}
	for i := range s.m {
		v := 0.0
		for k := range d {
			v += s.j[i*s.n+k] * d[k]
		}
		sum += v * v
	}
	return math.Sqrt(sum)
}

func (s *state) distance(z []float64) float64 {
	d := make([]float64, s.n)
	for k := range d {
		d[k] = z[k] - s.z[k]
	}
	return s.length(d)
}

// step solves [J; I; √λ D] d = [e; −z; 0] in the least-squares sense by orthogonal
// factors, D² the diagonal of JᵀJ + I.
func (s *state) step(lambda float64) []float64 {
	n, m := s.n, s.m
	rows := m + 2*n
	a, b := make([]float64, rows*n), make([]float64, rows)
	copy(a, s.j)
	copy(b, s.e)
	for k := range n {
		diagonal := 1.0
		for i := range m {
			diagonal += s.j[i*n+k] * s.j[i*n+k]
		}
		a[(m+k)*n+k], b[m+k] = 1, -s.z[k]
		a[(m+n+k)*n+k] = math.Sqrt(lambda * diagonal)
	}
	work := make([]float64, 64*(rows+n))
	if !(gonum.Implementation{}).Dgels(blas.NoTrans, rows, n, 1, a, n, b, 1, work, len(work)) {
		panic("estimate: a matrix with a unit part is singular")
	}
	return b[:n]
}
