package search

import (
	"context"
	"slices"
	"testing"
)

func TestPermutationIsUndone(t *testing.T) {
	for _, n := range []uint64{1, 2, 3, 7, 64, 1000} {
		hit := make([]bool, n)
		for i := range n {
			p := permute(i, n, 77)
			if hit[p] || unpermute(p, n, 77) != i {
				t.Fatalf("%d of %d goes to %d and back to %d", i, n, p, unpermute(p, n, 77))
			}
			hit[p] = true
		}
	}
}

// A Latin hypercube that grew has the points that it had, in their order, and one
// in each of its strata of every size that it had.
func TestLatinHypercubeGrows(t *testing.T) {
	space := Space{{Name: "a", Kind: Continuous, From: 0, To: 1}, {Name: "b", Kind: Continuous, From: 0, To: 1}, {Name: "c", Kind: Continuous, From: 0, To: 1}}
	points := func(grown ...int64) [][]float64 {
		t.Helper()
		last := len(grown) - 1
		p, err := NewLatinHypercube(space, 5, SampleOptions{Designs: grown[last], Grown: grown[:last]})
		if err != nil {
			t.Fatal(err)
		}
		var all [][]float64
		if _, err := p.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
			for _, x := range p.Points {
				all = append(all, slices.Clone(x))
			}
			return make([]Outcome, len(p.Points)), nil
		}); err != nil {
			t.Fatal(err)
		}
		return all
	}
	sizes := []int64{7, 14, 70, 210}
	var before [][]float64
	for i, n := range sizes {
		all := points(sizes[:i+1]...)
		if int64(len(all)) != n {
			t.Fatalf("%d points, want %d", len(all), n)
		}
		for k := range before {
			if !slices.Equal(all[k], before[k]) {
				t.Fatalf("point %d of %d moved when it grew to %d", k, len(before), n)
			}
		}
		for _, m := range sizes[:i+1] { // the first m points in m strata
			for d := range space {
				hit := make([]int, m)
				for _, x := range all[:m] {
					hit[int(x[d]*float64(m))]++
				}
				if slices.Max(hit) != 1 {
					t.Fatalf("%d points, of which the first %d: %v in the strata of variable %d", n, m, hit, d)
				}
			}
		}
		before = all
	}
	for _, grown := range [][]int64{{7, 10}, {7, 7}, {14, 7}} {
		if _, err := NewLatinHypercube(space, 5, SampleOptions{Designs: grown[1], Grown: grown[:1]}); err == nil {
			t.Errorf("%v grew", grown)
		}
	}
}
