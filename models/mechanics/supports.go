package mechanics

import (
	"math"
	"slices"

	"flexwright/models"
)

// orderOfSearch visits the corners first: the lowest frequency out of the plane
// is most often there, and the other poses then only have to be shown not to be lower.
var orderOfSearch = [NumPoses]int{5, 6, 7, 8, 1, 2, 3, 4, 0}

const reasonVertical = "the stage is unstable out of its plane at position %[1]d"

// Supports evaluates the poses that Statics has solved out of the plane,
// into d.Carried, and returns the lowest natural frequency there over all of
// them, rad/s, with its pose. The verdict is buckled where a blade, or the whole
// out of the plane, is unstable.
//
// The lowest frequency is exact: a pose is solved only where the number
// of negative pivots of K - ω² M (Sylvester's law of inertia) shows that it has one
// below the lowest so far, and in full only where the lowest of it is not found and proved by itself.
func (d *Dynamics) Supports() (omega float64, pose int, v models.Verdict) {
	side := !d.alone && d.above != nil && d.supportsSideBySide()
	x, count := d.over.reduced, len(d.Carried)
	least, pose := math.Inf(1), -1
	d.lowest.known = false
	var below [NumPoses]int
	var told [NumPoses]bool
	for _, i := range orderOfSearch {
		if i >= count {
			continue
		}
		definite := true
		if !side {
			if definite, v = d.supportsAlone(i); !v.OK() {
				return 0, i, v
			}
			if pose >= 0 {
				below[i], _ = x.Factor(least*(1-sameValue), false) // equal poses differ by rounding only
			}
		}
		if pose < 0 || below[i] > 0 {
			if side {
				d.above.Copy(i, x)
			}
			value, ok := d.lowestVertical()
			if !ok {
				return 0, i, models.Verdict{Status: models.Failed, Format: reasonMass}
			}
			if value < least {
				least, pose = value, i
				if side {
					d.above.Factor(least*(1-sameValue), false, below[:count], told[:count])
				}
			}
		}
		if !definite {
			return 0, i, models.Verdict{Status: models.Buckled, Format: reasonVertical, Index: i}
		}
	}
	return math.Sqrt(max(least, 0)), pose, models.Verdict{}
}

// supportsAlone leaves the problem of a pose in d.over.reduced and fills its part of d.Carried; definite says that it is
// stable.
func (d *Dynamics) supportsAlone(i int) (definite bool, v models.Verdict) {
	if blade, ok := d.Vertical(&d.s.Poses[i]); !ok {
		return false, models.Verdict{Status: models.Buckled, Format: reasonTorsion, Index: blade, Blades: d.upright.Topology}
	}
	d.supportForms()
	x := d.over.reduced
	if !x.Reduce(d.k, d.mass, d.forms, NumRows) {
		return false, models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	if negative, _ := x.Factor(0, false); negative > 0 || !x.Regular() {
		return false, v
	}
	x.Half(d.forms, NumRows)
	var sum supportSum
	for n := range x.Order() {
		sum.add((*[NumRows]float64)(d.forms[n*NumRows:]))
	}
	d.Carried[i] = sum.carried()
	return true, v
}

// supportsSideBySide leaves the problems of all poses in d.above and fills d.Carried, with the bits of one pose after the
// other; false where one of them is not stable.
func (d *Dynamics) supportsSideBySide() bool {
	b, n := d.above, len(d.Carried)
	b.Clear()
	if !d.putUpright() {
		return false
	}
	var negative [NumPoses]int
	var safe [NumPoses]bool
	if !b.Condense(n) {
		return false
	}
	b.Factor(0, false, negative[:n], safe[:n])
	if slices.Contains(safe[:n], false) || negative != [NumPoses]int{} {
		return false
	}
	b.Half()
	for i := range n {
		var sum supportSum
		for k := range b.Order() {
			row := b.Row(i, k)
			sum.add(&row)
		}
		d.Carried[i] = sum.carried()
	}
	return true
}

// supportForms fills d.forms with the forces that Supports wants the answer to, and where: weight, and a unit along
// and about each axis of the stage.
func (d *Dynamics) supportForms() {
	clear(d.forms)
	for u, f := range d.weight {
		d.forms[u*NumRows] = f
	}
	if stage := d.upright.Node[d.upright.Topology.Stage]; stage >= 0 {
		for axis := range 3 {
			d.forms[(3*stage+axis)*NumRows+1+axis] = 1
		}
	}
}

// supportSum adds up products of forms halfway through a solution, fᵀ K⁻¹ g = (S⁻¹ f)·(S⁻¹ g): of the unit along z
// with itself, and of the weight with all three.
type supportSum struct {
	z   float64
	sag [3]float64
}

func (s *supportSum) add(row *[NumRows]float64) {
	s.z += row[1] * row[1]
	for axis := range s.sag {
		s.sag[axis] += row[0] * row[1+axis]
	}
}

// carried is nothing of a stage that is fixed.
func (s *supportSum) carried() (c Carried) {
	if s.z > 0 {
		c = Carried{Stiffness: 1 / s.z, Sag: s.sag}
	}
	return c
}
