package configs

import (
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/objective"
)

// Values by definition of the units (BIPM, The International System of Units,
// 9th ed., 2019). The wanted double is the one nearest to the decimal, which is
// what the Go compiler makes of the constant: there is no tolerance.
func TestParseQuantity(t *testing.T) {
	pascal := models.Unit{Symbol: "Pa", Dimension: models.Stress, SI: 1}
	newtonPerMetre := models.Unit{Symbol: "N/m", Dimension: models.Stiffness, SI: 1}
	for _, c := range []struct {
		text string
		unit models.Unit
		want float64
	}{
		{"48 mm", models.Millimetre, 48},
		{"0.35 mm", models.Millimetre, 0.35},
		{"0.35mm", models.Millimetre, 0.35},
		{"5 µm", models.Millimetre, 0.005}, // U+00B5
		{"5 μm", models.Millimetre, 0.005}, // U+03BC
		{"5 um", models.Millimetre, 0.005},
		{"350 um", models.Millimetre, 0.35},
		{"0.00035 m", models.Millimetre, 0.35},
		{"3.5e-4 m", models.Millimetre, 0.35},
		{"1 nm", models.Millimetre, 0.000001},
		{"1 mm", models.Micrometre, 1000},
		{"0.1 mm", models.Micrometre, 100},
		{"0.3 cm", models.Millimetre, 3},
		{"120 MPa", models.Megapascal, 120},
		{"0.1 GPa", models.Megapascal, 100},
		{"71.7 GPa", pascal, 71.7e9},
		{"160 N/mm²", models.Megapascal, 160},
		{"160 N/mm^2", models.Megapascal, 160},
		{"160 N/mm2", models.Megapascal, 160},
		{"1.2 kg", models.Kilogram, 1.2},
		{"1200 g", models.Kilogram, 1.2},
		{"25 Hz", models.Hertz, 25},
		{"0.025 kHz", models.Hertz, 25},
		{"50 µrad", models.Microradian, 50},
		{"0.05 mrad", models.Microradian, 50},
		{"90 °", models.Degree, 90},
		{"90 deg", models.Degree, 90},
		{"3 N/mm", models.NewtonPerMm, 3},
		{"3 N/mm", newtonPerMetre, 3000},
		{"3000 N/m", models.NewtonPerMm, 3},
		{"3 N / mm", models.NewtonPerMm, 3},
		{"0.003 N/µm", models.NewtonPerMm, 3},
		{"2 N·m/rad", models.NewtonMetrePerRad, 2},
		{"2 Nm/rad", models.NewtonMetrePerRad, 2},
		{"2 N m / rad", models.NewtonMetrePerRad, 2},
		{"150 µs", models.Microsecond, 150},
		{"0.15 ms", models.Microsecond, 150},
		{"-2.5 K", models.Kelvin, -2.5},
		{"+2.5 mK", models.Kelvin, 0.0025},
		{"7 Ω", models.Unit{Symbol: "Ω", Dimension: models.Resistance, SI: 1}, 7},
		{"7 \u2126", models.Unit{Symbol: "Ω", Dimension: models.Resistance, SI: 1}, 7},
		{"7 ohm", models.Unit{Symbol: "Ω", Dimension: models.Resistance, SI: 1}, 7},
		{"12 N/√W", models.Unit{Symbol: "N/√W", Dimension: models.MotorConstant, SI: 1}, 12},
		{"12 N/sqrt(W)", models.Unit{Symbol: "N/√W", Dimension: models.MotorConstant, SI: 1}, 12},
		{"23.4e-6 1/K", perKelvin, 23.4e-6},
		{"23.4 ppm/K", perKelvin, 23.4e-6},
		{"23.4 µm/(m K)", perKelvin, 23.4e-6},
		{"130 W/(m·K)", conductance, 130},
		{"2.81 g/cm³", density, 2810},
		// International yard and pound agreement, 1959: 1 in = 25.4 mm, 1 lb =
		// 0.453 592 37 kg; CGPM 1901: g = 9.806 65 m/s². Pound-force and psi:
		// NIST SP 811, 2008, appendix B (4.448 221 615 260 5 N, 6894.757 Pa).
		{"2 in", models.Millimetre, 50.8},
		{"0.13 lb", models.Kilogram, 0.0589670081},
		{"1 lbf", models.Newton, 4.4482216152605},
		{"23 ksi", models.Megapascal, 23 * 4.4482216152605 / (0.0254 * 0.0254) / 1e3},
		{"1000 psi", models.Megapascal, 1000 * 4.4482216152605 / (0.0254 * 0.0254) / 1e6},
		{"10 lbf/in", models.NewtonPerMm, 10 * 4.4482216152605 / 0.0254 / 1e3},
		{"0.1 lb/in³", density, 0.1 * 0.45359237 / (0.0254 * 0.0254 * 0.0254)},
		{"2 g", models.Unit{Symbol: "m/s²", Dimension: models.Acceleration, SI: 1}, 19.6133},
		{"2 g", models.Kilogram, 0.002},
		{"1 arcsec", models.Microradian, 4.84813681109536},
		{"30 %", models.One, 0.3},
		{"1e3", models.One, 1000},
		{".5", models.One, 0.5},
		{"2.", models.One, 2},
		{"0", models.One, 0},
	} {
		got, err := ParseQuantity(c.text, c.unit)
		if err != nil || got != c.want {
			t.Errorf("%s in %s: %v, %v, want %v", c.text, c.unit.Symbol, got, err, c.want)
		}
	}
}

func TestParseQuantityRefuses(t *testing.T) {
	for _, text := range []string{
		"", " ", "mm", "- 3 mm", "3", "3 ", "3 mm mm", "3 5 mm", "3 e5 mm", "1e mm", "1e5", "3 Hz", "3 MM", "3 m m", "--3 mm", "3..5 mm", "3.5.1 mm",
		"1_000 mm", "010 mm", "00.5 mm", "0x10 mm", "0b1 mm", "1,5 mm", "1,500 mm", ".inf mm", "inf mm", "NaN mm", "1e400 mm", "1e-400 mm", "1e99999999999 mm",
		"1e320 m", "1e-329 nm", strings.Repeat("9", 61) + " mm", "３ mm", "−3 mm", "3 mm # x", "3 mm/", "3 (mm)",
	} {
		if v, err := ParseQuantity(text, models.Millimetre); err == nil {
			t.Errorf("%q is accepted as %g mm", text, v)
		}
	}
}

// A number in a unit that a brief may not write is refused with what it is in one
// that it may, and no refusal gives the number another unit.
func TestForeignUnits(t *testing.T) {
	for _, c := range []struct {
		text     string
		unit     models.Unit
		accepted string
	}{
		{"0.13 lbs", models.Kilogram, "0.13 lbs = 0.05897 kg"},
		{"0.5 lb", models.Newton, "0.5 lb = 2.224 N"},
		{"3 ft", models.Millimetre, "3 ft = 914.4 mm"},
		{"12 thou", models.Millimetre, "12 thou = 0.3048 mm"},
		{"5 kgf", models.Newton, "5 kgf = 49.03 N"},
		{"600 rpm", models.Hertz, "600 rpm = 10 Hz"},
		{"0.13 stone", models.Kilogram, "such as 1.5 kg"},
		{"25 N", models.Kilogram, "such as 1.5 kg"},
		{"25", models.Kilogram, "such as 25 kg"},
	} {
		_, err := ParseQuantity(c.text, c.unit)
		if err == nil || !strings.Contains(err.Error(), c.accepted+")") {
			t.Errorf("%s in %s: %v, want %s", c.text, c.unit.Symbol, err, c.accepted)
		}
	}
	for d, list := range foreign {
		for _, s := range list {
			rational(s.si)
			if u, ok := findUnit(s.symbol, d); ok && u.dimension == d {
				t.Errorf("%s is refused and accepted", s.symbol)
			}
		}
	}
}

// units of everything that a brief can give.
func allUnits(t *testing.T) []models.Unit {
	units := []models.Unit{models.One, models.Nanometre, models.NewtonMetrePerRad, models.Watt, models.Kelvin, models.Volt, models.Microsecond, models.Degree}
	for _, layout := range Layouts() {
		for _, p := range layout.Parameters() {
			units = append(units, p.Unit)
		}
	}
	for i := range objective.Table {
		units = append(units, objective.Table[i].Unit)
	}
	var walk func(fields []Field)
	walk = func(fields []Field) {
		for i := range fields {
			units = append(units, fields[i].unit())
			walk(fields[i].Fields)
		}
	}
	walk(Sections)
	walk(materialFields)
	return units
}

// What is written in the unit of its column is that number bit for bit, and
// every such unit can be written.
func TestFormatQuantity(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, u := range allUnits(t) {
		for range 200 {
			v := math.Float64frombits(rng.Uint64())
			if math.IsNaN(v) || math.Abs(v) > 1e300 || math.Abs(v) < 1e-300 {
				continue
			}
			got, err := ParseQuantity(FormatQuantity(v, u), u)
			if err != nil || got != v {
				t.Fatalf("%s: %v, %v, want %v", FormatQuantity(v, u), got, err, v)
			}
			short := math.Round(v*1e3/math.Pow(10, math.Ceil(math.Log10(math.Abs(v))))) / 1e3
			if got, err := ParseQuantity(withUnit(decimal(short), u.Symbol), u); err != nil || got != short {
				t.Fatalf("%v%s: %v, %v", short, u.Symbol, got, err)
			}
		}
	}
}

// Metric prefixes move the decimal point and nothing else: the nearest double of
// the shifted decimal, as the standard library parses it.
func TestPrefixesAreExact(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	for range 2000 {
		number := decimal(math.Round(rng.Float64()*1e6) / math.Pow(10, float64(rng.IntN(7))))
		for _, c := range []struct {
			symbol   string
			unit     models.Unit
			exponent string
		}{
			{"µm", models.Millimetre, "e-3"}, {"m", models.Millimetre, "e3"}, {"mm", models.Micrometre, "e3"}, {"nm", models.Micrometre, "e-3"},
			{"GPa", models.Megapascal, "e3"}, {"kPa", models.Megapascal, "e-3"}, {"g", models.Kilogram, "e-3"}, {"N/m", models.NewtonPerMm, "e-3"},
		} {
			want, err := strconv.ParseFloat(number+c.exponent, 64)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := ParseQuantity(number+" "+c.symbol, c.unit); err != nil || got != want {
				t.Fatalf("%s %s: %v, %v, want %v", number, c.symbol, got, err, want)
			}
		}
	}
}

// A unit's plain form belongs to one unit within a dimension.
func TestUnitsAreUnambiguous(t *testing.T) {
	for symbol, list := range bySymbol {
		for i := range list {
			for k := range list[:i] {
				if list[i].dimension == list[k].dimension && list[i].si.Cmp(list[k].si) != 0 {
					t.Errorf("%s has two values", symbol)
				}
			}
		}
	}
}
