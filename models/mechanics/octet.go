package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/dense"
)

//go:generate go run -C ../../.ci/lanes . -what poses -pkg mechanics -columns ../../models/mechanics/poses -out ../../models/mechanics/poses_amd64.s -stubs ../../models/mechanics/poses_stubs_amd64.go

// octet is the memory for the equilibria of the poses off the centre, all iterated side by side: number k of the pose in
// lane l is x[dense.Lanes*k+l]. Lanes beyond the poses repeat the first.
type octet struct {
	*octetPlan
	x        []float64
	turn     [turnBodiesColumns][]float64
	bend     [bendBladesColumns][]float64
	pull     [pullLinksColumns][]float64
	follow   [followBladesColumns][]float64
	shape    [shapeBladesColumns][]float64
	sections [8][]float64 // of each blade
}

func newOctet(m *Model) *octet {
	p := m.octet()
	if p == nil {
		return nil
	}
	o := &octet{octetPlan: p, x: make([]float64, dense.Lanes*(p.numbers+1))}
	column := func(at, n int) []float64 { return o.x[dense.Lanes*at : dense.Lanes*(at+n+1)] }
	nb, ne := len(m.Topology.Bodies), len(m.blades)
	o.turn = [...][]float64{turnBodiesYaw: column(p.yaw, nb), turnBodiesSin: column(p.sin, nb), turnBodiesVersine: column(p.versine, nb)}
	for c := range o.sections {
		o.sections[c] = make([]float64, ne)
	}
	for c := range o.bend {
		o.bend[c] = column(p.blade(c, 0), ne)
	}
	for c := range o.pull {
		o.pull[c] = column(p.link(c, 0), len(m.links))
	}
	for c, of := range followOfBend {
		o.follow[c] = o.bend[of]
	}
	for i, c := range followOwn {
		o.follow[c] = column(p.moved+i*ne, ne)
	}
	for c, of := range shapeOfBend {
		o.shape[c] = o.bend[of]
	}
	for i, c := range shapeOwn {
		o.shape[c] = column(p.shaped+i*ne, ne)
	}
	return o
}

// Columns that kernels share with [bendBlades], and others of their own.
var (
	followOfBend = map[int]int{followBladesNx: bendBladesNx, followBladesNy: bendBladesNy, followBladesAn: bendBladesAn, followBladesAm: bendBladesAm,
		followBladesBn: bendBladesBn, followBladesBm: bendBladesBm, followBladesChord: bendBladesChord, followBladesPerLength: bendBladesPerLength,
		followBladesRowA: bendBladesRowA, followBladesRowB: bendBladesRowB, followBladesResidual: bendBladesResidual,
		followBladesCompliance: bendBladesCompliance, followBladesP: bendBladesP}
	followOwn   = [4]int{followBladesDx, followBladesDy, followBladesTurnA, followBladesTurnB}
	shapeOfBend = map[int]int{shapeBladesTurn: bendBladesTurn, shapeBladesChord: bendBladesChord, shapeBladesPerLength: bendBladesPerLength,
		shapeBladesP: bendBladesP, shapeBladesRootM: bendBladesRootM, shapeBladesTipM: bendBladesTipM, shapeBladesStiff: bendBladesStiff,
		shapeBladesFa: bendBladesFa, shapeBladesFb: bendBladesFb}
	shapeOwn = [3]int{shapeBladesW, shapeBladesRootP, shapeBladesPhi}
)

// lanes returns number k of all lanes.
func (o *octet) lanes(k int) *[dense.Lanes]float64 {
	return (*[dense.Lanes]float64)(o.x[dense.Lanes*k:])
}

// set makes number k the same in all lanes.
func (o *octet) set(k int, v float64) {
	to := o.lanes(k)
	for l := range to {
		to[l] = v
	}
}

// prepare takes over what s was prepared with.
func (o *octet) prepare(s *Scratch) {
	o.set(o.zero, 0)
	o.set(o.one, 1)
	for b := range s.Model.Topology.Bodies {
		if s.Model.Node[b] < 0 {
			o.set(o.qx+b, 0)
			o.set(o.qy+b, 0)
			o.set(o.yaw+b, 0)
		}
	}
	for i := range s.Section {
		sec := &s.Section[i]
		for c, v := range [len(o.sections)]float64{sec.Length, 1 / sec.Length, sec.EI / sec.Length, sec.Arc, 1 / sec.Arc, sec.ShortS, sec.ShortArc, sec.C0} {
			o.sections[c][i] = v
		}
	}
	for c, list := range [...][]float64{bendBladesRootX: s.rootX, bendBladesRootY: s.rootY, bendBladesTipX: s.tipX, bendBladesTipY: s.tipY, bendBladesCos: s.cosPsi, bendBladesSin: s.sinPsi,
		bendBladesLength: o.sections[0], bendBladesPerLength: o.sections[1], bendBladesStiff: o.sections[2], bendBladesArc: o.sections[3], bendBladesPerArc: o.sections[4],
		bendBladesShortS: o.sections[5], bendBladesShortArc: o.sections[6], bendBladesC0: o.sections[7]} {
		if list != nil {
			dense.Repeat(o.x[dense.Lanes*o.blade(c, 0):], list, dense.Lanes)
		}
	}
	for i := range s.links {
		c := &s.links[i]
		o.set(o.link(pullLinksRhoX, i), c.rhoX)
		o.set(o.link(pullLinksRhoY, i), c.rhoY)
		for e, column := range [9]int{pullLinksK0, pullLinksK1, pullLinksK2, pullLinksK3, pullLinksK4, pullLinksK5, pullLinksK6, pullLinksK7, pullLinksK8} {
			o.set(o.link(column, i), c.in[e])
		}
	}
	for i, l := range s.load {
		o.set(o.load+i, -l)
	}
	for i := range s.armX {
		o.set(o.armX+i, s.armX[i])
		o.set(o.armY+i, s.armY[i])
	}
	for i := range s.Model.mounted {
		for axis, k := range s.Stage.Springs[i] {
			o.set(o.springs+3*i+axis, k)
		}
	}
}

// predict sets the iterates to the centre's tangent.
func (o *octet) predict(s *Scratch, travel float64) {
	m, from := s.Model, &s.Poses[0]
	x, y := o.aim(m, travel)
	number := func(at int, v float64, slope *[2][]float64, i int) {
		to := o.lanes(at)
		a, b := slope[0][i], slope[1][i]
		for l := range to {
			to[l] = v + float64(x[l]*a)
		}
		if len(m.prescribed) == 2 {
			for l := range to {
				to[l] += float64(y[l] * b)
			}
		}
	}
	for _, b := range m.Body {
		number(o.qx+b, from.Q[3*b], &s.slopeQ, 3*b)
		number(o.qy+b, from.Q[3*b+1], &s.slopeQ, 3*b+1)
		number(o.yaw+b, from.Q[3*b+2], &s.slopeQ, 3*b+2)
	}
	for i, p := range from.P {
		number(o.blade(bendBladesP, i), p, &s.slopeP, i)
	}
	for k, f := range from.Force {
		number(o.force+k, f, &s.slopeF, k)
	}
}

// aim sets where the stage is to be, and returns it.
func (o *octet) aim(m *Model, travel float64) (x, y [dense.Lanes]float64) {
	for l := range x {
		sign := PoseSigns[o.pose(l)]
		x[l], y[l] = sign[0]*travel, sign[1]*travel
	}
	*o.lanes(o.target) = x
	if len(m.prescribed) == 2 {
		*o.lanes(o.target + 1) = y
	}
	return x, y
}

// pose is the number of the pose in lane l.
func (o *octet) pose(l int) int {
	if l+1 < o.poses {
		return l + 1
	}
	return 1
}

// mostPasses of the iteration; a good one takes 3.
const mostPasses = 6

// solve iterates all poses as [Scratch.newton] does, and fills them; false where one of them does not settle at once, or where
// what was computed may not hold: then nothing is said of any.
func (o *octet) solve(s *Scratch, travel float64) bool {
	o.prepare(s)
	o.predict(s, travel)
	small := false
	for pass := 0; ; pass++ {
		o.equilibrate()
		o.factoring.Run(o.x)
		if small && pass >= 2 && o.settled() {
			shapeBlades(&o.shape, &none, 0, dense.Lanes*o.blades)
			return o.take(s, travel, pass)
		}
		if pass == mostPasses {
			return false
		}
		o.step.Run(o.x)
		followBlades(&o.follow, &none, 0, dense.Lanes*o.blades)
		move, turn := 0.0, 0.0
		for l, x := range o.lanes(o.move) {
			move, turn = max(move, x), max(turn, o.lanes(o.turned)[l])
		}
		small = move <= stepTolerance*s.size && turn <= stepTolerance
		if !(move < s.size) || !(turn < 1) {
			return false
		}
	}
}

var none [1]float64

// equilibrate is [Scratch.assemble].
func (o *octet) equilibrate() {
	turnBodies(&o.turn, &none, 0, dense.Lanes*o.bodies)
	o.gather.Run(o.x)
	bendBlades(&o.bend, &none, 0, dense.Lanes*o.blades)
	pullLinks(&o.pull, &[1]float64{rounded}, 0, dense.Lanes*o.linked)
	o.assemble.Run(o.x)
}

// settled reports whether what is left of the forces is rounding.
func (o *octet) settled() bool {
	worst, size := o.lanes(o.worst), o.lanes(o.size)
	for l, w := range worst {
		if !(w <= residualTolerance*size[l]+math.SmallestNonzeroFloat64) {
			return false
		}
	}
	return true
}

// take fills the poses; false where a lane is outside of what the series of its functions are for, or no number.
func (o *octet) take(s *Scratch, travel float64, steps int) bool {
	o.finish.Run(o.x)
	if !o.valid() || !o.areNumbers() {
		return false
	}
	o.spread(s)
	for i := 1; i < o.poses; i++ {
		pose := &s.Poses[i]
		o.place(pose, i, travel, steps)
		if !o.judge(s, i, pose) {
			return false
		}
	}
	return true
}

// valid reports whether turns are within what the series of the kernels' functions are for.
func (o *octet) valid() bool {
	for _, x := range o.turn[turnBodiesYaw][:dense.Lanes*o.bodies] {
		if !(math.Abs(x) <= math.Pi/4) {
			return false
		}
	}
	for _, x := range o.bend[bendBladesSteep][:dense.Lanes*o.blades] {
		if x != 0 {
			return false
		}
	}
	return true
}

// areNumbers reports whether everything that was added up is one.
func (o *octet) areNumbers() bool {
	for _, sum := range o.lanes(o.everything) {
		if sum-sum != 0 {
			return false
		}
	}
	return true
}

// place says where a pose is.
func (o *octet) place(pose *Pose, i int, travel float64, steps int) {
	sign := PoseSigns[i]
	pose.X, pose.Y, pose.Steps = sign[0]*travel, sign[1]*travel, steps
}

// takeMotions fills motions and forces of pose i.
func (o *octet) takeMotions(m *Model, i int, pose *Pose) {
	at := func(k int) float64 { return o.x[dense.Lanes*k+i-1] }
	for b := range o.bodies {
		q := pose.Q[3*b : 3*b+3]
		q[0], q[1], q[2] = at(o.qx+b), at(o.qy+b), at(o.yaw+b)
	}
	for k := range m.prescribed {
		pose.Force[k] = at(o.force + k)
	}
	for node := range m.Body {
		k := pose.K[9*node : 9*node+9]
		k[1], k[2], k[5] = 0, 0, 0 // above the diagonal nothing is read
	}
}

// judge fills stiffness and verdict of a pose of which the rest is known.
func (o *octet) judge(s *Scratch, i int, pose *Pose) bool {
	m := s.Model
	o.takeMotions(m, i, pose)
	negative := false
	for node := range m.Body {
		f := pose.Factor[9*node : 9*node+9]
		f[1], f[2], f[5] = 0, 0, 0
		negative = negative || f[0] < 0 || f[4] < 0 || f[8] < 0
	}
	if negative {
		pose.Verdict = models.Verdict{Status: models.Buckled, Format: reasonBuckled, Index: i}
		return true
	}
	var a [4]float64
	n := len(m.prescribed)
	stage := 3 * m.Node[m.Topology.Stage]
	for k := range n {
		for r, axis := range m.prescribed {
			a[2*r+k] = o.lanes(o.columns[k] + stage + int(axis))[i-1]
		}
	}
	pose.Verdict = s.rangeOfBlades(pose)
	return pose.drive(n, a)
}

// lists are the columns of numbers that are copied to a pose.
func (o *octet) lists(p *Pose) [9]struct {
	from int
	to   []float64
} {
	return [...]struct {
		from int
		to   []float64
	}{
		{o.blade(bendBladesP, 0), p.P}, {o.blade(bendBladesAxial, 0), p.Axial}, {o.blade(bendBladesRootM, 0), p.RootM}, {o.blade(bendBladesTipM, 0), p.TipM},
		{o.shaped, p.W}, {o.shaped + o.blades, p.RootP}, {o.shaped + 2*o.blades, p.Phi}, {o.k, p.K}, {o.factor, p.Factor},
	}
}

// spread copies columns from the lanes to the poses.
func (o *octet) spread(s *Scratch) {
	var to [9 + linkNumbers/4][dense.Lanes]*float64
	for l := range dense.Lanes {
		pose := &s.Poses[o.pose(l)]
		for i, list := range o.lists(pose) {
			to[i][l] = &list.to[0]
		}
		lk := &pose.link[0]
		to[9][l], to[10][l], to[11][l] = &lk.nx, &lk.bn, &lk.rowA
	}
	for i, list := range o.lists(&s.Poses[1]) {
		if !dense.Spread(o.x, list.from, 1, 4, (len(list.to)+3)/4, &to[i], 4) { // up to three beyond the last, where there is room
			o.spreadPlain(s)
			return
		}
	}
	for k := range linkNumbers / 4 { // the columns from nx on are the numbers of a link, in its order
		dense.Spread(o.x, o.blade(bendBladesNx+4*k, 0), o.blades, 1, o.blades, &to[9+k], linkNumbers)
	}
}

// spreadPlain is spread without registers of four numbers.
func (o *octet) spreadPlain(s *Scratch) {
	for i := 1; i < o.poses; i++ {
		x := o.x[i-1:]
		for _, list := range o.lists(&s.Poses[i]) {
			for k := range list.to {
				list.to[k] = x[dense.Lanes*(list.from+k)]
			}
		}
		for e := range s.Poses[i].link {
			at := func(c int) float64 { return x[dense.Lanes*o.blade(c, e)] }
			s.Poses[i].link[e] = link{at(bendBladesNx), at(bendBladesNy), at(bendBladesAn), at(bendBladesAm), at(bendBladesBn), at(bendBladesBm),
				at(bendBladesChord), at(bendBladesTurn), at(bendBladesRowA), at(bendBladesRowB), at(bendBladesResidual), at(bendBladesCompliance)}
		}
	}
}
