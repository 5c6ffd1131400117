package mechanics

import "flexwright/models"

// FrequenciesAt is Frequencies of some poses alone, by number; the modes of the others are left as they are.
func (d *Dynamics) FrequenciesAt(list []int) (v models.Verdict) {
	if d.batch != nil && !d.tall && len(list) <= NumPoses {
		if v, ok := d.sideBySideAt(list); ok {
			return v
		}
	}
	for _, i := range list {
		if v = d.Natural(&d.s.Poses[i], &d.Modes[i]); !v.OK() {
			if v.Blades == nil {
				v.Index = i
			}
			return v
		}
	}
	return v
}

// sideBySideAt is sideBySide of some poses.
func (d *Dynamics) sideBySideAt(list []int) (v models.Verdict, ok bool) {
	e := d.memory
	var flexible, massive [NumPoses]bool
	n := 0
	for k, i := range list {
		d.inPlaneProblem(&d.s.Poses[i], e)
		if n, ok = e.whiten(NumRows); !ok {
			return v, false
		}
		flexible[k], massive[k] = e.flexible, e.massive
		d.batch.Put(k, e.full, n, e.rows)
	}
	d.batch.Solve(len(list), n)
	for k, i := range list {
		if !d.batch.Take(k, n, e.rows, e.values) {
			return v, false
		}
		e.flexible, e.massive = flexible[k], massive[k]
		if v = d.Modes[i].take(e, e.turn(n, NumRows)); !v.OK() {
			v.Index = i
			return v, true
		}
	}
	return v, true
}
