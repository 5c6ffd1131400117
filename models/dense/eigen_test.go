package dense

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// Solve against the eigenvalues of gonum and the definition: with all rows
// wanted, r becomes Zᵀ, and Zᵀ A Z = Λ, Zᵀ Z = 1. Matrices with exactly double
// eigenvalues, zero ones and a range of 1e10 are among them. Tolerance: a few n eps ‖A‖.
func TestEigen(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	g := NewEigen(40, 40)
	for trial := range 60 {
		n := 1 + rng.IntN(40)
		if trial == 0 {
			n = 40
		}
		want := make([]float64, n)
		for i := range want {
			switch trial % 4 {
			case 0:
				want[i] = rng.NormFloat64()
			case 1:
				want[i] = float64(1 + i/2) // double
			case 2:
				want[i] = math.Pow(10, 10*rng.Float64()-5)
			case 3:
				want[i] = float64(i % 3) // many equal, zeros
			}
		}
		var qr mat.QR
		random := mat.NewDense(n, n, nil)
		for i := range n {
			for j := range n {
				random.Set(i, j, rng.NormFloat64())
			}
		}
		qr.Factorize(random)
		var q, a, qd mat.Dense
		qr.QTo(&q)
		qd.Mul(&q, mat.NewDiagDense(n, want))
		a.Mul(&qd, q.T())
		work := make([]float64, n*n)
		scale := 0.0
		for i := range n {
			scale = math.Max(scale, math.Abs(want[i]))
			for j := range n {
				work[i*n+j] = math.NaN() // the upper triangle is not read
				if j <= i {
					work[i*n+j] = (a.At(i, j) + a.At(j, i)) / 2
				}
			}
		}
		sym := mat.NewSymDense(n, nil)
		for i := range n {
			for j := range i + 1 {
				sym.SetSym(i, j, work[i*n+j])
			}
		}
		var ref mat.EigenSym
		if !ref.Factorize(sym, false) {
			t.Fatal("gonum did not converge")
		}
		values := ref.Values(nil)
		r := make([]float64, n*n)
		for i := range n {
			r[i*n+i] = 1
		}
		w := make([]float64, n)
		if !g.Solve(work, n, r, n, w) {
			t.Fatalf("trial %d: no convergence", trial)
		}
		tol := 40 * float64(n) * 0x1p-52 * scale
		for i := range n {
			if math.Abs(w[i]-values[i]) > tol {
				t.Errorf("trial %d, n %d: λ%d = %g, gonum %g", trial, n, i, w[i], values[i])
			}
			for j := range n {
				dot, form := 0.0, 0.0
				for k := range n {
					dot += r[i*n+k] * r[j*n+k]
					for m := range n {
						form += r[i*n+k] * sym.At(k, m) * r[j*n+m]
					}
				}
				d, l := 0.0, 0.0
				if i == j {
					d, l = 1, w[i]
				}
				if math.Abs(dot-d) > 1e-12 || math.Abs(form-l) > tol {
					t.Fatalf("trial %d, n %d: zz(%d,%d) = %g, zAz = %g want %g", trial, n, i, j, dot, form, l)
				}
			}
		}
	}
}

// Fewer rows give the same numbers as all of them, bit for bit.
func TestEigenRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 10))
	const n = 13
	g := NewEigen(n, n)
	a := make([]float64, n*n)
	for i := range a {
		a[i] = rng.NormFloat64()
	}
	all, some := make([]float64, n*n), make([]float64, n*2)
	for i := range n {
		all[i*n+i] = 1
	}
	some[3*2], some[7*2+1] = 1, 1
	w, v := make([]float64, n), make([]float64, n)
	if !g.Solve(append([]float64(nil), a...), n, all, n, w) || !g.Solve(append([]float64(nil), a...), n, some, 2, v) {
		t.Fatal("no convergence")
	}
	for k := range n {
		if w[k] != v[k] || all[k*n+3] != some[k*2] || all[k*n+7] != some[k*2+1] {
			t.Fatalf("mode %d differs", k)
		}
	}
	a[5*n+2] = math.NaN()
	if g.Solve(a, n, nil, 0, w) {
		t.Error("NaN accepted")
	}
}

func TestEigenDoesNotAllocate(t *testing.T) {
	const n = 20
	g := NewEigen(n, 3)
	a, b, r, w := make([]float64, n*n), make([]float64, n*n), make([]float64, 3*n), make([]float64, n)
	for i := range a {
		a[i] = float64(i * i % 7)
	}
	if k := testing.AllocsPerRun(20, func() {
		copy(b, a)
		g.Solve(b, n, r, 3, w)
	}); k != 0 {
		t.Errorf("%g allocations", k)
	}
}

func BenchmarkEigen(b *testing.B) {
	rng := rand.New(rand.NewPCG(11, 12))
	const n = 39
	for _, rows := range []int{0, 8, n} {
		b.Run(map[int]string{0: "values", 8: "8rows", n: "vectors"}[rows], func(b *testing.B) {
			g := NewEigen(n, n)
			a, work := make([]float64, n*n), make([]float64, n*n)
			for i := range a {
				a[i] = rng.NormFloat64()
			}
			r, w := make([]float64, n*n), make([]float64, n)
			for b.Loop() {
				copy(work, a)
				for i := range rows {
					r[i] = 1
				}
				g.Solve(work, n, r, rows, w)
			}
		})
	}
}

// Two problems at the same time come out bit for bit as one after the other: of different orders, of
// equal eigenvalues, and where a matrix falls apart.
func TestSolveBothIsSolve(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	const most, rows = 39, 8
	g, h := NewEigen(most, rows), NewEigen(most, rows)
	random := func(n, kind int) []float64 {
		a := make([]float64, n*n)
		for i := range n {
			for j := range i + 1 {
				v := rng.NormFloat64()
				switch {
				case kind == 1 && i != j, kind == 2 && (i+j)%3 != 0, kind == 3 && i > j+1:
					v = 0
				case kind == 4:
					v = 1
				}
				a[i*n+j], a[j*n+i] = v, v
			}
		}
		return a
	}
	for trial := range 300 {
		n, m := rng.IntN(most+1), rng.IntN(most+1)
		if trial%3 == 0 {
			n, m = most, most
		}
		a, b := random(n, trial%5), random(m, trial/5%5)
		r, s := make([]float64, n*rows), make([]float64, m*rows)
		for _, x := range [][]float64{r, s} {
			for i := range x {
				x[i] = rng.NormFloat64()
			}
		}
		r1, s1, v1, w1 := slices.Clone(r), slices.Clone(s), make([]float64, n), make([]float64, m)
		if !g.Solve(slices.Clone(a), n, r1, rows, v1) || !h.Solve(slices.Clone(b), m, s1, rows, w1) {
			t.Fatal("no convergence")
		}
		v, w := make([]float64, n), make([]float64, m)
		if !SolveBoth(g, h, a, b, n, m, r, s, rows, v, w) {
			t.Fatal("no convergence of both")
		}
		for _, p := range [][2][]float64{{r, r1}, {s, s1}, {v, v1}, {w, w1}} {
			if !slices.Equal(p[0], p[1]) {
				t.Fatalf("trial %d: orders %d and %d differ", trial, n, m)
			}
		}
	}
	a, b := random(5, 0), random(5, 0)
	b[5*4+2] = math.NaN()
	if v := make([]float64, 10); SolveBoth(g, h, a, b, 5, 5, nil, nil, 0, v[:5], v[5:]) {
		t.Error("NaN accepted")
	}
}

func BenchmarkEigenBoth(b *testing.B) {
	rng := rand.New(rand.NewPCG(11, 12))
	const n, rows = 39, 8
	g, h := NewEigen(n, rows), NewEigen(n, rows)
	a, work, more := make([]float64, n*n), make([]float64, n*n), make([]float64, n*n)
	for i := range a {
		a[i] = rng.NormFloat64()
	}
	r, s, v, w := make([]float64, n*rows), make([]float64, n*rows), make([]float64, n), make([]float64, n)
	for b.Loop() {
		copy(work, a)
		copy(more, a)
		for i := range rows {
			r[i], s[i] = 1, 1
		}
		SolveBoth(g, h, work, more, n, n, r, s, rows, v, w)
	}
}
