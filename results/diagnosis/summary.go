package diagnosis

import (
	"cmp"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
)

// Summary is what a tally says. Numbers are in the units of their columns.
type Summary struct {
	Designs  int64            `json:"designs"`
	Feasible int64            `json:"feasible"`
	Statuses map[string]int64 `json:"statuses"` // those that occur
	Limits   []Limit          `json:"limits"`   // most rejecting first
	Pairs    []Pair           `json:"excluding_pairs"`
	Nearest  []Design         `json:"nearest"`
	AtEnd    []End            `json:"at_range_end"` // among the nearest
}

// Limit is one limit and what it rejects.
type Limit struct {
	Name    string   `json:"limit"`
	Column  string   `json:"column"`
	Unit    string   `json:"unit"`
	AtLeast *float64 `json:"at_least,omitempty"`
	AtMost  *float64 `json:"at_most,omitempty"`
	Default bool     `json:"default"`
	Judged  int64    `json:"judged"`        // designs that got as far as this limit
	Rejects int64    `json:"rejects"`       // of these
	Alone   int64    `json:"rejects_alone"` // of these, evaluated in full, with every other limit met
	// Best is the value of any design that lies farthest within the limit, or least
	// beyond; nil where no design has one.
	Best *float64 `json:"best"`
	// First is the bound at which the first design would fit, all other limits as
	// they are; nil where no design lacks this one alone.
	First *float64 `json:"first_fit"`
	// GiveWay is by how much the bound has to move to First, as a share of it (of 1
	// where it is 0).
	GiveWay *float64 `json:"give_way"`
}

// Pair is two limits that no design of the run meets at once, though each is met by some.
type Pair struct {
	First  string `json:"first"`
	Second string `json:"second"`
	// Designs that meet the one and the other, of those of which both are known.
	MeetFirst  int64 `json:"meet_first"`
	MeetSecond int64 `json:"meet_second"`
}

// Design is one of the nearest with what it fails.
type Design struct {
	Run       int64   `json:"run,omitempty"`
	ID        int64   `json:"id"`
	Status    string  `json:"status"`
	Violation float64 `json:"violation"`
	Fails     []Fail  `json:"fails"`
}

// Fail is a limit that a design does not meet.
type Fail struct {
	Name    string   `json:"limit"`
	Column  string   `json:"column"`
	Unit    string   `json:"unit"`
	Value   *float64 `json:"value"` // nil: undefined, or not computed
	Bound   float64  `json:"bound"`
	AtLeast bool     `json:"at_least"` // which of the bounds it is
	// Parts is where its parts fail most, of a limit on the share of those that conform.
	Parts string `json:"parts_fail_at,omitempty"`
}

// End is a varied parameter that stands at an end of its range in most of the
// nearest designs.
type End struct {
	Name   string  `json:"parameter"`
	Unit   string  `json:"unit"`
	Bound  float64 `json:"bound"`
	Upper  bool    `json:"upper"`
	Number int     `json:"designs"` // of Of
	Of     int     `json:"of"`
}

// Summary returns what has been counted.
func (t *Tally) Summary() *Summary {
	t.settle()
	s := &Summary{Designs: t.designs, Feasible: t.feasible, Statuses: map[string]int64{}, Limits: []Limit{}, Pairs: []Pair{}, Nearest: []Design{}, AtEnd: []End{}}
	for status, n := range t.status {
		s.Statuses[status.String()] = n
	}
	for i := range t.limits {
		s.Limits = append(s.Limits, t.limit(i))
	}
	slices.SortStableFunc(s.Limits, func(a, b Limit) int { return cmp.Or(cmp.Compare(b.Rejects, a.Rejects), cmp.Compare(b.Alone, a.Alone)) })
	s.Pairs = t.pairs()
	for i := range t.nearest[:min(shown, len(t.nearest))] {
		s.Nearest = append(s.Nearest, t.design(&t.nearest[i]))
	}
	s.AtEnd = AtEnd(t.spec, t.space, t.nearest)
	return s
}

func (t *Tally) limit(i int) Limit {
	l, c := &t.spec.Limits[i], &t.limits[i]
	out := Limit{Name: t.spec.LimitName(l), Column: t.spec.Column(l.Ref), Unit: t.spec.Unit(l.Ref).Symbol, Default: l.Default,
		Judged: c.judged, Rejects: c.rejects, Alone: c.alone}
	if !math.IsInf(l.AtLeast, -1) {
		out.AtLeast = &l.AtLeast
	}
	if !math.IsInf(l.AtMost, 1) {
		out.AtMost = &l.AtMost
	}
	if !math.IsInf(c.margin, -1) {
		out.Best = &c.best
	}
	if !math.IsInf(c.firstMargin, -1) {
		give := -c.firstMargin
		out.First, out.GiveWay = &c.first, &give
	}
	return out
}

// pairs that exclude each other, those that the most designs meet one of first.
func (t *Tally) pairs() []Pair {
	list := []Pair{}
	p := 0
	for i := range t.limits {
		for k := i + 1; k < len(t.limits); k++ {
			if c := t.both[p]; c.both == 0 && c.first > 0 && c.second > 0 {
				list = append(list, Pair{t.spec.LimitName(&t.spec.Limits[i]), t.spec.LimitName(&t.spec.Limits[k]), c.first, c.second})
			}
			p++
		}
	}
	slices.SortStableFunc(list, func(a, b Pair) int {
		return cmp.Compare(min(b.MeetFirst, b.MeetSecond), min(a.MeetFirst, a.MeetSecond))
	})
	return list[:min(mostPairs, len(list))]
}

func (t *Tally) design(row *objective.Row) Design {
	d := Design{Run: row.Run, ID: row.ID, Status: row.Status.String(), Violation: row.Violation, Fails: []Fail{}}
	for i := range t.spec.Limits {
		l := &t.spec.Limits[i]
		v, ok := row.Judged(l)
		if ok && l.Margin(v) >= 0 || !ok && row.Status == models.Screened {
			continue
		}
		f := Fail{Name: t.spec.Name(l.Ref), Column: t.spec.Column(l.Ref), Unit: t.spec.Unit(l.Ref).Symbol, Bound: l.AtMost}
		if ok {
			f.Value = &v
		}
		if ok && l.Ref == (objective.Ref{Index: int(objective.ConformingParts)}) {
			f.Parts = PartsFailMost(t.spec, row)
		}
		if math.IsInf(l.AtMost, 1) || ok && v < l.AtLeast {
			f.Bound, f.AtLeast = l.AtLeast, true
		}
		d.Fails = append(d.Fails, f)
	}
	return d
}
