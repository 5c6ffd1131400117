package objective

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

func pinned(t testing.TB) *Spec {
	s := testSpec(t)
	s.Pin([]float64{60, 0.5, 20, 4})
	return s
}

// thicknessOnly are parts with errors of each blade's thickness.
func thicknessOnly(sigma float64, samples int, seed uint64) *ToleranceSpec {
	s := &ToleranceSpec{Share: 0.95, Samples: samples, Seed: seed, Always: true}
	s.Sigma[ToleranceThickness] = sigma
	return s
}

func (s *Scatter) of(m Measure) MeasureScatter {
	return s.Measures[slices.IndexFunc(s.Measures, func(c MeasureScatter) bool { return c.Measure == m })]
}

// bounded leaves out what rigid bodies do not have.
func bounded(list []MeasureScatter) []MeasureScatter {
	return slices.DeleteFunc(slices.Clone(list), func(c MeasureScatter) bool {
		return c.Measure == BodyMode || c.Measure == BodyModeRatio || c.Measure == BodyYieldMargin
	})
}

// With no error every part is the nominal design, bit for bit. With 1 % of thickness what
// symmetry cancels comes back, so that the yaw grows; the first frequency scatters
// about its nominal value by no more than 3/2 of the error of one blade.
func TestScatterOfThickness(t *testing.T) {
	s := pinned(t)
	e := NewEvaluation(s)
	e.Evaluate(nil)
	s.Tolerances = thicknessOnly(0, 20, 1)
	exact := NewScatter(s)
	for _, c := range bounded(exact.Measures) {
		if v, _ := e.Measures.Get(c.Measure); c.Nominal != v || c.Tail != v || math.Abs(c.Mean-v) > 1e-12*math.Abs(v) {
			t.Errorf("%s: %+v, nominal %g", Table[c.Measure].Name, c, v)
		}
	}
	s.Tolerances = thicknessOnly(5e-6, 60, 1)
	one := NewScatter(s)
	if one.Unsolved != 0 || one.Conforming != 60 {
		t.Fatalf("%d parts not solved, %d of 60 conform without a limit", one.Unsolved, one.Conforming)
	}
	yaw, _ := e.Measures.Get(ParasiticYaw)
	if got := one.of(ParasiticYaw); got.Mean < 1.3*yaw || got.Tail < got.Mean || !(got.Low < got.Tail && got.Tail < got.High) {
		t.Errorf("parasitic yaw %+v, nominal %g: the scatter does nothing", got, yaw)
	}
	f, _ := e.Measures.Get(FirstFrequency)
	if got := one.of(FirstFrequency); math.Abs(got.Mean/f-1) > 0.015 || got.Tail > got.Mean || !(got.Low < got.Tail && got.Tail < got.High) {
		t.Errorf("first frequency %+v, nominal %g", got, f)
	}
	if again := NewScatter(s); !slices.Equal(bounded(again.Measures), bounded(one.Measures)) {
		t.Error("the same seed gives other parts")
	}
	s.Tolerances = thicknessOnly(5e-6, 60, 2)
	if other := NewScatter(s); slices.Equal(bounded(other.Measures), bounded(one.Measures)) {
		t.Error("another seed gives the same parts")
	}
}

// Parts that do not conform are counted by what they fail at, most frequent first. The
// limit on the first frequency at its median fails half of the parts, as many as lie
// below it.
func TestScatterReasons(t *testing.T) {
	s := pinned(t)
	s.Tolerances = thicknessOnly(5e-6, 40, 3)
	f := NewScatter(s).of(FirstFrequency)
	s.Limits = []Limit{atLeast(FirstFrequency, f.Mean), atLeast(PeakStress, 0), atMost(ParasiticYaw, 0)}
	all := NewScatter(s)
	if all.Conforming != 0 || len(all.Reasons) != 1 || all.Reasons[0] != (FailReason{"parasitic_yaw", 40}) {
		t.Errorf("%d conform, %v", all.Conforming, all.Reasons)
	}
	s.Limits = s.Limits[:2]
	half := NewScatter(s)
	if half.Conforming < 10 || half.Conforming > 30 || half.Reasons[0] != (FailReason{"first_frequency", 40 - half.Conforming}) {
		t.Errorf("%d conform, %v", half.Conforming, half.Reasons)
	}
	if low, high := ShareInterval(half.Conforming, 40); half.Low != low || half.High != high {
		t.Errorf("interval %g to %g", half.Low, half.High)
	}
	// A millimetre of error leaves blades that buckle or are out of range.
	s.Tolerances = thicknessOnly(1e-3, 40, 3)
	if wild := NewScatter(s); wild.Unsolved == 0 || !math.IsNaN(wild.of(ParasiticYaw).Tail) {
		t.Errorf("%d parts not solved, tail of the yaw %g", wild.Unsolved, wild.of(ParasiticYaw).Tail)
	}
}

// The interval of Clopper and Pearson: 5 of 10 and 0 of 10, from exact tables (W. J.
// Conover, Practical Nonparametric Statistics, 3rd ed., 1999, table A4): 0.1871 to 0.8129, 0 to 0.3085.
func TestShareInterval(t *testing.T) {
	for _, c := range []struct {
		k, n      int
		low, high float64
	}{{5, 10, 0.1871, 0.8129}, {0, 10, 0, 0.3085}, {10, 10, 0.6915, 1}} {
		if low, high := ShareInterval(c.k, c.n); math.Abs(low-c.low) > 5e-5 || math.Abs(high-c.high) > 5e-5 {
			t.Errorf("%d of %d: %.4f to %.4f, want %g to %g", c.k, c.n, low, high, c.low, c.high)
		}
	}
}

// The stated interval of a quantile covers it in 95 % of repeated samples, and somewhat
// more since ranks are whole: 4,000 times 100 draws of a distribution with a known
// quantile, 93.5 to 97.5 %.
func TestQuantileRanksCover(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, share := range []float64{0.5, 0.9, 0.95} {
		low, high := QuantileRanks(share, 100)
		x, hits := make([]float64, 100), 0
		for range 4000 {
			for i := range x {
				x[i] = rng.Float64()
			}
			slices.Sort(x)
			if x[low-1] <= share && (high > 100 || share <= x[high-1]) {
				hits++
			}
		}
		if c := float64(hits) / 4000; c < 0.935 || c > 0.975 {
			t.Errorf("share %g: ranks %d to %d cover %.1f %%", share, low, high, 100*c)
		}
	}
	// 100,000 samples: n p ± 1.96 sqrt(n p q), the normal distribution's interval; the
	// shortest one of a skewed distribution lies some ranks beside it, and is no wider
	if low, high := QuantileRanks(0.95, 100000); math.Abs(float64(low)-94865) > 10 || math.Abs(float64(high)-95136) > 10 || high-low > 272 {
		t.Errorf("100,000 samples: ranks %d to %d", low, high)
	}
	if low, high := QuantileRanks(0.95, 20); low == 0 || high != 21 {
		t.Errorf("20 samples bound the 95 %% quantile by ranks %d to %d", low, high)
	}
}
