package search

import (
	"math"
	"math/rand/v2"

	"flexwright/models/elementary"
)

// The operators below breed a child in place: u holds a copy of the parent and
// becomes the child. They work in the unit cube, where finite variables lie at
// the middle of their parts; settle puts a child back there.

// simulatedBinary is simulated binary crossover with a mate q, for nine of ten
// children, of each variable with probability 1/2 (K. Deb and R. B. Agrawal,
// Simulated binary crossover for continuous search space, Complex Systems 9,
// 1995):
//
//	u = (u + q ± beta (u - q)) / 2,  beta = (2t)^(1/(eta+1)) for t < 1/2,
//	                                 beta = (2(1-t))^(-1/(eta+1)) else,
//
// with t even in (0, 1) and eta = 15. A choice comes from either parent.
func simulatedBinary(s Space, u, q []float64, r *rand.Rand) {
	if r.Float64() > 0.9 {
		return
	}
	for d := range s {
		if u[d] == q[d] || r.Uint64()&1 == 0 {
			continue
		}
		if s[d].Kind == Choice {
			u[d] = q[d]
			continue
		}
		// 2t is 1-|t| below, on either side of 1/2.
		t := 2*r.Float64() - 1
		beta := elementary.Exp(math.Log(1-math.Abs(t)) / 16)
		if t > 0 {
			beta = 1 / beta
		}
		if r.Uint64()&1 == 0 {
			beta = -beta
		}
		u[d] = clamp(0.5 * (u[d] + q[d] + beta*(u[d]-q[d])))
	}
}

// polynomial is polynomial mutation (K. Deb and M. Goyal, A combined genetic
// adaptive search for engineering design, Computer Science and Informatics 26,
// 1996): each of n variables moves with probability 1/n, by
//
//	±(1 - (1-|t|)^(1/(eta+1)))
//
// of its range, t even in (-1, 1) and eta = 20. A stepped variable moves a step
// at least, a choice goes to another value.
func polynomial(s Space, u []float64, r *rand.Rand) {
	rate := 1 / float64(len(s))
	for d := range s {
		if r.Float64() >= rate {
			continue
		}
		t := 2*r.Float64() - 1
		step := math.Copysign(1-elementary.Exp(math.Log(1-math.Abs(t))/21), t)
		switch n, isFinite := s[d].Values(); {
		case !isFinite:
			u[d] = clamp(u[d] + step)
		case n == 1:
		case s[d].Kind == Choice:
			k := int(u[d] * float64(n))
			u[d] = (float64((k+1+r.IntN(n-1))%n) + 0.5) / float64(n)
		default:
			width := math.Max(math.Abs(step), 1/float64(n))
			u[d] = clamp(u[d] + math.Copysign(width, step))
		}
	}
}

// differential is the variation of differential evolution (R. Storn and K. Price,
// Differential evolution, J. Global Optimization 11, 1997),
//
//	u = u + f (q - s),
//
// in each variable with probability rate and in one at least. A choice is taken
// from q instead, every second time.
func differential(space Space, u, q, s []float64, f, rate float64, r *rand.Rand) {
	always := r.IntN(len(space))
	for d := range space {
		if q[d] == s[d] || d != always && rate < 1 && r.Float64() >= rate {
			continue
		}
		if space[d].Kind == Choice {
			if r.Uint64()&1 == 0 {
				u[d] = q[d]
			}
			continue
		}
		u[d] = inward(u[d]+f*(q[d]-s[d]), u[d], r)
	}
}

// inward puts a coordinate that left the cube onto the face it crossed or
// anywhere between the face and p.
func inward(u, p float64, r *rand.Rand) float64 {
	face := 0.0
	switch {
	case u > 1:
		face = 1
	case u >= 0:
		return u
	}
	if r.Uint64()&1 == 0 {
		return face
	}
	return p + r.Float64()*(face-p)
}

// settle moves finite variables to the middle of a part: the nearest or the
// next, the likelier the nearer it is, so that small differences are not lost.
func settle(s Space, u []float64, r *rand.Rand) {
	for d := range s {
		if s[d].Kind == Continuous {
			continue
		}
		n, _ := s[d].Values()
		k := u[d]*float64(n) - 0.5
		whole := math.Floor(k)
		if s[d].Kind == Choice || math.Abs(k-math.Round(k)) < 1e-9 {
			whole = math.Round(k)
		} else if r.Float64() < k-whole {
			whole++
		}
		u[d] = (min(max(whole, 0), float64(n-1)) + 0.5) / float64(n)
	}
}

func clamp(u float64) float64 { return min(max(u, 0), 1) }
