package search

import (
	"container/heap"
	"math"
	"slices"
)

// Knee returns the number of the front point nearest to the ideal one, where
// every objective is at its best of the front: the least Euclidean norm of the
// objectives as shares of their ranges (M. Zeleny, Compromise programming, in
// Multiple Criteria Decision Making, 1973). Unlike the point farthest below the
// plane through the ends, it is not an end where the front bulges towards them.
// The first of equals; -1 without points.
func Knee(objs []float64, m int) int {
	z := normalised(objs, m)
	best, least := -1, math.Inf(1)
	for i := 0; i < len(z); i += m {
		var sum float64
		for _, x := range z[i : i+m] {
			sum += x * x
		}
		if sum < least {
			best, least = i/m, sum
		}
	}
	return best
}

// Thin returns the numbers of at most n points of a front, in their order:
// those that together keep most of its hypervolume. Objectives are taken as
// shares of their range over the front, the reference point is [Reference]. The
// points with the least value of an objective are always kept.
//
// With two objectives the point that costs least is taken away until n are
// left. With more, the point that adds most is added, which keeps at least
// 1-1/e of the best choice of n points (Nemhauser, Wolsey and Fisher,
// Mathematical Programming 14, 1978).
func Thin(objs []float64, m, n int) []int {
	total := len(objs) / m
	all := make([]int, total)
	for i := range all {
		all[i] = i
	}
	if total <= n {
		return all
	}
	if n <= 0 {
		return nil
	}
	z := normalised(objs, m)
	var kept []int
	if m == 2 {
		kept = thinByRemoval(z, n)
	} else {
		kept = thinByAddition(z, m, n)
	}
	slices.Sort(kept)
	return kept
}

// thinByRemoval takes points of a two-objective front away, each time the one
// whose rectangle, not dominated by its neighbours, is the smallest.
func thinByRemoval(z []float64, n int) []int {
	total := len(z) / 2
	order := make([]int, total)
	for i := range order {
		order[i] = i
	}
	sortLexicographic(order, z, 2)
	var (
		before = make([]int, total)
		after  = make([]int, total)
		queue  = gainQueue{place: make([]int, total)}
	)
	cost := func(k int) float64 {
		if k == 0 || k == total-1 {
			return math.Inf(1)
		}
		p, q, r := order[before[k]]*2, order[k]*2, order[after[k]]*2
		return (z[r] - z[q]) * (z[p+1] - z[q+1])
	}
	for k := range order {
		before[k], after[k] = k-1, k+1
	}
	for k := range order {
		queue.items = append(queue.items, gainItem{k, cost(k)})
		queue.place[k] = k
	}
	heap.Init(&queue)
	for len(queue.items) > n && len(queue.items) > 1 {
		k := heap.Pop(&queue).(gainItem).point
		b, a := before[k], after[k]
		if b >= 0 {
			after[b] = a
			queue.update(b, cost(b))
		}
		if a < total {
			before[a] = b
			queue.update(a, cost(a))
		}
	}
	kept := make([]int, 0, n)
	for _, it := range queue.items {
		kept = append(kept, order[it.point])
	}
	return kept
}

// gainItem is a point with what it costs or, negated, adds.
type gainItem struct {
	point int
	value float64
}

// gainQueue is a heap with the least value first, of equals the first point.
type gainQueue struct {
	items []gainItem
	place []int // of each point in items
}

func (q *gainQueue) Len() int { return len(q.items) }
func (q *gainQueue) Less(i, j int) bool {
	a, b := q.items[i], q.items[j]
	return a.value < b.value || a.value == b.value && a.point < b.point
}
func (q *gainQueue) Swap(i, j int) {
	q.items[i], q.items[j] = q.items[j], q.items[i]
	q.place[q.items[i].point], q.place[q.items[j].point] = i, j
}
func (q *gainQueue) Push(x any) {
	it := x.(gainItem)
	q.place[it.point] = len(q.items)
	q.items = append(q.items, it)
}
func (q *gainQueue) Pop() any {
	it := q.items[len(q.items)-1]
	q.items = q.items[:len(q.items)-1]
	return it
}
func (q *gainQueue) update(point int, value float64) {
	i := q.place[point]
	q.items[i].value = value
	heap.Fix(q, i)
}

// thinByAddition takes the ends, then points by what they add.
func thinByAddition(z []float64, m, n int) []int {
	var (
		total  = len(z) / m
		kept   []int
		points []float64
		rest   []float64
		number []int // in z, of rest
	)
	for k := range m {
		best := 0
		for i := range total {
			if z[i*m+k] < z[best*m+k] {
				best = i
			}
		}
		if !slices.Contains(kept, best) && len(kept) < n {
			kept = append(kept, best)
			points = append(points, z[best*m:best*m+m]...)
		}
	}
	for i := range total {
		if !slices.Contains(kept, i) {
			rest = append(rest, z[i*m:i*m+m]...)
			number = append(number, i)
		}
	}
	for _, k := range addByVolume(rest, m, n-len(kept), points, new(hypervolumer)) {
		kept = append(kept, number[k])
	}
	return kept
}

// addByVolume returns the numbers of at most n points, each the one that adds
// most to the hypervolume, to the reference point, of the points taken before
// and the given ones; none that adds nothing. What a point adds can only shrink
// as others are taken, so an old value bounds a new one and few are computed
// again.
func addByVolume(z []float64, m, n int, points []float64, h *hypervolumer) []int {
	ref := Reference(m)
	total := len(z) / m
	queue := gainQueue{place: make([]int, total)}
	gain := func(i int) float64 {
		if !inside(z[i*m:i*m+m], ref) {
			return 0
		}
		return h.exclusive(z[i*m:i*m+m], points, m, ref)
	}
	for i := range total {
		heap.Push(&queue, gainItem{i, -gain(i)})
	}
	var taken []int
	for len(taken) < n && queue.Len() > 0 {
		top := queue.items[0].point
		v := -gain(top)
		queue.update(top, v)
		if queue.items[0].point != top {
			continue
		}
		if v >= 0 {
			break
		}
		heap.Pop(&queue)
		taken = append(taken, top)
		points = append(points, z[top*m:top*m+m]...)
	}
	return taken
}

// EpsilonFront returns the numbers of front points that stay when the space of
// objectives is cut into boxes of the given size: one point a box, the one
// nearest to the box's best corner, and no box that another dominates
// (Laumanns, Thiele, Deb and Zitzler, Combining convergence and diversity in
// evolutionary multiobjective optimization, Evol. Comput. 10, 2002). Each point
// given is then worse than a kept one by at most epsilon in each objective.
func EpsilonFront(objs []float64, m int, epsilon []float64) []int {
	if len(epsilon) != m || len(objs)%m != 0 {
		panic("search: slice length mismatch")
	}
	n := len(objs) / m
	var (
		box    = make([]float64, len(objs))
		corner = make([]float64, n) // squared distance, in boxes
		order  = make([]int, n)
	)
	for i := range n {
		order[i] = i
		for k, e := range epsilon {
			if !(e > 0) {
				panic("search: epsilon must be above 0")
			}
			b := math.Floor(objs[i*m+k] / e)
			box[i*m+k] = b
			d := objs[i*m+k]/e - b
			corner[i] += d * d
		}
	}
	slices.SortFunc(order, func(a, b int) int {
		for k := range m {
			if c := compare(box[a*m+k], box[b*m+k]); c != 0 {
				return c
			}
		}
		if c := compare(corner[a], corner[b]); c != 0 {
			return c
		}
		return a - b
	})
	sorted := make([]float64, 0, len(objs))
	for _, i := range order {
		sorted = append(sorted, box[i*m:i*m+m]...)
	}
	var kept []int
	for _, k := range Front(sorted, m, nil) {
		kept = append(kept, order[k])
	}
	slices.Sort(kept)
	return kept
}

// gather returns the named rows.
func gather(objs []float64, m int, rows []int) []float64 {
	out := make([]float64, 0, len(rows)*m)
	for _, i := range rows {
		out = append(out, objs[i*m:(i+1)*m]...)
	}
	return out
}
