package mechanics

import "flexwright/models"

// fewPoses are solved one by one; more than these all together, which costs no more.
const fewPoses = 4

// FrequenciesAt is Frequencies of some poses, by number; the modes of the others are of no use after it.
func (d *Dynamics) FrequenciesAt(list []int) (v models.Verdict) {
	if len(list) > fewPoses {
		return d.Frequencies()
	}
	for len(list) > 0 && v.OK() {
		i := list[0]
		if len(list) > 1 && !d.tall {
			var w models.Verdict
			j := list[1]
			if v, w = d.inPlaneBoth(&d.s.Poses[i], &d.s.Poses[j], &d.Modes[i], &d.Modes[j]); v.OK() {
				i, v = j, w
			}
			list = list[2:]
		} else {
			v = d.Natural(&d.s.Poses[i], &d.Modes[i])
			list = list[1:]
		}
		if !v.OK() && v.Blades == nil {
			v.Index = i
		}
	}
	return v
}
