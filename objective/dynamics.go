package objective

import (
	"math"

	"flexwright/models"
)

// collectDynamics solves the modes of the nine poses and what happens out of
// the plane, and fills their measures.
func (e *Evaluation) collectDynamics() models.Verdict {
	m, d := &e.Measures, e.Dynamics()
	d.Prepare()
	if v := d.Frequencies(); !v.OK() {
		return v
	}
	outOfPlane, _, v := d.Supports()
	if !v.OK() {
		return v
	}
	if d.Coupled() {
		outOfPlane = d.LowestOut()
	}
	const hertz = 1 / (2 * math.Pi)
	unwanted, _, _ := d.Unwanted()
	m.SetSI(FirstFrequency, d.Modes[0].First()*hertz)
	m.SetSI(WorstFrequency, d.WorstFirst()*hertz)
	m.SetSI(LowestUnwanted, min(unwanted, outOfPlane)*hertz)
	m.SetSI(FrequencySpread, d.Spread())
	m.SetSI(OutOfPlaneFrequency, outOfPlane*hertz)
	m.SetSI(BladeMode, d.BladeMode()*hertz)
	m.SetSI(SupportStiffness, d.LeastSupport())
	m.SetSI(Sag, d.StageSag())
	z, tilt := d.Straightness()
	m.SetSI(ZStraightness, z)
	m.SetSI(Tilt, tilt)
	m.SetSI(AbbeError, d.AbbeError())
	return models.Verdict{}
}
