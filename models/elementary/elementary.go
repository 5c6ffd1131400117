// Package elementary has the functions of a real number whose last bit, in the
// standard library, depends on the processor at run time: math.Exp on amd64 uses fused
// multiply-add where the processor has it, and with it math.Pow, math.Sinh and whatever else
// calls it. A search that runs on two machines of a cluster must not: one different bit, and the
// designs differ from there on. The others (Log, Sqrt, Sin, Hypot, ...) are the same on all
// processors of a platform.
//
// Here every product is rounded before it is added to: the results are the same on all platforms.
package elementary

import (
	"math"
	"math/rand/v2"
)

// ln 2 in two parts, the first with so few digits that k*ln2High is exact for
// every k that Exp meets, and 1/ln 2. A test has both to 60 digits.
const (
	ln2High = 0x1.62e42feep-1
	ln2Low  = 0x1.a39ef35793c76p-33
	perLn2  = 0x1.71547652b82fep0
)

// Exp is e to the power x, within one unit in the last place; 0 and +Inf where that
// under- and overflows, 1 of 0, NaN of NaN.
//
// With x = k ln 2 + r, |r| <= ln 2 / 2, it is 2^k times the Taylor series of
// e^r up to r^13/13!, whose remainder, 0.347^14/14! = 4e-18, is below a twentieth of the last place.
func Exp(x float64) float64 {
	switch {
	case math.IsNaN(x):
		return x
	case x > 709.782712893384: // ln of the largest number
		return math.Inf(1)
	case x < -745.1332191019412: // ln of half the smallest
		return 0
	}
	k := math.Floor(float64(x*perLn2) + 0.5)
	high := x - float64(k*ln2High)
	low := float64(k * ln2Low)
	r := high - low
	low = (high - r) - low // what r lost
	s := float64(r * r)
	// The even and the odd powers from r^2 on, apart, so that a processor works at both at a time.
	even := 1.0 / 479001600
	even = 1.0/3628800 + float64(s*even)
	even = 1.0/40320 + float64(s*even)
	even = 1.0/720 + float64(s*even)
	even = 1.0/24 + float64(s*even)
	even = 1.0/2 + float64(s*even)
	odd := 1.0 / 6227020800
	odd = 1.0/39916800 + float64(s*odd)
	odd = 1.0/362880 + float64(s*odd)
	odd = 1.0/5040 + float64(s*odd)
	odd = 1.0/120 + float64(s*odd)
	odd = 1.0/6 + float64(s*odd)
	tail := float64(s*even) + float64(float64(s*r)*odd)
	power := 1 + (r + (low + tail))
	if k > -1000 && k < 1000 {
		return power * math.Float64frombits(uint64(1023+int(k))<<52) // quicker than Ldexp
	}
	return math.Ldexp(power, int(k))
}

// Pow is x to the power y for finite x > 0, within a few units in the last place times 1 + |y ln x|;
// NaN otherwise. Whole powers are products.
func Pow(x, y float64) float64 {
	if !(x > 0) || math.IsInf(x, 0) || math.IsNaN(y) {
		return math.NaN()
	}
	if n := math.Abs(y); n == math.Trunc(n) && n <= 64 {
		power := 1.0
		for i := int(n); i > 0; i >>= 1 {
			if i&1 == 1 {
				power *= x
			}
			x *= x
		}
		if y < 0 {
			return 1 / power
		}
		return power
	}
	return Exp(float64(y * math.Log(x)))
}

// Normal draws from the normal distribution with mean 0 and standard deviation 1: the polar
// method (G. Marsaglia and T. A. Bray, A convenient method for generating normal variables, SIAM Review 6, 1964).
// The standard library's own compares with math.Exp.
func Normal(r *rand.Rand) float64 {
	for {
		u, v := 2*r.Float64()-1, 2*r.Float64()-1
		s := float64(u*u) + float64(v*v)
		if s > 0 && s < 1 {
			return u * math.Sqrt(-2*math.Log(s)/s)
		}
	}
}
