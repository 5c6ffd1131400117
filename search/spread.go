package search

import (
	"container/heap"
	"math"
	"slices"
)

// spreader thins one front of a population, from call to call with the same
// memory.
type spreader struct {
	z        []float64
	distance []float64
	nearest  []int
	alive    []bool
	order    []int
	split    []int
}

// maxSpread is how many points of three and more objectives are compared with
// each other; a larger front is halved first.
const maxSpread = 256

// spread reorders members, points of one front, so that the first keep of them
// cover it well, the most isolated first, and the rest were in a crowd.
func (s *spreader) spread(objs []float64, m int, members []int, keep int) {
	n := len(members)
	s.z = slices.Grow(s.z[:0], n*m)[:0]
	for _, i := range members {
		s.z = append(s.z, objs[i*m:i*m+m]...)
	}
	low, high := bounds(s.z, m)
	for k := range m {
		if w := high[k] - low[k]; w > 0 {
			high[k] = 1 / w
		} else {
			high[k] = 0
		}
	}
	for i := range s.z {
		s.z[i] = (s.z[i] - low[i%m]) * high[i%m]
	}
	local := s.order[:0]
	for i := range n {
		local = append(local, i)
	}
	s.order = local
	if m <= 2 {
		s.line(local, m, keep)
	} else {
		s.halve(local, m, keep)
	}
	out := make([]int, n)
	for k, i := range local {
		out[k] = members[i]
	}
	copy(members, out)
}

// halve splits members at the median of the objective in which they are widest
// until a part is small, and gives each part its share of keep.
func (s *spreader) halve(members []int, m, keep int) {
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
func (s *spreader) shift(members []int, m, keep int) {
	n := len(members)
	d := slices.Grow(s.distance[:0], n*n)[:n*n]
	s.distance = d
	s.nearest = slices.Grow(s.nearest[:0], n)[:n]
	s.alive = slices.Grow(s.alive[:0], n)[:n]
	for i, a := range members {
		p := s.z[a*m : a*m+m]
		row := d[i*n : i*n+n]
		best := -1
		for j, b := range members {
			q := s.z[b*m : b*m+m]
			var sum float64
			for k, x := range p {
				if t := q[k] - x; t > 0 {
					sum += t * t
				}
			}
			row[j] = sum
			if j != i && (best < 0 || sum < row[best]) {
				best = j
			}
		}
		s.nearest[i], s.alive[i] = best, true
	}
	rank := make([]int, n)
	for left := n; left > keep; left-- {
		worst, least := -1, math.Inf(1)
		for i := range n {
			if s.alive[i] {
				v := math.Inf(1)
				if s.nearest[i] >= 0 {
					v = d[i*n+s.nearest[i]]
				}
				if worst < 0 || v < least {
					worst, least = i, v
				}
			}
		}
		s.alive[worst] = false
		rank[worst] = left
		for i := range n {
			if s.alive[i] && s.nearest[i] == worst {
				best := -1
				row := d[i*n : i*n+n]
				for j := range n {
					if s.alive[j] && j != i && (best < 0 || row[j] < row[best]) {
						best = j
					}
				}
				s.nearest[i] = best
			}
		}
	}
	value := make([]float64, n)
	local := make([]int, n)
	for i := range n {
		local[i] = i
		if s.alive[i] && s.nearest[i] >= 0 {
			value[i] = d[i*n+s.nearest[i]]
		}
	}
	slices.SortFunc(local, func(a, b int) int {
		if rank[a] != rank[b] {
			return rank[a] - rank[b]
		}
		if c := compare(value[b], value[a]); c != 0 {
			return c
		}
		return a - b
	})
	out := make([]int, n)
	for k, i := range local {
		out[k] = members[i]
	}
	copy(members, out)
}

// line does the same for one or two objectives, along the front, where the gap
// between both neighbours is what counts; the ends stay.
func (s *spreader) line(members []int, m, keep int) {
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
