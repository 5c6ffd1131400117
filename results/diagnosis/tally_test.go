package diagnosis

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

var (
	least = func(m objective.Measure, v float64) objective.Limit {
		return objective.Limit{Ref: objective.Ref{Index: int(m)}, AtLeast: v, AtMost: math.Inf(1)}
	}
	most = func(m objective.Measure, v float64) objective.Limit {
		return objective.Limit{Ref: objective.Ref{Index: int(m)}, AtLeast: math.Inf(-1), AtMost: v}
	}
)

// spec of a made-up run: stress at most 100, frequency at least 20, footprint at
// most 300, over blade_length from 30 to 80.
func testSpec() (*objective.Spec, search.Space, int) {
	layout := models.Layouts()[0]
	length := -1
	for i, p := range layout.Parameters() {
		if p.Name == "blade_length" {
			length = i
		}
	}
	spec := &objective.Spec{Layouts: []models.Layout{layout},
		Variables: []objective.Variable{{Target: objective.TargetParameter, Index: length}},
		Limits:    []objective.Limit{most(objective.PeakStress, 100), least(objective.FirstFrequency, 20), most(objective.Footprint, 300)}}
	return spec, search.Space{{Name: "blade_length", From: 30, To: 80}}, length
}

// row with the three numbers, NaN where not computed.
func row(spec *objective.Spec, id int64, status models.Status, at int, length float64, values ...float64) objective.Row {
	r := objective.Row{ID: id, Status: status, Parameters: make([]float64, len(spec.Layouts[0].Parameters())), Violation: math.NaN()}
	r.Parameters[at] = length
	fails := status != models.Solved
	sum := 0.0
	for i, v := range values {
		if math.IsNaN(v) {
			continue
		}
		l := &spec.Limits[i]
		r.Measures.Set(objective.Measure(l.Ref.Index), v)
		if m := l.Margin(v); m < 0 {
			fails, sum = true, sum-m
		}
	}
	if status == models.Solved || status == models.Screened {
		r.Violation = sum
	}
	r.Feasible = !fails
	return r
}

// The figures are counted by hand from the rows above each.
func TestSummary(t *testing.T) {
	spec, space, at := testSpec()
	nan := math.NaN()
	rows := []objective.Row{
		row(spec, 1, models.Solved, at, 80, 120, 25, 250),    // stress alone, by 20 %
		row(spec, 2, models.Solved, at, 80, 110, 25, 290),    // stress alone, by 10 %
		row(spec, 3, models.Solved, at, 79.9, 90, 15, 290),   // frequency alone, by 25 %
		row(spec, 4, models.Solved, at, 50, 130, 15, 290),    // stress and frequency
		row(spec, 5, models.Screened, at, 30, nan, nan, 330), // footprint; the rest unknown
		row(spec, 6, models.CannotBuild, at, 30, nan, nan, nan),
	}
	tally := New(spec, space, nil)
	for i := range rows {
		tally.Add(&rows[i])
	}
	s := tally.Summary()
	if s.Designs != 6 || s.Feasible != 0 || s.Statuses["screened"] != 1 || s.Statuses["cannot_build"] != 1 || s.Statuses["solved"] != 4 {
		t.Errorf("designs %d, feasible %d, statuses %v", s.Designs, s.Feasible, s.Statuses)
	}
	for i, want := range []struct {
		name                   string
		judged, rejects, alone int64
		best, first, give      float64
	}{
		{"peak_stress", 4, 3, 2, 90, 110, 0.1},
		{"first_frequency", 4, 2, 1, 25, 15, 0.25},
		{"footprint", 5, 1, 0, 250, nan, nan},
	} {
		l := s.Limits[i]
		if l.Name != want.name || l.Judged != want.judged || l.Rejects != want.rejects || l.Alone != want.alone || *l.Best != want.best {
			t.Errorf("%+v, want %+v", l, want)
		}
		if math.IsNaN(want.first) != (l.First == nil) || l.First != nil && (*l.First != want.first || math.Abs(*l.GiveWay-want.give) > 1e-12) {
			t.Errorf("%s: first fit %v, gives way %v, want %+v", l.Name, l.First, l.GiveWay, want)
		}
	}
	// No row meets both stress and frequency: 1 of 4 meets the one, 2 the other
	if len(s.Pairs) != 1 || s.Pairs[0] != (Pair{"peak_stress", "first_frequency", 1, 2}) {
		t.Errorf("pairs %v", s.Pairs)
	}
	// By violation: 2 (0.1), 5 (0.1, screened), 1 (0.2)
	if len(s.Nearest) != 3 || s.Nearest[0].ID != 2 || s.Nearest[1].ID != 5 || s.Nearest[2].ID != 1 {
		t.Errorf("nearest %+v", s.Nearest)
	}
	if f := s.Nearest[0].Fails; len(f) != 1 || f[0].Name != "peak_stress" || *f[0].Value != 110 || f[0].Bound != 100 || f[0].AtLeast {
		t.Errorf("the nearest fails %+v", f)
	}
	// Three of the five nearest at 80 mm (79.9 is within a hundredth of the range)
	if len(s.AtEnd) != 1 || s.AtEnd[0] != (End{"blade_length", "mm", 80, true, 3, 5}) {
		t.Errorf("at the end %+v", s.AtEnd)
	}
}

// Of designs that fail by more than the bound, which all have the violation 1, the one comes nearest that
// fails by least.
func TestNearestOfEquals(t *testing.T) {
	spec, space, at := testSpec()
	tally := New(spec, space, nil)
	for id, stress := range []float64{400, 900, 210, 350} {
		r := row(spec, int64(id+1), models.Solved, at, 50, stress, 25, 290)
		r.Violation = 1
		tally.Add(&r)
	}
	var ids []int64
	for _, d := range tally.Summary().Nearest {
		ids = append(ids, d.ID)
	}
	if want := []int64{3, 4, 1}; !slices.Equal(ids[:3], want) {
		t.Errorf("nearest %v, want %v first", ids, want)
	}
}

// A limit on a number that a solved design does not have rejects it.
func TestUndefinedRejects(t *testing.T) {
	spec, space, at := testSpec()
	tally := New(spec, space, nil)
	r := row(spec, 1, models.Solved, at, 50, math.NaN(), 25, 290)
	r.Feasible, r.Violation = false, 1
	tally.Add(&r)
	s := tally.Summary()
	if l := s.Limits[0]; l.Name != "peak_stress" || l.Rejects != 1 || l.Alone != 1 || l.Best != nil || l.First != nil {
		t.Errorf("%+v", l)
	}
	if f := s.Nearest[0].Fails; len(f) != 1 || f[0].Value != nil {
		t.Errorf("fails %+v", f)
	}
}

// The order of the rows makes no difference, and counting them allocates nothing
// once the nearest are found.
func TestOrder(t *testing.T) {
	spec, space, at := testSpec()
	rng := rand.New(rand.NewPCG(1, 2))
	rows := make([]objective.Row, 500)
	for i := range rows {
		rows[i] = row(spec, int64(i+1), models.Solved, at, 30+50*rng.Float64(), 80+80*rng.Float64(), 10+9*rng.Float64(), 250+100*rng.Float64())
	}
	gather := func() *Summary {
		tally := New(spec, space, nil)
		for i := range rows {
			tally.Add(&rows[i])
		}
		return tally.Summary()
	}
	a := gather()
	rng.Shuffle(len(rows), func(i, k int) { rows[i], rows[k] = rows[k], rows[i] })
	b := gather()
	for i := range a.Nearest {
		if a.Nearest[i].ID != b.Nearest[i].ID {
			t.Errorf("nearest %d is design %d or %d", i, a.Nearest[i].ID, b.Nearest[i].ID)
		}
	}
	for i := range a.Limits {
		if a.Limits[i].Rejects != b.Limits[i].Rejects || *a.Limits[i].Best != *b.Limits[i].Best {
			t.Errorf("%+v or %+v", a.Limits[i], b.Limits[i])
		}
	}
	tally := New(spec, space, nil)
	for i := range rows {
		tally.Add(&rows[i])
	}
	far := row(spec, 1000, models.Solved, at, 50, 1e6, 1, 1e6)
	if n := testing.AllocsPerRun(100, func() { tally.Add(&far) }); n > 0 {
		t.Errorf("%g allocations a row", n)
	}
}
