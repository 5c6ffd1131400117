package objective

import (
	"math"
	"slices"

	"flexwright/models"
)

// Evaluation evaluates candidates of a spec, one after the other: it decodes a design
// vector, builds the stage, mounts the actuators, and has it measured. It belongs to
// one goroutine.
type Evaluation struct {
	Spec *Spec

	design    models.Design
	layout    int
	material  int
	given     []float64       // parameters as fixed or varied, in their units; NaN: the layout's rule
	own       [][]int         // per layout: its parameters among those of the spec
	values    [][]float64     // the same: its parameters, SI
	stage     []*models.Stage // the same
	bench     []*Bench        // the same
	want      []*Want         // the same: the measures that suit it
	buildOnly *Want           // of a candidate that a limit on a parameter has ended
	correct   []*Corrector    // the same; nil: nothing to correct
	noParts   []*Want         // the same as want, of one that goes on without screening: its parts are not worth it

	// Results of the last Evaluate
	Verdict  models.Verdict
	Measures *Measures
	// Parameters in the units of their columns, resolved.
	Parameters []float64
}

// NewEvaluation returns the memory for candidates of spec.
func NewEvaluation(spec *Spec) *Evaluation { return newEvaluation(spec, 1) }

func newEvaluation(spec *Spec, segments int) *Evaluation {
	n := len(spec.Parameters())
	e := &Evaluation{Spec: spec, Parameters: make([]float64, n), given: make([]float64, n), Measures: new(Measures)}
	var cheap []Measure
	for _, m := range spec.Measures {
		if Table[m].Step == StepBuild {
			cheap = append(cheap, m)
		}
	}
	e.buildOnly = NewWant(cheap, nil, false)
	for _, l := range spec.Layouts {
		e.own = append(e.own, spec.own(l))
		e.values = append(e.values, make([]float64, len(l.Parameters())))
		suited := slices.DeleteFunc(slices.Clone(spec.Measures), func(m Measure) bool { return !m.Suits(l.Topology()) })
		limits := slices.DeleteFunc(slices.Clone(spec.Limits), func(limit Limit) bool { return !limit.HoldsFor(l.Name()) })
		e.want = append(e.want, NewWant(suited, limits, !spec.NoScreening))
		if !spec.tolerances().Always {
			suited = plainOnly(suited)
		}
		e.noParts = append(e.noParts, NewWant(suited, nil, false))
		e.stage = append(e.stage, models.NewStage(l.Topology()))
		own := *spec
		own.Limits = limits // parts conform by these, and usable travel ends at them
		e.bench = append(e.bench, NewBench(&own, l.Topology(), segments))
		var correct *Corrector
		if len(spec.Corrections) > 0 {
			correct = NewCorrector(l.Topology(), spec.Corrections)
		}
		e.correct = append(e.correct, correct)
	}
	return e
}

// Layout of the last candidate.
func (e *Evaluation) Layout() models.Layout { return e.Spec.Layouts[e.layout] }

// Material of the last candidate.
func (e *Evaluation) Material() *models.Material { return e.Spec.Materials[e.material] }

// Stage of the last candidate, actuators mounted.
func (e *Evaluation) Stage() *models.Stage { return e.stage[e.layout] }

// Bench that measured the last candidate.
func (e *Evaluation) Bench() *Bench { return e.bench[e.layout] }

// Evaluate computes the measures of the candidate x, one number per variable of the
// spec. It allocates nothing.
func (e *Evaluation) Evaluate(x []float64) {
	e.Verdict = e.build(x)
	if !e.Verdict.OK() {
		e.Measures.Reset()
		return
	}
	want, ended := e.want[e.layout], false
	if e.breaksParameter() {
		want = e.noParts[e.layout]
		if !e.Spec.NoScreening {
			want, ended = e.buildOnly, true
		}
	}
	m, v := e.Bench().Measure(e.Stage(), want)
	e.Measures.copyFrom(m)
	e.Verdict = v
	if ended && v.OK() {
		e.Verdict = models.Verdict{Status: models.Screened, Format: reasonScreened}
	}
}

// build decodes a design vector and dimensions its stage.
func (e *Evaluation) build(x []float64) models.Verdict {
	e.layout, e.material = e.Spec.decode(x, e.given)
	parameters, own := e.Layout().Parameters(), e.own[e.layout]
	e.design.Parameters = e.values[e.layout]
	for i, k := range own {
		e.design.Parameters[i] = parameters[i].Unit.ToSI(e.given[k])
	}
	e.design.Material, e.design.UpTo = e.Material(), e.Spec.UpTo
	e.design.Holes = e.Spec.Holes
	v := e.Layout().Build(&e.design, e.Stage())
	copy(e.Parameters, e.given) // NaN where the layout lacks one
	for i, k := range own {
		if math.IsNaN(e.given[k]) {
			e.Parameters[k] = parameters[i].Unit.FromSI(e.design.Parameters[i])
		}
	}
	if v.OK() {
		e.mountActuators()
		if c := e.correct[e.layout]; c != nil {
			c.Apply(e.Stage())
		}
	}
	return v
}

// mountActuators puts the moving part of each actuator on the body that it pushes,
// and its stiffness behind it: one stage, one mass.
func (e *Evaluation) mountActuators() {
	a := e.Bench().duty.spec.Actuator
	if a == nil {
		return
	}
	st := e.Stage()
	for k, spec := range e.Layout().Topology().Actuators {
		st.Mount(spec.Body, a.MovingMass, st.ActX[k], st.ActY[k], st.ActZ[k])
		st.ActAlong[k], st.ActAcross[k] = a.StiffnessAlong, a.StiffnessAcross
	}
}

// breaksParameter reports whether a limit on a parameter fails.
func (e *Evaluation) breaksParameter() bool {
	for i := range e.Spec.Limits {
		if l := &e.Spec.Limits[i]; l.Ref.Parameter && l.HoldsFor(e.Layout().Name()) {
			if v := e.Parameters[l.Ref.Index]; l.violation(v, !math.IsNaN(v)) > 0 {
				return true
			}
		}
	}
	return false
}
