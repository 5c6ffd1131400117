package fit

import (
	"math"
	"slices"

	"flexwright/objective"
)

// Prediction is a measure of the brief with the corrected stage, in its unit.
type Prediction struct {
	Measure objective.Measure
	Nominal float64 // of the design; NaN: none
	Value   float64 // NaN: none
	Sigma   float64 // standard deviation from the unknowns; NaN: none
}

// Interval that holds a normal value with 95 %: this many standard deviations either way.
const Interval = 1.959964

// Predict fills the prediction of every plain measure that the spec has computed, the
// posterior propagated linearly: along each principal axis of its covariance by half the
// difference between one standard deviation either way, which a measure that is found to a
// tolerance, or bends within it, stands better than a tangent. The controller keeps the
// shape that is found for the estimate.
func (o *Outcome) Predict() {
	spec := *o.Spec
	spec.NoScreening = true
	spec.Measures = nil
	for _, m := range o.Spec.Measures {
		if !m.OfParts() && !objective.Table[m].IsText() {
			spec.Measures = append(spec.Measures, m)
		}
	}
	evaluate := func(s *objective.Spec, x []float64) *objective.Evaluation {
		own := *s
		list := make([]objective.Correction, len(x))
		for k := range x {
			list[k] = o.Unknowns[k].Correction
			list[k].By = x[k]
		}
		own.Correct(list)
		e := objective.NewEvaluation(&own)
		e.Evaluate(nil)
		return e
	}
	nominal := evaluate(&spec, nil)
	best := evaluate(&spec, o.X)
	best.FixShape(&spec)
	variance := make([]float64, len(spec.Measures))
	for _, axis := range o.PrincipalAxes() {
		var side [2]*objective.Evaluation
		for i, sign := range [2]float64{-1, 1} {
			x := slices.Clone(o.X)
			for k := range x {
				x[k] += sign * axis[k]
			}
			side[i] = evaluate(&spec, x)
		}
		for i, m := range spec.Measures {
			d := 0.5 * (get(side[1], m) - get(side[0], m))
			variance[i] += d * d
		}
	}
	o.Prediction = nil
	for i, m := range spec.Measures {
		if v := get(best, m); v == v {
			o.Prediction = append(o.Prediction, Prediction{m, get(nominal, m), v, math.Sqrt(variance[i])})
		}
	}
}

// get is a measure of the last candidate; NaN where it has none.
func get(e *objective.Evaluation, m objective.Measure) float64 {
	if v, ok := e.Measures.Get(m); ok && e.Verdict.OK() {
		return v
	}
	return math.NaN()
}
