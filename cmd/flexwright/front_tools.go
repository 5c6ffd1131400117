package main

import (
	"math"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// objectives of rows, so that least is best, row after row.
func objectives(rows []objective.Row, columns []objective.Column, goals []results.Goal) []float64 {
	out := make([]float64, 0, len(rows)*len(goals))
	for i := range rows {
		for _, g := range goals {
			v := results.ColumnNamed(columns, g.Column).Get(&rows[i]).Float
			if g.Sense == objective.Most.String() {
				v = -v
			}
			out = append(out, v)
		}
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
