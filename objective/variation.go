package objective

import (
	"math"

	"flexwright/models/mechanics"
)

// variation differentiates the measures of a design that follow from the derivatives of
// its mechanics: the stage of a parameter that is a little off is measured by them, with no
// equilibrium solved.
type variation struct {
	of    *Evaluation // decodes and builds
	bench *Bench
	want  *Want
}

// newVariation evaluates the design of a pinned spec; nil where its mechanics has no derivatives.
func newVariation(spec *Spec) *variation {
	nominal := NewEvaluation(spec)
	nominal.Evaluate(nil)
	b := nominal.Bench()
	near := &estimates{nominal: b, Nearby: mechanics.NewNearby(b.dynamics), poses: len(b.dynamics.Modes)}
	if !near.HasModes() || !b.reached(StepModes) {
		return nil
	}
	near.TakeStatics()
	for i := range near.poses {
		if !near.TakeModes(i) {
			return nil
		}
	}
	var list []Measure
	for _, m := range spec.Measures {
		if m.analytic() {
			list = append(list, m)
		}
	}
	v := &variation{of: newEvaluation(spec, 1), bench: newBench(spec, b.topology, 1), want: NewWant(list, nil, false)}
	v.bench.near = near
	return v
}

// analytic reports whether a measure of a design has derivatives by the mechanics' own: of those that
// estimates of parts follow, not what hangs on the shape of a mode.
func (m Measure) analytic() bool {
	return m.byDerivatives() && !m.byPoses() && m != OutOfPlaneFrequency && Table[m].Step != StepDrive
}

// variationStep is relative to a parameter's value. What is differentiated is smooth, and
// no iteration ends in it: the differences are derivatives to 1e-9, and rounding, 1e-11 of a stiffness, to 3e-7 of it.
const variationStep = 3e-5

// derivatives of measures to parameter k at a value; NaN of those that have none.
func (v *variation) derivatives(list []Measure, k int, at float64) []float64 {
	p := &v.of.Spec.Parameters()[k]
	out := make([]float64, len(list))
	scale := math.Abs(at)
	if scale == 0 {
		scale = 0.1 * min(p.Max, -p.Min) // of a position about 0; a mass of 0 has no two sides
	}
	h := variationStep * scale
	fixed := v.of.Spec.Fixed[k]
	defer func() { v.of.Spec.Fixed[k] = fixed }()
	for side, sign := range [2]float64{-1, 1} {
		x := at + sign*h
		v.of.Spec.Fixed[k] = x
		if !(h > 0) || x < p.Min || x > p.Max || !v.of.build(nil).OK() {
			return fill(out, math.NaN())
		}
		m, verdict := v.bench.Measure(v.of.Stage(), v.want)
		if !verdict.OK() {
			return fill(out, math.NaN())
		}
		for i := range list {
			value, ok := m.Get(list[i])
			switch {
			case !ok:
				out[i] = math.NaN()
			case side == 0:
				out[i] = value
			default:
				out[i] = (value - out[i]) / (2 * h)
				if math.Abs(out[i])*scale <= 1e-7*math.Abs(value) { // rounding of what the parameter does not move
					out[i] = 0
				}
			}
		}
	}
	return out
}

func fill(list []float64, v float64) []float64 {
	for i := range list {
		list[i] = v
	}
	return list
}
