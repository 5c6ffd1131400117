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
	models.Length:            {"a length", prefixed("m", "nm", "µm", "mm", "cm", "m")},
	models.Angle:             {"an angle", append(prefixed("rad", "nrad", "µrad", "mrad", "rad"), spelling{"°", degree}, spelling{"deg", degree})},
	models.Mass:              {"a mass", []spelling{{"mg", "1e-6"}, {"g", "1e-3"}, {"kg", "1"}, {"t", "1e3"}}},
	models.Time:              {"a time", append(prefixed("s", "ns", "µs", "ms", "s"), spelling{"min", "60"}, spelling{"h", "3600"})},
	models.Frequency:         {"a frequency", prefixed("Hz", "mHz", "Hz", "kHz", "MHz")},
	models.Force:             {"a force", prefixed("N", "µN", "mN", "N", "kN")},
	models.Stress:            {"a stress", append(prefixed("Pa", "Pa", "kPa", "MPa", "GPa"), spelling{"N/mm²", "1e6"})},
	models.Stiffness:         {"a stiffness", []spelling{{"N/m", "1"}, {"N/mm", "1e3"}, {"N/µm", "1e6"}, {"kN/m", "1e3"}, {"kN/mm", "1e6"}, {"mN/µm", "1e3"}}},
	models.AngularStiffness:  {"an angular stiffness", []spelling{{"N m/rad", "1"}, {"Nm/rad", "1"}, {"kN m/rad", "1e3"}, {"mN m/rad", "1e-3"}, {"N mm/rad", "1e-3"}}},
	models.Power:             {"a power", prefixed("W", "µW", "mW", "W", "kW")},
	models.Temperature:       {"a temperature difference", prefixed("K", "mK", "K")},
	models.Density:           {"a density", []spelling{{"kg/m³", "1"}, {"g/cm³", "1e3"}, {"kg/dm³", "1e3"}, {"t/m³", "1e3"}}},
	models.Inertia:           {"a moment of inertia", []spelling{{"kg m²", "1"}, {"kg mm²", "1e-6"}, {"g mm²", "1e-9"}, {"g cm²", "1e-7"}}},
	models.Acceleration:      {"an acceleration", []spelling{{"m/s²", "1"}, {"mm/s²", "1e-3"}}},
	models.Velocity:          {"a velocity", []spelling{{"m/s", "1"}, {"mm/s", "1e-3"}, {"µm/s", "1e-6"}}},
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
	models.AccelerationNoise: {"an acceleration density", []spelling{{"m/s²/√Hz", "1"}, {"mm/s²/√Hz", "1e-3"}, {"µm/s²/√Hz", "1e-6"}, {"nm/s²/√Hz", "1e-9"}}},
	models.Damping:           {"a damping constant", []spelling{{"N s/m", "1"}, {"N s/mm", "1e3"}, {"N/(m/s)", "1"}}},
}

// degree is one degree in radians, the double that the column's unit has.
var degree = strconv.FormatFloat(models.Degree.SI, 'g', -1, 64)

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
			value, ok := new(big.Rat).SetString(s.si)
			if !ok {
				panic("configs: value of a unit is no number")
			}
			index[normal(s.symbol)] = append(index[normal(s.symbol)], known{dimension, value})
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

// symbols lists the symbols of a dimension, one per value in the table.
func symbols(d models.Dimension) []string {
	var list []string
	for _, s := range writable[d].units {
		if s.symbol != "" && s.symbol != "deg" && s.symbol != "/K" && s.symbol != "Nm/rad" {
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
