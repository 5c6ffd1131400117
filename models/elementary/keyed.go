package elementary

import "math"

// Mix spreads the bits of a number over all of it: the finalizer of SplitMix64 (G. L.
// Steele, D. Lea, C. H. Flood, Fast splittable pseudorandom number generators, OOPSLA
// 2014). It is a bijection.
func Mix(x uint64) uint64 {
	x ^= x >> 30
	x *= 0xbf58476d1ce4e5b9
	x ^= x >> 27
	x *= 0x94d049bb133111eb
	return x ^ x>>31
}

// NormalOf is a draw from the normal distribution with mean 0 and standard deviation 1
// that belongs to a key: the same key gives the same draw, whatever was drawn before.
// It is the polar method of [Normal] on the SplitMix64 sequence that starts at the key.
func NormalOf(key uint64) float64 {
	const golden = 0x9e3779b97f4a7c15
	uniform := func() float64 {
		key += golden
		return float64(Mix(key)>>11) * (2.0 / (1 << 53)) // [0, 2)
	}
	for {
		u, v := uniform()-1, uniform()-1
		s := float64(u*u) + float64(v*v)
		if s > 0 && s < 1 {
			return u * math.Sqrt(-2*math.Log(s)/s)
		}
	}
}
