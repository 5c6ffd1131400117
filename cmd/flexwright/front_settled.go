package main

import (
	"fmt"
	"strings"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
	"flexwright/search"
)

// settledGrowth is by how much the front's hypervolume may have grown over the last
// quarter of a run that counts as settled.
const settledGrowth = 0.01

// settled says how much the front still grew towards the end of the run; empty where
// there is nothing to compare.
func settled(folder *results.Folder) (string, error) {
	goals := folder.Manifest().Goals
	at, needed := goalColumns(folder.Columns(), goals), []string{"feasible"}
	for _, g := range goals {
		needed = append(needed, g.Column)
	}
	point := make([]float64, len(goals))
	var failed error
	growth, ok := search.LastQuarter(len(goals), folder.Manifest().Rows, func(yield func(int64, []float64) bool) {
		n := int64(-1)
		failed = folder.Scan(func(row *objective.Row) bool {
			n++
			return !row.Feasible || !objectivesOf(at, goals, row, point) || yield(n, point)
		}, needed...)
	})
	if failed != nil || !ok {
		return "", failed
	}
	text := fmt.Sprintf("over the last quarter of the designs the front's hypervolume grew by %s: ", percent(growth))
	if growth > settledGrowth {
		return text + "not settled, more designs will move it", nil
	}
	return text + "settled", nil
}

// notes are what there is to say of a front as a whole: whether the search is
// settled, what ends it, whether it misses its motion program without feedforward, and that a tightened limit gives a lower bound.
func (v *frontView) notes(front []objective.Row) ([]string, error) {
	var notes []string
	if len(v.bounds) == 0 && len(v.where) == 0 {
		text, err := settled(v.folder)
		if err != nil {
			return nil, err
		}
		if text != "" {
			notes = append(notes, text)
		}
	}
	if v.spec != nil {
		notes = append(notes, v.ends(front)...)
		for _, e := range diagnosis.AtEnd(v.spec, v.brief.Space(), front) {
			notes = append(notes, fmt.Sprintf("at the end of its range in %d of %s: %s", e.Number, counted(e.Of, "design"), endText(e)))
		}
	}
	if v.spec != nil && v.brief.HasMotion() {
		if text := diagnosis.Missed(v.spec, front); text != "" {
			notes = append(notes, text)
		}
	}
	if len(v.bounds) > 0 {
		notes = append(notes, "a lower bound: the search did not look for designs under this limit; one that does:", "  "+searchOnCommand(v.folder.Dir(), v.options.limits))
	}
	return notes, nil
}

// ends says of the front's end in each goal what it has run into.
func (v *frontView) ends(front []objective.Row) []string {
	var texts []string
	for k, g := range v.spec.Goals {
		c := results.ColumnNamed(v.columns, v.goals[k].Column)
		best := 0
		for i := range front {
			x, y := c.Get(&front[i]).Float, c.Get(&front[best]).Float
			if g.Sense == objective.Most && x > y || g.Sense == objective.Least && x < y {
				best = i
			}
		}
		limits, ranges := diagnosis.Reached(v.limited, v.brief.Space(), &front[best])
		var what []string
		for _, e := range ranges {
			what = append(what, strings.Replace(endText(e), ", ", " at its ", 1))
		}
		for _, l := range limits {
			what = append(what, v.spec.Name(l.Ref)+" at its limit")
		}
		if len(what) == 0 {
			what = []string{"no limit and no end of a range, nothing was found beyond"}
		}
		texts = append(texts, fmt.Sprintf("the end of %s %s: %s", g.Sense, v.spec.Name(g.Ref), strings.Join(what, ", ")))
	}
	return texts
}
