package objective

import (
	"math"
	"slices"

	"flexwright/models"
)

// travelNumbers are what the search for the usable travel found.
type travelNumbers struct {
	want  *Want        // statics, for the limits on them
	stage models.Stage // the stage at another travel
	good  float64      // m
	end   string       // what ends it: a measure, a status, or up_to
}

// Numbers of the search for the usable travel.
const (
	travelScan   = 8    // equal steps over the range, so that a measure that is not monotone is seen
	travelFinest = 1e-4 // of the range: the last bracket
)

// travelWant asks for the statics that a limit of the spec is on.
func (s *Spec) travelWant() *Want {
	list := []Measure{PeakStress} // so that statics run
	for _, l := range s.Limits {
		if m := Measure(l.Ref.Index); !l.Ref.Parameter && Table[m].Step == StepStatics && !slices.Contains(list, m) {
			list = append(list, m)
		}
	}
	return NewWant(list, s.Limits, false)
}

// solveTravel finds the largest R <= UpTo such that at every r <= R the poses of
// ±r are solved and meet the limits on statics and stress. The range is walked in equal
// steps up to the first that fails, and the step before it halved to 1e-4 of the range.
func (b *Bench) solveTravel() {
	t := &b.travel
	t.stage = *b.stage
	upTo := b.stage.UpTo
	good, bad := 0.0, -1.0
	t.end = "up_to"
	for k := 1; k <= travelScan && bad < 0; k++ {
		r := upTo * float64(k) / travelScan
		if why := b.holdsAt(r); why == "" {
			good = r
		} else {
			bad, t.end = r, why
		}
	}
	for bad > 0 && bad-good > travelFinest*upTo {
		r := 0.5 * (good + bad)
		if why := b.holdsAt(r); why == "" {
			good = r
		} else {
			bad, t.end = r, why
		}
	}
	t.good = good
}

// holdsAt measures the statics of the poses of ±r and returns the limit that
// fails most, or the status where they are not solved; empty where all is well.
func (b *Bench) holdsAt(r float64) (why string) {
	t := &b.travel
	t.stage.Travel = r
	m, v := b.probe.Measure(&t.stage, t.want)
	if !v.OK() {
		return v.Status.String()
	}
	worst := 0.0
	for i := range t.want.limits[StepStatics] {
		l := &t.want.limits[StepStatics][i]
		k := Measure(l.Ref.Index)
		value, ok := measured(m, k)
		margin := math.Inf(-1)
		if ok {
			margin = l.Margin(value)
		}
		if -margin > worst {
			worst, why = -margin, Table[k].Name
		}
	}
	return why
}

// travelEnd is the text of travel_end.
func (b *Bench) travelEnd() string {
	if _, ok := b.answer.Get(UsableTravel); !ok {
		return ""
	}
	return b.travel.end
}
