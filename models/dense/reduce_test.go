package dense

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// The reduction against the formulas with full matrices: T = -Kss⁻¹ Ksm, Km = Kmm + Kms T,
// Mm = [1; T]ᵀ M [1; T], rows likewise, on trees and graphs with loops. Tolerance: rounding.
func TestReduction(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for trial := range 40 {
		n := 2 + rng.IntN(9)
		edges := tree(n, rng)
		for range trial % 5 {
			edges = append(edges, [2]int{rng.IntN(n), rng.IntN(n)})
		}
		p := NewPattern(n, edges)
		k, m := make([]float64, p.Len()), make([]float64, p.Len())
		for _, e := range edges {
			if e[0] != e[1] {
				o, _ := p.Block(e[0], e[1])
				for c := range 9 {
					k[o+c], m[o+c] = rng.NormFloat64(), 0.2*rng.NormFloat64()
				}
			}
		}
		n3 := 3 * n
		fate := make([]Fate, n3)
		var kept, follow []int
		for u := range n3 {
			fate[u] = Fate([]Fate{Keep, Follow, Follow, Drop}[rng.IntN(4)])
			if u == 0 {
				fate[u] = Keep
			}
			i, a := u/3, u%3
			for b := range a {
				v := rng.NormFloat64()
				k[9*i+3*a+b], k[9*i+3*b+a] = v, v
			}
			k[9*i+4*a], m[9*i+4*a] = 30*(1+rng.Float64()), 10*(1+rng.Float64())
		}
		r := NewReduction(p, edges, fate)
		for i := range r.Order() {
			kept = append(kept, r.keeps[i].unknown)
			if r.Place(kept[i]) != i {
				t.Fatal("place")
			}
		}
		for u, f := range fate {
			if f == Follow {
				follow = append(follow, u)
			}
		}
		kf, mf := make([]float64, n3*n3), make([]float64, n3*n3)
		p.Expand(k, kf)
		p.Expand(m, mf)
		// T over all unknowns, kept ones first
		order := append(append([]int(nil), kept...), follow...)
		full := func(a []float64) *mat.Dense {
			d := mat.NewDense(len(order), len(order), nil)
			for i, u := range order {
				for j, v := range order {
					d.Set(i, j, a[u*n3+v])
				}
			}
			return d
		}
		kd, md, nk := full(kf), full(mf), len(kept)
		tr := mat.NewDense(len(order), nk, nil)
		for i := range nk {
			tr.Set(i, i, 1)
		}
		if len(follow) > 0 {
			var s mat.Dense
			if err := s.Solve(kd.Slice(nk, len(order), nk, len(order)), kd.Slice(nk, len(order), 0, nk)); err != nil {
				t.Fatal(err)
			}
			for i := range follow {
				for j := range nk {
					tr.Set(nk+i, j, -s.At(i, j))
				}
			}
		}
		var wantK, wantM mat.Dense
		wantK.Product(tr.T(), kd, tr)
		wantM.Product(tr.T(), md, tr)
		const width = 3
		rows := make([]float64, n3*width)
		for i := range rows {
			rows[i] = rng.NormFloat64()
		}
		wantRows := mat.NewDense(nk, width, nil)
		for i := range nk {
			for c := range width {
				sum := 0.0
				for j, u := range order {
					sum += tr.At(j, i) * rows[u*width+c]
				}
				wantRows.Set(i, c, sum)
			}
		}
		x := NewReduced(r)
		if !x.Reduce(k, m, rows, width) {
			t.Fatal("not definite")
		}
		gotK, gotM := make([]float64, nk*nk), make([]float64, nk*nk)
		x.Expand(x.K, gotK)
		x.Expand(x.M, gotM)
		motion, z := make([]float64, n3), make([]float64, nk)
		for i := range nk {
			for j := range nk {
				if math.Abs(gotK[i*nk+j]-wantK.At(i, j)) > 1e-11 || math.Abs(gotM[i*nk+j]-wantM.At(i, j)) > 1e-11 {
					t.Fatalf("trial %d: K %g want %g, M %g want %g", trial, gotK[i*nk+j], wantK.At(i, j), gotM[i*nk+j], wantM.At(i, j))
				}
			}
			for c := range width {
				if math.Abs(rows[i*width+c]-wantRows.At(i, c)) > 1e-11 {
					t.Fatalf("trial %d: row %d: %g want %g", trial, i, rows[i*width+c], wantRows.At(i, c))
				}
			}
			clear(z)
			z[i] = 1
			x.Follow(z, motion)
			for j, u := range order {
				if math.Abs(motion[u]-tr.At(j, i)) > 1e-11 {
					t.Fatalf("trial %d: unknown %d follows by %g, want %g", trial, u, motion[u], tr.At(j, i))
				}
			}
		}
		// S⁻¹ M S⁻ᵀ has the eigenvalues of the pair
		if negative, ok := x.Factor(0, false); !ok || negative != 0 {
			t.Fatal("K not definite")
		}
		solved, back, image := make([]float64, nk), make([]float64, nk), make([]float64, nk)
		for i := range solved {
			solved[i] = rng.NormFloat64()
		}
		copy(back, solved)
		x.Solve(solved)
		x.Multiply(x.K, solved, image)
		for i, v := range image {
			if math.Abs(v-back[i]) > 1e-9 {
				t.Fatalf("trial %d: K K⁻¹ b = %g, want %g", trial, v, back[i])
			}
		}
		w := make([]float64, nk*nk)
		x.Whiten(x.M, w)
		values := make([]float64, nk)
		if !NewEigen(nk, 0).Solve(w, nk, nil, 0, values) {
			t.Fatal("no convergence")
		}
		var chol mat.Cholesky
		ks := mat.NewSymDense(nk, gotK)
		chol.Factorize(ks)
		var inv mat.Dense
		if err := chol.SolveTo(&inv, mat.NewDense(nk, nk, gotM)); err != nil {
			t.Fatal(err)
		}
		var eig mat.Eigen
		eig.Factorize(&inv, mat.EigenNone)
		trace, sum := 0.0, 0.0
		for i, v := range eig.Values(nil) {
			trace += real(v)
			sum += values[i]
		}
		if math.Abs(trace-sum) > 1e-10 {
			t.Errorf("trial %d: trace %g, want %g", trial, sum, trace)
		}
		// the number below a shift
		if nk > 1 {
			shift := 2 / (values[nk-1] + values[nk-2]) // between the two least ω²
			if negative, _ := x.Factor(shift, false); negative != 1 && values[nk-1]-values[nk-2] > 1e-9 {
				t.Errorf("trial %d: %d below", trial, negative)
			}
		}
	}
}
