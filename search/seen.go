package search

import "math"

// seen is the set of points a run has proposed. A finite space of at most 2^62
// points is keyed by the number of the point, exactly; any other by a 64-bit
// hash of its values, where a chance collision only costs a redraw. An entry
// takes 8 bytes at a load of at most one half.
type seen struct {
	space Space
	size  int64 // of a space keyed exactly, else 0
	table []uint64
	count int64
}

func newSeen(s Space) *seen {
	k := &seen{space: s, table: make([]uint64, 1024)}
	if n, ok := s.Size(); ok && n <= 1<<62 {
		k.size = n
	}
	return k
}

// full reports that no point is left.
func (k *seen) full() bool { return k.size > 0 && k.count >= k.size }

// key is never 0.
func (k *seen) key(u, x []float64) uint64 {
	if k.size > 0 {
		return uint64(k.number(u)) + 1
	}
	h := uint64(0x9e3779b97f4a7c15)
	for _, v := range x {
		h = Mix(h ^ math.Float64bits(v))
	}
	return max(h, 1)
}

// number is the place of a point in the order of a grid of all values.
func (k *seen) number(u []float64) int64 {
	var i int64
	for d, v := range k.space {
		n, _ := v.Values()
		i = i*int64(n) + int64(v.number(u[d]))
	}
	return i
}

// add reports whether the point is new, and then remembers it.
func (k *seen) add(u, x []float64) bool {
	if !k.insert(k.key(u, x)) {
		return false
	}
	k.count++
	if 2*k.count > int64(len(k.table)) {
		old := k.table
		k.table = make([]uint64, 2*len(old))
		for _, e := range old {
			if e != 0 {
				k.insert(e)
			}
		}
	}
	return true
}

func (k *seen) insert(key uint64) bool {
	mask := uint64(len(k.table) - 1)
	i := Mix(key) & mask
	for k.table[i] != 0 {
		if k.table[i] == key {
			return false
		}
		i = (i + 1) & mask
	}
	k.table[i] = key
	return true
}

func (k *seen) has(key uint64) bool {
	mask := uint64(len(k.table) - 1)
	i := Mix(key) & mask
	for k.table[i] != 0 {
		if k.table[i] == key {
			return true
		}
		i = (i + 1) & mask
	}
	return false
}

// walk moves u to the next point, in the order of a grid of all values, that
// is not in the set, and adds it. It reports false when there is none or the
// space is not keyed exactly.
func (k *seen) walk(u, x []float64) bool {
	if k.size == 0 || k.full() {
		return false
	}
	i := k.number(u)
	for k.has(uint64(i) + 1) {
		i = (i + 1) % k.size
	}
	for d := len(k.space) - 1; d >= 0; d-- {
		n, _ := k.space[d].Values()
		u[d] = (float64(i%int64(n)) + 0.5) / float64(n)
		i /= int64(n)
	}
	k.space.Decode(u, x)
	return k.add(u, x)
}
