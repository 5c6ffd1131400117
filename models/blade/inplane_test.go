package blade

import (
	"math"
	"math/rand/v2"
	"testing"
)

// A blade of 48 x 0.5 x 25 mm of aluminium.
var testSection = NewSection(0.048, 0.5e-3, 0.025, 71.7e9, 0.33, 0, 1)

// The gradient against central differences of the energy, the tangent against
// those of the gradient, at random deformations of the valid range and beyond.
// A central difference of step h is wrong by h² f”'/6, here below 1e-8 of the
// scale, and by rounding eps f/h, below 1e-8 too: 1e-6 leaves room.
func TestForceAndTangentMatchDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	s := &testSection
	stiff := s.EI / s.Length
	for range 300 {
		x := [4]float64{1e-3 * (rng.Float64() - 0.5), 0.3 * (rng.Float64() - 0.5), 0.3 * (rng.Float64() - 0.5), -30 + 50*rng.Float64()}
		var st State
		s.At(x[0], x[1], x[2], x[3], &st)
		gradient := func(x [4]float64) [4]float64 {
			var st State
			s.At(x[0], x[1], x[2], x[3], &st)
			return [4]float64{st.Force[0], st.Force[1], st.Force[2], stiff * st.Residual}
		}
		// the full Hessian, with p not condensed
		index := [3][3]int{{0, 1, 2}, {1, 3, 4}, {2, 4, 5}}
		var hessian [4][4]float64
		for i := range 3 {
			for j := range 3 {
				hessian[i][j] = st.Tangent[index[i][j]] - stiff*st.Row[i]*st.Row[j]/st.C
			}
			hessian[i][3], hessian[3][i] = stiff*st.Row[i], stiff*st.Row[i]
		}
		hessian[3][3] = -stiff * st.C
		step := [4]float64{1e-5, 1e-5, 1e-5, 1e-4}
		g := gradient(x)
		for i := range 4 {
			up, down := x, x
			up[i] += step[i]
			down[i] -= step[i]
			got := (s.Energy(up[0], up[1], up[2], up[3]) - s.Energy(down[0], down[1], down[2], down[3])) / (2 * step[i])
			if d := math.Abs(got - g[i]); d > 1e-6*stiff*(1+math.Abs(x[3])) {
				t.Errorf("gradient %d = %g, difference of the energy %g", i, g[i], got)
			}
			gu, gd := gradient(up), gradient(down)
			for j := range 4 {
				want := (gu[j] - gd[j]) / (2 * step[i])
				// what the condensed tangent holds beside the entry is rounded too
				scale := stiff * (4 + math.Abs(x[3]))
				if i < 3 && j < 3 {
					scale += math.Abs(st.Tangent[index[i][j]]) * 1e-8
				}
				if d := math.Abs(want - hessian[i][j]); d > 1e-6*scale {
					t.Errorf("at %v: hessian %d%d = %g, difference of the gradient %g", x, i, j, hessian[i][j], want)
				}
			}
		}
	}
}

// k₊ and k₋ against the exact beam-column functions of Timoshenko & Gere (from
// memory), and the exact guided stiffness of the published table: 2 k₊ + p is
// the guided stiffness k L³/EI. Relative to 12 and 2, the stiffness without
// axial force, over the valid range.
func TestAxialSeriesAgainstBeamColumn(t *testing.T) {
	worst := 0.0
	for p := MinAxial; p <= MaxAxial; p += 0.37 {
		var guided, arc float64 // 2 k₊ + p; k₋
		if p > 0 {
			r := math.Sqrt(p)
			guided = p / (1 - 2*math.Tanh(r/2)/r)
			arc = r / 2 / math.Tanh(r/2)
		} else {
			r := math.Sqrt(-p)
			guided = -p / (2*math.Tan(r/2)/r - 1)
			arc = r / 2 / math.Tan(r/2)
		}
		fs, _, _ := pade(p, 90)
		fd, _, _ := pade(p, 42)
		gotGuided, gotArc := 2*(6+p/10-fs/1400)+p, 2+p/6-fd/360
		worst = max(worst, math.Abs(gotGuided-guided)/12, math.Abs(gotArc-2*arc)/2)
	}
	t.Logf("largest error %.2g of the stiffness without axial force", worst)
	// the first term left out of k₋ is of order p⁴/(1.2e6), 0.4 % of 2 at p = 10,
	// of which the approximant catches all but a tenth
	if worst > 5e-4 {
		t.Errorf("largest error %.2g", worst)
	}
	// The published table, section 1a: p, k L³/EI (computed values).
	for _, row := range [][2]float64{{-9, 1.071308}, {-8, 2.299578}, {-5, 5.962175}, {-3, 8.386698}, {-1, 10.798555},
		{1, 13.198587}, {5, 17.966158}, {10, 23.871317}, {20, 35.531050}} {
		fs, _, _ := pade(row[0], 90)
		got := 2*(6+row[0]/10-fs/1400) + row[0]
		t.Logf("p = %4g: k L³/EI = %.6f, exact %.6f", row[0], got, row[1])
		if math.Abs(got-row[1]) > 2e-3 {
			t.Errorf("p = %g: %g, want %g", row[0], got, row[1])
		}
	}
}
