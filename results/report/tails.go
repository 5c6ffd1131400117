package report

import (
	"math"
	"slices"

	"flexwright/objective"
)

// tailBars are where the bars of the picked designs end: at the value that a share of
// their parts are no worse than.
type tailBars struct {
	ends   map[string]map[Design]float64 // by column of the nominal value
	shares []string                      // one, unless runs of several briefs are joined
}

// add takes the tails of a design: those that the run stored, else those of the parts that
// the page scatters and solves, nil where the design is not solved; these, too, where derivatives had told the run of tails that
// are off by more than [objective.PartsBound].
func (t *tailBars) add(c chosen, s *objective.Spec, parts *objective.Scatter) {
	if parts == nil {
		return
	}
	some := false
	for i := range parts.Measures {
		m := &parts.Measures[i]
		end := m.Tail
		nominal, ok := c.row.Measures.Get(m.Measure)
		if stored, is := c.row.Measures.Get(m.Measure.Tail()); is &&
			!(c.row.Text(objective.PartsBy) == objective.ByDerivatives && math.Abs(stored-end) > objective.PartsBound*math.Abs(end-nominal)) {
			end = stored
		}
		if !ok || math.IsNaN(end) || math.IsInf(end, 0) || end == nominal {
			continue
		}
		column := s.Column(objective.Ref{Index: int(m.Measure)})
		if t.ends[column] == nil {
			t.ends[column] = map[Design]float64{}
		}
		t.ends[column][c.design] = end
		some = true
	}
	if share := percent(parts.Spec.Share); some && !slices.Contains(t.shares, share) {
		t.shares = append(t.shares, share)
	}
}
