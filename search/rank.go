package search

import (
	"math"
	"slices"
)

// Ranker sorts points into non-dominated fronts, with memory that is kept from call to call.
type Ranker struct {
	order []int
	front []frontList
}

// frontList is one front while points are added in lexicographic order.
type frontList struct {
	last   float64   // two objectives: the least second objective so far
	stair  []float64 // three: pairs (f2 ascending, f3 descending)
	member []int     // four and more
}

// Rank sorts n = len(rank) points into non-dominated fronts, 0 the best, and
// returns how many there are. Point i has the objectives objs[i*m : (i+1)*m].
//
// Dominance is constrained (Deb, Pratap, Agarwal and Meyarivan, IEEE Trans.
// Evol. Comput. 6, 2002): a feasible point dominates every other, of two others
// the one with less violation dominates. Each distinct violation is a front of
// its own behind the feasible ones; objectives are read only where the
// violation is 0. Without violations (nil) all points are feasible. Equal points
// share a front.
//
// The cost is O(n log n) for two objectives. Fronts are searched by halving, as
// in Zhang, Tian, Cheng and Jin (IEEE Trans. Evol. Comput. 19, 2015); for three
// objectives a front is a staircase in the last two, so that a search in it
// halves too. From four on, a point is compared with the members of a front.
func (r *Ranker) Rank(objs []float64, m int, violation []float64, rank []int) (fronts int) {
	n := len(rank)
	if m < 1 || len(objs) != n*m || violation != nil && len(violation) != n {
		panic("search: slice length mismatch")
	}
	r.order = r.order[:0]
	for i := range n {
		if violation == nil || violation[i] == 0 {
			r.order = append(r.order, i)
		}
	}
	sortLexicographic(r.order, objs, m)
	for k, i := range r.order {
		p := objs[i*m : i*m+m]
		if k > 0 {
			if j := r.order[k-1]; slices.Equal(p, objs[j*m:j*m+m]) {
				rank[i] = rank[j]
				continue
			}
		}
		lo, hi := 0, fronts
		for lo < hi {
			mid := (lo + hi) / 2
			if r.front[mid].dominates(p, objs, m) {
				lo = mid + 1
			} else {
				hi = mid
			}
		}
		if lo == fronts {
			if fronts == len(r.front) {
				r.front = append(r.front, frontList{})
			}
			f := &r.front[fronts]
			f.last, f.stair, f.member = math.Inf(1), f.stair[:0], f.member[:0]
			fronts++
		}
		r.front[lo].add(p, i)
		rank[i] = lo
	}
	if len(r.order) == n {
		return fronts
	}
	r.order = r.order[:0]
	for i := range n {
		if violation[i] != 0 {
			r.order = append(r.order, i)
		}
	}
	slices.SortFunc(r.order, func(a, b int) int {
		if c := compare(violation[a], violation[b]); c != 0 {
			return c
		}
		return a - b
	})
	for k, i := range r.order {
		if k == 0 || violation[i] != violation[r.order[k-1]] {
			fronts++
		}
		rank[i] = fronts - 1
	}
	return fronts
}

// dominates reports whether a member dominates p, which is not before any
// member in lexicographic order and equal to none.
func (f *frontList) dominates(p, objs []float64, m int) bool {
	switch m {
	case 1:
		return true
	case 2:
		return f.last <= p[1]
	case 3:
		k := f.step(p[1])
		return k >= 0 && f.stair[2*k+1] <= p[2]
	}
	for k := len(f.member) - 1; k >= 0; k-- {
		if q := objs[f.member[k]*m:]; noWorse(q[1:m], p[1:]) {
			return true
		}
	}
	return false
}

func noWorse(a, b []float64) bool {
	for k, x := range a {
		if x > b[k] {
			return false
		}
	}
	return true
}

// step is the last step of the staircase with f2 <= a, or -1.
func (f *frontList) step(a float64) int {
	lo, hi := 0, len(f.stair)/2
	for lo < hi {
		if mid := (lo + hi) / 2; f.stair[2*mid] <= a {
			lo = mid + 1
		} else {
			hi = mid
		}
	}
	return lo - 1
}

func (f *frontList) add(p []float64, i int) {
	switch len(p) {
	case 1:
	case 2:
		f.last = p[1]
	case 3:
		f.stair = addStep(f.stair, f.step(p[1]), p[1], p[2])
	default:
		f.member = append(f.member, i)
	}
}

// addStep puts (a, b), dominated by no step, behind step k of a staircase and
// takes out the steps it dominates.
func addStep(stair []float64, k int, a, b float64) []float64 {
	from := k + 1
	if k >= 0 && stair[2*k] == a {
		from = k
	}
	to := from
	for 2*to < len(stair) && stair[2*to+1] >= b {
		to++
	}
	return slices.Replace(stair, 2*from, 2*to, a, b)
}

func compare(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// sortLexicographic sorts point numbers by objectives, then by number.
func sortLexicographic(order []int, objs []float64, m int) {
	slices.SortFunc(order, func(a, b int) int {
		p, q := objs[a*m:a*m+m], objs[b*m:b*m+m]
		for k, x := range p {
			if x != q[k] {
				return compare(x, q[k])
			}
		}
		return a - b
	})
}
