package search

import (
	"math"
	"slices"
	"testing"
)

// By hand: feasible points alike; then the later stage first, however large its
// violation; of one stage the smaller violation; equals alike.
func TestConstrainedOrder(t *testing.T) {
	members := []*design{
		{stage: 1, violation: 1e-16},
		{stage: 3, violation: 2},
		{},
		{stage: 3, violation: 0.05},
		{stage: 9},
		{stage: 3, violation: 2},
		{stage: 0, violation: math.Inf(1)},
	}
	var s selection
	if got, want := s.constrainedOrder(members), []float64{3, 2, 0, 1, 0, 2, 4}; !slices.Equal(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// A cheap limit whose edge must be crossed by a few parts in a thousand of the
// space, and a costly one behind it that almost all who pass it fail: the cheap
// limit must not hold the population back from the costly one. (Told as of one
// stage, eight of these ten seeds find nothing.)
func TestScreeningDoesNotMislead(t *testing.T) {
	narrow := func(x []float64) Outcome {
		cheap := x[0] + x[1] - 1 // holds below the diagonal
		if cheap > 0 {
			return Outcome{Stage: 1, Violation: min(cheap, 1), Limits: []float64{cheap, math.NaN()}}
		}
		// Best where x0 + x1 is small, and there in a corner of the other variables:
		// a share of about 0.2^2/2 x 0.2^2 = 8e-4.
		costly := max(x[0]+x[1], math.Abs(x[2]-0.8)*2, math.Abs(x[3]-0.3)*2)/0.2 - 1
		o := Outcome{Objectives: []float64{x[0], x[1] + x[2]}, Stage: 2, Limits: []float64{cheap, costly}}
		if costly > 0 {
			o.Violation = min(costly, 1)
		}
		return o
	}
	for seed := uint64(1); seed <= 10; seed++ {
		var ids []int64
		var points [][]float64
		p := must(t)(NewEvolve(cube(4), seed, EvolveOptions{Population: 40, Generations: 40}))
		if _, err := p.Run(t.Context(), answered(&ids, &points, narrow)); err != nil {
			t.Fatal(err)
		}
		feasible := 0
		for _, x := range points {
			if o := narrow(x); o.Feasible() {
				feasible++
			}
		}
		if feasible < 200 {
			t.Errorf("seed %d: %d of %d designs are feasible", seed, feasible, len(points))
		}
	}
}
