package models

// Dimension is the kind of a quantity: what may be added to what.
type Dimension uint8

const (
	Number Dimension = iota
	Length
	Angle
	Mass
	Time
	Frequency
	Force
	Stress
	Stiffness        // N/m
	AngularStiffness // N m/rad
	Power
	Temperature // a difference, K
	Density
	Inertia
	Acceleration
	Velocity
	ForceConstant     // N/A
	MotorConstant     // N/√W
	Resistance        // Ω
	Inductance        // H
	Voltage           // V
	ThermalResistance // K/W
	Expansion         // 1/K
	Conductivity      // W/(m K)
	Damping           // N s/m
	CurrentNoise      // A/√Hz
	LengthNoise       // m/√Hz
	AccelerationNoise // m/s²/√Hz
	Compliance        // m/N
)

// Unit is the unit in which a parameter or a measure is written: in the design
// vector, in column names, in tables.
type Unit struct {
	Symbol    string    // as printed: "µm"
	Suffix    string    // ending of a column name: "um"; empty for a plain number
	Dimension Dimension // what it measures
	SI        float64   // value of one of it in SI
}

// ToSI converts v, in u, to SI.
func (u Unit) ToSI(v float64) float64 { return v * u.SI }

// FromSI converts v, in SI, to u.
func (u Unit) FromSI(v float64) float64 { return v / u.SI }

// Column returns the name of the column that holds a quantity called name.
func (u Unit) Column(name string) string {
	if u.Suffix == "" {
		return name
	}
	return name + "_" + u.Suffix
}

// The units of parameters and measures.
var (
	One                 = Unit{"", "", Number, 1}
	Millimetre          = Unit{"mm", "mm", Length, 1e-3}
	Micrometre          = Unit{"µm", "um", Length, 1e-6}
	Nanometre           = Unit{"nm", "nm", Length, 1e-9}
	Microradian         = Unit{"µrad", "urad", Angle, 1e-6}
	Kilogram            = Unit{"kg", "kg", Mass, 1}
	Hertz               = Unit{"Hz", "hz", Frequency, 1}
	Newton              = Unit{"N", "n", Force, 1}
	Megapascal          = Unit{"MPa", "mpa", Stress, 1e6}
	NewtonPerMm         = Unit{"N/mm", "n_per_mm", Stiffness, 1e3}
	NewtonMetrePerRad   = Unit{"N m/rad", "n_m_per_rad", AngularStiffness, 1}
	Watt                = Unit{"W", "w", Power, 1}
	Kelvin              = Unit{"K", "k", Temperature, 1}
	Volt                = Unit{"V", "v", Voltage, 1}
	Microsecond         = Unit{"µs", "us", Time, 1e-6}
	MillimetrePerMinute = Unit{"mm/min", "mm_per_min", Velocity, 1e-3 / 60}
	Degree              = Unit{"°", "deg", Angle, 0.017453292519943295}
)
