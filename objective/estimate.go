package objective

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// estimates are what is known of a design for estimates of its parts.
//
// Statics, the lowest modes and what follows from them alone are smooth: derivatives of the
// design tell them ([mechanics.Nearby]). A part's crossover and what follows from it are found with the part's own modes at
// the poses that come near the limit in the design, around the design's crossover (see estimatedLoop). A tail of any other measure asks for
// parts that are solved. Any other limit that the design meets with room is taken as met by its parts.
type estimates struct {
	*mechanics.Nearby
	nominal, parts *Bench // of the design, of its parts

	plain, above, whole *Want   // what is estimated of a part: without its loop, crossovers above a bound, all of its loop
	poses               int     // whose lowest modes are wanted: none, the centre, all
	loopTails           bool    // tails of the loop's measures are wanted
	raised              []Limit // that bound the crossover from above
	lowered             []Limit // other limits on what the crossover tells
	beyond              []Limit // that parts cannot be asked about

	estimatedLoop
}

// byDerivatives reports whether a measure of a part follows from derivatives of the design.
func (m Measure) byDerivatives() bool {
	info := &Table[m]
	return info.Step <= StepStatics || info.Step == StepDrive && info.Needs&NeedsLoop == 0 || m.byPoses() ||
		m == FirstFrequency || m == WorstFrequency || m == OutOfPlaneFrequency || m == BladeMode
}

// byPoses reports whether a measure of the loop follows from the crossover and some of the poses.
func (m Measure) byPoses() bool {
	switch m {
	case Crossover, Bandwidth, ClosedLoopFrequency, IntegratorRatio, LeadRatio, LowPassRatio, OutOfPlaneRatio, BladeModeRatio:
		return true
	}
	return false
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
	e := &estimates{nominal: nominal, parts: p.bench, Nearby: mechanics.NewNearby(nominal.dynamics), loopTails: slices.ContainsFunc(p.tailed, Measure.byPoses)}
	plain := slices.DeleteFunc(slices.Clone(p.tailed), Measure.byPoses)
	whole := slices.Clone(p.tailed)
	var above []Measure
	var smooth []Limit
	for _, l := range limits {
		m := Measure(l.Ref.Index)
		switch {
		case !m.Suits(t):
		case m.byPoses():
			whole = append(whole, m)
			if l.boundsCrossover() {
				above, e.raised = append(above, m), append(e.raised, l)
			} else {
				e.lowered = append(e.lowered, l)
			}
		case m.byDerivatives():
			plain, smooth = append(plain, m), append(smooth, l)
			if Table[m].Unbounded {
				plain = append(plain, knownBy(m))
			}
		default:
			e.beyond = append(e.beyond, l)
		}
	}
	for _, m := range plain {
		switch {
		case m == WorstFrequency:
			e.poses = len(nominal.dynamics.Modes)
		case m == OutOfPlaneFrequency:
			e.outOfPlane = true
		case Table[m].Step >= StepModes:
			e.poses = max(e.poses, 1)
		}
	}
	e.ratio = slices.Contains(whole, OutOfPlaneRatio)
	e.plain, e.above = NewWant(plain, smooth, true), NewWant(slices.Concat(plain, above), slices.Concat(smooth, e.raised), true)
	e.whole = NewWant(slices.Concat(plain, whole), slices.Concat(smooth, e.raised, e.lowered), true)
	for _, w := range []*Want{e.plain, e.above, e.whole} {
		w.screenFrom = p.want.screenFrom
	}
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
	want := e.plain
	e.asks = nothing
	if (e.loopTails || len(e.raised)+len(e.lowered) > 0) && b.loop != nil && b.reached(StepLoop) {
		e.takeLoop(b)
		switch e.asks {
		case crossoversAbove:
			want = e.above
		case everything:
			want = e.whole
		}
	}
	for step, runs := range want.runs[:StepParts] {
		if runs && !asked.runs[step] {
			return nil
		}
	}
	switch {
	case e.asks == everything && !(b.loop.result.Hz > 0),
		!b.clear(e.beyond, room), e.asks != everything && !b.clear(e.raised, math.Inf(-1)),
		(e.poses > 0 || e.asks != nothing) && !e.HasModes(),
		(e.upright() || e.ratio && e.asks != nothing) && !e.TakeOutOfPlane():
		return nil
	}
	e.TakeStatics()
	for i := range e.poses {
		if !e.TakeModes(i) {
			return nil
		}
	}
	return want
}

// estimateBy has the stages that are measured next estimated by derivatives of a design; nil: solved.
func (b *Bench) estimateBy(e *estimates) {
	b.near = e
	b.scratch.Beside(nil)
	if e != nil && !e.upright() {
		b.scratch.Beside(e.Nearby)
	}
}

const hertz = 1 / (2 * math.Pi)

// estimateModes estimates the modes that are wanted, of equilibria that were estimated.
func (b *Bench) estimateModes() models.Verdict {
	d, e := b.dynamics, b.near
	b.modal = modalNumbers{worst: math.Inf(1), blade: d.BladeMode() * hertz}
	for i := range e.poses {
		if v := e.Modes(d, i); !v.OK() {
			v.Index = i
			return v
		}
		b.modal.worst = min(b.modal.worst, d.Modes[i].First()*hertz)
	}
	if e.poses > 0 {
		b.modal.first = d.Modes[0].First() * hertz
	}
	if e.upright() {
		outOfPlane, v := e.OutOfPlane(d)
		if !v.OK() {
			return v
		}
		b.modal.outOfPlane = outOfPlane * hertz
	}
	return models.Verdict{}
}
