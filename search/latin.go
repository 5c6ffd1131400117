package search

import (
	"errors"
	"math/bits"
)

// SampleOptions of NewLatinHypercube and NewSobol.
type SampleOptions struct {
	// Designs is the number of points. Defaults to 1000.
	Designs int64
	// Grown are the numbers of points of which a Latin hypercube was made before it
	// grew to Designs: each a whole multiple of the one before, and Designs of the last. Its first
	// points are those of the smaller ones.
	Grown []int64
	Shard Shard
}

// NewLatinHypercube plans a Latin hypercube (McKay, Beckman and Conover,
// Technometrics 21, 1979): the unit interval of each variable is cut into as
// many strata as there are designs, and each stratum holds one design, at a
// random place. Points repeated because variables have steps are drawn again
// from the whole space.
//
// The strata of a variable are visited in the order of a keyed permutation,
// computed when asked for, so a plan of any size takes no memory.
//
// One that grows (P. Z. G. Qian, Nested Latin hypercube designs, Biometrika 96, 2009) cuts each stratum
// into as many as it grows by; the one that a point stands in already is passed over.
func NewLatinHypercube(s Space, seed uint64, o SampleOptions) (Plan, error) {
	if o.Designs == 0 {
		o.Designs = 1000
	}
	w, err := newSweep(s, o.Shard, o.Designs)
	if err != nil {
		return nil, err
	}
	w.unique = !hasRepeats(s)
	sizes := append(append([]int64{}, o.Grown...), o.Designs)
	for i, n := range sizes {
		if n < 1 || i > 0 && (n <= sizes[i-1] || n%sizes[i-1] != 0) {
			return nil, errors.New("search: a Latin hypercube grows by whole multiples")
		}
	}
	h := hypercube{sizes: sizes}
	keys := make([]uint64, len(s))
	for d := range keys {
		keys[d] = Mix(Mix(seed) + uint64(d))
	}
	w.draw = func(i int64, try int, u []float64) {
		switch {
		case try < 0:
			return
		case try == 0:
			for d, key := range keys {
				u[d] = h.coordinate(uint64(i), key)
			}
		default:
			r := source(seed, Mix(uint64(i))+uint64(try))
			for d := range u {
				u[d] = r.Float64()
			}
		}
	}
	return w, nil
}

// hypercube is one variable of a Latin hypercube, or of all: they differ by their keys.
type hypercube struct{ sizes []int64 }

// place of a point within its stratum.
func place(i, key uint64) float64 { return unit(Mix(key ^ Mix(i))) }

// coordinate of point i, from 0.
func (h hypercube) coordinate(i, key uint64) float64 {
	level := 0
	for uint64(h.sizes[level]) <= i {
		level++
	}
	n := uint64(h.sizes[level])
	if level == 0 {
		return (float64(permute(i, n, key)) + place(i, key)) / float64(n)
	}
	before := uint64(h.sizes[level-1])
	cuts := n / before
	free := permute(i-before, n-before, Mix(key+uint64(level))) // of the strata that no point stands in
	coarse, stratum := free/(cuts-1), free%(cuts-1)
	if stratum >= h.taken(level, coarse, key) {
		stratum++
	}
	return (float64(coarse*cuts+stratum) + place(i, key)) / float64(n)
}

// taken is which of the parts of a stratum of the level before has a point already.
func (h hypercube) taken(level int, coarse, key uint64) uint64 {
	n, before := uint64(h.sizes[level]), uint64(h.sizes[level-1])
	cuts := n / before
	fine := uint64(h.coordinate(h.occupant(level-1, coarse, key), key) * float64(n))
	return min(max(fine, coarse*cuts), coarse*cuts+cuts-1) - coarse*cuts // rounding may leave the stratum
}

// occupant is the point in a stratum of a level.
func (h hypercube) occupant(level int, stratum, key uint64) uint64 {
	n := uint64(h.sizes[level])
	if level == 0 {
		return unpermute(stratum, n, key)
	}
	before := uint64(h.sizes[level-1])
	cuts := n / before
	coarse, part := stratum/cuts, stratum%cuts
	switch taken := h.taken(level, coarse, key); {
	case part == taken:
		return h.occupant(level-1, coarse, key)
	case part > taken:
		part--
	}
	return before + unpermute(coarse*(cuts-1)+part, n-before, Mix(key+uint64(level)))
}

// permute returns the image of i < n under the permutation of 0..n-1 that
// belongs to the key: a balanced Feistel network on the next even number of
// bits, walked along its cycle until it falls below n (Black and Rogaway,
// Ciphers with arbitrary finite domains, 2002). Fewer than four steps of the
// walk are expected.
func permute(i, n, key uint64) uint64 {
	half := uint((bits.Len64(n-1) + 1) / 2)
	if half == 0 {
		return 0
	}
	mask := uint64(1)<<half - 1
	for {
		l, r := i>>half, i&mask
		for round := range uint64(4) {
			l, r = r, l^(Mix(key+round<<32+round^r)&mask)
		}
		if i = l<<half | r; i < n {
			return i
		}
	}
}

// unpermute is the inverse of permute.
func unpermute(i, n, key uint64) uint64 {
	half := uint((bits.Len64(n-1) + 1) / 2)
	if half == 0 {
		return 0
	}
	mask := uint64(1)<<half - 1
	for {
		l, r := i>>half, i&mask
		for round := uint64(4); round > 0; round-- {
			l, r = r^(Mix(key+(round-1)<<32+(round-1)^l)&mask), l
		}
		if i = l<<half | r; i < n {
			return i
		}
	}
}
