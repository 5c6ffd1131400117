package servo

import (
	"math"
	"testing"
)

// massOnSpring is the same mass on each axis, uncoupled, on springs with the first
// frequency w (rad/s).
func massOnSpring(mass, w float64) *Plant {
	p := NewPlant(1, 2)
	for k := range 2 {
		p.Omega[k] = w
		p.Force[2*k+k] = 1 / math.Sqrt(mass)
		p.Arm[2*k+k] = 1 / math.Sqrt(mass)
		p.Stage[2*k+k] = 1 / math.Sqrt(mass)
		p.Floor[2*k+k] = math.Sqrt(mass)
	}
	return p
}

func single(s Settings) Settings {
	s.Scales = []float64{1}
	return s
}

// Values computed for C = k (1 + 0.1 ωc/s)(1 + 3 s/ωc)/(1 + s/3ωc) [/(1 + s/10ωc)],
// the PID template of Munnig Schmidt, Schitter, Rankers, ch. 4, and collected in
// testdata/reference/published.md, section 6: tolerances are half a unit of the last
// digit given.
func TestPublishedMass(t *testing.T) {
	const hz, mass = 100.0, 1.7
	wc := 2 * math.Pi * hz
	for _, c := range []struct {
		name               string
		r                  float64 // first frequency / crossover; 0 pure mass
		lowPass            float64
		phase, peak        float64
		halfPhase, halfOne float64
		k                  float64 // of m ωc²
	}{
		{"mass", 0, math.Inf(1), 47.42, 1.359, 0.005, 0.0005, 0.3317},
		{"mass, low-pass", 0, 10, 41.71, 1.548, 0.005, 0.0005, 0.3333},
		{"spring 0.1", 0.1, 10, 41.73, 1.546, 0.005, 0.0005, 0},
		{"spring 0.3", 0.3, 10, 41.78, 1.535, 0.005, 0.0005, 0},
		{"spring 0.5", 0.5, 10, 41.86, 1.519, 0.005, 0.0005, 0},
		{"spring 0.7", 0.7, 10, 42.02, 1.503, 0.005, 0.0005, 0},
		{"spring 0.9", 0.9, 10, 42.79, 1.481, 0.005, 0.0005, 0},
	} {
		s := single(Default())
		s.Delay = 0
		s.LowPassRatio = c.lowPass
		l := mustLoop(t, s, 1, 2, 1)
		l.Prepare(massOnSpring(mass, c.r*wc))
		m, ok := l.Margins(hz)
		if !ok {
			t.Fatal(c.name)
		}
		if got := m.Phase * 180 / math.Pi; math.Abs(got-c.phase) > c.halfPhase {
			t.Errorf("%s: phase margin %.4f°, want %.2f", c.name, got, c.phase)
		}
		if math.Abs(m.Peak-c.peak) > c.halfOne {
			t.Errorf("%s: peak |S| %.5f, want %.3f", c.name, m.Peak, c.peak)
		}
		if got := m.Position[0] / (mass * wc * wc); c.k > 0 && math.Abs(got-c.k) > 0.00005 {
			t.Errorf("%s: k %.6f m ωc², want %.4f", c.name, got, c.k)
		}
	}
}

// With the low-pass, max|S| of a pure mass reaches 2 at ωc τ = 0.1611 (published.md,
// section 6): the bandwidth with a delay is that crossover.
func TestPublishedDelay(t *testing.T) {
	s := single(Default())
	s.Delay = 500e-6
	l := mustLoop(t, s, 1, 2, 1)
	r := l.Crossover(massOnSpring(1, 0))
	if got := r.Hz * 2 * math.Pi * s.Delay; math.Abs(got-0.1611) > 0.00005 || r.Reason != Sensitivity {
		t.Errorf("ωc τ = %.6f, %v, want 0.1611, sensitivity", got, r.Reason)
	}
	s.Delay = 0
	l = mustLoop(t, s, 1, 2, 1)
	if r := l.Crossover(massOnSpring(1, 0)); r.Hz != s.Ceiling || r.Reason != Ceiling {
		t.Errorf("without delay: %+v", r)
	}
}

// Far below the crossover L = k (1 + ωc/10s)(…)/(m s²) is large and S = −m ω²/(k (1 −
// jωc/10ω)) (1 + O(ω/ωc)): at a hundredth of the crossover the correction is (1/100)²
// and the lead's 3/100 in quadrature.
func TestTracking(t *testing.T) {
	s := single(Default())
	s.Delay = 0
	l := mustLoop(t, s, 1, 2, 1)
	l.Prepare(massOnSpring(1, 0))
	ratio, lag, ok := l.Tracking(100, 1)
	if !ok {
		t.Fatal("not computed")
	}
	want := 1e-4 / 0.3333 / math.Hypot(1, 10)
	if math.Abs(ratio/want-1) > 0.005 || !(lag > -1e-3 && lag < 0.01) {
		t.Errorf("error %.6g, want %.6g; lag %g rad", ratio, want, lag)
	}
}
