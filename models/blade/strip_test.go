package blade

import (
	"math"
	"testing"
)

// The fits against Ritz solutions of the plates they stand for, at widths and
// Poisson's ratios between and outside those they were fitted to.
// Tolerances: the largest residual of the fit, which its comment states; the
// Ritz solution itself is converged to 0.01 % (checked below), 0.03 % for shear,
// whose corners are the most singular.
func TestFactorsAgainstPlates(t *testing.T) {
	worst := map[string]float64{}
	for _, r := range []float64{0.12, 0.27, 0.52, 0.77, 0.95, 1.4, 2.5} {
		for _, nu := range []float64{0.05, 0.25, 0.33, 0.44} {
			for _, c := range []struct {
				name      string
				fit, want float64
				tolerance float64
			}{
				{"strip bending", StripFactor(r, nu), plateStrip(r, nu, 14, 9, true), 6e-4},
				{"arc bending", 1 / (1 - arcFit.gain(r, nu)), plateStrip(r, nu, 14, 9, false), 6e-4},
				{"stretch", ClampStretchFactor(r, nu), planeStrip(r, nu, 12, 8, "stretch"), 6e-4},
				{"strong bending", clampBending(r, nu), planeStrip(r, nu, 12, 8, "bend"), 6e-4},
				{"strong shear", clampShear(r, nu), planeStrip(r, nu, 12, 8, "shear"), 1e-3},
			} {
				d := c.fit/c.want - 1
				worst[c.name] = math.Max(worst[c.name], math.Abs(d))
				if math.Abs(d) > c.tolerance {
					t.Errorf("%s: b/L %g, ν %g: %.5f, plate %.5f (%+.3f %%)", c.name, r, nu, c.fit, c.want, 100*d)
				}
			}
		}
	}
	for name, d := range worst {
		t.Logf("%s: worst difference to the plate %.3f %%", name, 100*d)
	}
}

// The Ritz references are converged: half as many functions more change them by
// less than a fifth of the tolerances above.
func TestPlatesConverge(t *testing.T) {
	for _, r := range []float64{0.2, 0.8} {
		for name, d := range map[string]float64{
			"plate":   plateStrip(r, 0.33, 14, 9, true)/plateStrip(r, 0.33, 21, 13, true) - 1,
			"stretch": planeStrip(r, 0.33, 12, 8, "stretch")/planeStrip(r, 0.33, 18, 12, "stretch") - 1,
			"bend":    planeStrip(r, 0.33, 12, 8, "bend")/planeStrip(r, 0.33, 18, 12, "bend") - 1,
			"shear":   planeStrip(r, 0.33, 12, 8, "shear")/planeStrip(r, 0.33, 18, 12, "shear") - 1,
		} {
			t.Logf("%s at b/L %g: %.4f %%", name, r, 100*d)
			if math.Abs(d) > 2e-4 || d < -1e-12 { // Ritz converges from above
				t.Errorf("%s at b/L %g: changes by %g", name, r, d)
			}
		}
	}
}

// The plate factor on stress against the Ritz solution. Tolerance: the fit's 1.5 % and
// 1 % of the solution, whose stress at a clamp converges slowly.
func TestClampStress(t *testing.T) {
	for _, r := range []float64{0.13, 0.25, 0.32, 0.4, 0.6, 0.9, 1.5} {
		for _, nu := range []float64{0.25, 0.33, 0.42} {
			if got, want := ClampStress(r, nu), plateStress(r, nu, 16, 10); math.Abs(got/want-1) > 0.025 {
				t.Errorf("b/L %g, ν %g: %.4f, plate %.4f", r, nu, got, want)
			}
		}
	}
	// Whole blades as solids, ν 0.33: 1.10 to 1.14 between b/L 0.32 and 0.40, 1.05 at 1.5.
	for _, c := range [][3]float64{{0.32, 1.10, 1.16}, {0.4, 1.09, 1.14}, {1.5, 1.03, 1.07}} {
		if got := ClampStress(c[0], 0.33); got < c[1] || got > c[2] {
			t.Errorf("b/L %g: %.4f, solids %.2f to %.2f", c[0], got, c[1], c[2])
		}
	}
}

// The slope at half length of the clamped strip against the Ritz solution: η is a
// fit to it, of 2/3 of which the mean slope over the beam's, 1 + 2η/3, is made.
// Tolerance: 0.12 % of the slope, where the excess is 0.4 to 1.6 %.
func TestSteepness(t *testing.T) {
	for _, r := range []float64{0.13, 0.25, 0.4, 0.52, 0.8, 1.2} {
		for _, nu := range []float64{0.2, 0.33, 0.44} {
			_, want := plateStripAndSlope(r, nu, 16, 9, true)
			o := NewOutOfPlane(1, 1e-3, r, 1, nu)
			got := 1 + o.steep/1.5
			if math.Abs(got-want) > 1.2e-3 {
				t.Errorf("b/L %g, ν %g: slope %.5f of the beam's, plate %.5f", r, nu, got, want)
			}
		}
	}
}

// The shortening of the bent strip against the Ritz solution. Tolerances: those of the fit,
// which its comment states.
func TestClampShortening(t *testing.T) {
	for _, r := range []float64{0.13, 0.25, 0.4, 0.52, 0.8, 1.2, 3} {
		for _, nu := range []float64{0.2, 0.33, 0.44} {
			f, fa := plateStrip(r, nu, 14, 9, true), plateStrip(r, nu, 14, 9, false)
			s, arc := ClampShortening(r, f, fa)
			scale := 0.5
			if nu > 0.33 {
				scale = 1
			}
			if want := plateShortening(r, nu, 14, 9, true) - 1; math.Abs(s-want) > 6e-4*scale {
				t.Errorf("S, b/L %g, ν %g: %.5f, plate %.5f", r, nu, s, want)
			}
			if want := plateShortening(r, nu, 14, 9, false) - 1; math.Abs(arc-want) > 2.5e-3*scale {
				t.Errorf("arc, b/L %g, ν %g: %.5f, plate %.5f", r, nu, arc, want)
			}
		}
	}
}

// Limits (plate theory): narrow 1, wide 1/(1-ν²), in between monotone; no
// effect without Poisson's ratio; a thick blade tends to the thin one.
func TestFactorLimits(t *testing.T) {
	for _, nu := range []float64{0, 0.2, 0.3, 0.33, 0.45} {
		wide := 1 / (1 - nu*nu)
		for name, f := range map[string]func(r, nu float64) float64{
			"strip": StripFactor, "stretch": ClampStretchFactor, "bending": clampBending,
			"arc": func(r, nu float64) float64 { return 1 / (1 - arcFit.gain(r, nu)) },
		} {
			if got := f(0, nu); got != 1 {
				t.Errorf("%s: narrow %g", name, got)
			}
			if got := f(1e9, nu); math.Abs(got-wide) > 1e-8 {
				t.Errorf("%s: wide %g, want %g", name, got, wide)
			}
			last := 1.0
			for r := 0.01; r < 100; r *= 1.1 {
				got := f(r, nu)
				if got < last-1e-12 || got > wide+1e-12 {
					t.Errorf("%s: %g at b/L %g after %g, wide %g", name, got, r, last, wide)
				}
				last = got
			}
		}
		if got := clampShear(1e9, nu); math.Abs(got-1.2) > 1e-6 {
			t.Errorf("shear: wide %g, want 1.2 (uniform shear)", got)
		}
		thin := BendingFactor(1, 1e-9, 0.5, nu)
		if math.Abs(thin-StripFactor(0.5, nu)) > 1e-8 {
			t.Errorf("ν %g: thin blade %g, strip %g", nu, thin, StripFactor(0.5, nu))
		}
	}
}

func TestStripPanics(t *testing.T) {
	for _, c := range [][2]float64{{-0.1, 0.3}, {0.5, 0.5}, {0.5, -0.1}, {math.NaN(), 0.3}, {0.5, math.NaN()}} {
		func() {
			defer func() {
				if recover() == nil {
					t.Errorf("StripFactor(%g, %g) did not panic", c[0], c[1])
				}
			}()
			StripFactor(c[0], c[1])
		}()
	}
}

var sink float64

func BenchmarkBendingFactor(b *testing.B) {
	for b.Loop() {
		sink += BendingFactor(0.048, 0.0005, 0.025, 0.33)
	}
}
