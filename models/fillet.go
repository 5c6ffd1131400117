package models

import "math"

// concentration holds the stress concentration factor of a shoulder fillet in
// bending against fillet radius / blade thickness: the envelope, made monotone,
// of a fit that scatters by a few per cent between shoulder heights.
var concentration = [...]struct{ ratio, kt float64 }{
	{0.1, 1.92}, {0.2, 1.56}, {0.3, 1.40}, {0.5, 1.28}, {1, 1.18},
}

// LeastFilletRatio is the least fillet radius / blade thickness for which the
// stress concentration is known.
const LeastFilletRatio = 0.1

// StressConcentration returns the ratio Kt of the peak stress to the bending
// stress M t / 2 I at the end of a blade of thickness t that runs into a body
// with fillets of radius r; ratio = r/t.
//
// The table (0.1: 1.92, 0.2: 1.56, 0.3: 1.40, 0.5: 1.28, 1: 1.18) is
// interpolated linearly in log(r/t) and constant above 1. It covers bodies of
// any depth (Roark's Formulas for Stress and Strain, table 17.1, shoulder fillet
// in a flat bar, in-plane bending; Pilkey, Peterson's Stress Concentration
// Factors). Below [LeastFilletRatio] the first segment is continued, which is no
// more than a guess: a layout does not build such a blade. Panics when ratio is
// not positive.
func StressConcentration(ratio float64) float64 {
	if !(ratio > 0) {
		panic("models: fillet ratio must be positive")
	}
	last := len(concentration) - 1
	if ratio >= concentration[last].ratio {
		return concentration[last].kt
	}
	i := 0
	for i < last-1 && ratio > concentration[i+1].ratio {
		i++
	}
	p, q := concentration[i], concentration[i+1]
	return p.kt + (q.kt-p.kt)*math.Log(ratio/p.ratio)/math.Log(q.ratio/p.ratio)
}

// FilletStiffening returns κ, the part of each fillet's length that does not
// bend: a blade drawn with the length L + 2 κ r between its bodies bends like one
// of length L without fillets. ratio = r/t.
//
// In a fillet of radius r the thickness grows from t to t + 2 r; under the
// (nearly constant) moment at the end of a blade it bends like a uniform beam of
// the length ∫ (t/h)³ ds, with h = t + 2 (r − √(r² − s²)) at the distance s from
// where the fillet begins (Euler-Bernoulli, variable section). Hence
//
//	κ = 1 − ∫₀^{π/2} (1 + 2 (r/t)(1 − cos θ))⁻³ cos θ dθ
//
// which is 0.35, 0.48, 0.61 at r/t = 0.5, 1, 2. The bodies count as rigid, so
// their own local flexibility is left out; that would make κ smaller. Any
// positive ratio is valid; panics on others.
func FilletStiffening(ratio float64) float64 {
	if !(ratio > 0) {
		panic("models: fillet ratio must be positive")
	}
	// Composite Simpson rule; the integrand is smooth and 200 intervals leave
	// less than 1e-8 up to a ratio of 10.
	const n = 200
	h := math.Pi / 2 / n
	sum := 0.0
	for i := 0; i <= n; i++ {
		c := math.Cos(float64(i) * h)
		b := 1 + 2*ratio*(1-c)
		f := c / (b * b * b)
		switch {
		case i == 0 || i == n:
			sum += f
		case i%2 == 1:
			sum += 4 * f
		default:
			sum += 2 * f
		}
	}
	return 1 - sum*h/3
}
