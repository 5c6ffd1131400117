package models

import (
	"math"
	"testing"
)

// The fits against the plane solid, at radii between those that they were fitted to.
// Tolerances: the fits' own, and what twice as many elements change (below).
func TestFilletAgainstSolid(t *testing.T) {
	for _, x := range []float64{0.12, 0.25, 0.6, 1.2, 2.5} {
		kappa, kt := filletSolid(x, 0.33, 14)
		if got := FilletStiffening(x); math.Abs(got-kappa)*x > 1e-3 {
			t.Errorf("r/t %g: κ %.4f, solid %.4f", x, got, kappa)
		}
		if got := StressConcentration(x); math.Abs(got/kt-1) > 0.006 {
			t.Errorf("r/t %g: Kt %.4f, solid %.4f", x, got, kt)
		}
	}
}

// The solid itself: what it says of κ r/t and Kt moves by less than 2e-4 and 0.5 % with
// twice as many elements each way, and κ is the same for every material.
func TestFilletSolidConverges(t *testing.T) {
	for _, x := range []float64{0.1, 0.5, 1, 3} {
		k1, kt1 := filletSolid(x, 0.33, 10)
		k2, kt2 := filletSolid(x, 0.33, 20)
		if math.Abs(k1-k2)*x > 1e-3 || math.Abs(kt1/kt2-1) > 6e-3 {
			t.Errorf("r/t %g: κ %.4f and %.4f, Kt %.4f and %.4f", x, k1, k2, kt1, kt2)
		}
		if k3, _ := filletSolid(x, 0.2, 10); math.Abs(k1-k3)*x > 1e-4 {
			t.Errorf("r/t %g: κ %.5f at ν 0.33, %.5f at 0.2", x, k1, k3)
		}
	}
}

// An independent table of the same solid (plane strain, ν 0.33, mesh r/24), two digits
// printed: half of the last one and the fits' own errors.
func TestFilletTable(t *testing.T) {
	for _, c := range []struct{ x, kt, kappa, digit float64 }{
		{0.1, 1.96, -3.6, 0.05}, {0.2, 1.58, -1.5, 0.05}, {0.3, 1.42, -0.78, 0.005}, {0.5, 1.27, -0.20, 0.005},
		{1, 1.15, 0.27, 0.005}, {2, 1.08, 0.53, 0.005}, {3, 1.05, 0.63, 0.005},
	} {
		if got := StressConcentration(c.x); math.Abs(got-c.kt) > 0.008 {
			t.Errorf("r/t %g: Kt %.3f, table %.2f", c.x, got, c.kt)
		}
		if got := FilletStiffening(c.x); math.Abs(got-c.kappa) > c.digit+4e-4/c.x {
			t.Errorf("r/t %g: κ %.3f, table %.2f", c.x, got, c.kappa)
		}
	}
}

// O'Donnell's root without a fillet turns as if the blade were 16.67/12π = 0.442 t longer.
// He takes the stress of the root as linear, which it is not at sharp corners: the solid
// gives 0.407 t at r/t = 0.02 and tends to 0.418, 5 % less.
func TestFilletTendsToODonnell(t *testing.T) {
	odonnell := 16.67 / (12 * math.Pi)
	kappa, _ := filletSolid(0.02, 0.33, 16)
	if got := -FilletStiffening(0.02) * 0.02; math.Abs(got+kappa*0.02) > 1e-3 {
		t.Errorf("at r/t 0.02 longer by %.4f t, solid %.4f", got, -kappa*0.02)
	}
	if got := -FilletStiffening(1e-9) * 1e-9; got > odonnell || got < 0.94*odonnell {
		t.Errorf("without a fillet longer by %.4f t, O'Donnell %.4f", got, odonnell)
	}
}

// Smooth and monotone, so that no optimizer rides a fit; a large fillet is rigid and
// has no concentration. Against the published fit for shoulders (roark) Kt is what a
// deep body leaves: between 4 % below the largest of any height and 3 % above it.
func TestFilletIsMonotone(t *testing.T) {
	lastK, lastT := math.Inf(-1), math.Inf(1)
	for x := 0.05; x < 1e4; x *= 1.02 {
		k, kt := FilletStiffening(x), StressConcentration(x)
		if k <= lastK || kt >= lastT || k >= 1 || kt <= 1 {
			t.Fatalf("r/t %g: κ %g after %g, Kt %g after %g", x, k, lastK, kt, lastT)
		}
		lastK, lastT = k, kt
		worst := 0.0
		for _, step := range []float64{1.5, 2, 3, 5, 10} {
			if fit, ok := roark(x, step); ok {
				worst = max(worst, fit)
			}
		}
		if x >= 0.1 && x < 1 && (kt < 0.96*worst || kt > 1.03*worst) {
			t.Errorf("r/t %.2f: Kt %.3f, the shoulders' largest %.3f", x, kt, worst)
		}
	}
	if lastK < 0.97 || lastT > 1.001 {
		t.Errorf("at last κ %g, Kt %g", lastK, lastT)
	}
}

// roark evaluates the shoulder fillet in a flat bar under in-plane bending (Roark's
// Formulas for Stress and Strain, table 17.1; the same fit as Peterson's stepped
// bar): ratio = r/d, step = D/d. ok is false outside 0.1 <= h/r <= 20.
func roark(ratio, step float64) (kt float64, ok bool) {
	h := (step - 1) / 2 // of d
	q := h / ratio
	z := 2 * h / step
	s := math.Sqrt(q)
	var c [4]float64
	switch {
	case q >= 0.1 && q <= 2:
		c = [4]float64{1.007 + s - 0.031*q, -0.270 - 2.404*s + 0.749*q, 0.677 + 1.133*s - 0.904*q, -0.414 + 0.271*s + 0.186*q}
	case q > 2 && q <= 20:
		c = [4]float64{1.042 + 0.982*s - 0.036*q, -3.599 + 1.619*s - 0.431*q, 6.084 - 5.607*s + 1.158*q, -2.527 + 3.006*s - 0.691*q}
	default:
		return 0, false
	}
	return c[0] + z*(c[1]+z*(c[2]+z*c[3])), true
}
