package main

import (
	"math"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// goalColumns are the columns of goals.
func goalColumns(columns []objective.Column, goals []results.Goal) []*objective.Column {
	at := make([]*objective.Column, len(goals))
	for i, g := range goals {
		at[i] = results.ColumnNamed(columns, g.Column)
	}
	return at
}

// objectivesOf writes the goals of a row so that least is best; false where one has
// no value.
func objectivesOf(at []*objective.Column, goals []results.Goal, row *objective.Row, out []float64) bool {
	for i, c := range at {
		cell := c.Get(row)
		if cell.Null || math.IsInf(cell.Float, 0) {
			return false
		}
		out[i] = cell.Float
		if goals[i].Sense == objective.Most.String() {
			out[i] = -cell.Float
		}
	}
	return true
}

// objectives of the rows of a front, one after the other.
func objectives(rows []objective.Row, columns []objective.Column, goals []results.Goal) []float64 {
	out := make([]float64, len(rows)*len(goals))
	at := goalColumns(columns, goals)
	for i := range rows {
		objectivesOf(at, goals, &rows[i], out[i*len(goals):][:len(goals)])
	}
	return out
}

// thinFront applies --epsilon, --thin and --knee.
func thinFront(rows []objective.Row, columns []objective.Column, goals []results.Goal, o frontOptions) []objective.Row {
	keep := func(numbers []int) {
		kept := make([]objective.Row, 0, len(numbers))
		for _, i := range numbers {
			kept = append(kept, rows[i])
		}
		rows = kept
	}
	m := len(goals)
	if o.box > 0 && len(rows) > 1 {
		objs := objectives(rows, columns, goals)
		epsilon := make([]float64, m)
		r := search.RangesOf(m, objs)
		for k := range epsilon {
			epsilon[k] = o.box * max(r.High[k]-r.Low[k], math.SmallestNonzeroFloat64)
		}
		keep(search.EpsilonFront(objs, m, epsilon))
	}
	if o.thin > 0 && len(rows) > o.thin {
		keep(search.Thin(objectives(rows, columns, goals), m, o.thin))
	}
	if o.knee && len(rows) > 1 {
		keep([]int{search.Knee(objectives(rows, columns, goals), m)})
	}
	return rows
}
