package diagnosis

import (
	"cmp"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

const (
	// near is how many of the nearest designs are looked at for parameters at the
	// end of their range, and shown how many of them are named.
	near, shown = 20, 3
	// endShare is how close to the end of its range, as a share of it, a value counts
	// as being there; mostAtEnd the share of the nearest that makes it worth saying.
	endShare, mostAtEnd = 0.01, 0.5
	// mostPairs is how many excluding pairs are named.
	mostPairs = 5
)

// Tally counts the rows of a run.
type Tally struct {
	spec     *objective.Spec
	space    search.Space
	full     func(*objective.Row) (*objective.Row, bool)
	screened []objective.Row // by violation, at most mostInFull, not counted yet

	designs, feasible int64
	status            map[models.Status]int64
	limits            []count
	both              []pairCount     // of limits i < k, row after row of the triangle
	nearest           []objective.Row // by violation, at most near
	known, met        []bool          // of the row at hand
}

// count of one limit.
type count struct {
	judged, rejects, alone int64
	best, margin           float64 // value with the largest margin of any design
	first, firstMargin     float64 // the same of designs that only this limit rejects
}

// pairCount is of the designs of which both numbers are known.
type pairCount struct{ first, second, both int64 }

// New returns an empty tally of designs of a spec. The variables of space are those
// of the spec. Full, if not nil, evaluates screened rows in full, as [Reevaluate]
// does: those that come nearest are, so that it is known what else they fail.
func New(spec *objective.Spec, space search.Space, full func(*objective.Row) (*objective.Row, bool)) *Tally {
	n := len(spec.Limits)
	t := &Tally{spec: spec, space: space, full: full, status: map[models.Status]int64{}, limits: make([]count, n), both: make([]pairCount, n*(n-1)/2),
		known: make([]bool, n), met: make([]bool, n)}
	for i := range t.limits {
		t.limits[i].margin, t.limits[i].firstMargin = math.Inf(-1), math.Inf(-1)
	}
	return t
}

// Add counts a row. It keeps copies of those that come nearest.
func (t *Tally) Add(row *objective.Row) {
	t.designs++
	t.status[row.Status]++
	if row.Feasible {
		t.feasible++
	}
	if t.toFull(row) {
		t.hold(row)
		return
	}
	t.count(row)
}

// count judges a row by every limit.
func (t *Tally) count(row *objective.Row) {
	if row.Status != models.Solved && row.Status != models.Screened {
		return
	}
	fails, at := 0, -1
	for i := range t.spec.Limits {
		l, c := &t.spec.Limits[i], &t.limits[i]
		if !l.HoldsFor(row.Layout) {
			t.known[i] = false
			continue
		}
		v, ok := row.Judged(l)
		margin := l.Margin(v)
		t.known[i] = ok
		t.met[i] = ok && margin >= 0
		switch {
		case ok:
			c.judged++
			if margin > c.margin && !math.IsInf(v, 0) {
				c.best, c.margin = v, margin
			}
		case row.Status == models.Solved: // undefined: the limit is not met
			c.judged++
		default:
			continue
		}
		if !t.met[i] {
			c.rejects++
			fails, at = fails+1, i
		}
	}
	if fails == 1 && row.Status == models.Solved {
		c := &t.limits[at]
		c.alone++
		if v, ok := row.Judged(&t.spec.Limits[at]); ok {
			if margin := t.spec.Limits[at].Margin(v); margin > c.firstMargin {
				c.first, c.firstMargin = v, margin
			}
		}
	}
	p := 0
	for i := range t.known {
		for k := i + 1; k < len(t.known); k++ {
			if t.known[i] && t.known[k] {
				c := &t.both[p]
				c.first += toInt(t.met[i])
				c.second += toInt(t.met[k])
				c.both += toInt(t.met[i] && t.met[k])
			}
			p++
		}
	}
	t.keep(row)
}

func toInt(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// keep keeps a row if it is one of the nearest that are not feasible.
func (t *Tally) keep(row *objective.Row) {
	if row.Feasible || math.IsNaN(row.Violation) {
		return
	}
	at, _ := slices.BinarySearchFunc(t.nearest, row, func(a objective.Row, b *objective.Row) int { return nearer(t.spec, &a, b) })
	if at == near {
		return
	}
	r := *row
	r.Parameters = slices.Clone(row.Parameters)
	t.nearest = slices.Insert(t.nearest, at, r)
	if len(t.nearest) > near {
		t.nearest = t.nearest[:near]
	}
}

// Nearest is the design that comes nearest to meeting every limit, nil where none can be told.
func (t *Tally) Nearest() *objective.Row {
	if len(t.nearest) == 0 {
		return nil
	}
	return &t.nearest[0]
}

// nearer orders by violation, evaluated in full before screened, of equals by how far they are beyond, then by number.
func nearer(spec *objective.Spec, a, b *objective.Row) int {
	if c := cmp.Or(cmp.Compare(a.Violation, b.Violation), cmp.Compare(a.Status, b.Status)); c != 0 {
		return c
	}
	return cmp.Or(cmp.Compare(spec.Beyond(a), spec.Beyond(b)), cmp.Compare(a.Run, b.Run), cmp.Compare(a.ID, b.ID))
}
