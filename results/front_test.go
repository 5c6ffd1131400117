package results

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// The archive against the definition, O(n²), on points of small whole numbers,
// many of them equal, and more than it gathers before it drops any.
func TestArchive(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for m := 1; m <= 5; m++ {
		a := archive{m: m}
		var points [][]float64
		for i := range frontBatch + 500 {
			p := make([]float64, m)
			for k := range p {
				p[k] = float64(rng.IntN(12))
			}
			points = append(points, p)
			a.add(p, int64(i))
		}
		a.prune()
		var want []int64
		for i, p := range points {
			if !slices.ContainsFunc(points, func(q []float64) bool { return dominates(q, p) }) {
				want = append(want, int64(i))
			}
		}
		if !slices.Equal(a.rows, want) {
			t.Errorf("%d goals: %d rows, want %d", m, len(a.rows), len(want))
		}
	}
}

func dominates(a, b []float64) bool {
	for k := range a {
		if a[k] > b[k] {
			return false
		}
	}
	return !slices.Equal(a, b)
}
