package report

import (
	"math"
	"strings"
	"testing"

	"flexwright/objective"
)

// A bar ends at the stored tail, where there is none at that of the page's parts, and nowhere
// where there is neither or it says nothing.
func TestTailBars(t *testing.T) {
	s := syntheticSpec()
	column := func(m objective.Measure) string { return s.Column(objective.Ref{Index: int(m)}) }
	d := chosen{design: Design{ID: 7}}
	for _, m := range []objective.Measure{objective.ParasiticYaw, objective.LostMotion, objective.PeakStress, objective.DriveForce, objective.SupportStiffness} {
		d.row.Measures.Set(m, 2)
	}
	d.row.Measures.Set(objective.ParasiticYaw.Tail(), 40)
	parts := &objective.Scatter{Spec: &objective.ToleranceSpec{Share: 0.9}, Measures: []objective.MeasureScatter{
		{Measure: objective.ParasiticYaw, Tail: 41}, // the run's own counts
		{Measure: objective.LostMotion, Tail: 3},
		{Measure: objective.PeakStress, Tail: 2}, // no part errs
		{Measure: objective.DriveForce, Tail: math.NaN()},
		{Measure: objective.SupportStiffness, Tail: math.Inf(-1)},
		{Measure: objective.CrossForce, Tail: 5}, // without a nominal value
	}}
	bars := tailBars{ends: map[string]map[Design]float64{}}
	bars.add(d, s, nil)
	bars.add(d, s, parts)
	want := map[string]float64{column(objective.ParasiticYaw): 40, column(objective.LostMotion): 3}
	for name, ends := range bars.ends {
		if len(ends) != 1 || ends[d.design] != want[name] {
			t.Errorf("%s: %v, want %g", name, ends, want[name])
		}
	}
	if len(bars.ends) != len(want) || strings.Join(bars.shares, " ") != "90\u202f%" {
		t.Errorf("bars along %v, shares %v", bars.ends, bars.shares)
	}
}

// The page holds the bars by the rows of the picked designs and says what they are; without
// designs in full it says nothing of them.
func TestPageOfTails(t *testing.T) {
	in := syntheticInput(t, 300)
	in.Designs = []Design{{ID: 123}}
	page := write(t, in)
	d := decodeData(t, page)
	n := 0
	for _, c := range d.Columns {
		for row := range c.Tails {
			picked := false
			for _, p := range d.Picks {
				picked = picked || p == row
			}
			if !picked {
				t.Errorf("%s: a bar of row %d, picked are %v", c.Name, row, d.Picks)
			}
			n++
		}
	}
	if n == 0 || !strings.Contains(page, `id="key-tail"`) || !strings.Contains(page, "95\u202f% of its parts are no worse than") {
		t.Errorf("%d bars, or no word of them", n)
	}
	in.Brief = func(int64) *Brief { return &Brief{Problem: "of another version"} }
	page = write(t, in)
	for _, c := range decodeData(t, page).Columns {
		if len(c.Tails) > 0 {
			t.Errorf("%s has bars without parts", c.Name)
		}
	}
	if strings.Contains(page, `id="key-tail"`) {
		t.Error("bars are explained where there are none")
	}
}
