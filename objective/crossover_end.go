package objective

import (
	"fmt"
	"math"
	"strings"

	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// What ends a crossover is stored as a fixed phrase to group by, and beside it, each in a
// column of its own, the axis, the pose, the frequency, the mode, the factor on the mode
// frequencies and the payload of the case that fails first.

// numDetails is the number of measures in the table that are details of others.
const numDetails = 8

// loopEnd is the text of crossover_end: what ends the crossover of the last stage, or
// why it has none.
func (b *Bench) loopEnd() string {
	if !b.reached(StepLoop) {
		return ""
	}
	return b.loop.result.Reason.String()
}

// crossoverEnds lists the phrases of crossover_end.
var crossoverEnds = strings.Join(servo.Reasons(), "; ")

// loopEndAxis is the text of crossover_end_axis.
func (b *Bench) loopEndAxis() string {
	if !b.reached(StepLoop) || !b.loop.placed() {
		return ""
	}
	return [2]string{"x", "y"}[b.loop.result.Axis]
}

// placed reports whether what ends the crossover is a case: an axis at a pose.
func (l *loopMemory) placed() bool {
	return l.result.Reason != servo.Ceiling && l.result.Reason != servo.Unseen
}

// atEnd is a number of the case that ends the crossover; NaN where there is none.
func (l *loopMemory) atEnd(v float64) float64 {
	if l.placed() {
		return v
	}
	return math.NaN()
}

// endAt is where it fails first along an axis, in shares of the travel; NaN along one that is not driven.
func (l *loopMemory) endAt(axis int) float64 {
	if axis == 1 && l.loop.Settings().OneAxis {
		return math.NaN()
	}
	return l.atEnd(mechanics.PoseSigns[l.result.Pose][axis])
}

// nearEnd is the same of what has a frequency there.
func (l *loopMemory) nearEnd(v float64) float64 {
	if l.result.Mode < 0 {
		return math.NaN()
	}
	return l.atEnd(v)
}

// endPayload is the payload's extreme at which the crossover ends; NaN where it is
// stage_added_mass.
func (l *loopMemory) endPayload() float64 {
	set := l.result.Set
	if !l.placed() || set == 0 {
		return math.NaN()
	}
	for _, mass := range l.spec.Payload {
		if !math.IsNaN(mass) {
			if set--; set == 0 {
				return mass
			}
		}
	}
	return math.NaN()
}

// Explanation is what a text measure says of a row, in one sentence with the numbers that
// stand in columns of their own.
func (r *Row) Explanation(m Measure) string {
	text := r.Text(m)
	x, placed := r.Measures.Get(CrossoverEndX)
	if m != CrossoverEnd || !placed { // rows of older folders have it all in the text
		return text
	}
	get := func(m Measure) float64 { v, _ := r.Measures.Get(m); return v }
	var out strings.Builder
	fmt.Fprintf(&out, "%s of %s at ", text, r.Text(CrossoverEndAxis))
	if y, both := r.Measures.Get(CrossoverEndY); both {
		fmt.Fprintf(&out, "(%+g, %+g) travel", x, y)
	} else {
		fmt.Fprintf(&out, "%+g travel", x)
	}
	if f, ok := r.Measures.Get(CrossoverEndFrequency); ok {
		fmt.Fprintf(&out, ", %.4g Hz, near mode %g of %.4g Hz", f, get(CrossoverEndMode), get(CrossoverEndModeFrequency))
	}
	if scale := get(CrossoverEndScale); scale != 1 {
		fmt.Fprintf(&out, " (frequencies x %g)", scale)
	}
	if mass, ok := r.Measures.Get(CrossoverEndPayload); ok {
		fmt.Fprintf(&out, " (payload %g kg)", mass)
	}
	return out.String()
}
