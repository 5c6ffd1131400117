package dense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A straight program factors and solves eight problems at a time as a pattern does one, on a tree and on a graph with loops, some
// unknowns held, and says by its pivots how many eigenvalues are negative. Products are added in another order: 1e-12.
func TestStraightIsPattern(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 3))
	for _, edges := range [][][2]int{
		{{0, 1}, {1, 2}, {1, 3}, {3, 4}, {3, 5}},
		{{0, 1}, {1, 2}, {2, 3}, {3, 0}, {3, 4}, {4, 5}, {5, 1}},
	} {
		const n = 6
		p := NewPattern(n, edges)
		s := new(Straight)
		a, x, y := 0, p.Len(), p.Len()+3*n+9
		s.LessTimes(p, a, x, y)
		s.Factor(p, a, x+3*n)
		s.Solve(p, a, x)
		s.Done()
		numbers := make([]float64, Lanes*(y+3*n))
		var plain, right [Lanes][]float64
		for l := range Lanes {
			plain[l], right[l] = make([]float64, p.Len()), make([]float64, 3*n)
			for i := range plain[l] {
				plain[l][i] = rng.NormFloat64()
			}
			for i := range n {
				for r := range 3 {
					plain[l][9*i+4*r] += 8 * float64(1-2*((l>>r)&1)) // definite in lane 0 alone
				}
			}
			p.Hold(plain[l], 2, l%3)
			for i := range right[l] {
				right[l][i] = rng.NormFloat64()
			}
			for i, v := range append(append([]float64(nil), plain[l]...), right[l]...) {
				numbers[Lanes*i+l] = v
			}
		}
		s.Run(numbers)
		product := make([]float64, 3*n)
		for l := range Lanes {
			p.Multiply(plain[l], right[l], product)
			for i, want := range product {
				if got := -numbers[Lanes*(y+i)+l]; !(math.Abs(got-want) <= 1e-12*(1+math.Abs(want))) {
					t.Errorf("lane %d, product %d: %g, want %g", l, i, got, want)
				}
			}
			negative, ok := p.Factor(plain[l])
			if !ok {
				t.Fatal("no factor")
			}
			p.Solve(plain[l], right[l])
			for i, want := range right[l] {
				if got := numbers[Lanes*(x+i)+l]; !(math.Abs(got-want) <= 1e-12*(1+math.Abs(want))) {
					t.Errorf("lane %d, %d: %g, want %g", l, i, got, want)
				}
			}
			for i := range n {
				for r := range 3 {
					if numbers[Lanes*(9*i+4*r)+l] < 0 {
						negative--
					}
				}
			}
			if negative != 0 {
				t.Errorf("lane %d: %d negative pivots not seen", l, negative)
			}
		}
	}
}

// Numbers are repeated, and nothing beyond them is touched, with registers and without.
func TestRepeat(t *testing.T) {
	for _, repeat := range []func(to, from []float64, times int){Repeat, repeat} {
		for _, times := range []int{1, 3, 8, 9} {
			for n := range 4 {
				from, to := make([]float64, n), make([]float64, n*times+1)
				for i := range from {
					from[i] = float64(i + 1)
				}
				repeat(to, from, times)
				for i, v := range to[:n*times] {
					if v != float64(i/times+1) {
						t.Fatalf("%d of %d numbers %d times: %g", i, n, times, v)
					}
				}
				if to[n*times] != 0 {
					t.Fatalf("%d numbers %d times: written beyond", n, times)
				}
			}
		}
	}
}
