package configs

import (
	"fmt"
	"math"

	"flexwright/models"
	"flexwright/objective"
)

// checkLimits refuses a limit of the brief that no design can meet, and warns of a
// default one.
func (l *load) checkLimits() {
	for i, limit := range l.limits {
		if accepted, reachable := l.reachable(limit); !reachable {
			l.refuse(l.limitPlaces[i], accepted, "no design can meet the limit of %s", l.name(limit.Ref))
		}
	}
}

// warnOfDefaults says which default limits no design of the brief can meet.
func (l *load) warnOfDefaults() {
	for _, limit := range l.allLimits() {
		if accepted, reachable := l.reachable(limit); limit.Default && !reachable {
			l.warn(l.layoutPlace, "no design can meet the default limit of %s, %s: write another under limits, %s", l.name(limit.Ref), l.boundText(limit), accepted)
		}
	}
}

func (b *Brief) boundText(l objective.Limit) string {
	if math.IsInf(l.AtMost, 1) {
		return "at least " + FormatQuantity(l.AtLeast, b.unit(l.Ref))
	}
	return "at most " + FormatQuantity(l.AtMost, b.unit(l.Ref))
}

// reachable reports whether some design may meet a limit, as far as the brief's ranges
// tell, and what limit some may meet.
func (l *load) reachable(limit objective.Limit) (accepted string, ok bool) {
	from, to, known := l.reach(limit.Ref)
	if !known || from <= limit.AtMost && to >= limit.AtLeast {
		return "", true
	}
	u := l.unit(limit.Ref)
	switch {
	case from == to:
		return "a limit that " + FormatQuantity(from, u) + " meets", false
	case math.IsInf(to, 1):
		return "a limit that some value of at least " + FormatQuantity(from, u) + " meets", false
	case math.IsInf(from, -1):
		return "a limit that some value of at most " + FormatQuantity(to, u) + " meets", false
	}
	return fmt.Sprintf("a limit that some value from %s to %s meets", FormatQuantity(from, u), FormatQuantity(to, u)), false
}

// reach is the range that a number cannot leave, whatever the design, in the unit of
// its column; false where nothing is known.
//
// A blade is never thicker than its range, L/t never below its least length over its
// largest thickness, b/t likewise, a body never lighter than what is mounted on it, a
// crossover never above the highest that is tried, a plate never smaller than with every
// parameter at its lower end.
func (l *load) reach(ref objective.Ref) (from, to float64, known bool) {
	if ref.Parameter {
		return l.values(ref.Index)
	}
	inf := math.Inf(1)
	least := func(name string) float64 { from, _ := l.spanned(name); return from }
	most := func(name string) float64 { _, to := l.spanned(name); return to }
	larger := func(a, b float64) float64 { // NaN: unknown
		if math.IsNaN(a) || b > a {
			return b
		}
		return a
	}
	thickest := func() float64 { // of the thinnest blade
		t := most("blade_thickness")
		if ground := most("ground_blade_thickness"); ground < t {
			t = ground
		}
		return t
	}
	switch objective.Measure(ref.Index) {
	case objective.ConformingParts:
		return 0, 1, true
	case objective.UsableTravel, objective.UsableTravel.Tail(), objective.UsableTravel.OtherTail():
		return 0, l.largest(), l.largest() > 0
	case objective.ThinnestBlade:
		from, to = -inf, thickest()
	case objective.BladeSlenderness:
		from, to = larger(least("blade_length")/most("blade_thickness"), least("ground_blade_length")/most("ground_blade_thickness")), inf
	case objective.BladeAspect:
		from, to = least("blade_width")/thickest(), inf
	case objective.StageMass:
		from, to = least("stage_added_mass"), inf
	case objective.ArmMass:
		from, to = least("arm_added_mass"), inf
	case objective.Footprint:
		from, to = l.leastFootprint(), inf
	case objective.Crossover, objective.Bandwidth:
		from, to = 0, l.settings.Group("loop").Float("ceiling")
	default:
		return 0, 0, false
	}
	return from, to, !math.IsNaN(from) && !math.IsNaN(to)
}

// spanned is the range of a parameter over the whole brief, NaN where it is not known.
func (b *Brief) spanned(name string) (from, to float64) {
	if k := b.parameter(name); k >= 0 {
		if from, to, known := b.values(k); known {
			return from, to
		}
	}
	return math.NaN(), math.NaN()
}

// growingLayouts are those whose plate no parameter makes smaller by growing.
var growingLayouts = []string{"four-arm", "four-arm-twin", "single-guide", "folded-guide"}

// leastFootprint is the footprint that no design of the brief goes below, mm; NaN where
// that is not known. In the layouts that grow with every parameter it is that of all lower
// ends, if these can be built.
func (l *load) leastFootprint() float64 {
	least := math.Inf(1)
	for _, layout := range l.layouts {
		if own, ok := LayoutByName(layout.Name()); !ok || own != layout || !contains(growingLayouts, layout.Name()) {
			return math.NaN()
		}
		d := models.Design{Material: &models.Materials()[0]} // the footprint is the same of any
		for _, p := range layout.Parameters() {
			from, _, known := l.values(l.parameter(p.Name))
			if !known {
				from = math.NaN() // by the layout's rule
				if p.Required {
					return from
				}
			}
			d.Parameters = append(d.Parameters, p.Unit.ToSI(from))
		}
		stage := models.NewStage(layout.Topology())
		if v := layout.Build(&d, stage); !v.OK() {
			return math.NaN()
		}
		least = min(least, math.Floor(1e6*models.Millimetre.FromSI(stage.Frame))/1e6) // nm, to read well
	}
	return least
}
