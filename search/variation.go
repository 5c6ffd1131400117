package search

import (
	"math"
	"math/rand/v2"
)

// The operators that breed a child from parents. They work in the unit cube,
// where finite variables lie at the middle of their parts, and settle puts a
// child back there.
const (
	opBinary     = iota // simulated binary crossover and polynomial mutation
	opDifference        // difference of two members added, all variables
	opPartly            // difference added to some variables only
	opBisect            // between a feasible point and a point beyond a limit
	numOperators
	opModel = numOperators // proposed by the surrogate
)

// crossover writes to u a child of p and q: simulated binary crossover, index
// 15, of each variable with probability 1/2, for nine of ten children (Deb and
// Agrawal, Simulated binary crossover for continuous search space, Complex
// Systems 9, 1995). A choice comes from either parent.
func crossover(s Space, u, p, q []float64, r *rand.Rand) {
	copy(u, p)
	if r.Float64() > 0.9 {
		return
	}
	for d := range s {
		if p[d] == q[d] || r.Uint64()&1 == 0 {
			continue
		}
		if s[d].Kind == Choice {
			u[d] = q[d]
			continue
		}
		// Spread beta: (2t)^(1/16) below t = 1/2, its mirror image above; the
		// sign takes either of the two children.
		t := 2*r.Float64() - 1
		beta := math.Exp(math.Log(1-math.Abs(t)) / 16)
		if t > 0 {
			beta = 1 / beta
		}
		if r.Uint64()&1 == 0 {
			beta = -beta
		}
		u[d] = clamp(0.5 * (p[d] + q[d] + beta*(p[d]-q[d])))
	}
}

// mutate changes each variable with probability 1/n: polynomial mutation, index
// 20 (Deb and Goyal, A combined genetic adaptive search for engineering design,
// Computer Science and Informatics 26, 1996). A finite variable goes to another
// value.
func mutate(s Space, u []float64, r *rand.Rand) {
	rate := 1 / float64(len(s))
	for d := range s {
		if r.Float64() >= rate {
			continue
		}
		t := 2*r.Float64() - 1
		step := math.Copysign(1-math.Exp(math.Log(1-math.Abs(t))/21), t)
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

// difference writes to u the point p with f times the difference of q and s
// added, to each variable with probability rate and to one at least (Storn and
// Price, Differential evolution, J. Global Optimization 11, 1997). A choice is
// taken from q instead, every second time.
func difference(space Space, u, p, q, s []float64, f, rate float64, r *rand.Rand) {
	always := r.IntN(len(space))
	for d := range space {
		u[d] = p[d]
		if q[d] == s[d] || d != always && rate < 1 && r.Float64() >= rate {
			continue
		}
		if space[d].Kind == Choice {
			if r.Uint64()&1 == 0 {
				u[d] = q[d]
			}
			continue
		}
		u[d] = inward(p[d]+f*(q[d]-s[d]), p[d], r)
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
