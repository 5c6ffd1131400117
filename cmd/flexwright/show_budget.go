package main

import (
	"math"
	"strings"

	"flexwright/objective"
)

// budgetJSON is a budget with a key per column.
type budgetJSON struct {
	Title string           `json:"title"`
	Rows  []map[string]any `json:"rows"`
}

func budgetsJSON(budgets []objective.Budget) []budgetJSON {
	var list []budgetJSON
	for _, b := range budgets {
		j := budgetJSON{Title: b.Title}
		for _, r := range b.Rows {
			row := map[string]any{"name": r.Name, "unit": r.Unit.Symbol}
			if r.Note != "" {
				row["note"] = r.Note
			}
			for i, v := range r.Values {
				if key := strings.ReplaceAll(b.Columns[i], " ", "_"); math.IsNaN(v) || math.IsInf(v, 0) {
					row[key] = nil
				} else {
					row[key] = v
				}
			}
			j.Rows = append(j.Rows, row)
		}
		list = append(list, j)
	}
	return list
}
