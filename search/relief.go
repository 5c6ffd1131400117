package search

import "slices"

// Relief returns, for each of c limits, by which share the hypervolume of the
// front grows when that limit alone may be exceeded by so much: what the limit
// costs. Row i has the objectives objs[i*m : (i+1)*m] and the signed distances
// to the limits signed[i*c : (i+1)*c], at or below 0 where a limit holds, in the
// scale in which by is given. Objectives are taken as shares of the range of
// the relaxed front, the reference point is 1.1 in each.
//
// Only rows given count: a region that no row has explored shows no gain.
// Without a feasible row the growth is +Inf where relief makes one feasible and
// 0 elsewhere. With more than two objectives both fronts are thinned to a
// hundred points first.
func Relief(objs []float64, m int, signed []float64, c int, by float64) []float64 {
	n := len(objs) / m
	if len(objs) != n*m || len(signed) != n*c {
		panic("search: slice length mismatch")
	}
	front := func(relaxed int) []float64 {
		var rows []float64
	next:
		for i := range n {
			for k, g := range signed[i*c : (i+1)*c] {
				if g > 0 && (k != relaxed || g > by) {
					continue next
				}
			}
			rows = append(rows, objs[i*m:(i+1)*m]...)
		}
		rows = gather(rows, m, Front(rows, m, nil))
		if m > 2 {
			rows = gather(rows, m, Thin(rows, m, 100))
		}
		return rows
	}
	strict := front(-1)
	ref := slices.Repeat([]float64{1.1}, m)
	growth := make([]float64, c)
	for k := range growth {
		relaxed := front(k)
		if len(relaxed) == 0 {
			continue
		}
		z := normalised(slices.Concat(strict, relaxed), m)
		growth[k] = Hypervolume(z, m, ref)/Hypervolume(z[:len(strict)], m, ref) - 1
	}
	return growth
}

// gather returns the named rows.
func gather(objs []float64, m int, rows []int) []float64 {
	out := make([]float64, 0, len(rows)*m)
	for _, i := range rows {
		out = append(out, objs[i*m:(i+1)*m]...)
	}
	return out
}
