package servo

import (
	"math"
	"math/cmplx"
	"testing"
)

// A mass on a spring has the response 1/(m (ω₀² − ω² + 2jζω₀ω)) (Timoshenko and
// Young, Vibration Problems in Engineering, ch. 1), is crossed where it is asked to be,
// and its largest |S| over a fine grid is the published peak that the margins show.
func TestCurve(t *testing.T) {
	const hz, mass = 100.0, 1.7
	w0 := 0.5 * 2 * math.Pi * hz
	s := single(Default())
	s.Delay = 0
	l := mustLoop(t, s, 1, 2, 1)
	l.Prepare(massOnSpring(mass, w0))
	var at []float64
	for f := 1.0; f < 2000; f *= 1.002 {
		at = append(at, f)
	}
	at = append(at, 2001)
	c, ok := l.Curve(hz, 0, 1, at)
	if !ok {
		t.Fatal("the sensor sees the axis")
	}
	peak := 0.0
	for i, f := range at {
		w := 2 * math.Pi * f
		want := 1 / (mass * complex(w0*w0-w*w, 2*s.Damping*w0*w))
		// far modes are summed as polynomials: 1e-7 for the terms left out, (ζ/2)² = 1e-6 for
		// the square of the damping, about as much for the damping, which has three terms
		if cmplx.Abs(c.Plant[i]-want) > 3e-6*cmplx.Abs(want) {
			t.Fatalf("plant at %g Hz: %g, want %g", f, c.Plant[i], want)
		}
		if e := cmplx.Abs(c.Sensitivity[i]*(1+c.Open[i]) - 1); e > 1e-12 {
			t.Fatalf("S (1 + L) at %g Hz misses 1 by %g", f, e)
		}
		peak = max(peak, cmplx.Abs(c.Sensitivity[i]))
	}
	// published.md, section 6: 1.519; the grid of 0.2 % misses less than 1e-4 of a smooth peak
	if math.Abs(peak-1.519) > 0.0006 {
		t.Errorf("largest |S| %.4f, want 1.519", peak)
	}
	one, _ := l.Curve(hz, 0, 0, []float64{hz})
	if g := cmplx.Abs(one.Open[0]); math.Abs(g-1) > 1e-9 {
		t.Errorf("|L| at the crossover is %.10f", g)
	}
}
