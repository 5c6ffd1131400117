package search

import (
	"math"
	"slices"
)

// Front returns the feasible points that no other dominates, in their order.
// Of equal points the first stays. Arguments are as for Rank.
//
// It costs O(n log n) for two and three objectives, by a sweep over the first;
// for m of them O(n (log n)^(m-1)), by halving (H. T. Kung, F. Luccio and F. P.
// Preparata, On finding the maxima of a set of vectors, J. ACM 22, 1975).
func Front(objs []float64, m int, violation []float64) []int {
	n := len(objs) / m
	if m < 1 || len(objs) != n*m || violation != nil && len(violation) != n {
		panic("search: slice length mismatch")
	}
	order := make([]int, 0, n)
	for i := range n {
		if violation == nil || violation[i] == 0 {
			order = append(order, i)
		}
	}
	kept := nonDominatedOf(order, objs, m)
	slices.Sort(kept)
	return kept
}

// nonDominatedOf returns the named points that no other of them dominates, of
// equal ones the first. It reorders what it is given.
func nonDominatedOf(order []int, objs []float64, m int) []int {
	sortLexicographic(order, objs, m)
	order = slices.CompactFunc(order, func(a, b int) bool { return equalPoints(objs, m, a, b) })
	if m > 3 {
		return maxima(order, objs, m)
	}
	f := frontList{last: math.Inf(1)}
	kept := order[:0]
	for _, i := range order {
		p := objs[i*m : i*m+m]
		if len(kept) == 0 || !f.dominates(p, objs, m) {
			f.add(p, i)
			kept = append(kept, i)
		}
	}
	return kept
}

func equalPoints(objs []float64, m, a, b int) bool {
	return slices.Equal(objs[a*m:a*m+m], objs[b*m:b*m+m])
}

// maxima returns the non-dominated of points in lexicographic order, no two of
// them equal: those of either half, without what of the second half one of the
// first dominates. No point dominates one before it.
func maxima(order []int, objs []float64, m int) []int {
	f := filter{objs: objs, m: m, dominated: make([]bool, len(objs)/m)}
	f.halve(order)
	return slices.DeleteFunc(order, func(i int) bool { return f.dominated[i] })
}

func (f *filter) halve(order []int) (front []int) {
	n := len(order)
	if n < 2 {
		return order
	}
	first, second := f.halve(order[:n/2]), f.halve(order[n/2:])
	f.run(first, second, 1)
	front = append(make([]int, 0, len(first)+len(second)), first...)
	for _, i := range second {
		if !f.dominated[i] {
			front = append(front, i)
		}
	}
	return front
}

// filter marks the points of one set that a point of another is no worse than in
// every objective from number k on. It reorders both sets and needs no memory of its own.
type filter struct {
	objs      []float64
	m         int
	dominated []bool
}

// fewPairs is how many pairs of points are compared one by one.
const fewPairs = 256

func (f *filter) run(by, points []int, k int) {
	m, objs := f.m, f.objs
	if len(by) == 0 || len(points) == 0 {
		return
	}
	if len(by)*len(points) <= fewPairs {
		for _, i := range points {
			for _, j := range by {
				if noWorse(objs[j*m+k:j*m+m], objs[i*m+k:i*m+m]) {
					f.dominated[i] = true
					break
				}
			}
		}
		return
	}
	if k == m-2 {
		f.sweep(by, points, k)
		return
	}
	v, ok := f.pivot(by, points, k)
	if !ok {
		f.run(by, points, k+1)
		return
	}
	low, high := f.split(by, k, v)
	lower, higher := f.split(points, k, v)
	f.run(low, lower, k)
	f.run(low, higher, k+1)
	f.run(high, higher, k)
}

// pivot returns a value of objective k that parts both sets together near the
// middle, and both parts are smaller, or reports that by is no worse than any of
// points in it.
func (f *filter) pivot(by, points []int, k int) (v float64, ok bool) {
	var (
		worst, best = math.Inf(-1), math.Inf(1)
		sample      [65]float64
		n           = len(by) + len(points)
		step        = n/len(sample) + 1
		taken       = 0
	)
	at := func(c int) float64 {
		if c < len(by) {
			return f.objs[by[c]*f.m+k]
		}
		return f.objs[points[c-len(by)]*f.m+k]
	}
	for c := range n {
		x := at(c)
		if c < len(by) {
			worst = max(worst, x)
		} else {
			best = min(best, x)
		}
		if c%step == 0 {
			sample[taken] = x
			taken++
		}
	}
	if worst <= best {
		return 0, false
	}
	slices.Sort(sample[:taken])
	v = sample[taken/2]
	below, greatest := math.Inf(-1), math.Inf(-1)
	for c := range n {
		switch x := at(c); {
		case x > greatest:
			below, greatest = greatest, x
		case x < greatest:
			below = max(below, x)
		}
	}
	return min(v, below), true
}

// split parts points at v of objective k: up to it, and above.
func (f *filter) split(points []int, k int, v float64) (low, high []int) {
	n := 0
	for i, p := range points {
		if f.objs[p*f.m+k] <= v {
			points[i], points[n] = points[n], p
			n++
		}
	}
	return points[:n], points[n:]
}

// sweep decides by the last two objectives, k and k+1.
func (f *filter) sweep(by, points []int, k int) {
	ascending := func(a, b int) int { return compare(f.objs[a*f.m+k], f.objs[b*f.m+k]) }
	slices.SortFunc(by, ascending)
	slices.SortFunc(points, ascending)
	least, next := math.Inf(1), 0
	for _, i := range points {
		for ; next < len(by) && f.objs[by[next]*f.m+k] <= f.objs[i*f.m+k]; next++ {
			least = min(least, f.objs[by[next]*f.m+k+1])
		}
		if least <= f.objs[i*f.m+k+1] {
			f.dominated[i] = true
		}
	}
}
