package search

import (
	"iter"
	"math"
	"slices"
)

// manyObjectives is from how many objectives on a front is thinned, to so many
// points, before its hypervolume is compared with another's: exact ones cost too
// much then, and a hundred points show growth.
const (
	manyObjectives = 4
	thinnedFront   = 100
)

// Growth returns by how much the hypervolume of a front grew, relative to what it
// was before: both in shares of their common ranges. It reports false where there
// is nothing to compare. From four objectives on a hundred points stand for each.
//
// One objective has no ranges to share: its growth is that of the best value, relative
// to the larger magnitude of the two.
func Growth(m int, before, after []float64) (growth float64, ok bool) {
	if len(before) == 0 || len(after) == 0 {
		return 0, false
	}
	if m == 1 {
		was, is := slices.Min(before), slices.Min(after)
		return (was - is) / max(math.Abs(was), math.Abs(is), math.SmallestNonzeroFloat64), true
	}
	if m >= manyObjectives {
		before = gather(before, m, Thin(before, m, thinnedFront))
		after = gather(after, m, Thin(after, m, thinnedFront))
	}
	r := RangesOf(m, before, after)
	return r.Hypervolume(after)/r.Hypervolume(before) - 1, true
}

// LastQuarter returns the Growth of the front over the last quarter of a run of so
// many rows: a search is settled where it is small. Points gives the rows that
// have a place on the front, in order, by number from 0 and objectives, least
// best. It reports false where three quarters of the rows hold no point.
func LastQuarter(m int, rows int64, points iter.Seq2[int64, []float64]) (growth float64, ok bool) {
	var before []float64
	marked := false
	a := NewArchive[struct{}](m)
	for n, objectives := range points {
		if !marked && n >= rows-rows/4 {
			marked = true
			before = append(before, a.Objectives()...)
		}
		a.Add(objectives, struct{}{})
	}
	if !marked { // nothing since
		before = a.Objectives()
	}
	return Growth(m, before, a.Objectives())
}
