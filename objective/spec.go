package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// Ref names a number of a candidate: a measure or a parameter of the layout.
type Ref struct {
	Parameter bool
	Index     int // a Measure, or the number of a parameter
}

// Goal is a number to be made as small or as large as possible.
type Goal struct {
	Ref   Ref
	Sense Sense
}

// Limit is a bound on a number, in the unit of its column. An absent bound is
// -Inf or +Inf.
type Limit struct {
	Ref             Ref
	AtLeast, AtMost float64
	Default         bool // not from the brief: common practice
}

// Variable is what one element of a design vector means. Exactly one of its
// targets is used.
type Variable struct {
	Target  Target
	Index   int       // the parameter's number, when Target is TargetParameter
	Choices []float64 // TargetParameter only: the element is an index into these values, in the parameter's unit; nil: it is the value
}

// Target is what a [Variable] sets.
type Target uint8

const (
	TargetParameter Target = iota
	TargetMaterial         // the element is an index into Spec.Materials
	TargetLayout           // the element is an index into Spec.Layouts
)

// Spec is a brief without its text: what a candidate is and how it is judged.
// It is read-only during a run.
type Spec struct {
	Layouts     []models.Layout    // the first one unless a variable chooses
	Materials   []*models.Material // the same
	Fixed       []float64          // every parameter in its unit, NaN where the layout's rule decides
	UpTo        float64            // workspace.up_to, m; 0: the travel
	Holes       models.HolePattern // drawing.payload_holes, in the stage
	Variables   []Variable         // order of the design vector
	Goals       []Goal
	Limits      []Limit           // the brief's, then the defaults that it does not replace
	Measures    []Measure         // to be computed, in the table's order
	Orientation mechanics.Upright // how it stands: which way its weight pulls
	Interest    [3]float64        // point of interest, from the stage's origin at rest, m
	NoScreening bool              // compute every stage even when a cheap limit has failed

	Loop  *LoopSpec  // nil: the defaults
	Drive *DriveSpec // nil: the defaults
}

// Parameters of the layout, which all layouts of a spec share.
func (s *Spec) Parameters() []models.Parameter { return s.Layouts[0].Parameters() }

// Unit of a number.
func (s *Spec) Unit(r Ref) models.Unit {
	if r.Parameter {
		return s.Parameters()[r.Index].Unit
	}
	return Table[r.Index].Unit
}

// Name of a number, as a brief spells it.
func (s *Spec) Name(r Ref) string {
	if r.Parameter {
		return s.Parameters()[r.Index].Name
	}
	return Table[r.Index].Name
}

// Column of a number.
func (s *Spec) Column(r Ref) string { return s.Unit(r).Column(s.Name(r)) }

// Columns of the rows of a run of this spec.
func (s *Spec) Columns() []Column { return Columns(s.Parameters(), s.Measures) }

// Value of a number in a row, and whether it is there.
func (r *Row) Value(ref Ref) (float64, bool) {
	if ref.Parameter {
		v := r.Parameters[ref.Index]
		return v, !math.IsNaN(v)
	}
	return r.Measures.Get(Measure(ref.Index))
}

// Excess is by how much v breaks the limit: distance to the bound over the
// bound's magnitude, or the distance itself, in the unit of the column, when
// the bound is 0. It is 0 when the limit holds.
func (l *Limit) Excess(v float64) float64 {
	var distance, bound float64
	switch {
	case v > l.AtMost:
		distance, bound = v-l.AtMost, l.AtMost
	case v < l.AtLeast:
		distance, bound = l.AtLeast-v, l.AtLeast
	default:
		return 0
	}
	if bound == 0 {
		return distance
	}
	return distance / math.Abs(bound)
}

// Margin is what is left to the limit: distance to the nearer bound over the
// bound's magnitude, or the distance itself when the bound is 0. It is negative
// when the limit is broken, by [Limit.Excess].
func (l *Limit) Margin(v float64) float64 {
	left := func(distance, bound float64) float64 {
		if bound == 0 {
			return distance
		}
		return distance / math.Abs(bound)
	}
	m := math.Inf(1)
	if !math.IsInf(l.AtMost, 1) {
		m = min(m, left(l.AtMost-v, l.AtMost))
	}
	if !math.IsInf(l.AtLeast, -1) {
		m = min(m, left(v-l.AtLeast, l.AtLeast))
	}
	return m
}

// DefaultLimits are the limits of common practice that hold unless a brief
// limits the same number, or, for the yield margin, the peak stress: walls that
// a wire can cut and that stay straight, and half the proof strength.
var DefaultLimits = []Limit{
	{Ref: Ref{Index: int(ThinnestBlade)}, AtLeast: 0.3, AtMost: math.Inf(1), Default: true},
	{Ref: Ref{Index: int(BladeAspect)}, AtLeast: math.Inf(-1), AtMost: 100, Default: true},
	{Ref: Ref{Index: int(BladeSlenderness)}, AtLeast: math.Inf(-1), AtMost: 200, Default: true},
	{Ref: Ref{Index: int(YieldMargin)}, AtLeast: 2, AtMost: math.Inf(1), Default: true},
}
