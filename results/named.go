package results

import (
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

// NumberOf returns the measure or parameter that a column holds.
func NumberOf(column string) (Number, bool) {
	if m, ok := MeasureOf(column); ok {
		info := &objective.Table[m]
		return Number{info.Name, info.Unit, info.Sense, true}, !info.IsText()
	}
	for _, l := range models.Layouts() {
		for _, p := range l.Parameters() {
			if p.Unit.Column(p.Name) == column {
				return Number{Name: p.Name, Unit: p.Unit}, true
			}
		}
	}
	return Number{}, false
}

// NameOf is what a brief calls what a column holds; the column's own name where
// it calls it nothing.
func NameOf(column string) string {
	if n, ok := NumberOf(column); ok {
		return n.Name
	}
	return column
}
