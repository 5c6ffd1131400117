package models

import (
	"math"
	"testing"
)

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

// TestStressConcentration: on the safe side of the published fit for shoulders from
// 1.5 to 10 times the blade's thickness, and not wildly so.
func TestStressConcentration(t *testing.T) {
	// The fit itself, against values printed for it (3 decimals).
	for _, c := range []struct{ ratio, step, kt float64 }{
		{0.1, 1.5, 1.830}, {0.1, 3, 1.918}, {0.2, 3, 1.559}, {0.3, 5, 1.394}, {0.5, 2, 1.245}, {1, 1.5, 1.175}, {1, 10, 1.124},
	} {
		if kt, ok := roark(c.ratio, c.step); !ok || math.Abs(kt-c.kt) > 0.0006 {
			t.Errorf("fit at r/d %g, D/d %g: %.4f, printed %.3f", c.ratio, c.step, kt, c.kt)
		}
	}
	last := math.Inf(1)
	for ratio := 0.1; ratio < 1; ratio += 0.01 {
		kt := StressConcentration(ratio)
		if kt > last {
			t.Errorf("rises at %g", ratio)
		}
		last = kt
		worst := 0.0
		for _, step := range []float64{1.5, 2, 3, 5, 10} {
			if fit, ok := roark(ratio, step); ok {
				worst = max(worst, fit)
			}
		}
		// The largest of the fit, within 1 % below (the table is rounded, chords of a
		// convex curve lie above it) and 5 % above.
		if kt < 0.99*worst || kt > 1.05*worst {
			t.Errorf("r/t %.2f: Kt %.3f, the fit's largest %.3f", ratio, kt, worst)
		}
	}
	for ratio, want := range map[float64]float64{0.1: 1.92, 0.2: 1.56, 0.3: 1.40, 0.5: 1.28, 1: 1.18, 3: 1.18} {
		if kt := StressConcentration(ratio); math.Abs(kt-want) > 1e-12 {
			t.Errorf("r/t %g: %g, table %g", ratio, kt, want)
		}
	}
	// Half way in the logarithm is half way in Kt.
	if kt := StressConcentration(math.Sqrt(0.1 * 0.2)); math.Abs(kt-1.74) > 1e-12 {
		t.Errorf("between 0.1 and 0.2: %g", kt)
	}
}

// guided returns the lateral compliance (times E b) of a blade between two bodies
// that do not rotate, drawn between them with the given length, thickness and
// fillets: Euler-Bernoulli, exact section at every point, by the unit-load method.
// The moment is M = F (length/2 - x), so the compliance is ∫ (length/2 - x)² / I dx.
func guided(length, thickness, radius float64) float64 {
	const n = 200000
	sum := 0.0
	for i := range n {
		x := length * (float64(i) + 0.5) / n
		h := thickness
		if d := min(x, length-x); d < radius {
			u := radius - d // from where the fillet begins
			h += 2 * (radius - math.Sqrt(radius*radius-u*u))
		}
		arm := length/2 - x
		sum += arm * arm * 12 / (h * h * h) * length / n
	}
	return sum
}

func TestFilletStiffening(t *testing.T) {
	for _, ratio := range []float64{0.3, 0.5, 1, 2} {
		const length, thickness = 50.0, 0.5
		radius := ratio * thickness
		kappa := FilletStiffening(ratio)
		drawn := length + 2*kappa*radius
		plain := length * length * length / thickness / thickness / thickness // of the blade without fillets, L³/12 I
		got := guided(drawn, thickness, radius)
		// The moment falls by 2 r/L over a fillet, and κ takes it as constant.
		if tol := 4 * radius / length * radius / length * 3; math.Abs(got/plain-1) > tol+1e-6 {
			t.Errorf("r/t %g: drawn %g long it has %.6f of the compliance of the model's blade", ratio, drawn, got/plain)
		}
		// What is at stake: drawn without the correction it is stiffer by 6 κ r/L.
		without := guided(length, thickness, radius)
		if without/plain > 1-5*kappa*radius/length {
			t.Errorf("r/t %g: the check cannot see the correction: %g", ratio, without/plain)
		}
	}
	// Rounded values from an earlier derivation by hand.
	for ratio, want := range map[float64]float64{0.5: 0.35, 1: 0.48, 2: 0.61} {
		if k := FilletStiffening(ratio); math.Abs(k-want) > 0.005 {
			t.Errorf("r/t %g: %.4f, by hand %.2f", ratio, k, want)
		}
	}
}
