package search

import (
	"slices"
)

// Hypervolume returns the measure of the region that the points dominate and
// that dominates the reference point: the integral of 1 over all z with p <= z
// <= ref for at least one point p. It has the product of the objectives' units.
// Points that are not better than ref in every objective count nothing.
//
// The value is exact up to rounding. Two and three objectives cost O(n log n).
// For more, points are taken from the worst in the last objective on, and each
// adds what it alone dominates, a problem with one objective less (the limiting
// of While, Bradstreet and Barone, A fast way of calculating exact
// hypervolumes, IEEE Trans. Evol. Comput. 16, 2012): a hundred points take
// milliseconds with five objectives.
func Hypervolume(objs []float64, m int, ref []float64) float64 {
	if m < 1 || len(objs)%m != 0 || len(ref) != m {
		panic("search: slice length mismatch")
	}
	var h hypervolumer
	p := h.level(m, len(objs))
	for i := 0; i < len(objs); i += m {
		if inside(objs[i:i+m], ref) {
			p = append(p, objs[i:i+m]...)
		}
	}
	return h.volume(p, m, ref)
}

func inside(p, ref []float64) bool {
	for k, x := range p {
		if !(x < ref[k]) {
			return false
		}
	}
	return true
}

// hypervolumer holds the memory of the recursion, one buffer a dimension.
type hypervolumer struct {
	buffer [][]float64
	sorter pointSorter
	stair  []float64
}

func (h *hypervolumer) level(m, size int) []float64 {
	for len(h.buffer) <= m {
		h.buffer = append(h.buffer, nil)
	}
	h.buffer[m] = slices.Grow(h.buffer[m][:0], size)
	return h.buffer[m]
}

// volume reorders p, which must lie in the box below ref.
func (h *hypervolumer) volume(p []float64, m int, ref []float64) float64 {
	if len(p) == 0 {
		return 0
	}
	if len(p) == m {
		v := 1.0
		for k, x := range p {
			v *= ref[k] - x
		}
		return v
	}
	switch m {
	case 1:
		return ref[0] - slices.Min(p)
	case 2:
		h.sorter.sort(p, 2, 0)
		v, low := 0.0, ref[1]
		for i := 0; i < len(p); i += 2 {
			if p[i+1] < low {
				v += (ref[0] - p[i]) * (low - p[i+1])
				low = p[i+1]
			}
		}
		return v
	case 3:
		return h.volume3(p, ref)
	}
	h.sorter.sort(p, m, m-1)
	var sum float64
	for i := len(p) - m; i >= 0; i -= m {
		sum += (ref[m-1] - p[i+m-1]) * h.exclusive(p[i:i+m-1], p[:i], m, ref)
	}
	return sum
}

// exclusive is the volume, in the len(p) first objectives, that p dominates and
// no row of others does; rows of others are m long.
func (h *hypervolumer) exclusive(p, others []float64, m int, ref []float64) float64 {
	n := len(p)
	box := 1.0
	for k, x := range p {
		box *= ref[k] - x
	}
	if len(others) == 0 {
		return box
	}
	q := h.level(n, len(others))
rows:
	for i := 0; i+m <= len(others); i += m {
		at := len(q)
		for k, x := range p {
			y := max(x, others[i+k])
			if y >= ref[k] {
				q = q[:at]
				continue rows
			}
			q = append(q, y)
		}
	}
	if n >= 4 {
		q = nonDominated(q, n)
	}
	return box - h.volume(q, n, ref[:n])
}

// nonDominated keeps, in place, rows that no other dominates or equals.
func nonDominated(p []float64, m int) []float64 {
	kept := p[:0]
rows:
	for i := 0; i < len(p); i += m {
		row := p[i : i+m]
		for j := 0; j < len(kept); {
			switch q := kept[j : j+m]; {
			case noWorse(q, row):
				continue rows
			case noWorse(row, q):
				copy(q, kept[len(kept)-m:])
				kept = kept[:len(kept)-m]
			default:
				j += m
			}
		}
		kept = append(kept, row...)
	}
	return kept
}

// volume3 sweeps the third objective upwards over the staircase of the first
// two, whose area is kept up to date.
func (h *hypervolumer) volume3(p, ref []float64) float64 {
	h.sorter.sort(p, 3, 2)
	var (
		stair = h.stair[:0] // pairs (f1 ascending, f2 descending)
		area  float64
		sum   float64
	)
	for i := 0; i < len(p); i += 3 {
		f := frontList{stair: stair}
		a, b := p[i], p[i+1]
		k := f.step(a)
		if k < 0 || stair[2*k+1] > b {
			high := ref[1] // of the staircase just left of the piece looked at
			if k >= 0 {
				high = stair[2*k+1]
			}
			left := a
			for j := k + 1; left < ref[0]; j++ {
				right := ref[0]
				if 2*j < len(stair) {
					right = stair[2*j]
				}
				area += (right - left) * (high - b)
				if 2*j >= len(stair) || stair[2*j+1] <= b {
					break
				}
				left, high = right, stair[2*j+1]
			}
			stair = addStep(stair, k, a, b)
		}
		next := ref[2]
		if i+3 < len(p) {
			next = p[i+5]
		}
		sum += area * (next - p[i+2])
	}
	h.stair = stair
	return sum
}

// pointSorter sorts rows of a flat slice by one column.
type pointSorter struct {
	order []int
	copy  []float64
}

func (s *pointSorter) sort(p []float64, m, column int) {
	s.order, s.copy = s.order[:0], append(s.copy[:0], p...)
	for i := 0; i < len(p); i += m {
		s.order = append(s.order, i)
	}
	slices.SortFunc(s.order, func(a, b int) int {
		if c := compare(p[a+column], p[b+column]); c != 0 {
			return c
		}
		return a - b
	})
	for k, i := range s.order {
		copy(p[k*m:k*m+m], s.copy[i:i+m])
	}
}
