package models

import "flexwright/models/elementary"

// LeastFilletRatio is the least fillet radius / blade thickness that is built: below
// it the stress concentration and the bodies' yielding are not known well enough.
const LeastFilletRatio = 0.1

// StressConcentration returns the ratio Kt of the peak stress to the bending
// stress M t/2I at the end of a blade of thickness t that runs with fillets of radius r
// into a body that is deep on all sides; ratio = x = r/t.
//
//	Kt = 1 + 0.1633/(x + 0.1256 x^0.2486)
//
// fits the plane elastic solid of blade, fillet and half plane in plane strain under a
// pure moment within 0.1 % for 0.1 <= x <= 4 (1.957, 1.574, 1.270, 1.145, 1.075 at 0.1,
// 0.2, 0.5, 1, 2; quadratic finite elements, converged within 0.5 %; the test solves it
// again). Shoulders of finite height have up to 3 % more at x = 1 (the envelope of
// Peterson's Stress Concentration Factors is 1.18). It falls with x without end; below
// [LeastFilletRatio] it goes on, but no layout builds such a blade. Panics when ratio
// is not positive. The plate factor across a wide blade is [blade.ClampStress].
//
// [blade.ClampStress]: https://pkg.go.dev/flexwright/models/blade#ClampStress
func StressConcentration(ratio float64) float64 {
	if !(ratio > 0) {
		panic("models: fillet ratio must be positive")
	}
	return 1 + 0.1633/(ratio+0.1256*elementary.Pow(ratio, 0.2486))
}

// FilletStiffening returns κ, the part of each fillet's length that does not bend: a
// blade drawn with the length L + 2 κ r between its bodies bends like one of the length L
// whose ends are held by rigid bodies. ratio = x = r/t.
//
// A fillet stiffens, but the body that the blade grows from yields: its root turns by θ
// under the moment M as if the blade were longer (W. J. O'Donnell, The additional
// deflection of a cantilever due to the elasticity of the support, J. Appl. Mech. 27,
// 1960, 461: by 16.67/12π = 0.442 t without a fillet, the stress of the root taken as
// linear). So κ is negative for small fillets and tends to 1 for large ones:
//
//	κ = (x - 0.4178 - 0.1859 ((1 + x/0.2279)^0.5853 - 1))/x
//
// fits the plane solid of [StressConcentration] within 0.0004 t/r for 0.1 <= x <= 4: -3.62,
// -1.50, -0.20, 0.27, 0.53 at 0.1, 0.2, 0.5, 1, 2. In plane strain κ does not hang on ν.
// Any positive ratio is valid; panics on others.
func FilletStiffening(ratio float64) float64 {
	if !(ratio > 0) {
		panic("models: fillet ratio must be positive")
	}
	return (ratio - 0.4178 - 0.1859*(elementary.Pow(1+ratio/0.2279, 0.5853)-1)) / ratio
}
