package dense

import (
	"math"
	"math/rand/v2"
	"testing"
)

// Problems side by side come to the same bits as one after the other: alike and unlike ones, with double
// eigenvalues, rows of zeros, falling apart in the middle, of rank one, and one with NaN among them. Where the
// processor has no lanes there is nothing to compare.
func TestBatch(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	const most = 40
	b, g := NewBatch(most, rowWidth), NewEigen(most, rowWidth)
	if b == nil {
		t.Log("this processor solves one problem after the other")
		return
	}
	for trial := range 400 {
		n, count := 1+rng.IntN(most), 1+rng.IntN(MaxBatch)
		if trial%4 == 0 {
			n, count = 39, 9
		}
		var a, r [MaxBatch][]float64
		for k := range count {
			a[k], r[k] = make([]float64, n*n), make([]float64, n*rowWidth)
			kind := rng.IntN(9)
			if k > 0 && trial%2 == 0 {
				kind = 9
			}
			for i := range n {
				for j := range i + 1 {
					x := rng.NormFloat64()
					switch kind {
					case 0: // double eigenvalues
						x = 0
						if i == j {
							x = float64(i / 2)
						}
					case 1: // one large entry beside rounding
						x *= math.Pow(10, -float64(i))
					case 2: // falls apart
						if i >= n/2 && j < n/2 {
							x = 0
						}
					case 3: // rows of zeros
						if i%3 == 0 || j%3 == 0 {
							x = 0
						}
					case 4: // rank one
						x = float64((i + 1) * (j + 1))
					case 5:
						x = 0
					case 6:
						if i == n-1 && trial%8 == 1 {
							x = math.NaN()
						}
					case 7: // tridiagonal, signs of zero
						if i-j > 1 {
							x = math.Copysign(0, x)
						}
					case 9: // like the first
						x = a[0][i*n+j] + 0.01*x
					}
					a[k][i*n+j] = x
				}
				for c := range rowWidth {
					r[k][i*rowWidth+c] = float64(rng.IntN(3) - 1)
				}
			}
			b.Put(k, a[k], n, r[k])
		}
		b.Solve(count, n)
		for k := range count {
			w, v, rows := make([]float64, n), make([]float64, n), make([]float64, n*rowWidth)
			ok := b.Take(k, n, rows, v)
			if want := g.Solve(a[k], n, r[k], rowWidth, w); ok != want {
				t.Fatalf("trial %d, problem %d of %d: settled %t, alone %t", trial, k, count, ok, want)
			}
			if !ok {
				continue
			}
			for i := range n {
				if math.Float64bits(w[i]) != math.Float64bits(v[i]) {
					t.Fatalf("trial %d, problem %d of %d, order %d: λ%d = %x, alone %x", trial, k, count, n, i, v[i], w[i])
				}
			}
			for i, x := range r[k] {
				if math.Float64bits(x) != math.Float64bits(rows[i]) {
					t.Fatalf("trial %d, problem %d of %d, order %d: row %d is %x, alone %x", trial, k, count, n, i, rows[i], x)
				}
			}
		}
	}
}

func BenchmarkBatch(b *testing.B) {
	rng := rand.New(rand.NewPCG(11, 12))
	const n = 39
	g := NewBatch(n, rowWidth)
	if g == nil {
		return
	}
	var a, r [9][]float64
	for k := range a {
		a[k], r[k] = make([]float64, n*n), make([]float64, n*rowWidth)
		for i := range n {
			for j := range i + 1 {
				a[k][i*n+j] = 0.01 * rng.NormFloat64()
				if k == 0 {
					a[k][i*n+j] *= 100
				} else {
					a[k][i*n+j] += a[0][i*n+j]
				}
			}
		}
	}
	w := make([]float64, n)
	b.Run("put", func(b *testing.B) {
		for b.Loop() {
			for k := range a {
				g.Put(k, a[k], n, r[k])
			}
		}
	})
	b.Run("tridiagonal", func(b *testing.B) {
		for b.Loop() {
			for k := range 3 {
				g.tridiagonal(k, n)
			}
		}
	})
	b.Run("all", func(b *testing.B) {
		for b.Loop() {
			for k := range a {
				g.Put(k, a[k], n, r[k])
			}
			g.Solve(9, n)
			for k := range a {
				g.Take(k, n, r[k], w)
			}
		}
	})
	one, two := NewEigen(n, rowWidth), NewEigen(n, rowWidth)
	c, d, v := make([]float64, n*n), make([]float64, n*n), make([]float64, n)
	b.Run("plain", func(b *testing.B) {
		for b.Loop() {
			for k := 0; k < 8; k += 2 {
				copy(c, a[k])
				copy(d, a[k+1])
				SolveBoth(one, two, c, d, n, n, r[k], r[k+1], rowWidth, w, v)
			}
			copy(c, a[8])
			one.Solve(c, n, r[8], rowWidth, w)
		}
	})
}
