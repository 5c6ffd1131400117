package objective

import "flexwright/models"

// TravelEndReason is what ends the usable travel.
type TravelEndReason struct {
	Computed bool
	Status   models.Status // when a pose is not solved
	Limit    int           // number of the limit that fails, -1 when none does
}

// Numbers of the search for the usable travel.
const (
	travelScan   = 8    // equal steps over the range, so that a measure that is not monotone is seen
	travelFinest = 1e-4 // of the range: the last bracket
)

// usableTravel sets UsableTravel and Travel: the largest R <= UpTo such that at
// every r <= R the nine poses of ±r are solved and meet the limits on statics
// and stress. The range is walked in equal steps up to the first that fails,
// and the step before it halved to 1e-4 of the range. The poses of the scratch
// are overwritten.
func (e *Evaluation) usableTravel() {
	upTo := e.Stage().UpTo
	good, bad := 0.0, -1.0
	end := TravelEndReason{Computed: true, Limit: -1}
	for k := 1; k <= travelScan && bad < 0; k++ {
		r := upTo * float64(k) / travelScan
		if why, ok := e.holdsAt(r); ok {
			good = r
		} else {
			bad, end = r, why
		}
	}
	for bad > 0 && bad-good > travelFinest*upTo {
		r := 0.5 * (good + bad)
		if why, ok := e.holdsAt(r); ok {
			good = r
		} else {
			bad, end = r, why
		}
	}
	e.Measures.SetSI(UsableTravel, good)
	e.Travel = end
}

// holdsAt solves the nine poses of ±r and judges them by the limits on statics.
func (e *Evaluation) holdsAt(r float64) (why TravelEndReason, ok bool) {
	why = TravelEndReason{Computed: true, Limit: -1}
	if v := e.Scratch().Statics(r); !v.OK() {
		why.Status = v.Status
		return why, false
	}
	var m Measures
	e.collectStatics(&m)
	worst := 0.0
	for i := range e.Spec.Limits {
		limit := &e.Spec.Limits[i]
		if limit.Ref.Parameter || Table[limit.Ref.Index].Step != StepStatics {
			continue
		}
		v, _ := m.Get(Measure(limit.Ref.Index))
		if excess := limit.Excess(v); excess > worst {
			worst, why.Limit = excess, i
		}
	}
	return why, why.Limit < 0
}

// name of what ends the travel: a measure, a status, or up_to.
func (t TravelEndReason) name(s *Spec) string {
	switch {
	case !t.Computed:
		return ""
	case t.Status != models.Solved:
		return t.Status.String()
	case t.Limit >= 0:
		return s.Name(s.Limits[t.Limit].Ref)
	}
	return "up_to"
}
