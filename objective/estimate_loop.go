package objective

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// question is what is asked about the loops of a design's parts.
type question uint8

const (
	nothing         question = iota
	crossoversAbove          // is there one that breaks a limit
	everything
)

// estimatedLoop is what a design's loop tells of those of its parts. Good crossovers of a part are looked for from where the
// design has none, even with |S| half as large again, down to the part's own, or to a bound that is asked about: with the
// part's own modes, but only at the centre and at those poses where |S| of the design comes near its limit. Where the
// question is whether there is one above a bound, the worst poses are looked at first: where they have none, the part has none.
type estimatedLoop struct {
	asks     question
	chosen   []int // poses, ascending, the centre first
	first    []int // the centre and the worst of them
	memory   [2 * mechanics.NumPoses]int
	places   []servo.Place // of first, to look at before anything else
	tightest [2]servo.Place
	top      float64 // Hz, above which no part has a crossover
	low      float64 // Hz, below which no part's bound is

	outOfPlane bool // the lowest frequency out of the plane is wanted whatever is asked
	ratio      bool // it is wanted with the loop
}

// Of a design's loop: the crossover that parts are asked about, of the bound; the |S| that its crossovers above may
// have and parts not be asked; the crossover, of where the scan begins, below which parts may have none; and the |S| of a
// pose, of the largest, that is near it. Choices of this program: with 0.9 instead of 0.8, six of 25 tails of loops were off by more than 3 %.
const (
	nearBound = 0.95
	relaxed   = 1.5 // times the limit
	nearFrom  = 1.5
	nearPeak  = 0.8
	least     = 0.97 // of a design's frequencies out of the plane and of blades, that of parts
)

// upright reports whether the lowest frequency out of the plane is wanted of all parts.
func (e *estimatedLoop) upright() bool { return e.outOfPlane || e.ratio && e.asks == everything }

// takeLoop finds what is asked about the loops of parts, in asks, and where that is looked for.
func (e *estimates) takeLoop(b *Bench) {
	l := b.loop
	hz, limit := l.result.Hz, l.spec.Settings.SensitivityLimit
	switch {
	case e.loopTails || !b.clear(e.lowered, room) || len(e.raised) > 0 && hz < nearFrom*l.spec.Settings.From:
		e.asks = everything
	case len(e.raised) == 0:
		return
	}
	if !(hz > 0) {
		return
	}
	from := hz
	if e.asks == nothing {
		from = nearBound * e.floor(b)
	}
	e.top = hz
	if from < l.spec.Settings.Ceiling {
		if e.top = l.loop.Relaxed(from, relaxed*limit); e.top == 0 {
			if e.asks == nothing {
				return
			}
			e.top = hz
		}
	}
	if e.asks == nothing {
		e.asks = crossoversAbove
	}
	e.low = least * e.floor(b)
	var near, worst [mechanics.NumPoses]bool
	near[0], worst[0] = true, true
	levels := [2]float64{hz, e.top}
	e.places = e.tightest[:0]
	if e.asks == crossoversAbove {
		levels[0] = min(e.low, e.top)
	}
	for _, at := range levels {
		var peaks [mechanics.NumPoses]float64
		place, ok := l.loop.Peaks(at, peaks[:])
		if ok {
			worst[place.Pose] = true
			e.places = append(e.places, place)
		}
		most := nearPeak * min(slices.Max(peaks[:]), relaxed*limit)
		for pose, peak := range peaks {
			near[pose] = near[pose] || peak >= most
		}
	}
	if e.asks == everything {
		l.loop.Frequencies(hz)
		slow, late := l.loop.Slowest()
		near[slow], near[late] = true, true
	}
	e.chosen, e.first = e.memory[:0:mechanics.NumPoses], e.memory[mechanics.NumPoses:mechanics.NumPoses]
	for pose := range near {
		if near[pose] || worst[pose] {
			e.chosen = append(e.chosen, pose)
		}
		if worst[pose] {
			e.first = append(e.first, pose)
		}
	}
	for i := range e.places {
		e.places[i].Pose = slices.Index(e.first, e.places[i].Pose)
	}
	const margin = 1.02 // of what is known to a step of the scan
	e.top *= margin
}

// floor is the largest crossover of a stage, Hz, that breaks none of the limits that bound it from above.
func (e *estimates) floor(b *Bench) float64 {
	floor := b.loop.spec.Settings.Ceiling
	for i := range e.raised {
		limit := &e.raised[i]
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

// estimateLoop finds the crossover, and what follows from it where that is asked; where crossovers above a bound are asked about
// and there is none, it is the bound.
func (b *Bench) estimateLoop() models.Verdict {
	l, e := b.loop, b.near
	l.marginsOK, l.budgetOK = false, false
	l.bandwidth, l.closedLoop = math.NaN(), math.NaN()
	l.loop.Use(l.shape)
	floor := 0.0
	if e.asks == crossoversAbove {
		b.modal.outOfPlane = e.nominal.modal.outOfPlane
		hz, v := b.crossoverAt(e.first, e.low, e.places)
		if l.result = (servo.Result{Hz: e.low}); !v.OK() || hz == 0 {
			return v
		}
		if e.ratio {
			b.scratch.LinksAnew()
			outOfPlane, v := e.OutOfPlane(b.dynamics)
			if !v.OK() {
				return v
			}
			b.modal.outOfPlane = outOfPlane * hertz
		}
		const inside = 1 - 1e-9 // against rounding of the ratios
		floor = inside * e.floor(b)
		if l.result.Hz = floor; hz <= floor || len(e.first) == len(e.chosen) {
			l.result.Hz = max(hz, floor)
			return v
		}
	}
	hz, v := b.crossoverAt(e.chosen, floor, nil)
	if e.asks == everything && v.OK() && hz > 0 {
		l.bandwidth, l.closedLoop, _ = l.loop.Frequencies(hz)
	}
	l.result = servo.Result{Hz: max(hz, floor)}
	return v
}

// crossoverAt is the part's crossover above floor, Hz, by some of its poses; 0 where there is none.
func (b *Bench) crossoverAt(poses []int, floor float64, places []servo.Place) (float64, models.Verdict) {
	if v := b.dynamics.FrequenciesAt(poses); !v.OK() {
		return 0, v
	}
	if v := b.fillPlantsAt(b.loop, poses); !v.OK() {
		return 0, v
	}
	return b.loop.loop.CrossoverBetween(floor, b.near.top, places, b.loop.plants...), models.Verdict{}
}
