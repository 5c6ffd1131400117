package configs

import (
	"math/big"
	"slices"
	"strconv"
	"strings"

	"flexwright/models"
)

// spelling is a unit that a brief may write: its symbol, and its value in SI as
// an exact decimal.
type spelling struct {
	symbol string
	si     string
}

// kindOfQuantity is what a brief may write for one dimension.
type kindOfQuantity struct {
	noun  string // with its article, as in "a length"
	units []spelling
}

// writable is the table of units by dimension. Symbols are matched without
// regard to the form of µ, Ω, °, products (space, · or *) and powers (³, ^3, 3).
var writable = map[models.Dimension]kindOfQuantity{
	models.Number:            {"a number", []spelling{{"", "1"}, {"%", "0.01"}}},
	models.Length:            {"a length", append(prefixed("m", "nm", "µm", "mm", "cm", "m"), spelling{"in", inch})},
	models.Angle:             {"an angle", append(prefixed("rad", "nrad", "µrad", "mrad", "rad"), spelling{"°", degree}, spelling{"deg", degree}, spelling{"arcsec", arcsecond})},
	models.Mass:              {"a mass", []spelling{{"mg", "1e-6"}, {"g", "1e-3"}, {"kg", "1"}, {"t", "1e3"}, {"lb", pound}}},
	models.Time:              {"a time", append(prefixed("s", "ns", "µs", "ms", "s"), spelling{"min", "60"}, spelling{"h", "3600"})},
	models.Frequency:         {"a frequency", prefixed("Hz", "mHz", "Hz", "kHz", "MHz")},
	models.Force:             {"a force", append(prefixed("N", "µN", "mN", "N", "kN"), spelling{"lbf", poundForce})},
	models.Stress:            {"a stress", append(prefixed("Pa", "Pa", "kPa", "MPa", "GPa"), spelling{"N/mm²", "1e6"}, spelling{"psi", psi}, spelling{"ksi", ksi})},
	models.Stiffness:         {"a stiffness", []spelling{{"N/m", "1"}, {"N/mm", "1e3"}, {"N/µm", "1e6"}, {"kN/m", "1e3"}, {"kN/mm", "1e6"}, {"mN/µm", "1e3"}, {"lbf/in", poundForcePerInch}}},
	models.AngularStiffness:  {"an angular stiffness", []spelling{{"N m/rad", "1"}, {"Nm/rad", "1"}, {"kN m/rad", "1e3"}, {"mN m/rad", "1e-3"}, {"N mm/rad", "1e-3"}}},
	models.Power:             {"a power", prefixed("W", "µW", "mW", "W", "kW")},
	models.Temperature:       {"a temperature difference", prefixed("K", "mK", "K")},
	models.Density:           {"a density", []spelling{{"kg/m³", "1"}, {"g/cm³", "1e3"}, {"kg/dm³", "1e3"}, {"t/m³", "1e3"}, {"lb/in³", poundPerCubicInch}}},
	models.Inertia:           {"a moment of inertia", []spelling{{"kg m²", "1"}, {"kg mm²", "1e-6"}, {"g mm²", "1e-9"}, {"g cm²", "1e-7"}}},
	models.Acceleration:      {"an acceleration", []spelling{{"m/s²", "1"}, {"mm/s²", "1e-3"}, {"g", gravity}}},
	models.Velocity:          {"a velocity", []spelling{{"m/s", "1"}, {"mm/s", "1e-3"}, {"µm/s", "1e-6"}, {"mm/min", perMinute}}},
	models.ForceConstant:     {"a force constant", []spelling{{"N/A", "1"}, {"mN/A", "1e-3"}}},
	models.MotorConstant:     {"a motor constant", []spelling{{"N/√W", "1"}, {"N/sqrt(W)", "1"}}},
	models.Resistance:        {"a resistance", append(prefixed("Ω", "mΩ", "Ω", "kΩ"), spelling{"ohm", "1"})},
	models.Inductance:        {"an inductance", prefixed("H", "µH", "mH", "H")},
	models.Voltage:           {"a voltage", prefixed("V", "µV", "mV", "V", "kV")},
	models.ThermalResistance: {"a thermal resistance", []spelling{{"K/W", "1"}}},
	models.Expansion:         {"a thermal expansion", []spelling{{"1/K", "1"}, {"/K", "1"}, {"ppm/K", "1e-6"}, {"µm/(m K)", "1e-6"}}},
	models.Conductivity:      {"a thermal conductivity", []spelling{{"W/(m K)", "1"}, {"W/m/K", "1"}}},
	models.CurrentNoise:      {"a current density", []spelling{{"A/√Hz", "1"}, {"mA/√Hz", "1e-3"}, {"µA/√Hz", "1e-6"}, {"nA/√Hz", "1e-9"}}},
	models.LengthNoise:       {"a position density", []spelling{{"m/√Hz", "1"}, {"µm/√Hz", "1e-6"}, {"nm/√Hz", "1e-9"}, {"pm/√Hz", "1e-12"}, {"fm/√Hz", "1e-15"}}},
	models.AccelerationNoise: {"an acceleration density", []spelling{{"m/s²/√Hz", "1"}, {"mm/s²/√Hz", "1e-3"}, {"µm/s²/√Hz", "1e-6"}, {"nm/s²/√Hz", "1e-9"}, {"µg/√Hz", "9.80665e-6"}, {"ng/√Hz", "9.80665e-9"}}},
	models.Compliance:        {"a response", []spelling{{"m/N", "1"}, {"mm/N", "1e-3"}, {"µm/N", "1e-6"}, {"nm/N", "1e-9"}}},
	models.Damping:           {"a damping constant", []spelling{{"N s/m", "1"}, {"N s/mm", "1e3"}, {"N/(m/s)", "1"}}},
}

// degree is one degree in radians, the double that the column's unit has.
var degree = strconv.FormatFloat(models.Degree.SI, 'g', -1, 64)

// perMinute is one millimetre per minute in m/s, likewise.
var perMinute = strconv.FormatFloat(models.MillimetrePerMinute.SI, 'g', -1, 64)

// Units beside the SI. Inch, pound and standard gravity are exact by definition
// (international yard and pound agreement, 1959; CGPM 1901), the others follow.
const (
	inch              = "0.0254"
	pound             = "0.45359237"
	gravity           = "9.80665"
	poundForce        = "4.4482216152605"             // pound x gravity
	psi               = "44482216152605/6451600000"   // pound-force / inch²
	ksi               = "44482216152605/6451600"      // 1000 psi
	poundForcePerInch = "44482216152605/254000000000" // N/m
	poundPerCubicInch = "453592370000/16387064"
	arcsecond         = "17453292519943295/3600000000000000000000" // degree / 3600
)

// foreign are units that a brief may not write, so that one spelling of each
// stays: their refusal says what the number is in a unit that it may.
var foreign = map[models.Dimension][]spelling{
	models.Length:    {{"inch", inch}, {"\"", inch}, {"ft", "0.3048"}, {"mil", "0.0000254"}, {"thou", "0.0000254"}},
	models.Angle:     {{"arcmin", "17453292519943295/60000000000000000000"}, {"'", "17453292519943295/60000000000000000000"}, {"\"", arcsecond}},
	models.Mass:      {{"lbs", pound}, {"lbm", pound}, {"oz", "0.028349523125"}, {"slug", "14.593902937206"}},
	models.Force:     {{"kgf", gravity}, {"kp", gravity}, {"gf", "0.00980665"}, {"lb", poundForce}, {"lbs", poundForce}, {"ozf", "0.27801385095378125"}},
	models.Stress:    {{"bar", "1e5"}, {"kgf/mm²", "9806650"}, {"Msi", "6894757293.168361"}},
	models.Stiffness: {{"lb/in", poundForcePerInch}},
	models.Power:     {{"hp", "745.6998715822702"}},
	models.Frequency: {{"rpm", "1/60"}, {"rad/s", "0.15915494309189535"}},
}

// converted writes what a number in a foreign unit is in u; empty where the
// symbol is none.
func converted(number *big.Rat, symbol string, u models.Unit) string {
	for _, s := range foreign[u.Dimension] {
		if normal(s.symbol) != normal(symbol) {
			continue
		}
		value, _ := new(big.Rat).Mul(number, rational(s.si)).Float64()
		return withUnit(strconv.FormatFloat(u.FromSI(value), 'g', 4, 64), u.Symbol)
	}
	return ""
}

// rational reads a value of the tables of units.
func rational(si string) *big.Rat {
	value, ok := new(big.Rat).SetString(si)
	if !ok {
		panic("configs: value of a unit is no number")
	}
	return value
}

// prefixed makes spellings of a base unit that is 1 in SI.
func prefixed(base string, symbols ...string) []spelling {
	values := map[string]string{"n": "1e-9", "µ": "1e-6", "m": "1e-3", "c": "1e-2", "": "1", "k": "1e3", "M": "1e6", "G": "1e9"}
	out := make([]spelling, len(symbols))
	for i, symbol := range symbols {
		value, ok := values[strings.TrimSuffix(symbol, base)]
		if !ok {
			panic("configs: unknown prefix of a unit")
		}
		out[i] = spelling{symbol, value}
	}
	return out
}

// plainForm maps the ways to write one symbol onto one of them.
var plainForm = strings.NewReplacer("\u00b5", "u", "\u03bc", "u", "\u03a9", "ohm", "\u2126", "ohm", "°", "deg",
	"²", "2", "³", "3", "^", "", "√W", "sqrt(W)", "√Hz", "sqrt(Hz)", "·", " ", "⋅", " ", "*", " ")

// normal returns the plain form of a unit symbol.
func normal(symbol string) string {
	s := strings.Join(strings.Fields(plainForm.Replace(symbol)), " ")
	s = strings.ReplaceAll(strings.ReplaceAll(s, " /", "/"), "/ ", "/")
	return strings.ReplaceAll(strings.ReplaceAll(s, "( ", "("), " )", ")")
}

// known is a unit found by its symbol.
type known struct {
	dimension models.Dimension
	si        *big.Rat
}

// bySymbol finds a unit by the normal form of its symbol, within a dimension
// first: "m" is looked for among lengths where a length is wanted.
var bySymbol = func() map[string][]known {
	index := map[string][]known{}
	for dimension, k := range writable {
		for _, s := range k.units {
			index[normal(s.symbol)] = append(index[normal(s.symbol)], known{dimension, rational(s.si)})
		}
	}
	for _, list := range index {
		slices.SortFunc(list, func(a, b known) int { return int(a.dimension) - int(b.dimension) })
	}
	return index
}()

// findUnit returns the unit of a symbol, of the wanted dimension where the
// symbol has several meanings.
func findUnit(symbol string, wanted models.Dimension) (known, bool) {
	list := bySymbol[normal(symbol)]
	for _, k := range list {
		if k.dimension == wanted {
			return k, true
		}
	}
	if len(list) == 0 {
		return known{}, false
	}
	return list[0], true
}

// unlisted are units that a brief may write but that messages do not propose:
// second spellings, and those beside the SI.
var unlisted = []string{"", "deg", "/K", "Nm/rad", "in", "lb", "lbf", "psi", "ksi", "lbf/in", "lb/in³", "arcsec"}

// symbols lists the symbols of a dimension, one per value in the table.
func symbols(d models.Dimension) []string {
	var list []string
	for _, s := range writable[d].units {
		if !slices.Contains(unlisted, s.symbol) {
			list = append(list, s.symbol)
		}
	}
	return list
}

// exact returns the decimal that is printed for v, as a fraction. Unit values
// and defaults are such decimals: 1e-3 is a thousandth, not the double next to it.
func exact(v float64) *big.Rat {
	r, ok := new(big.Rat).SetString(strconv.FormatFloat(v, 'g', -1, 64))
	if !ok {
		panic("configs: not a finite number")
	}
	return r
}
