package main

import (
	"fmt"
	"io"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/report"
)

// writeComparison writes the page of a comparison; none where no file is named.
func writeComparison(path string, c *report.Comparison) error {
	if path == "" {
		return nil
	}
	return results.WriteFile(path, func(w io.Writer) error { return report.WriteComparison(w, c) })
}

// runsPage is the page of two runs, without the points of their fronts.
func runsPage(out *runsCompared, goals []results.Goal, columns []objective.Column) *report.Comparison {
	c := &report.Comparison{Title: "Two runs", Names: [2]string{out.A.Folder, out.B.Folder}, Sentences: []string{reachOfRuns(out)}}
	c.Tables = []report.ComparedTable{{Caption: "Numbers", Head: []string{"", "A", "B"}, Rows: numbersOfRuns(out, goals), Numbers: true}}
	if len(out.Differences) > 0 {
		t := report.ComparedTable{Caption: "Where the briefs differ", Head: []string{"key", "A", "B"}}
		for _, d := range out.Differences {
			t.Rows = append(t.Rows, []string{d.Key, orNothing(d.A), orNothing(d.B)})
		}
		c.Tables = append(c.Tables, t)
	}
	for _, g := range goals {
		column := results.ColumnNamed(columns, g.Column)
		c.Goals = append(c.Goals, report.ComparedGoal{Name: results.NameOf(g.Column), Unit: column.Unit, Most: g.Sense == objective.Most.String()})
	}
	return c
}

// designsPage is the page of two designs.
func designsPage(pathA, pathB string, a, b *comparedSide, list []compared) *report.Comparison {
	c := &report.Comparison{Title: "Two designs", Names: [2]string{pathA, pathB}}
	c.Sentences = []string{fmt.Sprintf("A: %s of %s, %s. B: %s of %s, %s. The largest relative difference first; what is equal is left out.",
		a.row.Layout, a.row.Material, a.row.Status, b.row.Layout, b.row.Material, b.row.Status)}
	for _, kind := range []string{"parameter", "measure", "margin"} {
		t := report.ComparedTable{Caption: map[string]string{"parameter": "Parameters", "measure": "Measures", "margin": "Margins to the limits of A's brief"}[kind],
			Head: []string{kind, "A", "B", "unit", "B less A, of the larger"}, Numbers: true}
		for _, x := range list {
			if x.Kind == kind && (x.Difference == nil || *x.Difference != 0) {
				t.Rows = append(t.Rows, []string{x.Name, orDash(x.A), orDash(x.B), x.Unit, relative(x.Difference)})
			}
		}
		if len(t.Rows) > 0 {
			c.Tables = append(c.Tables, t)
		}
	}
	return c
}
