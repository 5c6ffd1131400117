package dense

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// Problems side by side come to the same bits as one after the other: over trees and complete graphs, with motions that
// follow and held ones; alike and unlike ones, with double eigenvalues, rows of zeros, falling apart in the middle, of rank
// one, and with NaN. Where the processor has no lanes there is nothing to compare.
func TestBatch(t *testing.T) { eitherWidth(t, testBatch) }

// eitherWidth makes a test with registers of four numbers and, where the processor has them, of eight.
func eitherWidth(t *testing.T, test func(t *testing.T)) {
	t.Run("narrow", func(t *testing.T) {
		defer func(before bool) { wide = before }(wide)
		wide = false
		test(t)
	})
	if wide {
		t.Run("wide", test)
	}
}

func testBatch(t *testing.T) {
	rng := rand.New(rand.NewPCG(13, 14))
	seen := [4]int{}
	for trial := range 300 {
		nodes, count := 1+rng.IntN(13), 1+rng.IntN(MaxBatch)
		if trial%4 == 0 {
			nodes, count = 13, 9
		}
		var edges [][2]int
		for i := range nodes {
			for j := range i {
				if trial%3 == 0 || j == i/3 {
					edges = append(edges, [2]int{i, j})
				}
			}
		}
		fate := make([]Fate, 3*nodes)
		for i := range fate {
			if trial%5 == 4 {
				fate[i] = Fate(rng.IntN(3))
			}
		}
		p := NewPattern(nodes, edges)
		filled := make([]uint8, 3*nodes)
		for i := range filled {
			filled[i] = 255
			if trial%2 == 1 {
				filled[i] = uint8(rng.IntN(256))
			}
		}
		b, x := NewBatch(NewReduction(p, edges, fate), filled), NewReduced(NewReduction(p, edges, fate))
		if b == nil {
			t.Log("this processor solves one problem after the other")
			return
		}
		n := x.Order()
		g := NewEigen(n, rowWidth)
		for i := range b.numbers { // nothing is left of problems before
			b.numbers[i] = math.NaN()
		}
		b.Clear()
		var stiff, mass, rows [MaxBatch][]float64
		for k := range count {
			stiff[k], mass[k], rows[k] = make([]float64, p.Len()), make([]float64, p.Len()), make([]float64, 3*nodes*rowWidth)
			kind := rng.IntN(9)
			if k > 0 && trial%2 == 0 {
				kind = 9
			}
			for i := range stiff[k] {
				diagonal := i < 9*nodes && i%9%4 == 0
				s, m := 0.05*rng.NormFloat64(), rng.NormFloat64()
				if diagonal {
					s = 5
				}
				switch kind {
				case 0: // double eigenvalues
					s, m = 0, 0
					if diagonal {
						s, m = 1, float64(i/18)
					}
				case 1: // one large entry beside rounding
					m *= math.Pow(10, -float64(i/9))
				case 2: // falls apart
					if i%2 == 0 && !diagonal {
						s, m = 0, 0
					}
				case 3:
					if !diagonal {
						s = 0
					}
					if i%3 != 0 {
						m = 0
					}
				case 4: // definite
					m = math.Abs(s)
				case 5:
					m = 0
				case 6:
					if i == 4 && trial%8 == 1 {
						m = math.NaN()
					}
				case 7: // signs of zero
					if i%5 > 0 {
						m = math.Copysign(0, m)
					}
				case 8: // not definite
					if i == 0 && trial%8 == 3 {
						s = -s
					}
				case 9: // like the first
					s, m = stiff[0][i], mass[0][i]+0.01*m
				}
				stiff[k][i], mass[k][i] = s, m
			}
			for i := range rows[k] {
				if filled[i/rowWidth]>>(i%rowWidth)&1 == 1 {
					rows[k][i] = float64(rng.IntN(3) - 1)
				}
			}
			b.Put(k, stiff[k], mass[k], rows[k])
		}
		var massive, definites, shifted [MaxBatch]bool
		var below, negatives, light [MaxBatch]int
		condensed, all := b.Condense(count), true
		b.Factor(0, true, light[:count], massive[:count])
		b.Factor(0.3, false, below[:count], shifted[:count])
		b.Factor(0, false, negatives[:count], definites[:count])
		b.Half()
		b.Whiten(count)
		b.Solve(count)
		for k := range count {
			full, w, v, r := make([]float64, n*n), make([]float64, n), make([]float64, n), make([]float64, n*rowWidth)
			if good := x.Reduce(stiff[k], mass[k], rows[k], rowWidth); !good {
				all = false
				continue
			}
			for _, f := range []struct {
				shift    float64
				swapped  bool
				negative int
				ok       bool
			}{{0, true, light[k], massive[k]}, {0.3, false, below[k], shifted[k]}, {0, false, negatives[k], definites[k]}} {
				if negative, ok := x.Factor(f.shift, f.swapped); negative != f.negative || ok != f.ok {
					t.Fatalf("trial %d, problem %d of %d, shift %g: %d pivots, %t; alone %d, %t", trial, k, count, f.shift, f.negative, f.ok, negative, ok)
				}
			}
			if negatives[k] > 0 || !definites[k] {
				seen[3]++
				continue
			}
			seen[0]++
			x.Whiten(x.M, full)
			x.Half(rows[k], rowWidth)
			ok := b.Take(k, r, rowWidth, v)
			if want := g.Solve(full, n, rows[k], rowWidth, w); ok != want {
				t.Fatalf("trial %d, problem %d of %d: settled %t, alone %t", trial, k, count, ok, want)
			}
			if !ok {
				seen[1]++
				continue
			}
			if massive[k] && light[k] == 0 {
				seen[2]++
			}
			for i := range n {
				if math.Float64bits(w[i]) != math.Float64bits(v[i]) {
					t.Fatalf("trial %d, problem %d of %d, order %d: λ%d = %x, alone %x", trial, k, count, n, i, v[i], w[i])
				}
			}
			for i, x := range r {
				if math.Float64bits(x) != math.Float64bits(rows[k][i]) {
					t.Fatalf("trial %d, problem %d of %d, order %d: row %d is %x, alone %x", trial, k, count, n, i, x, rows[k][i])
				}
			}
		}
		if all != condensed {
			t.Fatalf("trial %d: all condensed %t, side by side %t", trial, all, condensed)
		}
	}
	for i, name := range []string{"solved", "not settled", "with a definite mass", "not definite"} {
		if seen[i] == 0 {
			t.Errorf("none %s", name)
		}
	}
}

// Rows of any width go in blocks.
func TestEigensOfWideRows(t *testing.T) { eitherWidth(t, testWideRows) }

func testWideRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(15, 16))
	const n = 17
	for _, width := range []int{0, 3, 8, 21} {
		b, g := NewEigens(n, width), NewEigen(n, width)
		if b == nil {
			t.Log("this processor solves one problem after the other")
			return
		}
		var a, r [MaxBatch][]float64
		for k := range a {
			a[k], r[k] = make([]float64, n*n), make([]float64, n*width)
			for i := range a[k] {
				a[k][i] = rng.NormFloat64()
			}
			for i := range r[k] {
				r[k][i] = rng.NormFloat64()
			}
			b.Put(k, a[k], r[k], width)
		}
		b.Solve(len(a))
		w, v, rows := make([]float64, n), make([]float64, n), make([]float64, n*width)
		for k := range a {
			if !b.Take(k, rows, width, v) || !g.Solve(a[k], n, r[k], width, w) {
				t.Fatal("not settled")
			}
			if !slices.Equal(w, v) || !slices.Equal(rows, r[k]) {
				t.Errorf("width %d, problem %d differs", width, k)
			}
		}
	}
}

// Nine problems like those of a stage: a tree of thirteen bodies.
func BenchmarkBatch(b *testing.B) {
	rng := rand.New(rand.NewPCG(11, 12))
	const nodes = 13
	var edges [][2]int
	for i := 1; i < nodes; i++ {
		edges = append(edges, [2]int{i, (i - 1) / 3 * 3})
	}
	p := NewPattern(nodes, edges)
	r := NewReduction(p, edges, make([]Fate, 3*nodes))
	g, x := NewBatch(r, slices.Repeat([]uint8{255}, 3*nodes)), NewReduced(r)
	n := x.Order()
	var stiff, mass, rows [9][]float64
	for k := range stiff {
		stiff[k], mass[k], rows[k] = make([]float64, p.Len()), make([]float64, p.Len()), make([]float64, 3*nodes*rowWidth)
		for i := range stiff[k] {
			stiff[k][i] = 0.1 * rng.NormFloat64()
			mass[k][i] = 0.1 * rng.NormFloat64()
			if k > 0 {
				stiff[k][i], mass[k][i] = stiff[0][i]+0.01*stiff[k][i], mass[0][i]+0.01*mass[k][i]
			} else if i < 9*nodes && i%9%4 == 0 {
				stiff[k][i], mass[k][i] = 1, 1+float64(i)
			}
		}
	}
	w, rest := make([]float64, n), make([]float64, 3*nodes*rowWidth)
	if g != nil {
		var ok [9]bool
		var negative [9]int
		steps := []struct {
			name string
			do   func()
		}{
			{"put", func() {
				g.Clear()
				for k := range stiff {
					g.Put(k, stiff[k], mass[k], rows[k])
				}
			}},
			{"factor", func() {
				g.Condense(9)
				g.Factor(0, true, negative[:], ok[:])
				g.Factor(0, false, negative[:], ok[:])
			}},
			{"whiten", func() {
				g.Half()
				g.Whiten(9)
			}},
			{"tridiagonal", func() {
				for i := range g.groups {
					g.tridiagonal(&g.groups[i], n)
				}
			}},
			{"sweeps", func() { g.sweeps(9) }},
		}
		for last := range steps {
			b.Run(steps[last].name, func(b *testing.B) { // each with those before it
				for b.Loop() {
					for _, s := range steps[:last+1] {
						s.do()
					}
				}
			})
		}
	}
	one, full := NewEigen(n, rowWidth), make([]float64, n*n)
	b.Run("plain", func(b *testing.B) {
		for b.Loop() {
			for k := range stiff {
				copy(rest, rows[k])
				x.Reduce(stiff[k], mass[k], rest, rowWidth)
				x.Factor(0, true)
				x.Factor(0, false)
				x.Whiten(x.M, full)
				x.Half(rest, rowWidth)
				one.Solve(full, n, rest, rowWidth, w)
			}
		}
	})
}
