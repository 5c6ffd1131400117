package diagnosis

import (
	"cmp"
	"slices"

	"flexwright/models"
	"flexwright/objective"
)

// Reevaluate returns what evaluates stored rows of a spec in full, whatever limits
// fail. The row that it returns is valid until the next call; there is none when the
// row cannot belong to the spec.
func Reevaluate(spec *objective.Spec) func(*objective.Row) (*objective.Row, bool) {
	full := *spec
	full.NoScreening = true
	evaluation := objective.NewEvaluation(&full)
	x := make([]float64, len(spec.Variables))
	var again objective.Row
	return func(r *objective.Row) (_ *objective.Row, ok bool) {
		defer func() {
			if recover() != nil { // a run makes it a row of status failed
				ok = false
			}
		}()
		if !spec.Point(r, x) {
			return nil, false
		}
		evaluation.Evaluate(x)
		evaluation.Fill(&again)
		again.ID, again.Run, again.Generation = r.ID, r.Run, r.Generation
		return &again, true
	}
}

// mostInFull is how many of the screened designs that come nearest are evaluated in
// full, to know which other limits they fail.
const mostInFull = 1000

// hold keeps a screened row if it is one of the nearest, and counts what it displaces.
func (t *Tally) hold(row *objective.Row) {
	at, _ := slices.BinarySearchFunc(t.screened, row.Violation, func(r objective.Row, v float64) int { return cmp.Compare(r.Violation, v) })
	if at == mostInFull {
		t.count(row)
		return
	}
	r := *row
	r.Parameters = slices.Clone(row.Parameters)
	t.screened = slices.Insert(t.screened, at, r)
	if len(t.screened) > mostInFull {
		t.count(&t.screened[mostInFull])
		t.screened = t.screened[:mostInFull]
	}
}

// settle evaluates the screened rows that were held, and counts them.
func (t *Tally) settle() {
	for i := range t.screened {
		r, ok := t.full(&t.screened[i])
		if !ok {
			r = &t.screened[i]
		}
		t.count(r)
	}
	t.screened = nil
}

// toFull reports whether a row waits to be evaluated in full.
func (t *Tally) toFull(row *objective.Row) bool {
	return t.full != nil && row.Status == models.Screened
}
