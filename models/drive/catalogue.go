package drive

// Catalogue lists generic voice coils by size, named by the continuous force that
// their class stands for. They are no maker's: the figures are of the order that
// application notes and sheets show (motor constant growing faster than mass, peak
// about three times the continuous force, ten per cent less force at the ends of the
// stroke; common practice) and fit together: Km = Kf/√R, continuous force = Km √P at
// 120 °C.
var Catalogue = []Actuator{
	{
		Name: "vc-10", MotorConstant: 3.3, ForceConstant: 6.5, Inductance: 0.6e-3, MaxVoltage: 24, PeakForce: 30,
		Stroke: 8e-3, MovingMass: 0.035, FallOff: 0.1, ThermalResistance: 7.8, CoilLimit: 120, Ambient: 20, Clearance: 0.25e-3,
	},
	{
		Name: "vc-30", MotorConstant: 7.5, ForceConstant: 12, Inductance: 1.0e-3, MaxVoltage: 48, PeakForce: 90,
		Stroke: 12e-3, MovingMass: 0.09, FallOff: 0.1, ThermalResistance: 4.5, CoilLimit: 120, Ambient: 20, Clearance: 0.35e-3,
	},
	{
		Name: "vc-75", MotorConstant: 14.5, ForceConstant: 20, Inductance: 1.5e-3, MaxVoltage: 48, PeakForce: 220,
		Stroke: 16e-3, MovingMass: 0.22, FallOff: 0.1, ThermalResistance: 2.7, CoilLimit: 120, Ambient: 20, Clearance: 0.4e-3,
	},
	{
		Name: "vc-180", MotorConstant: 26, ForceConstant: 32, Inductance: 2.2e-3, MaxVoltage: 80, PeakForce: 540,
		Stroke: 20e-3, MovingMass: 0.5, FallOff: 0.1, ThermalResistance: 1.5, CoilLimit: 120, Ambient: 20, Clearance: 0.5e-3,
	},
}

// ByName returns a copy of an actuator of the catalogue.
func ByName(name string) (Actuator, bool) {
	for _, a := range Catalogue {
		if a.Name == name {
			return a, true
		}
	}
	return Actuator{}, false
}
