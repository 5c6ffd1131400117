package objective

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// estimates are what is known of a design for estimates of its parts.
//
// Statics, the lowest modes and what follows from them alone are smooth: derivatives of the
// design tell them ([mechanics.Nearby]). A tail of any other measure asks for parts that are
// solved. A limit that bounds a part's crossover from above is judged with the part's own modes, no farther
// down than the bound, and only where the design has a crossover above it that is nearly good. Any other
// limit that the design meets with room is taken as met by its parts.
type estimates struct {
	*mechanics.Nearby
	nominal, parts *Bench // of the design, of its parts

	plain, looped *Want   // what is estimated of a part, without and with its loop
	poses         int     // whose lowest modes are wanted: none, the centre, all
	ofLoop        []Limit // that bound the crossover from above
	beyond        []Limit // that parts cannot be asked about

	withLoop bool // parts of the last design are asked about ofLoop
}

// byDerivatives reports whether a measure of a part follows from derivatives of the design.
func (m Measure) byDerivatives() bool {
	info := &Table[m]
	return info.Step <= StepStatics || m == FirstFrequency || m == WorstFrequency || info.Step == StepDrive && info.Needs&NeedsLoop == 0
}

// boundsCrossover reports whether a limit bounds the crossover from above and nothing else.
func (l *Limit) boundsCrossover() bool {
	switch Measure(l.Ref.Index) {
	case Crossover:
		return math.IsInf(l.AtLeast, -1)
	case OutOfPlaneRatio, BladeModeRatio:
		return math.IsInf(l.AtMost, 1) && l.AtLeast > 0
	}
	return false
}

// room is how far, of its bound, a design has to meet a limit that its parts are not asked
// about: many times what errors of a few micrometres do to frequencies, a few times what a gap among the
// good crossovers does to those of parts.
const room = 0.5

// newEstimates returns what estimates of parts need; nil where a tail that is wanted cannot
// be estimated.
func newEstimates(p *partsMemory, nominal *Bench, limits []Limit, segments int) *estimates {
	t := nominal.topology
	if segments > 1 || slices.ContainsFunc(p.tailed, func(m Measure) bool { return !m.byDerivatives() }) {
		return nil
	}
	e := &estimates{nominal: nominal, parts: p.bench, Nearby: mechanics.NewNearby(nominal.dynamics)}
	plain, ofLoop := slices.Clone(p.tailed), []Measure{}
	var smooth []Limit
	for _, l := range limits {
		m := Measure(l.Ref.Index)
		switch {
		case !m.Suits(t):
		case m.byDerivatives():
			plain, smooth = append(plain, m), append(smooth, l)
			if Table[m].Unbounded {
				plain = append(plain, knownBy(m))
			}
		case l.boundsCrossover():
			ofLoop, e.ofLoop = append(ofLoop, m), append(e.ofLoop, l)
			if Table[m].Unbounded {
				ofLoop = append(ofLoop, knownBy(m))
			}
		default:
			e.beyond = append(e.beyond, l)
		}
	}
	for _, m := range plain {
		if m == WorstFrequency {
			e.poses = len(nominal.dynamics.Modes)
		} else if Table[m].Step >= StepModes {
			e.poses = max(e.poses, 1)
		}
	}
	e.plain, e.looped = NewWant(plain, smooth, true), NewWant(slices.Concat(plain, ofLoop), slices.Concat(smooth, e.ofLoop), true)
	e.plain.screenFrom, e.looped.screenFrom = p.want.screenFrom, p.want.screenFrom
	return e
}

// clear reports whether limits are on numbers that a design has, and met with room.
func (b *Bench) clear(limits []Limit, room float64) bool {
	return !slices.ContainsFunc(limits, func(l Limit) bool {
		v, ok := measured(&b.answer, Measure(l.Ref.Index))
		return !ok || l.Margin(v) < room
	})
}

// serve takes over a design that was measured as far as asked, and returns what is estimated
// of its parts; nil where they have to be solved.
func (e *estimates) serve(b *Bench, asked *Want) *Want {
	for step, runs := range e.plain.runs[:StepParts] {
		if runs && !asked.runs[step] {
			return nil
		}
	}
	e.withLoop = len(e.ofLoop) > 0 && e.mayRise(b)
	switch {
	case !b.clear(e.beyond, room), !b.clear(e.ofLoop, math.Inf(-1)),
		(e.poses > 0 || e.withLoop) && !e.HasModes(),
		e.withLoop && (len(b.loop.plants) > 1 || !e.TakeOutOfPlane()):
		return nil
	}
	e.TakeStatics()
	for i := range e.poses {
		if !e.withLoop && !e.TakeModes(i) {
			return nil
		}
	}
	if e.withLoop {
		return e.looped
	}
	return e.plain
}

// estimateBy has the stages that are measured next estimated by derivatives of a design; nil: solved.
func (b *Bench) estimateBy(e *estimates) {
	b.near = e
	b.scratch.Beside(nil)
	if e != nil && !e.withLoop {
		b.scratch.Beside(e.Nearby)
	}
}

// Of a design's loop: the crossover that parts are asked about, of the bound, and the |S| that its
// crossovers above may have and parts not be asked.
const (
	nearBound = 0.95
	relaxed   = 1.5 // times the limit
)

// mayRise reports whether parts of a design may have a crossover above its bound: good crossovers have gaps,
// and where a gap above the design's closes in a part the part's crossover is that above it.
func (e *estimates) mayRise(b *Bench) bool {
	l := e.parts.loop
	l.loop.SetDamping(l.spec.Settings.Damping)
	l.loop.Use(b.loop.shape)
	return l.loop.MayHoldAbove(nearBound*e.floor(b), relaxed*l.spec.Settings.SensitivityLimit, b.loop.plants...)
}

// floor is the largest crossover of a stage, Hz, that breaks none of its limits.
func (e *estimates) floor(b *Bench) float64 {
	floor := b.loop.spec.Settings.Ceiling
	for i := range e.ofLoop {
		limit := &e.ofLoop[i]
		switch Measure(limit.Ref.Index) {
		case Crossover:
			floor = min(floor, limit.AtMost)
		case OutOfPlaneRatio:
			floor = min(floor, b.modal.outOfPlane/limit.AtLeast)
		case BladeModeRatio:
			floor = min(floor, b.modal.blade/limit.AtLeast)
		}
	}
	return floor
}

const hertz = 1 / (2 * math.Pi)

// estimateModes estimates the modes that are wanted, of equilibria that were estimated: with a
// loop all in the plane, at these equilibria.
func (b *Bench) estimateModes() models.Verdict {
	d, e := b.dynamics, b.near
	b.modal = modalNumbers{worst: math.Inf(1)}
	if e.withLoop {
		if v := d.Frequencies(); !v.OK() {
			return v
		}
		outOfPlane, v := e.OutOfPlane(d)
		if !v.OK() {
			return v
		}
		b.modal.outOfPlane, b.modal.blade = outOfPlane*hertz, d.BladeMode()*hertz
		b.modal.first, b.modal.worst = d.Modes[0].First()*hertz, d.WorstFirst()*hertz
		return v
	}
	for i := range e.poses {
		if v := e.Modes(d, i); !v.OK() {
			v.Index = i
			return v
		}
		b.modal.worst = min(b.modal.worst, d.Modes[i].First()*hertz)
	}
	b.modal.first = d.Modes[0].First() * hertz
	return models.Verdict{}
}

// estimateLoop finds the crossover where it breaks a limit; else it is the largest that breaks
// none, which it does not exceed.
func (b *Bench) estimateLoop() models.Verdict {
	l := b.loop
	if v := b.fillPlants(l); !v.OK() {
		return v
	}
	const inside = 1 - 1e-9 // against rounding of the ratios
	floor := inside * b.near.floor(b)
	l.loop.Use(l.shape)
	hz := l.loop.CrossoverAbove(floor, l.plants...)
	if hz == 0 {
		hz = floor
	}
	l.result, l.bandwidth, l.closedLoop = servo.Result{Hz: hz}, math.NaN(), math.NaN()
	l.marginsOK, l.budgetOK = false, false
	return models.Verdict{}
}
