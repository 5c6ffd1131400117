package drive

import (
	"math"
	"testing"
)

func program(t testing.TB, m Motion) *Program {
	t.Helper()
	p, err := m.Program()
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Each derivative against the difference of the one before it, where samples follow at
// equal steps and the motion is smooth: second order, so 2 % of the largest value at
// these densities.
func TestDerivatives(t *testing.T) {
	circle, steps, raster := DefaultMotion(Circle), DefaultMotion(Steps), DefaultMotion(Raster)
	steps.Turn, raster.Lines, raster.Turn = 1, 3, 1
	for _, m := range []Motion{circle, steps, raster} {
		m.Frequency, m.Amplitude = 3, 0.8
		p := program(t, m)
		n, dt := uniform, p.Period/uniform
		if m.Kind == Raster {
			n, dt = 17, 0.5/m.Frequency/16
		}
		for axis := range 2 {
			var top [3]float64
			for _, s := range p.samples {
				for k, v := range []float64{s.v[axis], s.a[axis], s.j[axis]} {
					top[k] = math.Max(top[k], math.Abs(v))
				}
			}
			worst := [3]float64{}
			for i := range p.samples {
				j := i + 1
				if i%n == n-1 {
					continue
				}
				a, b := p.samples[i], p.samples[j]
				if m.Kind == Steps && a.a[axis]*b.a[axis] == 0 {
					continue // the jerk jumps where a move begins and ends
				}
				for k, d := range []float64{
					(b.p[axis]-a.p[axis])/dt - 0.5*(a.v[axis]+b.v[axis]),
					(b.v[axis]-a.v[axis])/dt - 0.5*(a.a[axis]+b.a[axis]),
					(b.a[axis]-a.a[axis])/dt - 0.5*(a.j[axis]+b.j[axis]),
				} {
					worst[k] = math.Max(worst[k], math.Abs(d))
				}
			}
			for k := range worst {
				if worst[k] > 0.02*top[k]+1e-9 {
					t.Errorf("%v axis %d derivative %d: off by %g of %g", m.Kind, axis, k+1, worst[k], top[k])
				}
			}
		}
	}
}

// Every program stays within its amplitude, reaches it, is weighted to one, and has no mean.
func TestExtent(t *testing.T) {
	for kind := range numKind {
		if kind == Hold {
			continue
		}
		m := DefaultMotion(kind)
		m.Amplitude, m.Frequency = 0.7, 2
		p := program(t, m)
		weight, mean, top := 0.0, [2]float64{}, [2]float64{}
		for _, s := range p.samples {
			weight += s.weight
			for axis := range 2 {
				mean[axis] += s.weight * s.p[axis]
				top[axis] = math.Max(top[axis], math.Abs(s.p[axis]))
			}
		}
		near(t, "weight", weight, 1, 1e-12)
		for axis := range 2 {
			near(t, kind.String(), top[axis], 0.7, 1e-12)
			if math.Abs(mean[axis]) > 1e-9 {
				t.Errorf("%v axis %d: mean %g", kind, axis, mean[axis])
			}
		}
		if got, ok := ParseKind(kind.String()); !ok || got != kind {
			t.Errorf("%v", kind)
		}
	}
}

// Closed forms: quintic step, peak velocity 15/8 and peak acceleration 10/√3 of
// distance/time and distance/time², mean square acceleration 120/7 of the latter
// squared (Flash & Hogan's polynomial, integrated by hand); raster turn, mean square
// acceleration 3/2 (2V/t)².
func TestMotionClosedForms(t *testing.T) {
	m := DefaultMotion(Steps)
	m.Frequency, m.Turn = 2, 0.5
	p := program(t, m)
	move := 0.5 * 0.5 / 2
	near(t, "step velocity", p.PeakVelocity[0], 2*1.875/move, 1e-4)
	near(t, "step acceleration", p.PeakAcceleration[1], 2*10/math.Sqrt(3)/(move*move), 1e-3) // 90 samples of the move
	square := 0.0
	for _, s := range p.samples {
		square += s.weight * s.a[0] * s.a[0]
	}
	near(t, "step rms acceleration", square, 0.5*120.0/7*4/math.Pow(move, 4), 1e-6)

	m = DefaultMotion(Raster)
	m.Frequency = 5
	p = program(t, m)
	square = 0
	for _, s := range p.samples {
		square += s.weight * s.a[0] * s.a[0]
	}
	v, turn := p.PeakVelocity[0], 0.2*0.1
	near(t, "turn acceleration", p.PeakAcceleration[0], 4*v/turn, 1e-12)
	near(t, "raster rms acceleration", square, 0.2*1.5*4*v*v/(turn*turn), 1e-9)
	// line of 80 % of 0.1 s at constant speed, turns of 0.02 s
	near(t, "line", 2*1.0, v*0.08+2*v*turn*(0.25+1/(math.Pi*math.Pi)), 1e-12)
}

func TestMotionRefused(t *testing.T) {
	bad := Motion{Kind: Raster, Amplitude: 1.2, Frequency: 0, Turn: 0, Lines: 1}
	if _, err := bad.Program(); err == nil || len(err.(interface{ Unwrap() []error }).Unwrap()) != 4 {
		t.Errorf("%v", err)
	}
}
