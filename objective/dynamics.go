package objective

import (
	"flexwright/models"
)

// modalNumbers are what modes and what happens out of the plane come to over the nine
// poses, SI; frequencies in Hz.
type modalNumbers struct {
	first, worst, unwanted, outOfPlane, blade, body, spread  float64
	support, sag, straightness /* m */, tilt /* rad */, abbe float64
}

// solveModes solves the modes of the poses and what happens out of the plane; of a part as far as is wanted.
func (b *Bench) solveModes(wanted modesWanted) models.Verdict {
	d := b.dynamics
	d.Prepare()
	if b.near != nil {
		return b.estimateModes()
	}
	if b.isPart && wanted < modesAll && !d.Coupled() {
		poses := allPoses[:1]
		if wanted == modesInPlane {
			poses = allPoses[:len(d.Modes)]
		}
		if v := d.FrequenciesAt(poses); !v.OK() {
			return v
		}
		b.modal = modalNumbers{first: d.Modes[0].First() * hertz}
		if wanted == modesInPlane {
			b.modal.worst, b.modal.spread = d.WorstFirst()*hertz, d.Spread()
		}
		return models.Verdict{}
	}
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
	unwanted, _, _ := d.Unwanted()
	z, tilt := d.Straightness()
	b.modal = modalNumbers{
		first: d.Modes[0].First() * hertz, worst: d.WorstFirst() * hertz, unwanted: min(unwanted, outOfPlane) * hertz,
		outOfPlane: outOfPlane * hertz, blade: d.BladeMode() * hertz, body: d.BodyMode() * hertz, spread: d.Spread(),
		support: d.LeastSupport(), sag: d.StageSag(), straightness: z, tilt: tilt, abbe: d.AbbeError(),
	}
	return models.Verdict{}
}
