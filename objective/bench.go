package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/mechanics"
)

// Bench is where stages of one topology are measured, one after the other:
// candidates, payload's extremes, steps of the usable travel, parts with errors, fine
// checks. It owns all memory that measuring touches, and belongs to one goroutine.
type Bench struct {
	spec     *Spec // conditions of measuring: orientation, loop, drive; read-only
	topology *models.Topology
	rig
	probe *Bench       // for other stages while this one's answer stays: payload's extremes, steps of the usable travel; nil: not wanted
	parts *partsMemory // nil: not wanted
	near  *estimates   // the design that the stage is a part of, by whose derivatives it is estimated; nil: it is solved itself

	stage *models.Stage // the one being measured
	// beside the stage, of a part with errors: factors on the damping of its modes and on the constants
	// of its actuators
	isPart   bool
	damping  float64
	constant [2]float64

	// computed by each step
	static  staticNumbers
	poses   [mechanics.NumPoses]PoseStatics
	modal   modalNumbers
	loop    *loopMemory // nil unless wanted
	duty    *driveMemory
	travel  travelNumbers
	answer  Measures
	verdict models.Verdict
	done    Step // the next one; what is behind it was computed
}

// rig solves the mechanics of one stage.
type rig struct {
	up          mechanics.Upright
	scratch     *mechanics.Scratch
	dynamics    *mechanics.Dynamics
	subdivision *mechanics.Subdivision // nil: one element per blade
	model       *mechanics.Model       // of the stage itself
	segments    int                    // per blade
	given       models.Stage           // the stage with its weight, where it stands
	solved      *models.Stage          // what the mechanics was given: that, or it subdivided
	weight      []models.Load
	kt          []float64 // per blade, or segment of one: stress concentration
	mises       []float64 // per blade, or segment of one: von Mises over the largest principal stress
	bending     []float64 // the same: peak stress per end moment, Pa/(N m)
	perArea     []float64 // the same: stress per axial force, 1/m²
	compressed  []float64 // the same: P L²/EI of the whole blade per axial force, 1/N
}

func newRig(spec *Spec, t *models.Topology, segments int) rig {
	n := segments * len(t.Blades)
	column := func() []float64 { return make([]float64, n, n+drive.Spare) }
	r := rig{up: spec.Orientation, model: mechanics.NewModel(t), segments: segments, kt: column(), mises: column(), bending: column(), perArea: column(), compressed: column(),
		weight: make([]models.Load, 0, len(t.Bodies)+4*len(t.Blades))}
	if segments == 1 {
		r.scratch = mechanics.NewScratch(r.model)
		r.dynamics = mechanics.NewDynamics(r.scratch)
	} else {
		r.subdivision = mechanics.NewSubdivision(t, segments)
		r.scratch = mechanics.NewScratch(r.subdivision.Fine)
		r.dynamics = mechanics.NewFineDynamics(r.scratch, r.subdivision, true)
	}
	r.dynamics.Point, r.dynamics.Up = spec.Interest, spec.Orientation
	return r
}

// mount takes over a stage, which stays as it is.
func (r *rig) mount(st *models.Stage) {
	r.given = *st
	if r.up != mechanics.Flat {
		r.given.Loads = mechanics.AddWeight(r.model, st, r.up, append(r.weight[:0], st.Loads...))
	}
	r.solved = &r.given
	if r.subdivision != nil {
		r.solved = r.subdivision.Fill(&r.given)
	}
	r.scratch.Prepare(r.solved)
	for i := range r.kt {
		if k := r.scratch.Like(i); k < i {
			r.kt[i], r.mises[i], r.bending[i], r.perArea[i], r.compressed[i] = r.kt[k], r.mises[k], r.bending[k], r.perArea[k], r.compressed[k]
			continue
		}
		r.kt[i], r.mises[i] = r.scratch.StressFactor(i), r.scratch.MisesFactor(i)
		// Kt |M| (t/2)/I + |P|/A with I = b t³/12
		h, w := r.solved.Thickness[i], r.solved.Width[i]
		r.bending[i], r.perArea[i], r.compressed[i] = r.kt[i]*6/(w*h*h), 1/(w*h), r.scratch.WholeCompliance(i)
	}
}

// NewBench returns the memory for stages of a topology under the conditions of a
// spec, with so many segments per blade (1: the fast model).
func NewBench(spec *Spec, t *models.Topology, segments int) *Bench {
	b := newBench(spec, t, segments)
	payload := false
	if b.loop != nil {
		payload = len(b.loop.plants) > 1
	}
	if payload || spec.wants(UsableTravel) {
		plain := *spec
		plain.Measures = nil // neither loop nor drive
		b.probe = newBench(&plain, t, segments)
	}
	b.parts = newPartsMemory(spec, b, segments)
	return b
}

func newBench(spec *Spec, t *models.Topology, segments int) *Bench {
	b := &Bench{spec: spec, topology: t, rig: newRig(spec, t, segments), damping: 1, constant: [2]float64{1, 1}}
	b.loop = newLoopMemory(spec, b.dynamics)
	b.duty = newDriveMemory(spec, len(b.bending))
	b.travel.want = spec.travelWant()
	return b
}

// axes is the number of driven axes: x, or x and y.
func (b *Bench) axes() int { return len(b.topology.Actuators) }

// Measure measures a stage: build, statics of the poses, what moves around them,
// loop, drive, usable travel, parts, in this order, as far as want asks and the stage is
// still worth it. The measures stay valid until the next call. A verdict that is not
// solved says why the rest is missing; the stage is only read, and nothing is allocated.
func (b *Bench) Measure(st *models.Stage, want *Want) (*Measures, models.Verdict) {
	b.stage = st
	b.answer.Reset()
	b.done = StepBuild
	b.verdict = b.measure(want)
	return &b.answer, b.verdict
}

func (b *Bench) measure(want *Want) models.Verdict {
	for step := StepBuild; step <= want.last; step++ {
		if !want.runs[step] || step == StepParts && !b.worthParts(want) {
			continue
		}
		if v := b.compute(step, want); !v.OK() {
			return v
		}
		b.done = step + 1
		for _, m := range want.measures[step] {
			if Table[m].IsText() {
				continue
			}
			if v := Table[m].Value(b); !math.IsNaN(v) && !math.IsInf(v, 0) {
				b.answer.SetSI(m, v)
			}
		}
		if want.screen && step < want.last && step >= want.screenFrom && want.fails(step, &b.answer) {
			return models.Verdict{Status: models.Screened, Format: reasonScreened}
		}
	}
	return models.Verdict{}
}

const reasonScreened = "a limit on a cheaper measure fails, the rest was not computed"

// compute does the work of a step; its results are the bench's numbers.
func (b *Bench) compute(step Step, want *Want) models.Verdict {
	switch step {
	case StepStatics:
		b.mount(b.stage)
		return b.solveStatics(b.stage.Travel)
	case StepModes:
		return b.solveModes(want.modes)
	case StepLoop:
		return b.solveLoop()
	case StepDrive:
		return b.solveDrive(want.needs)
	case StepTravel:
		b.solveTravel()
	case StepParts:
		b.solveParts(want)
	}
	return models.Verdict{}
}

// reached reports whether a step of the last stage was computed.
func (b *Bench) reached(step Step) bool { return b.done > step }

// Text returns what a text measure says of the stage measured last; empty where the
// measures that it explains were not computed. It allocates.
func (b *Bench) Text(m Measure) string {
	if b.stage == nil {
		return ""
	}
	return Table[m].Text(b)
}
