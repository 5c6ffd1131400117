package search

import (
	"fmt"
	"math/bits"
	"strings"
)

// SobolDims is the largest number of variables NewSobol takes.
const SobolDims = 128

// sobolBits is the length of a direction number: 2^32 points, 2^-32 apart.
const sobolBits = 32

// NewSobol plans the Sobol sequence with the direction numbers of S. Joe and
// F. Y. Kuo, Constructing Sobol sequences with better two-dimensional
// projections, SIAM J. Sci. Comput. 30, 2008 (their set new-joe-kuo-6), for up
// to SobolDims variables and 2^32 points, in the Gray code order of Antonov and
// Saleev. Any first 2^k points are balanced: each interval of length 2^-k of each
// variable holds one.
//
// The seed applies a digital shift: a random number combined bit by bit (exclusive
// or) with each coordinate, which keeps the balance and moves the sequence away
// from its first point, the corner of all least values (P. L'Ecuyer and C. Lemieux,
// Recent advances in randomized quasi-Monte Carlo methods, 2002). Points repeated
// because variables have steps are passed over for the next of the sequence. A plan
// of more designs begins with the designs of a shorter one.
func NewSobol(s Space, seed uint64, o SampleOptions) (Plan, error) {
	if o.Designs == 0 {
		o.Designs = 1000
	}
	if len(s) > SobolDims {
		return nil, fmt.Errorf("search: the Sobol sequence has direction numbers for %d variables, not for %d", SobolDims, len(s))
	}
	if o.Designs > 1<<sobolBits {
		return nil, fmt.Errorf("search: the Sobol sequence has 2^%d points", sobolBits)
	}
	w, err := newSweep(s, o.Shard, o.Designs)
	if err != nil {
		return nil, err
	}
	w.unique = !hasRepeats(s)
	q := newSobolSequence(len(s))
	for d := range q.shift {
		q.shift[d] = uint32(Mix(Mix(seed)+uint64(d)) >> 32)
	}
	w.draw = func(i int64, try int, u []float64) {
		if i == 0 && try <= 0 {
			q.rewind()
		}
		q.next(u)
	}
	return w, nil
}

// sobolSequence is the state of the Gray code recurrence, one word a coordinate.
type sobolSequence struct {
	direction [][sobolBits]uint32
	x, shift  []uint32
	index     uint64
}

func newSobolSequence(dim int) *sobolSequence {
	return &sobolSequence{
		direction: sobolDirections()[:dim],
		x:         make([]uint32, dim),
		shift:     make([]uint32, dim),
	}
}

func (q *sobolSequence) rewind() {
	clear(q.x)
	q.index = 0
}

// next writes the point of the current index and steps to the next.
func (q *sobolSequence) next(u []float64) {
	for d := range q.x {
		u[d] = float64(q.x[d]^q.shift[d]) / (1 << sobolBits)
	}
	// The Gray codes of n and n+1 differ in the lowest zero bit of n.
	c := bits.TrailingZeros64(^q.index) % sobolBits
	for d := range q.x {
		q.x[d] ^= q.direction[d][c]
	}
	q.index++
}

// sobolDirections computes the direction numbers, scaled to 32 bits, from the
// primitive polynomials and initial numbers: recurrence (2) of Joe and Kuo.
func sobolDirections() [][sobolBits]uint32 {
	all := make([][sobolBits]uint32, 1, SobolDims)
	for k := range sobolBits {
		all[0][k] = 1 << (sobolBits - 1 - k)
	}
	for line := range strings.Lines(joeKuo) {
		var (
			v    [sobolBits]uint32
			s, a int
			r    = strings.NewReader(line)
		)
		if _, err := fmt.Fscan(r, &s, &a); err != nil {
			panic("search: bad table of direction numbers")
		}
		for k := range s {
			var m uint32
			if _, err := fmt.Fscan(r, &m); err != nil {
				panic("search: bad table of direction numbers")
			}
			v[k] = m << (sobolBits - 1 - k)
		}
		for k := s; k < sobolBits; k++ {
			v[k] = v[k-s] ^ v[k-s]>>s
			for j := 1; j < s; j++ {
				if a>>(s-1-j)&1 == 1 {
					v[k] ^= v[k-j]
				}
			}
		}
		all = append(all, v)
	}
	return all
}
