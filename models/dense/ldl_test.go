package dense

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func tree(n int, rng *rand.Rand) (edges [][2]int) {
	for i := 1; i < n; i++ {
		edges = append(edges, [2]int{i, rng.IntN(i)})
	}
	return edges
}

// Factor and Solve against gonum's symmetric eigenvalues (number of negative
// ones) and its LU solution, on trees and on graphs with loops, definite and
// indefinite. Tolerance: rounding times the condition number, which is kept
// below about 1e4 by a shift.
func TestFactorAgainstGonum(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for trial := range 200 {
		n := 1 + rng.IntN(12)
		edges := tree(n, rng)
		loops := 0
		if trial%2 == 1 && n > 3 {
			loops = rng.IntN(6)
			for range loops {
				edges = append(edges, [2]int{rng.IntN(n), rng.IntN(n)})
			}
		}
		p := NewPattern(n, edges)
		if loops == 0 && p.Len() != 9*(2*n-1) {
			t.Fatalf("a tree of %d nodes made fill: %d numbers", n, p.Len())
		}
		a := make([]float64, p.Len())
		for _, e := range edges {
			if e[0] == e[1] {
				continue
			}
			o, _ := p.Block(e[0], e[1])
			for k := range 9 {
				a[o+k] = rng.NormFloat64()
			}
		}
		shift := 12.0
		if trial%3 == 0 {
			shift = 1.5 // some eigenvalues negative
		}
		for i := range n {
			for r := range 3 {
				for c := range r {
					v := rng.NormFloat64()
					a[9*i+3*r+c], a[9*i+3*c+r] = v, v
				}
				a[9*i+4*r] = shift * (1 + rng.Float64())
			}
		}
		full := make([]float64, 9*n*n)
		p.Expand(a, full)
		dense := mat.NewSymDense(3*n, full)
		var eig mat.EigenSym
		eig.Factorize(dense, false)
		want, smallest := 0, math.Inf(1)
		for _, v := range eig.Values(nil) {
			if v < 0 {
				want++
			}
			smallest = min(smallest, math.Abs(v))
		}
		if smallest < 1e-2 {
			continue // too close to singular for the tolerance below
		}
		x := make([]float64, 3*n)
		for i := range x {
			x[i] = rng.NormFloat64()
		}
		b := mat.NewVecDense(3*n, append([]float64(nil), x...))
		var y mat.VecDense
		if err := y.SolveVec(dense, b); err != nil {
			t.Fatal(err)
		}
		negative, ok := p.Factor(a)
		if !ok || negative != want {
			t.Fatalf("trial %d: %d negative pivots (ok %v), %d negative eigenvalues", trial, negative, ok, want)
		}
		p.Solve(a, x)
		for i := range x {
			if math.Abs(x[i]-y.AtVec(i)) > 1e-9*(1+mat.Norm(&y, 2)) {
				t.Fatalf("trial %d: x[%d] = %g, want %g", trial, i, x[i], y.AtVec(i))
			}
		}
	}
}

func TestFactorRefusesSingular(t *testing.T) {
	p := NewPattern(2, [][2]int{{0, 1}})
	for _, bad := range []float64{0, math.NaN(), math.Inf(1)} {
		a := make([]float64, p.Len())
		for i := range 2 {
			for r := range 3 {
				a[9*i+4*r] = 1
			}
		}
		a[4] = bad
		if _, ok := p.Factor(a); ok {
			t.Errorf("pivot %g accepted", bad)
		}
	}
}

func TestFactorAndSolveDoNotAllocate(t *testing.T) {
	p := NewPattern(3, [][2]int{{0, 1}, {1, 2}})
	a, x := make([]float64, p.Len()), make([]float64, 9)
	if n := testing.AllocsPerRun(100, func() {
		clear(a)
		for i := range 9 {
			a[9*(i/3)+4*(i%3)] = 2
		}
		p.Factor(a)
		p.Solve(a, x)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
