package objective

import (
	"math"
	"slices"
	"strings"

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
	Default         bool     // not from the brief: common practice
	Layouts         []string // that it holds for; nil: all
}

// HoldsFor reports whether the limit is one on designs of a layout.
func (l *Limit) HoldsFor(layout string) bool {
	return l.Layouts == nil || slices.Contains(l.Layouts, layout)
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
	Union       *Union            // nil: all layouts have the same parameters

	Loop  *LoopSpec  // nil: the defaults
	Drive *DriveSpec // nil: the defaults

	Corrections []Correction // of a built stage; nil: none. See Correct

	Tolerances *ToleranceSpec // nil: the defaults; of use where measures of parts are wanted
}

// Union joins the parameters of layouts that do not have the same ones.
type Union struct {
	Parameters []models.Parameter
	Layouts    []models.Layout
	own        [][]int // per layout: the number here of each of its parameters
}

// NewUnion returns the parameters of all layouts together, by name. A parameter of
// several must have the same unit in each; its range is what all of them accept,
// its default NaN where they differ, and it is required where one of them requires it.
func NewUnion(layouts []models.Layout) *Union {
	u := &Union{Layouts: layouts}
	for _, l := range layouts {
		var own []int
		for _, p := range l.Parameters() {
			k := slices.IndexFunc(u.Parameters, func(q models.Parameter) bool { return q.Name == p.Name })
			if k < 0 {
				k = len(u.Parameters)
				u.Parameters = append(u.Parameters, p)
			} else if q := &u.Parameters[k]; true {
				q.Min, q.Max, q.Required = max(q.Min, p.Min), min(q.Max, p.Max), q.Required || p.Required
				switch {
				case q.Required:
					q.Default, q.DefaultText = math.NaN(), "must be given"
				case q.Default != p.Default && !(math.IsNaN(q.Default) && q.DefaultText == p.DefaultText):
					q.Default, q.DefaultText = math.NaN(), "each layout's own"
				}
			}
			own = append(own, k)
		}
		u.own = append(u.own, own)
	}
	return u
}

// Own returns the number in the union of each parameter of a layout.
func (u *Union) Own(l models.Layout) []int {
	for i := range u.Layouts {
		if u.Layouts[i].Name() == l.Name() {
			return u.own[i]
		}
	}
	panic("objective: a layout that is not of the union")
}

// lacks reports whether a layout of the spec has no such parameter.
func (s *Spec) lacks(layout string, parameter int) bool {
	if s.Union == nil {
		return false
	}
	for _, l := range s.Layouts {
		if l.Name() == layout {
			return !slices.Contains(s.Union.Own(l), parameter)
		}
	}
	return false
}

// Parameters of the layouts of a spec: those of each, or of all together.
func (s *Spec) Parameters() []models.Parameter {
	if s.Union != nil {
		return s.Union.Parameters
	}
	return s.Layouts[0].Parameters()
}

// own is the number of each parameter of a layout among Parameters.
func (s *Spec) own(l models.Layout) []int {
	if s.Union != nil {
		return s.Union.Own(l)
	}
	list := make([]int, len(l.Parameters()))
	for i := range list {
		list[i] = i
	}
	return list
}

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

// LimitName tells limits on one number apart: it names the layouts of one that does not
// hold for all.
func (s *Spec) LimitName(l *Limit) string {
	if l.Layouts == nil {
		return s.Name(l.Ref)
	}
	return s.Name(l.Ref) + " of " + strings.Join(l.Layouts, ", ")
}

// Column of a number.
func (s *Spec) Column(r Ref) string { return s.Unit(r).Column(s.Name(r)) }

// Columns of the rows of a run of this spec; those of parts say what errs.
func (s *Spec) Columns() []Column {
	columns := Columns(s.Parameters(), s.Measures)
	for _, m := range s.Measures {
		if m.OfParts() {
			k := slices.IndexFunc(columns, func(c Column) bool { return c.Name == Table[m].Column() })
			columns[k].Meaning += "; " + s.tolerances().String()
		}
	}
	return columns
}

// Value of a number in a row, and whether it is there.
func (r *Row) Value(ref Ref) (float64, bool) {
	if ref.Parameter {
		v := r.Parameters[ref.Index]
		return v, !math.IsNaN(v)
	}
	return r.Measures.Get(Measure(ref.Index))
}

// wants reports whether a measure is to be computed.
func (s *Spec) wants(m Measure) bool { return slices.Contains(s.Measures, m) }

func atLeast(m Measure, bound float64) Limit {
	return Limit{Ref: Ref{Index: int(m)}, AtLeast: bound, AtMost: math.Inf(1), Default: true}
}

func atMost(m Measure, bound float64) Limit {
	return Limit{Ref: Ref{Index: int(m)}, AtLeast: math.Inf(-1), AtMost: bound, Default: true}
}

// DefaultLimits are the limits of common practice that hold unless a brief
// limits the same number, or, for the yield margin, the peak stress: walls that
// a wire can cut and that stay straight, half the proof strength, two thirds of the
// load that buckles a blade.
var DefaultLimits = []Limit{
	atLeast(ThinnestBlade, 0.3),
	atMost(BladeAspect, 100),
	atMost(BladeSlenderness, 200),
	atLeast(YieldMargin, 2),
	atLeast(BodyYieldMargin, 2),
	atLeast(BucklingMargin, 1.5),
}

// LoopLimits are the limits of common practice that hold where a brief names the
// crossover, the bandwidth or the closed loop's: what the loop does not see, motion out of the plane and the own modes of
// blades and of parts of bodies, stays away from it.
var LoopLimits = []Limit{
	atLeast(OutOfPlaneRatio, 3),
	atLeast(BladeModeRatio, 3),
	atLeast(BodyModeRatio, 3),
}

// LoopMeasures are computed together wherever a loop is.
var LoopMeasures = []Measure{Crossover, CrossoverEnd, CrossoverEndAxis, CrossoverEndX, CrossoverEndY, CrossoverEndFrequency,
	CrossoverEndMode, CrossoverEndModeFrequency, CrossoverEndScale, CrossoverEndPayload, Bandwidth, ClosedLoopFrequency, IntegratorRatio, LeadRatio, LowPassRatio, TrackingError}

// unknownRise is what a coil is allowed where its limit is unknown, K (typical, no
// source).
const unknownRise = 100

// Limits are those of common practice that hold where a brief names an actuator: it is
// not overloaded by the motion program.
func (s *DriveSpec) Limits() []Limit {
	rise := s.Actuator.CoilLimit - s.Actuator.Ambient
	if !(rise > 0) {
		rise = unknownRise
	}
	return []Limit{atLeast(ForceMargin, 1), atMost(CoilTemperatureRise, rise), atLeast(VoltageMargin, 1), atLeast(StrokeMargin, 1)}
}

// FatigueLimit holds where a brief names an actuator and a motion, and the material has
// fatigue data.
var FatigueLimit = atLeast(FatigueMargin, 1)
