package search

import (
	"iter"
	"math"
	"testing"
)

// By hand: the ranges are those of both fronts, 0 to 10 in each, the reference
// point is 11. Before: (11-10)(11-0) + (11-0)(11-10) - 1 = 21; after: 121.
func TestGrowthByHand(t *testing.T) {
	before := []float64{10, 0, 0, 10}
	g, ok := Growth(2, before, []float64{0, 0})
	if want := 121./21 - 1; !ok || math.Abs(g-want) > 1e-12*want {
		t.Errorf("%v, want %v", g, want)
	}
	// One objective, the most of something: from 24 to 25 is a twenty-fifth of 25.
	if g, ok := Growth(1, []float64{-24}, []float64{-25}); !ok || math.Abs(g-0.04) > 1e-15 {
		t.Errorf("%v, want 0.04", g)
	}
	if g, ok := Growth(1, []float64{0}, []float64{0}); !ok || g != 0 {
		t.Errorf("%v of nothing", g)
	}
	if _, ok := Growth(2, nil, before); ok {
		t.Error("a growth from nothing")
	}
}

// Rows 0 to 7; the last quarter begins with row 6.
func TestLastQuarter(t *testing.T) {
	rows := func(at ...int64) iter.Seq2[int64, []float64] {
		return func(yield func(int64, []float64) bool) {
			for _, n := range at {
				p := []float64{10, 0}
				switch {
				case n == 5:
					p = []float64{0, 10}
				case n >= 6:
					p = []float64{0, 0}
				}
				if !yield(n, p) {
					return
				}
			}
		}
	}
	if g, ok := LastQuarter(2, 8, rows(0, 5, 6, 7)); !ok || math.Abs(g-(121./21-1)) > 1e-12*g {
		t.Errorf("%v %v", g, ok)
	}
	if g, ok := LastQuarter(2, 8, rows(0, 5)); !ok || g != 0 {
		t.Errorf("%v %v: nothing came since", g, ok)
	}
	if _, ok := LastQuarter(2, 8, rows(6, 7)); ok {
		t.Error("nothing was there before")
	}
}
