package drawing

import (
	"math"
	"math/bits"
	"sort"

	"flexwright/models"
)

// corner is a vertex of a traced region.
type corner struct {
	x, y    float64
	concave bool // the metal takes up three quarters around it
	blade   int  // whose end meets its body here, -1: none
}

// trace returns the boundary of the union of axis-aligned rectangles as closed
// lines of corners, metal on the left. Coordinates closer than [same] count as
// one. touching lists points where two pieces of metal meet in a corner only:
// there the boundary is not a curve.
func trace(rects []models.Rectangle) (loops [][]corner, touching []pt) {
	var xs, ys axis
	for _, r := range rects {
		xs, ys = append(xs, r.X0, r.X1), append(ys, r.Y0, r.Y1)
	}
	xs, ys = xs.settle(), ys.settle()
	nx, ny := len(xs)-1, len(ys)-1
	metal := make([]bool, (nx+2)*(ny+2)) // with an empty margin
	at := func(i, j int) int { return (j+1)*(nx+2) + i + 1 }
	for _, r := range rects {
		for j := ys.find(r.Y0); j < ys.find(r.Y1); j++ {
			for i := xs.find(r.X0); i < xs.find(r.X1); i++ {
				metal[at(i, j)] = true
			}
		}
	}
	// Directed unit edges with the metal on the left, by the node they leave:
	// 0 right, 1 up, 2 left, 3 down.
	stepX, stepY := [4]int{1, 0, -1, 0}, [4]int{0, 1, 0, -1}
	node := func(i, j int) int { return j*(nx+1) + i }
	out := make([]uint8, (nx+1)*(ny+1))
	for j := 0; j <= ny; j++ {
		for i := 0; i <= nx; i++ {
			ne, nw, sw, se := metal[at(i, j)], metal[at(i-1, j)], metal[at(i-1, j-1)], metal[at(i, j-1)]
			var d uint8
			if ne && !se {
				d |= 1 << 0
			}
			if nw && !ne {
				d |= 1 << 1
			}
			if sw && !nw {
				d |= 1 << 2
			}
			if se && !sw {
				d |= 1 << 3
			}
			out[node(i, j)] = d
			if ne && sw && !nw && !se || nw && se && !ne && !sw {
				touching = append(touching, pt{xs[i], ys[j]})
			}
		}
	}
	if len(touching) > 0 {
		return nil, touching
	}
	for start, d := range out {
		if d == 0 {
			continue // no boundary here, or walked already
		}
		// The first node of a loop in this order is a corner: nothing of the loop
		// lies below it or, at its height, to its left.
		var loop []corner
		i, j := start%(nx+1), start/(nx+1)
		first := bits.TrailingZeros8(d)
		last := first
		for {
			i, j = i+stepX[last], j+stepY[last]
			next := first
			if n := node(i, j); n != start {
				next = bits.TrailingZeros8(out[n])
				out[n] = 0
			}
			if next != last {
				loop = append(loop, corner{x: xs[i], y: ys[j], concave: (next-last+4)%4 == 3, blade: -1})
			}
			if node(i, j) == start {
				break
			}
			last = next
		}
		out[start] = 0
		loops = append(loops, loop)
	}
	return loops, nil
}

// axis holds the sorted distinct coordinates of a region along x or y.
type axis []float64

// settle sorts and joins coordinates closer than [same].
func (a axis) settle() axis {
	sort.Float64s(a)
	out := a[:0]
	for _, v := range a {
		if len(out) == 0 || v-out[len(out)-1] > same {
			out = append(out, v)
		}
	}
	return out
}

// find returns the index of v.
func (a axis) find(v float64) int {
	i := sort.SearchFloat64s(a, v-same)
	for i+1 < len(a) && math.Abs(a[i+1]-v) < math.Abs(a[i]-v) {
		i++
	}
	return i
}
