package drive

import (
	"math"
	"testing"
)

func near(t *testing.T, name string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.9g, want %.9g within %g", name, got, want, rel)
	}
}

// Hand-worked: Rth P0 = 50 K with a coil at 20 °C gives 50/(1 − 0.1965) = 62.23 K, and
// the warm coil then dissipates what that rise needs, ΔT/Rth. At Rth P0 = 1/α = 254.45
// K nothing holds it.
func TestRise(t *testing.T) {
	a := Actuator{MotorConstant: 10, ForceConstant: 15, ThermalResistance: 5, Ambient: 20, CoilLimit: 120}
	rise, ok := a.Rise(10)
	if !ok {
		t.Error("overheats")
	}
	near(t, "rise", rise, 62.2278, 1e-6)
	near(t, "power", 10*(1+CopperCoefficient*rise), rise/5, 1e-12)
	if _, ok := a.Rise(254.453 / 5 * 1.00001); ok {
		t.Error("runaway not seen")
	}
	near(t, "resistance", a.Resistance(), 2.25, 1e-12)
	// the continuous force, put back, reaches the limit, warm ambient or not
	for _, ambient := range []float64{20, 40} {
		a.Ambient = ambient
		f := a.ContinuousForce() / a.MotorConstant
		rise, _ = a.Rise(f * f)
		near(t, "limit", ambient+rise, 120, 1e-12)
	}
}

func TestCatalogue(t *testing.T) {
	last := 0.0
	for _, a := range Catalogue {
		if err := a.Validate(); err != nil {
			t.Errorf("%s: %v", a.Name, err)
		}
		var class float64
		for _, r := range a.Name[len("vc-"):] {
			class = 10*class + float64(r-'0')
		}
		// the name promises the continuous force to a tenth
		near(t, a.Name, a.ContinuousForce(), class, 0.1)
		if ratio := a.PeakForce / a.ContinuousForce(); ratio < 2.5 || ratio > 3.5 {
			t.Errorf("%s: peak %.2f of the continuous force", a.Name, ratio)
		}
		// enough voltage for the peak force at rest, warm
		if u := a.PeakForce / a.ForceConstant * a.Resistance(); u > a.MaxVoltage {
			t.Errorf("%s: peak force needs %.0f V", a.Name, u)
		}
		if got, ok := ByName(a.Name); !ok || got != a || a.ContinuousForce() < last {
			t.Errorf("%s: not found, or out of order", a.Name)
		}
		last = a.ContinuousForce()
	}
	if _, ok := ByName("vc-11"); ok {
		t.Error("vc-11 found")
	}
	bad := Actuator{CoilLimit: 10, Ambient: 20, FallOff: 1, Inductance: -1}
	if err := bad.Validate(); err == nil || len(err.(interface{ Unwrap() []error }).Unwrap()) != 10 {
		t.Errorf("%v", err)
	}
}

// Goodman by hand: 40 MPa alternating on 20 MPa mean, σ_f 159 MPa, σ_u 572 MPa:
// 40/111.3 + 20/572 = 0.39436.
func TestGoodman(t *testing.T) {
	near(t, "margin", Goodman(40e6, 20e6, 159e6, 572e6), 1/0.394354, 1e-5)
	near(t, "reversed", Goodman(111.3e6, 0, 159e6, 572e6), 1, 1e-12)
	near(t, "compression helps nothing", Goodman(40e6, -20e6, 159e6, 572e6), Goodman(40e6, 0, 159e6, 572e6), 1e-15)
	if !math.IsInf(Goodman(0, 0, 1, 1), 1) {
		t.Error("no stress, no limit")
	}
}

func TestClearance(t *testing.T) {
	// lost motion of 0, 60, 60 µm, guide of 2e6 N/m at its softest, 0.8 kg at 5 m/s²:
	// 60 + 2 µm
	near(t, "gap", GapTravel([]float64{0, 60e-6, 60e-6}, []float64{4e6, 2e6, 3e6}, 0.8, -5), 62e-6, 1e-12)
	near(t, "drift", ThermalDrift(23.5e-6, 0.1, 0.5), 1.175e-6, 1e-12)
	if !math.IsInf(Margin(1, 0), 1) || Margin(3, -2) != 1.5 {
		t.Error("margin")
	}
}
