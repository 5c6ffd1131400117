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

// fewest is of how many designs a front is that can be called settled, or, with one goal,
// how many are feasible: fewer may stand still because hardly anything is feasible.
const fewest = 5

// settled says how much the front, of so many designs, still grew towards the end of the
// run; empty where there is nothing to compare.
func settled(folder *results.Folder, designs int) (string, error) {
	m := folder.Manifest()
	at, needed := goalColumns(folder.Columns(), m.Goals), []string{"feasible"}
	for _, g := range m.Goals {
		needed = append(needed, g.Column)
	}
	point := make([]float64, len(m.Goals))
	var failed error
	growth, ok := search.LastQuarter(len(m.Goals), m.Rows, func(yield func(int64, []float64) bool) {
		n := int64(-1)
		failed = folder.Scan(func(row *objective.Row) bool {
			n++
			return !row.Feasible || !objectivesOf(at, m.Goals, row, point) || yield(n, point)
		}, needed...)
	})
	if failed != nil || !ok || m.Rows < 4 {
		return "", failed
	}
	text, found := "the front's hypervolume grew by ", "a front of "+counted(designs, "design")
	few := designs < fewest
	if len(m.Goals) == 1 {
		text, found = "the best "+results.NameOf(m.Goals[0].Column)+" improved by ", "a run with "+counted(m.Feasible, "feasible design")
		few = m.Feasible < fewest
	}
	text = "over the last quarter of the designs " + text + percent(growth) + ": "
	switch {
	case growth > settledGrowth:
		text += "not settled, more designs will move it"
	case few:
		text += found + " does not tell whether it is settled"
	default:
		text += "settled"
	}
	return text, nil
}

// notes are what there is to say of a front as a whole: whether the search is
// settled, where it is the search's own, what ends it, whether it misses its motion
// program without feedforward, and that a tightened limit gives a lower bound.
func (v *frontView) notes(front []objective.Row) ([]string, error) {
	var notes []string
	if len(v.bounds) == 0 && len(v.where) == 0 && v.options.corrected == "" {
		text, err := settled(v.folder, len(front))
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
