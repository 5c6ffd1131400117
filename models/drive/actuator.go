package drive

import (
	"errors"
	"fmt"
	"math"
)

// CopperCoefficient is the relative rise of a copper coil's resistance per kelvin at 20 °C.
const CopperCoefficient = 0.00393

// Reference is the temperature in °C at which resistance and motor constant are given.
const Reference = 20.0

// Actuator is a linear voice coil. Symbols as in makers' sheets.
type Actuator struct {
	Name              string
	MotorConstant     float64 // Km at 20 °C, N/√W
	ForceConstant     float64 // Kf in the middle of the stroke, N/A
	Inductance        float64 // L, H
	MaxVoltage        float64 // U_max of the amplifier, V
	PeakForce         float64 // N
	Stroke            float64 // usable stroke from end to end, m, as data sheets give it
	MovingMass        float64 // kg, on the arm
	StiffnessAlong    float64 // of the magnet's pull, along the stroke, N/m; negative drives away from the middle
	StiffnessAcross   float64 // the same across the stroke, N/m
	FallOff           float64 // loss of force constant at the end of the stroke, relative; Kf(u) = Kf (1 − FallOff (2u/Stroke)²)
	ThermalResistance float64 // Rth coil to ambient, K/W
	CoilLimit         float64 // °C
	Ambient           float64 // °C
	Clearance         float64 // transverse motion allowed on either side, m
	VoltageAmplifier  bool    // adds electrical damping Km² to the loop; a current amplifier adds none
}

// Resistance returns R = (Kf/Km)² at 20 °C, Ω.
func (a *Actuator) Resistance() float64 {
	r := a.ForceConstant / a.MotorConstant
	return r * r
}

// Damping returns what the amplifier adds to the mechanics, N s/m: Km² for a voltage
// amplifier (the coil is short-circuited through its own resistance), 0 for a current
// amplifier.
func (a *Actuator) Damping() float64 {
	if a.VoltageAmplifier {
		return a.MotorConstant * a.MotorConstant
	}
	return 0
}

// Rise returns the temperature rise of the coil for a power p0 = (F_rms/Km)² that it
// would dissipate at 20 °C, in K:
//
//	ΔT = Rth P0 (1 + α ΔA)/(1 − α Rth P0), ΔA = Ambient − 20 °C
//
// ok is false when the denominator is not positive: the coil heats without bound.
func (a *Actuator) Rise(p0 float64) (rise float64, ok bool) {
	d := 1 - CopperCoefficient*a.ThermalResistance*p0
	if !(d > 0) {
		return math.Inf(1), false
	}
	return a.ThermalResistance * p0 * (1 + CopperCoefficient*(a.Ambient-Reference)) / d, true
}

// ContinuousForce returns the rms force that brings the coil to its limit, N.
func (a *Actuator) ContinuousForce() float64 {
	// Rth P0 (1 + αΔA) = ΔT (1 − α Rth P0)
	rise := a.CoilLimit - a.Ambient
	p0 := rise / (a.ThermalResistance * (1 + CopperCoefficient*(a.Ambient-Reference) + CopperCoefficient*rise))
	return a.MotorConstant * math.Sqrt(p0)
}

// Validate returns all that is wrong with the data.
func (a *Actuator) Validate() error {
	var all []error
	positive := func(name string, x float64, unit string) {
		if !(x > 0) || math.IsInf(x, 1) {
			all = append(all, fmt.Errorf("%s %g%s must be positive", name, x, unit))
		}
	}
	positive("motor constant", a.MotorConstant, " N/√W")
	positive("force constant", a.ForceConstant, " N/A")
	positive("peak force", a.PeakForce, " N")
	positive("stroke", a.Stroke, " m")
	positive("largest voltage", a.MaxVoltage, " V")
	positive("thermal resistance", a.ThermalResistance, " K/W")
	positive("transverse clearance", a.Clearance, " m")
	if !(a.Inductance >= 0) || math.IsInf(a.Inductance, 1) {
		all = append(all, fmt.Errorf("inductance %g H must not be negative", a.Inductance))
	}
	if !(a.MovingMass >= 0) || math.IsInf(a.MovingMass, 1) {
		all = append(all, fmt.Errorf("moving mass %g kg must not be negative", a.MovingMass))
	}
	if !(a.FallOff >= 0 && a.FallOff < 1) {
		all = append(all, fmt.Errorf("force fall-off %g must lie in [0, 1)", a.FallOff))
	}
	if math.IsNaN(a.StiffnessAlong+a.StiffnessAcross) || math.IsInf(a.StiffnessAlong+a.StiffnessAcross, 0) {
		all = append(all, fmt.Errorf("magnet stiffness must be finite"))
	}
	if !(a.Ambient >= -50 && a.Ambient <= 80) {
		all = append(all, fmt.Errorf("ambient %g °C must lie between −50 and 80 °C", a.Ambient))
	} else if !(a.CoilLimit > a.Ambient && a.CoilLimit <= 300) {
		all = append(all, fmt.Errorf("coil limit %g °C must lie above ambient and at most at 300 °C", a.CoilLimit))
	}
	return errors.Join(all...)
}
