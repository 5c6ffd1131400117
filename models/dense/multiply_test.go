package dense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A matrix over a pattern times a vector is the full matrix times it.
func TestMultiply(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	const n = 9
	p := NewPattern(n, append(tree(n, rng), [2]int{0, n - 1}, [2]int{2, 5}))
	a, full := make([]float64, p.Len()), make([]float64, 9*n*n)
	for i := range a {
		a[i] = rng.NormFloat64()
	}
	p.Expand(a, full)
	x, y := make([]float64, 3*n), make([]float64, 3*n)
	for i := range x {
		x[i] = rng.NormFloat64()
	}
	p.Multiply(a, x, y)
	for i := range y {
		want := 0.0
		for j, v := range x {
			want += full[3*n*i+j] * v
		}
		if math.Abs(y[i]-want) > 1e-12 {
			t.Errorf("%d: %g, want %g", i, y[i], want)
		}
	}
}
