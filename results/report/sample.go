package report

import (
	"container/heap"
	"slices"

	"flexwright/objective"
	"flexwright/search"
)

// sample keeps, of the rows that it is offered, those with the smallest values of
// a fixed mixing function of run and id, at most size: a uniform choice that is
// the same for the same rows, whatever their order and the files they are in.
type sample struct {
	size int
	rows sampleHeap
}

type sampleItem struct {
	key uint64
	row objective.Row
}

// sampleHeap has the largest key on top.
type sampleHeap []sampleItem

func (h sampleHeap) Len() int           { return len(h) }
func (h sampleHeap) Less(i, j int) bool { return h[i].key > h[j].key }
func (h sampleHeap) Swap(i, j int)      { h[i], h[j] = h[j], h[i] }
func (h *sampleHeap) Push(x any)        { *h = append(*h, x.(sampleItem)) }
func (h *sampleHeap) Pop() any          { panic("report: samples only grow") }

func (s *sample) offer(row *objective.Row) {
	key := search.Mix(uint64(row.Run)<<48 ^ uint64(row.ID))
	if len(s.rows) < s.size {
		heap.Push(&s.rows, sampleItem{key, *row})
	} else if s.size > 0 && key < s.rows[0].key {
		s.rows[0] = sampleItem{key, *row}
		heap.Fix(&s.rows, 0)
	}
}

// list returns the rows by run and id.
func (s *sample) list() []objective.Row {
	rows := make([]objective.Row, len(s.rows))
	for i := range s.rows {
		rows[i] = s.rows[i].row
	}
	sortByID(rows)
	return rows
}

func sortByID(rows []objective.Row) {
	slices.SortFunc(rows, func(a, b objective.Row) int {
		if a.Run != b.Run {
			return int(a.Run - b.Run)
		}
		return int(a.ID - b.ID)
	})
}
