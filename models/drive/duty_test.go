package drive

import (
	"math"
	"math/cmplx"
	"testing"
)

// linear is a spring of stiffness k on each axis.
func linear(k, travel float64) Field {
	f := Field{Travel: travel}
	for n := range 9 {
		f.Force[0][n], f.Force[1][n] = k*travel*float64(n%3-1), k*travel*float64(n/3-1)
		f.Slope[0][n][0], f.Slope[1][n][1] = k, k
	}
	f.Prepare()
	return f
}

// A circle on a linear spring is a phasor problem: F = (k − m ω² + jωc) A, and
// U = (R_hot + jωL) F/Kf + jωA Kf. The samples hit the phasor's peak to 4e-5 (360 per turn).
func TestCircleOnSpring(t *testing.T) {
	const k, travel, mass, damping, hz = 8e3, 4e-3, 2.1, 5.0, 6.0
	w := 2 * math.Pi * hz
	m := DefaultMotion(Circle)
	m.Frequency, m.Amplitude = hz, 0.9
	p := program(t, m)
	a, _ := ByName("vc-75")
	a.FallOff, a.StiffnessAlong = 0, -500
	load := Load{Field: linear(k, travel), Mass: [2]float64{mass, mass}, Damping: [2]float64{damping, damping}}
	var d Duty
	p.Duty(&a, &load, &d)
	amplitude := 0.9 * travel
	f := complex(k-500-mass*w*w, w*damping) * complex(amplitude, 0)
	for axis := range 2 {
		near(t, "peak", d.PeakForce[axis], cmplx.Abs(f), 4e-5)
		near(t, "rms", d.RMSForce[axis], cmplx.Abs(f)/math.Sqrt2, 1e-9)
		p0 := square(cmplx.Abs(f)/a.MotorConstant) / 2
		rise := a.ThermalResistance * p0 / (1 - CopperCoefficient*a.ThermalResistance*p0)
		near(t, "rise", d.Rise[axis], rise, 1e-9)
		near(t, "power", d.Power[axis], rise/a.ThermalResistance, 1e-9)
		hot := a.Resistance() * (1 + CopperCoefficient*rise)
		u := complex(hot, w*a.Inductance)*f/complex(a.ForceConstant, 0) + complex(0, w*amplitude*a.ForceConstant)
		near(t, "voltage", d.Voltage[axis], cmplx.Abs(u), 4e-5)
	}
}

func square(x float64) float64 { return x * x }

// Fall-off by hand: at rest at the end of the stroke with 10 % less force the coil
// needs (1/0.9)² of the power.
func TestHold(t *testing.T) {
	p := program(t, Motion{Kind: Hold, Amplitude: 1})
	a, _ := ByName("vc-30")
	a.FallOff = 0.1
	load := Load{Field: linear(2e3, a.Stroke/2)}
	var d Duty
	p.Duty(&a, &load, &d)
	f := 2e3 * a.Stroke / 2
	near(t, "force", d.PeakForce[1], f, 1e-12)
	near(t, "rms", d.RMSForce[1], f, 1e-12)
	rise, _ := a.Rise(square(f / (0.9 * a.MotorConstant)))
	near(t, "rise", d.Rise[0], rise, 1e-12)
	a.ThermalResistance = 1e3
	p.Duty(&a, &load, &d)
	if !d.Overheats[0] || !math.IsInf(d.Rise[0], 1) || !math.IsInf(d.Power[1], 1) || !math.IsInf(d.Voltage[0], 1) {
		t.Errorf("%+v", d)
	}
	if p.Cycles(10) != 0 {
		t.Error("a held stage makes no cycles")
	}
}

// Mean squares known in closed form: steps of a mass alone (120/7 of distance/time²
// squared while moving), a raster with hardly any turns on a spring alone (a triangle
// wave, A/√3).
func TestRasterAndStepsMass(t *testing.T) {
	a, _ := ByName("vc-180")
	a.FallOff = 0
	const travel, mass = 3e-3, 2.0
	load := Load{Field: linear(0, travel), Mass: [2]float64{mass, mass}}
	var d Duty
	m := DefaultMotion(Steps)
	m.Frequency = 4
	program(t, m).Duty(&a, &load, &d)
	move := 0.5 * m.Turn / m.Frequency
	near(t, "steps rms", d.RMSForce[0], mass*2*travel/(move*move)*math.Sqrt(m.Turn*120.0/7), 1e-6)
	near(t, "steps peak", d.PeakForce[1], mass*2*travel/(move*move)*10/math.Sqrt(3), 1e-3) // 90 samples of the move
	m = DefaultMotion(Raster)
	m.Turn = 1e-3 // nearly a triangle: a spring's rms force is k A/√3
	load = Load{Field: linear(5e3, travel)}
	program(t, m).Duty(&a, &load, &d)
	near(t, "raster on a spring", d.RMSForce[0], 5e3*travel/math.Sqrt(3), 1e-3) // turns take 0.1 % of the time
}

func TestDutyDoesNotAllocate(t *testing.T) {
	p := program(t, DefaultMotion(Raster))
	a, _ := ByName("vc-75")
	load := Load{Field: linear(8e3, 4e-3), Mass: [2]float64{2, 2}}
	var d Duty
	if n := testing.AllocsPerRun(10, func() { load.Field.Prepare(); p.Duty(&a, &load, &d) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkDuty(b *testing.B) {
	for _, kind := range []Kind{Circle, Raster, Steps} {
		b.Run(kind.String(), func(b *testing.B) {
			p := program(b, DefaultMotion(kind))
			a, _ := ByName("vc-75")
			load := Load{Field: linear(8e3, 4e-3), Mass: [2]float64{2, 2}}
			var d Duty
			b.ReportAllocs()
			for b.Loop() {
				p.Duty(&a, &load, &d)
			}
		})
	}
}

// At its resonance a circle needs no force. Off by a factor f in frequency the stiffness is f² k while the mass stays,
// so the force is (f² − 1) k A: of 0.97 and 1.03 the latter is worst.
func TestWorstOverFrequencies(t *testing.T) {
	const k, travel, mass = 8e3, 4e-3, 2.0
	m := DefaultMotion(Circle)
	m.Frequency = math.Sqrt(k/mass) / (2 * math.Pi)
	p := program(t, m)
	a, _ := ByName("vc-75")
	a.FallOff = 0
	load := Load{Field: linear(k, travel), Mass: [2]float64{mass, mass}}
	var nominal, worst Duty
	p.Duty(&a, &load, &nominal)
	load.Scales = []float64{1, 0.97, 1.03}
	p.Duty(&a, &load, &worst)
	f := (1.03*1.03 - 1) * k * travel
	for axis := range 2 {
		if nominal.PeakForce[axis] > 1e-9*k*travel {
			t.Errorf("force %g N at the resonance", nominal.PeakForce[axis])
		}
		near(t, "peak", worst.PeakForce[axis], f, 4e-5)
		near(t, "rms", worst.RMSForce[axis], f/math.Sqrt2, 1e-9)
		p0 := f * f / 2 / (a.MotorConstant * a.MotorConstant)
		near(t, "rise", worst.Rise[axis], a.ThermalResistance*p0/(1-CopperCoefficient*a.ThermalResistance*p0), 1e-9)
	}
	hold := program(t, Motion{Kind: Hold, Amplitude: 1})
	hold.Duty(&a, &load, &worst)
	near(t, "held", worst.PeakForce[0], 1.03*1.03*k*travel, 1e-12)
}
