package main

import (
	"testing"

	"flexwright/objective"
)

// A number of parts that the fine check does not confirm is printed as solved parts have it, with a mark, and limits are
// judged by that.
func TestFrontPrintsSolvedParts(t *testing.T) {
	m := objective.ConformingParts
	column := objective.Column{Name: objective.Table[m].Column(), Kind: objective.Float, Get: func(r *objective.Row) objective.Cell {
		v, ok := r.Measures.Get(m)
		return objective.Cell{Float: v, Null: !ok}
	}}
	spec := &objective.Spec{Limits: []objective.Limit{{Ref: objective.Ref{Index: int(m)}, AtLeast: 0.95, AtMost: 2}}}
	v := &frontView{spec: spec, limited: spec, columns: []objective.Column{column}, options: &frontOptions{},
		solved: map[string]func(*objective.Row) (objective.Cell, bool){column.Name: func(r *objective.Row) (objective.Cell, bool) {
			return objective.Cell{Float: 0.76}, r.ID == 1
		}}}
	for _, c := range []struct {
		id   int64
		text string
		met  bool
	}{{1, "0.76*", false}, {2, "0.97", true}} {
		row := objective.Row{ID: c.id}
		row.Measures.Set(m, 0.97)
		if got := v.cell(&column, &row); got != c.text {
			t.Errorf("design %d: %q, want %q", c.id, got, c.text)
		}
		if _, margin := v.nearestLimit(&row); margin >= 0 != c.met {
			t.Errorf("design %d: margin %g", c.id, margin)
		}
	}
}
