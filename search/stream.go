package search

import (
	v1 "math/rand"
	"math/rand/v2"
)

// Mix is the finaliser of SplitMix64 (G. L. Steele, D. Lea and C. H. Flood, Fast
// splittable pseudorandom number generators, OOPSLA 2014): a bijection of 64-bit
// words, after which neighbours have nothing in common.
func Mix(z uint64) uint64 {
	z += 0x9e3779b97f4a7c15
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// generator is the random stream number n of a seed: a permuted congruential
// generator (M. E. O'Neill, PCG, 2014). What a generation draws depends on the
// seed and its number alone, not on what was drawn before.
func generator(seed, n uint64) *rand.PCG {
	return rand.NewPCG(Mix(seed), Mix(n^0x5851f42d4c957f2d))
}

func source(seed, n uint64) *rand.Rand { return rand.New(generator(seed, n)) }

// unit maps 64 random bits to [0, 1).
func unit(bits uint64) float64 { return float64(bits>>11) / (1 << 53) }

// stream is a generator that is drawn from in both the ways there are: the newer,
// and the older for the methods of a genome, whose signatures are the evolution
// library's. Both advance the same generator.
type stream struct {
	*rand.Rand
	old *v1.Rand
}

func newStream(seed, n uint64) stream {
	g := generator(seed, n)
	return stream{rand.New(g), v1.New(oldSource{g})}
}

type oldSource struct{ *rand.PCG }

func (s oldSource) Int63() int64 { return int64(s.Uint64() >> 1) }
func (s oldSource) Seed(int64)   { panic("search: a stream is seeded once") }
