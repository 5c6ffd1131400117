package mechanics

import (
	"math"
	"slices"

	"flexwright/models"
)

// orderOfPoses is the order in which poses one after the other are evaluated out of the plane, and the one that a verdict names is found.
var orderOfPoses = [NumPoses]int{5, 6, 7, 8, 1, 2, 3, 4, 0}

const reasonVertical = "the stage is unstable out of its plane at position %[1]d"

// Supports evaluates the poses that Statics has solved out of the plane,
// into d.Carried, and returns the lowest natural frequency there over all of
// them, rad/s, with its pose. The verdict is buckled where a blade, or the whole
// out of the plane, is unstable.
//
// The lowest frequency is exact: the pose that gives way most to its weight is solved first, then only those where the number
// of negative pivots of K - ω² M (Sylvester's law of inertia) shows that they have one
// below the lowest so far, in full only where the lowest of it is not found and proved by itself.
func (d *Dynamics) Supports() (omega float64, pose int, v models.Verdict) {
	side := !d.alone && d.above != nil && d.supportsSideBySide()
	l, x := &d.lowest, d.over.reduced
	if !side {
		for _, i := range orderOfPoses {
			if i >= len(d.Carried) {
				continue
			}
			if v = d.supportsAlone(i); !v.OK() {
				return 0, i, v
			}
			l.kept[i] = append(append(l.kept[i][:0], x.K...), x.M...)
		}
	}
	least, pose := math.Inf(1), -1
	l.known = false
	order := d.softestFirst()
	for _, i := range order[:len(d.Carried)] {
		if side && pose >= 0 && l.below[i] == 0 {
			continue
		}
		if side {
			d.above.Copy(i, x)
		} else {
			copy(x.M, l.kept[i][copy(x.K, l.kept[i]):])
			if pose >= 0 {
				if d.countBelow(i, side, least); l.below[i] == 0 {
					continue
				}
			}
		}
		value, ok := d.lowestVertical(i, side)
		if !ok {
			return 0, i, models.Verdict{Status: models.Failed, Format: reasonMass}
		}
		if value < least {
			least, pose = value, i
		}
	}
	return math.Sqrt(max(least, 0)), pose, models.Verdict{}
}

// softestFirst orders the poses by the work of the weight.
func (d *Dynamics) softestFirst() (order [NumPoses]int) {
	for i := range d.Carried {
		k := i
		for ; k > 0 && d.lowest.work[i] > d.lowest.work[order[k-1]]; k-- {
			order[k] = order[k-1]
		}
		order[k] = i
	}
	return order
}

// supportsAlone leaves the problem of a pose in d.over.reduced and fills its part of d.Carried.
func (d *Dynamics) supportsAlone(i int) models.Verdict {
	if blade, ok := d.Vertical(&d.s.Poses[i]); !ok {
		return models.Verdict{Status: models.Buckled, Format: reasonTorsion, Index: blade, Blades: d.upright.Topology}
	}
	d.supportForms()
	x := d.over.reduced
	if !x.Reduce(d.k, d.mass, d.forms, NumRows) {
		return models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	if negative, _ := x.Factor(0, false); negative > 0 || !x.Regular() {
		return models.Verdict{Status: models.Buckled, Format: reasonVertical, Index: i}
	}
	x.Half(d.forms, NumRows)
	var sum supportSum
	for n := range x.Order() {
		sum.add((*[NumRows]float64)(d.forms[n*NumRows:]))
	}
	d.Carried[i], d.lowest.work[i] = sum.carried(), sum.work
	return models.Verdict{}
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
	b.Products()
	for i := range n {
		sum := supportSum{b.Product(0, i), [3]float64{b.Product(1, i), b.Product(2, i), b.Product(3, i)}, b.Product(4, i)}
		d.Carried[i], d.lowest.work[i] = sum.carried(), sum.work
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
// with itself, and of the weight with all three and with itself.
type supportSum struct {
	z    float64
	sag  [3]float64
	work float64
}

func (s *supportSum) add(row *[NumRows]float64) {
	for i, p := range supportProducts {
		product := float64(row[p[0]] * row[p[1]])
		switch i {
		case 0:
			s.z += product
		case 4:
			s.work += product
		default:
			s.sag[i-1] += product
		}
	}
}

// supportProducts are the columns whose products these are, in this order.
var supportProducts = [5][2]int{{1, 1}, {0, 1}, {0, 2}, {0, 3}, {0, 0}}

// carried is nothing of a stage that is fixed.
func (s *supportSum) carried() (c Carried) {
	if s.z > 0 {
		c = Carried{Stiffness: 1 / s.z, Sag: s.sag}
	}
	return c
}
