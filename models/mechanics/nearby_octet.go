package mechanics

import (
	"slices"

	"flexwright/models/dense"
)

// nearbyNumbers says where an [octet] has what a nominal stage tells of its poses ([Nearby]), and what is done with it.
type nearbyNumbers struct {
	first, count               int // of all that comes from the nominal stage
	q, p, force                int
	factor                     int    // of the nominal tangent
	pushed, pulled, directions [2]int // as in nearbyPose
	change                     int    // of the flexibility, row-major with stride 2
	step, drive, finish        *dense.Straight
}

// planNearby is what [Nearby.Statics] does in between.
func (o *octetPlan) planNearby(m *Model) {
	near := &o.near
	n := m.Unknowns()
	near.first = o.numbers
	near.q, near.p, near.force, near.factor = o.take(3*o.bodies), o.take(o.blades), o.take(len(m.prescribed)), o.take(m.Pattern.Len())
	for k := range m.prescribed {
		near.pushed[k], near.pulled[k], near.directions[k] = o.take(n), o.take(n), o.take(n)
	}
	near.count = o.numbers - near.first

	near.step = new(dense.Straight)
	o.planStep(m, near.step, near.factor, near.pushed)

	// the change of the flexibility: yields + (K⁻¹e)ᵀ (c - c0 - K K⁻¹c), with the new tangent
	s := new(dense.Straight)
	near.drive = s
	near.change = o.take(4)
	stage := 3 * m.Node[m.Topology.Stage]
	var changed []int
	for k := range m.prescribed {
		left := o.take(n)
		for i := range n {
			s.Sum(left+i, []int{o.columns[k] + i}, []int{near.directions[k] + i})
		}
		s.LessTimes(m.Pattern, o.k, near.pushed[k], left)
		for r, axis := range m.prescribed {
			to := near.change + 2*r + k
			changed = append(changed, to)
			s.Copy(to, near.pushed[k]+stage+int(axis))
			for i := range n {
				s.PlusProduct(to, near.pulled[r]+i, left+i)
			}
		}
	}
	near.finish = new(dense.Straight)
	o.planSum(m, near.finish, changed)
}

// takeLanes fills the lanes with what the nominal poses tell.
func (n *Nearby) takeLanes() {
	o := n.of.octet
	if o == nil {
		return
	}
	near := &o.near
	n.lanes = slices.Grow(n.lanes[:0], dense.Lanes*near.count)[:dense.Lanes*near.count]
	for l := range dense.Lanes {
		i := o.pose(l)
		pose, p := &n.of.Poses[i], &n.poses[i]
		put := func(at int, list []float64) {
			for k, v := range list {
				n.lanes[dense.Lanes*(at-near.first+k)+l] = v
			}
		}
		for b := range o.bodies {
			for axis := range 3 {
				n.lanes[dense.Lanes*(near.q-near.first+axis*o.bodies+b)+l] = pose.Q[3*b+axis]
			}
		}
		put(near.p, pose.P)
		put(near.force, pose.Force)
		put(near.factor, pose.Factor)
		for k := range n.of.Model.prescribed {
			put(near.pushed[k], p.pushed[k])
			put(near.pulled[k], p.pulled[k])
			put(near.directions[k], p.columns[k])
		}
	}
}

// sideBySide is [Nearby.estimate] of all poses off the centre at a time; false where one has to be looked at by itself: then nothing is said of any.
func (n *Nearby) sideBySide(s *Scratch, travel float64) bool {
	o := s.octet
	near := &o.near
	m := s.Model
	copy(o.x[dense.Lanes*near.first:], n.lanes)
	o.prepare(s)
	begin := func(to, from, count int) {
		copy(o.x[dense.Lanes*to:dense.Lanes*(to+count)], o.x[dense.Lanes*from:])
	}
	begin(o.qx, near.q, 3*o.bodies) // x, y and yaw, one behind the other
	begin(o.blade(bendBladesP, 0), near.p, o.blades)
	begin(o.force, near.force, len(m.prescribed))
	o.aim(m, travel)

	o.equilibrate()
	near.step.Run(o.x)
	followBlades(&o.follow, &none, 0, dense.Lanes*o.blades)
	o.equilibrate()
	if !o.valid() {
		return false
	}
	shapeBlades(&o.shape, &none, 0, dense.Lanes*o.blades)
	near.drive.Run(o.x)
	near.step.Run(o.x)
	followBlades(&o.follow, &none, 0, dense.Lanes*o.blades)
	near.finish.Run(o.x)
	if !o.areNumbers() {
		return false
	}
	o.spread(s)
	for i := 1; i < o.poses; i++ {
		pose := &s.Poses[i]
		o.place(pose, i, travel, 0)
		o.takeMotions(m, i, pose)
		var change [4]float64
		for k := range change {
			change[k] = o.lanes(near.change + k)[i-1]
		}
		pose.drivenLike(&n.of.Poses[i], len(m.prescribed), &change)
		pose.Verdict = s.rangeOfBlades(pose)
	}
	return true
}
