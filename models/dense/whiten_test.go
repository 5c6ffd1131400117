package dense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The generalised problem K x = λ M x through Whiten, Half and Eigen: the rows
// that come out are those of eigenvectors with Xᵀ M X = 1, Xᵀ K X = Λ, on trees
// and graphs with loops. Tolerance: rounding times the condition of M (about 10).
func TestWhiten(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	for trial := range 20 {
		n := 2 + rng.IntN(8)
		edges := tree(n, rng)
		for range trial % 4 {
			edges = append(edges, [2]int{rng.IntN(n), rng.IntN(n)})
		}
		p := NewPattern(n, edges)
		k, m := make([]float64, p.Len()), make([]float64, p.Len())
		for i := range k {
			k[i], m[i] = rng.NormFloat64(), 0.2*rng.NormFloat64()
		}
		for i := range n {
			for a := range 3 {
				m[9*i+4*a] = 4 + rng.Float64()
				for b := range a {
					k[9*i+3*b+a], m[9*i+3*b+a] = k[9*i+3*a+b], m[9*i+3*a+b]
				}
			}
		}
		n3 := 3 * n
		kf, mf, c := make([]float64, n3*n3), make([]float64, n3*n3), make([]float64, n3*n3)
		p.Expand(k, kf)
		p.Expand(m, mf)
		copy(c, kf)
		if negative, ok := p.Factor(m); !ok || negative != 0 {
			t.Fatal("not definite")
		}
		p.Whiten(m, c)
		x := make([]float64, n3*n3)
		for i := range n3 {
			x[i*n3+i] = 1
		}
		p.Half(m, x, n3)
		w := make([]float64, n3)
		if !NewEigen(n3, n3).Solve(c, n3, x, n3, w) {
			t.Fatal("no convergence")
		}
		// row k of x is eigenvector k
		form := func(a []float64, i, j int) (sum float64) {
			for r := range n3 {
				for s := range n3 {
					sum += x[i*n3+r] * a[r*n3+s] * x[j*n3+s]
				}
			}
			return sum
		}
		for i := range n3 {
			for j := range n3 {
				d, l := 0.0, 0.0
				if i == j {
					d, l = 1, w[i]
				}
				if math.Abs(form(mf, i, j)-d) > 1e-12 || math.Abs(form(kf, i, j)-l) > 1e-12 {
					t.Fatalf("trial %d: xMx %g, xKx %g, want %g, %g", trial, form(mf, i, j), form(kf, i, j), d, l)
				}
			}
		}
	}
}
