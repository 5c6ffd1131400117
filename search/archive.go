package search

import "slices"

// Archive keeps, of points that are added one after the other, those that no other
// dominates, each with something of the caller's: a row, its number. Points equal
// in all objectives all stay, and those that stay keep their order.
//
// Memory is that of the front and at most as much again, or archiveBatch points
// more: dominated ones are dropped in passes, which cost what [Front] does, at
// O(log n) passes for n points of which a part stays.
type Archive[T any] struct {
	objectives int
	objs       []float64
	items      []T
	settled    int   // so many, the first, do not dominate one another
	recent     []int // of these: those that dominated the last points, latest first
}

const (
	archiveBatch = 4096
	// Most points are dominated by one that has just dominated another.
	mostRecent = 32
)

// NewArchive returns an empty archive of points with so many objectives, of which
// least is best.
func NewArchive[T any](objectives int) *Archive[T] {
	if objectives < 1 {
		panic("search: an archive needs an objective")
	}
	return &Archive[T]{objectives: objectives}
}

// Add offers a point, of finite objectives.
func (a *Archive[T]) Add(objectives []float64, item T) {
	if len(objectives) != a.objectives {
		panic("search: slice length mismatch")
	}
	if a.dominatedByRecent(objectives) {
		return
	}
	a.objs = append(a.objs, objectives...)
	a.items = append(a.items, item)
	if len(a.items) >= 2*a.settled+archiveBatch {
		a.settle()
	}
}

// Len is the number of points on the front.
func (a *Archive[T]) Len() int {
	a.settle()
	return len(a.items)
}

// Held returns the objectives of all points that are held, one after the other:
// the front and, where dropping has not come round to them, dominated ones, which
// change no hypervolume. They are the archive's until the next call.
func (a *Archive[T]) Held() []float64 { return a.objs }

// Objectives of the front, one point after the other. They are the archive's until
// the next Add.
func (a *Archive[T]) Objectives() []float64 {
	a.settle()
	return a.objs
}

// Items of the front, in the order in which they were added; the archive's until
// the next Add.
func (a *Archive[T]) Items() []T {
	a.settle()
	return a.items
}

func (a *Archive[T]) point(i int) []float64 { return a.objs[i*a.objectives : (i+1)*a.objectives] }

func (a *Archive[T]) dominatedByRecent(p []float64) bool {
	for k, i := range a.recent {
		if q := a.point(i); noWorse(q, p) && !slices.Equal(q, p) {
			copy(a.recent[1:k+1], a.recent[:k])
			a.recent[0] = i
			return true
		}
	}
	return false
}

// settle drops what is dominated.
func (a *Archive[T]) settle() {
	n, m := len(a.items), a.objectives
	if n == a.settled {
		return
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	front := nonDominatedOf(slices.Clone(order), a.objs, m)
	stays := make([]bool, n)
	for _, i := range front {
		stays[i] = true
	}
	// Equal points are neighbours here, the first of them ahead.
	sortLexicographic(order, a.objs, m)
	for k := 1; k < n; k++ {
		if equalPoints(a.objs, m, order[k-1], order[k]) {
			stays[order[k]] = stays[order[k-1]]
		}
	}
	kept := 0
	for i, is := range stays {
		if is {
			a.items[kept] = a.items[i]
			copy(a.point(kept), a.point(i))
			kept++
		}
	}
	clear(a.items[kept:])
	a.items, a.objs, a.settled = a.items[:kept], a.objs[:kept*m], kept
	a.recent = a.recent[:0]
	for i := range min(kept, mostRecent) {
		a.recent = append(a.recent, i*kept/min(kept, mostRecent))
	}
}
