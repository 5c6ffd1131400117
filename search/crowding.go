package search

import (
	"container/heap"
	"math"
	"slices"
)

// crowding thins one front of a population, from call to call with the same
// memory.
type crowding struct {
	z       []float64 // objectives as shares of the front's range
	order   []int
	split   []int
	pairs   []float64 // n x n: from a point to another, shifted
	local   []float64
	nearest []int
	gap     []float64
	taken   []int
}

// maxSpread is how many points of three and more objectives are compared with
// each other; a larger front is halved first.
const maxSpread = 256

// thin reorders members, points of one front, so that the first keep of them
// cover it well, the most isolated first, and the rest were in a crowd.
func (s *crowding) thin(objs []float64, m int, members []int, keep int) {
	n := len(members)
	s.z = slices.Grow(s.z[:0], n*m)[:0]
	for _, i := range members {
		s.z = append(s.z, objs[i*m:i*m+m]...)
	}
	r := RangesOf(m, s.z)
	for k := range m {
		if w := r.High[k] - r.Low[k]; w > 0 {
			r.High[k] = 1 / w
		} else {
			r.High[k] = 0
		}
	}
	for i := range s.z {
		s.z[i] = (s.z[i] - r.Low[i%m]) * r.High[i%m]
	}
	s.order = lengthen(s.order, n)
	for i := range n {
		s.order[i] = i
	}
	if m <= 2 {
		s.line(s.order, m, keep)
	} else {
		s.halve(s.order, m, keep)
	}
	for k, i := range s.order {
		s.order[k] = members[i]
	}
	copy(members, s.order)
}

// halve splits members at the median of the objective in which they are widest
// until a part is small, and gives each part its share of keep.
func (s *crowding) halve(members []int, m, keep int) {
	n := len(members)
	if n <= maxSpread {
		s.shift(members, m, keep)
		return
	}
	var (
		low  = slices.Repeat([]float64{math.Inf(1)}, m)
		high = slices.Repeat([]float64{math.Inf(-1)}, m)
		wide = 0
	)
	for _, i := range members {
		for k := range m {
			low[k], high[k] = min(low[k], s.z[i*m+k]), max(high[k], s.z[i*m+k])
		}
	}
	for k := range m {
		if high[k]-low[k] > high[wide]-low[wide] {
			wide = k
		}
	}
	slices.SortFunc(members, func(a, b int) int {
		if c := compare(s.z[a*m+wide], s.z[b*m+wide]); c != 0 {
			return c
		}
		return a - b
	})
	half := n / 2
	first := keep * half / n
	s.halve(members[:half], m, first)
	s.halve(members[half:], m, keep-first)
	// The kept of both parts to the front.
	kept := make([]int, 0, n)
	kept = append(kept, members[:first]...)
	kept = append(kept, members[half:half+keep-first]...)
	kept = append(kept, members[first:half]...)
	kept = append(kept, members[half+keep-first:]...)
	copy(members, kept)
}

// shift takes points away, each time the one nearest to being dominated: the
// least distance to another point after that point's better objectives were
// moved to its own (the shift-based density of Li, Yang and Liu, IEEE Trans.
// Evol. Comput. 18, 2014). Order: the most isolated of the kept first, the
// first taken away last.
func (s *crowding) shift(members []int, m, keep int) {
	n := len(members)
	s.pairs = lengthen(s.pairs, n*n)
	s.local = lengthen(s.local, n*m)
	for i, a := range members {
		copy(s.local[i*m:(i+1)*m], s.z[a*m:(a+1)*m])
	}
	d := s.pairs
	for i := range n {
		p := s.local[i*m : (i+1)*m]
		d[i*n+i] = math.Inf(1)
		for j := range i {
			q := s.local[j*m : (j+1)*m]
			var forth, back float64
			for k, x := range p {
				t := q[k] - x
				if t > 0 {
					forth += t * t
				} else {
					back += t * t
				}
			}
			d[i*n+j], d[j*n+i] = forth, back
		}
	}
	s.nearest = lengthen(s.nearest, n)
	s.gap = lengthen(s.gap, n)     // to the nearest that is left; +Inf once taken
	s.taken = lengthen(s.taken, n) // how many were left, 0 while kept
	for i := range n {
		s.nearest[i], s.gap[i] = least(d[i*n : (i+1)*n])
		s.taken[i] = 0
	}
	for left := n; left > keep && left > 1; left-- {
		worst, _ := least(s.gap)
		s.taken[worst], s.gap[worst] = left, math.Inf(1)
		for i := range n {
			d[i*n+worst] = math.Inf(1)
			if s.nearest[i] == worst && s.taken[i] == 0 {
				s.nearest[i], s.gap[i] = least(d[i*n : (i+1)*n])
			}
		}
	}
	order := lengthen(s.split, n)
	s.split = order
	for i := range n {
		order[i] = i
	}
	slices.SortFunc(order, func(a, b int) int {
		if s.taken[a] != s.taken[b] {
			return s.taken[a] - s.taken[b]
		}
		if c := compare(s.gap[b], s.gap[a]); c != 0 {
			return c
		}
		return a - b
	})
	for k, i := range order {
		order[k] = members[i]
	}
	copy(members, order)
}

// least returns the place of the first least value.
func least(x []float64) (int, float64) {
	at, v := 0, x[0]
	for i, y := range x {
		if y < v {
			at, v = i, y
		}
	}
	return at, v
}

// line does the same for one or two objectives, along the front, where the gap
// between both neighbours is what counts; the ends stay.
func (s *crowding) line(members []int, m, keep int) {
	n := len(members)
	sortLexicographic(members, s.z, m)
	var (
		before = make([]int, n)
		after  = make([]int, n)
		queue  = gainQueue{place: make([]int, n)}
	)
	gap := func(k int) float64 {
		if before[k] < 0 || after[k] >= n {
			return math.Inf(1)
		}
		var sum float64
		for c := range m {
			sum += math.Abs(s.z[members[after[k]]*m+c] - s.z[members[before[k]]*m+c])
		}
		return sum
	}
	for k := range n {
		before[k], after[k] = k-1, k+1
	}
	for k := range n {
		queue.items = append(queue.items, gainItem{k, gap(k)})
		queue.place[k] = k
	}
	heap.Init(&queue)
	taken := make([]int, 0, n)
	for len(queue.items) > keep {
		k := heap.Pop(&queue).(gainItem).point
		taken = append(taken, k)
		b, a := before[k], after[k]
		if b >= 0 {
			after[b] = a
			queue.update(b, gap(b))
		}
		if a < n {
			before[a] = b
			queue.update(a, gap(a))
		}
	}
	slices.SortFunc(queue.items, func(a, b gainItem) int {
		if c := compare(b.value, a.value); c != 0 {
			return c
		}
		return a.point - b.point
	})
	out := make([]int, 0, n)
	for _, it := range queue.items {
		out = append(out, members[it.point])
	}
	for k := len(taken) - 1; k >= 0; k-- {
		out = append(out, members[taken[k]])
	}
	copy(members, out)
}
