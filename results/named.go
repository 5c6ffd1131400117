package results

import (
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// ColumnNamed returns the column called name, nil where there is none.
func ColumnNamed(columns []objective.Column, name string) *objective.Column {
	for i := range columns {
		if columns[i].Name == name {
			return &columns[i]
		}
	}
	return nil
}

var measureOf = func() map[string]objective.Measure {
	of := make(map[string]objective.Measure, objective.NumMeasures)
	for m := range objective.NumMeasures {
		of[objective.Table[m].Column()] = m
	}
	return of
}()

// MeasureOf returns the measure that a column holds.
func MeasureOf(column string) (objective.Measure, bool) {
	m, ok := measureOf[column]
	return m, ok
}

// Number says what a column of numbers holds, as a brief names it.
type Number struct {
	Name    string
	Unit    models.Unit
	Sense   objective.Sense // of a measure
	Measure bool            // else a parameter
}

// units of columns, by what the column's name ends in. The longest ending counts.
var units = []models.Unit{models.Millimetre, models.Micrometre, models.Nanometre, models.Microradian, models.Degree, models.Kilogram, models.Hertz,
	models.Newton, models.Megapascal, models.NewtonPerMm, models.NewtonMetrePerRad, models.Watt, models.Kelvin, models.Volt, models.Microsecond}

// NumberOf returns the measure or parameter that a column of numbers holds: a
// measure of the table, else what its name is without its unit. It reports false for
// a measure that is a text.
func NumberOf(column string) (Number, bool) {
	if m, ok := MeasureOf(column); ok {
		info := &objective.Table[m]
		return Number{info.Name, info.Unit, info.Sense, true}, !info.IsText()
	}
	n := Number{Name: column, Unit: models.One}
	for _, u := range units {
		if name, ok := strings.CutSuffix(column, "_"+u.Suffix); ok && len(name) < len(n.Name) {
			n.Name, n.Unit = name, u
		}
	}
	return n, true
}

// NameOf is what a brief calls what a column holds; the column's own name where
// it calls it nothing.
func NameOf(column string) string {
	if n, ok := NumberOf(column); ok {
		return n.Name
	}
	return column
}

// Nothing is what no unit that is printed leaves anything of: rounding errors of numbers
// that are zero.
const Nothing = 1e-12

// FailsMost says in words what limit a design fails most, given its column; of conforming_parts also what
// its parts fail at, if that is known.
func FailsMost(column, parts string) string {
	text := NameOf(column) + " most"
	if parts != "" && column == objective.Table[objective.ConformingParts].Column() {
		text += ", since its parts fail at " + parts
	}
	return text
}
