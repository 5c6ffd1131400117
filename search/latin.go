package search

import "math/bits"

// SampleOptions of NewLatinHypercube and NewSobol.
type SampleOptions struct {
	// Designs is the number of points. Defaults to 1000.
	Designs int64
	Shard   Shard
}

// NewLatinHypercube plans a Latin hypercube (McKay, Beckman and Conover,
// Technometrics 21, 1979): the unit interval of each variable is cut into as
// many strata as there are designs, and each stratum holds one design, at a
// random place. Points repeated because variables have steps are drawn again
// from the whole space.
//
// The strata of a variable are visited in the order of a keyed permutation,
// computed when asked for, so a plan of any size takes no memory.
func NewLatinHypercube(s Space, seed uint64, o SampleOptions) (Plan, error) {
	if o.Designs == 0 {
		o.Designs = 1000
	}
	w, err := newSweep(s, o.Shard, o.Designs)
	if err != nil {
		return nil, err
	}
	w.unique = !hasRepeats(s)
	n := uint64(o.Designs)
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
				place := unit(Mix(key ^ Mix(uint64(i))))
				u[d] = (float64(permute(uint64(i), n, key)) + place) / float64(n)
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
