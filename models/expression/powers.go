package expression

import (
	"fmt"
	"strings"

	"flexwright/models"
)

// Powers is the dimension of a value: the exponents of metre, kilogram, second
// and radian.
type Powers struct{ Metre, Kilogram, Second, Radian int8 }

var powers = map[models.Dimension]Powers{
	models.Number:           {},
	models.Length:           {Metre: 1},
	models.Angle:            {Radian: 1},
	models.Mass:             {Kilogram: 1},
	models.Time:             {Second: 1},
	models.Frequency:        {Second: -1},
	models.Force:            {Metre: 1, Kilogram: 1, Second: -2},
	models.Stress:           {Metre: -1, Kilogram: 1, Second: -2},
	models.Stiffness:        {Kilogram: 1, Second: -2},
	models.AngularStiffness: {Metre: 2, Kilogram: 1, Second: -2, Radian: -1},
	models.Density:          {Metre: -3, Kilogram: 1},
	models.Inertia:          {Metre: 2, Kilogram: 1},
	models.Acceleration:     {Metre: 1, Second: -2},
	models.Velocity:         {Metre: 1, Second: -1},
}

// Of returns the powers of a dimension; false for one that formulas do not know
// (electrical and thermal ones).
func Of(d models.Dimension) (Powers, bool) {
	p, ok := powers[d]
	return p, ok
}

var nouns = map[Powers]string{
	{}:                                   "a plain number",
	{Metre: 1}:                           "a length",
	{Metre: 2}:                           "an area",
	{Metre: 3}:                           "a volume",
	{Radian: 1}:                          "an angle",
	{Kilogram: 1}:                        "a mass",
	{Second: 1}:                          "a time",
	{Metre: 1, Kilogram: 1, Second: -2}:  "a force",
	{Kilogram: 1, Second: -2}:            "a stiffness",
	{Metre: -3, Kilogram: 1}:             "a density",
	{Metre: -1, Kilogram: 1, Second: -2}: "a stress",
	{Metre: 2, Kilogram: 1}:              "a moment of inertia",
	{Metre: 1, Second: -1}:               "a velocity",
	{Metre: 1, Second: -2}:               "an acceleration",
}

// String names the dimension with its article, as in "a length".
func (p Powers) String() string {
	if noun, ok := nouns[p]; ok {
		return noun
	}
	var units []string
	for _, u := range []struct {
		symbol string
		power  int8
	}{{"kg", p.Kilogram}, {"m", p.Metre}, {"s", p.Second}, {"rad", p.Radian}} {
		switch u.power {
		case 0:
		case 1:
			units = append(units, u.symbol)
		default:
			units = append(units, fmt.Sprintf("%s^%d", u.symbol, u.power))
		}
	}
	return "a quantity in " + strings.Join(units, " ")
}

// times returns the powers of a product with q to the power n; false beyond what
// any formula needs.
func (p Powers) times(q Powers, n int8) (Powers, bool) {
	const most = 30
	r := Powers{p.Metre + n*q.Metre, p.Kilogram + n*q.Kilogram, p.Second + n*q.Second, p.Radian + n*q.Radian}
	for _, e := range [4]int8{r.Metre, r.Kilogram, r.Second, r.Radian} {
		if e > most || e < -most {
			return r, false
		}
	}
	return r, true
}

// root returns the powers of a square root; false when one is odd.
func (p Powers) root() (Powers, bool) {
	even := p.Metre%2 == 0 && p.Kilogram%2 == 0 && p.Second%2 == 0 && p.Radian%2 == 0
	return Powers{p.Metre / 2, p.Kilogram / 2, p.Second / 2, p.Radian / 2}, even
}

// unit of a literal: a power of ten times an SI unit, or a factor.
type unit struct {
	powers   Powers
	exponent int     // of ten
	factor   float64 // 0: one
}

// degreeLetter stands for °, which is no letter, in what the parser reads.
const degreeLetter = "ϴ"

var units = map[string]unit{
	"nm": {Powers{Metre: 1}, -9, 0}, "µm": {Powers{Metre: 1}, -6, 0}, "um": {Powers{Metre: 1}, -6, 0},
	"mm": {Powers{Metre: 1}, -3, 0}, "cm": {Powers{Metre: 1}, -2, 0}, "m": {Powers{Metre: 1}, 0, 0},
	"mg": {Powers{Kilogram: 1}, -6, 0}, "g": {Powers{Kilogram: 1}, -3, 0}, "kg": {Powers{Kilogram: 1}, 0, 0},
	"rad": {Powers{Radian: 1}, 0, 0}, "mrad": {Powers{Radian: 1}, -3, 0}, "µrad": {Powers{Radian: 1}, -6, 0}, "urad": {Powers{Radian: 1}, -6, 0},
	"deg": {Powers{Radian: 1}, 0, models.Degree.SI}, degreeLetter: {Powers{Radian: 1}, 0, models.Degree.SI},
}

const unitsAccepted = "nm, µm, mm, cm, m, mg, g, kg, rad, mrad, µrad, °"
