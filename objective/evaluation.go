package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// Evaluation evaluates candidates of a spec, one after the other. It owns all
// the memory that a candidate touches and belongs to one goroutine.
type Evaluation struct {
	Spec *Spec

	design   models.Design
	layout   int
	stage    []*models.Stage       // per layout
	scratch  []*mechanics.Scratch  // per layout
	dynamics []*mechanics.Dynamics // per layout
	kt       []float64             // per blade, or segment of one: stress concentration
	loop     []*loopMemory         // per layout; nil unless the spec wants something of the loop
	duty     driveMemory
	// per layout, where each blade is several segments; nil: one element each
	subdivision []*mechanics.Subdivision
	solved      *models.Stage      // what the mechanics was given: the stage, or it subdivided
	segments    int                // per blade
	model       []*mechanics.Model // per layout: of the stage itself
	weight      [][]models.Load    // per layout: of a stage that stands

	// Results of the last Evaluate
	Verdict  models.Verdict
	Measures Measures
	Travel   TravelEndReason
	// Parameters in the units of their columns, resolved.
	Parameters []float64
	material   int
	given      []float64 // parameters as fixed or varied, in their units; NaN: the layout's rule
}

// NewEvaluation returns the memory for candidates of spec.
func NewEvaluation(spec *Spec) *Evaluation { return newEvaluation(spec, 1) }

func newEvaluation(spec *Spec, segments int) *Evaluation {
	n := len(spec.Parameters())
	e := &Evaluation{Spec: spec, Parameters: make([]float64, n), given: make([]float64, n), segments: segments}
	e.design.Parameters = make([]float64, n)
	blades := 0
	for _, l := range spec.Layouts {
		e.stage = append(e.stage, models.NewStage(l.Topology()))
		blades = max(blades, segments*len(l.Topology().Blades))
		if segments == 1 {
			scratch := mechanics.NewScratch(mechanics.NewModel(l.Topology()))
			e.scratch = append(e.scratch, scratch)
			e.dynamics = append(e.dynamics, mechanics.NewDynamics(scratch))
			continue
		}
		u := mechanics.NewSubdivision(l.Topology(), segments)
		scratch := mechanics.NewScratch(u.Fine)
		e.scratch = append(e.scratch, scratch)
		e.dynamics = append(e.dynamics, mechanics.NewFineDynamics(scratch, u, true))
		e.subdivision = append(e.subdivision, u)
	}
	for _, d := range e.dynamics {
		e.loop = append(e.loop, newLoopMemory(spec, d))
	}
	e.duty.spec = spec.drive()
	e.kt = make([]float64, blades)
	for i, d := range e.dynamics {
		d.Point, d.Up = spec.Interest, spec.Orientation
		t := e.Spec.Layouts[i].Topology()
		e.model = append(e.model, mechanics.NewModel(t))
		e.weight = append(e.weight, make([]models.Load, 0, len(t.Bodies)+4*len(t.Blades)))
	}
	return e
}

// Layout of the last candidate.
func (e *Evaluation) Layout() models.Layout { return e.Spec.Layouts[e.layout] }

// Material of the last candidate.
func (e *Evaluation) Material() *models.Material { return e.Spec.Materials[e.material] }

// Design of the last candidate: what its layout dimensioned it from.
func (e *Evaluation) Design() *models.Design { return &e.design }

// Stage of the last candidate.
func (e *Evaluation) Stage() *models.Stage { return e.stage[e.layout] }

// Scratch of the last candidate, with its poses.
func (e *Evaluation) Scratch() *mechanics.Scratch { return e.scratch[e.layout] }

// Dynamics of the last candidate: its modes, and everything out of the plane.
func (e *Evaluation) Dynamics() *mechanics.Dynamics { return e.dynamics[e.layout] }

// Evaluate computes the measures of the candidate x, one number per variable of
// the spec: dimensions, statics, frequencies, loop, drive, in this order, each only while
// the candidate is still worth it. It allocates nothing.
func (e *Evaluation) Evaluate(x []float64) {
	e.Measures.Reset()
	e.Travel = TravelEndReason{}
	e.layout, e.material = e.Spec.decode(x, e.given)
	parameters := e.Spec.Parameters()
	for i := range e.given {
		e.design.Parameters[i] = parameters[i].Unit.ToSI(e.given[i])
	}
	e.design.Material, e.design.UpTo = e.Material(), e.Spec.UpTo
	e.design.Holes = e.Spec.Holes
	e.Verdict = e.Layout().Build(&e.design, e.Stage())
	for i, p := range parameters {
		e.Parameters[i] = e.given[i]
		if math.IsNaN(e.given[i]) {
			e.Parameters[i] = p.Unit.FromSI(e.design.Parameters[i])
		}
	}
	if e.Verdict.OK() {
		e.mountActuators()
		e.Verdict = e.evaluate()
	}
}

// mountActuators puts the moving part of each actuator on the arm that it pushes,
// and its stiffness behind it: one stage, one mass.
func (e *Evaluation) mountActuators() {
	a := e.duty.spec.Actuator
	if a == nil {
		return
	}
	st := e.Stage()
	for k, spec := range e.Layout().Topology().Actuators {
		st.Mount(spec.Body, a.MovingMass, st.ActX[k], st.ActY[k], st.ActZ[k])
		st.ActAlong[k], st.ActAcross[k] = a.StiffnessAlong, a.StiffnessAcross
	}
}

// evaluate computes the measures of a stage that has been built.
func (e *Evaluation) evaluate() models.Verdict {
	stage := e.Stage()
	e.collectBuild()
	if e.hopeless(StepBuild) {
		return models.Verdict{Status: models.Screened, Format: reasonScreened}
	}
	if e.Spec.Orientation != mechanics.Flat {
		stage.Loads = mechanics.AddWeight(e.model[e.layout], stage, e.Spec.Orientation, e.weight[e.layout])
	}
	if e.subdivision != nil {
		stage = e.subdivision[e.layout].Fill(stage)
	}
	e.solved = stage
	scratch := e.scratch[e.layout]
	scratch.Prepare(stage)
	for i := range stage.Fillet {
		e.kt[i] = 1
		if stage.Fillet[i] > 0 {
			e.kt[i] = models.StressConcentration(stage.Fillet[i] / stage.Thickness[i])
		}
	}
	if v := scratch.Statics(stage.Travel); !v.OK() {
		return v
	}
	e.collectStatics(&e.Measures)
	if e.hopeless(StepStatics) {
		return models.Verdict{Status: models.Screened, Format: reasonScreened}
	}
	if v := e.collectDynamics(); !v.OK() {
		return v
	}
	if e.wantsStep(StepLoop) || e.wants(TrackingError) || e.wants(TrackingLag) {
		if e.hopeless(StepModes) {
			return models.Verdict{Status: models.Screened, Format: reasonScreened}
		}
		if v := e.collectLoop(); !v.OK() {
			return v
		}
	}
	if e.wantsStep(StepDrive) {
		if e.hopeless(StepLoop) {
			return models.Verdict{Status: models.Screened, Format: reasonScreened}
		}
		if v := e.collectDrive(); !v.OK() {
			return v
		}
	}
	if e.wants(UsableTravel) {
		if e.hopeless(StepDrive) {
			return models.Verdict{Status: models.Screened, Format: reasonScreened}
		}
		e.usableTravel()
	}
	return models.Verdict{}
}

const reasonScreened = "a limit on a cheaper measure fails, the rest was not computed"

// wants reports whether the spec names a measure that is computed only then.
func (e *Evaluation) wants(m Measure) bool {
	for _, k := range e.Spec.Measures {
		if k == m {
			return true
		}
	}
	return false
}

// wantsStep reports whether the spec names a measure of a step.
func (e *Evaluation) wantsStep(step Step) bool {
	for _, k := range e.Spec.Measures {
		if Table[k].Step == step {
			return true
		}
	}
	return false
}

// hopeless reports whether a limit on a measure of the steps up to last fails,
// so that nothing computed later can make the candidate feasible.
func (e *Evaluation) hopeless(last Step) bool {
	return !e.Spec.NoScreening && e.Spec.stageViolation(e.Parameters, &e.Measures, last) > 0
}
