package estimate

import (
	"math"

	"gonum.org/v1/gonum/lapack"
	"gonum.org/v1/gonum/lapack/gonum"
	"gonum.org/v1/gonum/mathext"
)

// Result is an estimate and how sure it is. Its covariance is that of the model made
// linear at the estimate.
type Result struct {
	X          []float64 // n: the estimate
	Covariance []float64 // n by n
	Predicted  []float64 // m
	Residual   []float64 // m: (value − prediction)/σ
	// Leverage of each measurement: the part of it that it explains itself, 0 to 1
	Leverage []float64 // m

	ChiSquare   float64 // the priors' terms included
	Freedom     int     // degrees of freedom: the number of measurements
	Probability float64 // of a chi-square as large or larger

	// Others are the minima that the starts led to beside this one, told apart: by how much
	// their chi-squares are larger, ascending
	Others []float64
	Steps  int // of the start that won
	// Settled reports whether its last step was small
	Settled bool

	// Singular values of the scaled Jacobian, descending, and its right singular vectors,
	// one a row: combinations of unknowns in their priors' standard deviations
	Singular []float64
	Vectors  []float64 // n by n

	prior    []float64
	jacobian []float64 // m by n, scaled
}

func (s *state) result() *Result {
	n, m := s.n, s.m
	r := &Result{X: make([]float64, n), Covariance: make([]float64, n*n), Predicted: make([]float64, m), Residual: s.e,
		Leverage: make([]float64, m), ChiSquare: s.cost, Freedom: m, Steps: s.steps, Settled: s.steps < mostIterations,
		Singular: make([]float64, n), Vectors: make([]float64, n*n), prior: s.p.Prior, jacobian: s.j}
	for k := range r.X {
		r.X[k] = s.z[k] * s.p.Prior[k]
	}
	for i := range r.Predicted {
		r.Predicted[i] = s.p.Value[i] - s.e[i]*s.p.Sigma[i]
	}
	r.Probability = ChiSquareBeyond(r.ChiSquare, m)
	r.decompose()
	for a := range n {
		for b := range n {
			r.Covariance[a*n+b] = r.scaled(a, b) * r.prior[a] * r.prior[b]
		}
	}
	for i := range m {
		r.Leverage[i], _ = r.Shrink(r.jacobian[i*n : (i+1)*n])
	}
	return r
}

// decompose takes the scaled Jacobian apart. Zero rows below it make it at least
// square, so that directions that nothing is seen of have their vectors too.
func (r *Result) decompose() {
	n, rows := len(r.X), max(len(r.Residual), len(r.X))
	a := make([]float64, rows*n)
	copy(a, r.jacobian)
	work := make([]float64, 64*(rows+n))
	if !(gonum.Implementation{}).Dgesvd(lapack.SVDNone, lapack.SVDAll, rows, n, a, n, r.Singular, nil, 1, r.Vectors, n, work, len(work)) {
		panic("estimate: singular values that do not converge")
	}
}

// scaled is the covariance of two scaled unknowns: Σ v_a v_b/(1 + s²) over the vectors.
func (r *Result) scaled(a, b int) float64 {
	n, sum := len(r.X), 0.0
	for k, s := range r.Singular {
		sum += r.Vectors[k*n+a] * r.Vectors[k*n+b] / (1 + s*s)
	}
	return sum
}

// Sigma is the posterior standard deviation of unknown k.
func (r *Result) Sigma(k int) float64 { return math.Sqrt(r.Covariance[k*len(r.X)+k]) }

// Correlation of two unknowns.
func (r *Result) Correlation(a, b int) float64 {
	return r.Covariance[a*len(r.X)+b] / (r.Sigma(a) * r.Sigma(b))
}

// Seen is the length of unknown k's column of the scaled Jacobian: by how many
// uncertainties, root of the sum of squares, one prior standard deviation moves the
// measurements.
func (r *Result) Seen(k int) float64 {
	n, sum := len(r.X), 0.0
	for i := range r.Residual {
		sum += r.jacobian[i*n+k] * r.jacobian[i*n+k]
	}
	return math.Sqrt(sum)
}

// Shrink returns what one more measurement would do, whose scaled derivatives (to each
// unknown, times its prior, over the uncertainty) are row g: the part g C gᵀ of it that
// the estimate leaves open, and each unknown's standard deviation after it over that
// before (V. V. Fedorov, Theory of Optimal Experiments, 1972, section 2.5). Among
// the measurements there are, it is the leverage.
func (r *Result) Shrink(g []float64) (open float64, ratio []float64) {
	n := len(r.X)
	c := make([]float64, n)
	for a := range n {
		for b := range n {
			c[a] += r.scaled(a, b) * g[b]
		}
		open += c[a] * g[a]
	}
	ratio = make([]float64, n)
	for a := range n {
		ratio[a] = math.Sqrt(max(1-c[a]*c[a]/((1+open)*r.scaled(a, a)), 0))
	}
	return open, ratio
}

// Normalised is residual i over its own standard deviation, of which a measurement that
// explains itself leaves little (W. Baarda, A Testing Procedure for Use in Geodetic
// Networks, 1968): a tenth of σ is taken where it leaves less, since nothing checks it.
func (r *Result) Normalised(i int) float64 {
	return r.Residual[i] / math.Sqrt(max(1-r.Leverage[i], 0.01))
}

// outlying is the probability with which one measurement of all counts as an outlier
// although none is.
const outlying = 0.01

// Outlier reports whether measurement i contradicts the others: its normalised residual
// would be exceeded by chance with a probability of less than 1 % over all measurements.
func (r *Result) Outlier(i int) bool {
	w := r.Normalised(i)
	return ChiSquareBeyond(w*w, 1)*float64(len(r.Residual)) < outlying
}

// ChiSquareBeyond is the probability of a chi-square of k degrees of freedom as large as
// x or larger, Q(k/2, x/2) with the incomplete gamma function (M. Abramowitz, I. A. Stegun,
// Handbook of Mathematical Functions, 26.4.19).
func ChiSquareBeyond(x float64, k int) float64 {
	return mathext.GammaIncRegComp(float64(k)/2, max(x, 0)/2)
}

// PrincipalAxes of the posterior, in the unknowns' units, each of one standard deviation:
// the sum of their outer products is the covariance.
func (r *Result) PrincipalAxes() [][]float64 {
	n := len(r.X)
	axes := make([][]float64, n)
	for k, s := range r.Singular {
		axes[k] = make([]float64, n)
		for j := range n {
			axes[k][j] = r.Vectors[k*n+j] * r.prior[j] / math.Sqrt(1+s*s)
		}
	}
	return axes
}
