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
	x      []float64
	turn   [turnBodiesColumns][]float64
	bend   [bendBladesColumns][]float64
	pull   [pullLinksColumns][]float64
	follow [followBladesColumns][]float64
	shape  [shapeBladesColumns][]float64
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
		for _, n := range [...]struct {
			column int
			value  float64
		}{
			{bendBladesRootX, s.rootX[i]}, {bendBladesRootY, s.rootY[i]}, {bendBladesTipX, s.tipX[i]}, {bendBladesTipY, s.tipY[i]},
			{bendBladesCos, s.cosPsi[i]}, {bendBladesSin, s.sinPsi[i]}, {bendBladesLength, sec.Length}, {bendBladesPerLength, 1 / sec.Length},
			{bendBladesStiff, sec.EI / sec.Length}, {bendBladesArc, sec.Arc}, {bendBladesPerArc, 1 / sec.Arc}, {bendBladesShortS, sec.ShortS},
			{bendBladesShortArc, sec.ShortArc}, {bendBladesC0, sec.C0},
		} {
			o.set(o.blade(n.column, i), n.value)
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
	var x, y [dense.Lanes]float64
	for l := range x {
		sign := PoseSigns[o.pose(l)]
		x[l], y[l] = sign[0]*travel, sign[1]*travel
	}
	m, from := s.Model, &s.Poses[0]
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
	*o.lanes(o.target) = x
	if len(m.prescribed) == 2 {
		*o.lanes(o.target + 1) = y
	}
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
	nb, ne, nl := dense.Lanes*len(s.Model.Topology.Bodies), dense.Lanes*len(s.Section), dense.Lanes*len(s.links)
	none, rounding := [1]float64{}, [1]float64{rounded}
	small := false
	for pass := 0; ; pass++ {
		turnBodies(&o.turn, &none, 0, nb)
		o.gather.Run(o.x)
		bendBlades(&o.bend, &none, 0, ne)
		pullLinks(&o.pull, &rounding, 0, nl)
		o.assemble.Run(o.x)
		if small && pass >= 2 && o.settled() {
			shapeBlades(&o.shape, &none, 0, ne)
			return o.take(s, travel, pass)
		}
		if pass == mostPasses {
			return false
		}
		o.step.Run(o.x)
		followBlades(&o.follow, &none, 0, ne)
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
	m := s.Model
	for _, x := range o.turn[turnBodiesYaw][:dense.Lanes*len(m.Topology.Bodies)] {
		if !(math.Abs(x) <= math.Pi/4) {
			return false
		}
	}
	for _, x := range o.bend[bendBladesSteep][:dense.Lanes*len(m.blades)] {
		if x != 0 {
			return false
		}
	}
	for i := 1; i < o.poses; i++ {
		if !o.takePose(s, i, travel, steps) {
			return false
		}
	}
	return true
}

func (o *octet) takePose(s *Scratch, i int, travel float64, steps int) bool {
	m, pose := s.Model, &s.Poses[i]
	x := o.x[i-1:]
	at := func(k int) float64 { return x[dense.Lanes*k] }
	sign := PoseSigns[i]
	pose.X, pose.Y, pose.Steps, pose.Verdict = sign[0]*travel, sign[1]*travel, steps, models.Verdict{}
	sum := 0.0 // of everything: no number where something is none
	for b := range m.Topology.Bodies {
		q := pose.Q[3*b : 3*b+3]
		q[0], q[1], q[2] = at(o.qx+b), at(o.qy+b), at(o.yaw+b)
		sum += q[0] + q[1] + q[2]
	}
	for k := range pose.Force {
		pose.Force[k] = at(o.force + k)
		sum += pose.Force[k]
	}
	ne := len(m.blades)
	column := func(c int) []float64 { return x[dense.Lanes*o.blade(c, 0):][:dense.Lanes*ne] }
	copyLane(pose.P, column(bendBladesP))
	copyLane(pose.Axial, column(bendBladesAxial))
	copyLane(pose.RootM, column(bendBladesRootM))
	copyLane(pose.TipM, column(bendBladesTipM))
	for c, to := range [3][]float64{pose.W, pose.RootP, pose.Phi} {
		copyLane(to, x[dense.Lanes*(o.shaped+c*ne):][:dense.Lanes*ne])
	}
	for e := range pose.link {
		pose.link[e] = link{at(o.blade(bendBladesNx, e)), at(o.blade(bendBladesNy, e)), at(o.blade(bendBladesAn, e)), at(o.blade(bendBladesAm, e)),
			at(o.blade(bendBladesBn, e)), at(o.blade(bendBladesBm, e)), at(o.blade(bendBladesChord, e)), at(o.blade(bendBladesTurn, e)),
			at(o.blade(bendBladesRowA, e)), at(o.blade(bendBladesRowB, e)), at(o.blade(bendBladesResidual, e)), at(o.blade(bendBladesCompliance, e))}
		sum += pose.P[e] + pose.RootM[e] + pose.TipM[e] + pose.W[e] + pose.RootP[e]
	}
	copyLane(pose.K, x[dense.Lanes*o.k:][:dense.Lanes*len(pose.K)])
	copyLane(pose.Factor, x[dense.Lanes*o.factor:][:dense.Lanes*len(pose.Factor)])
	negative := false
	for node := range m.Body {
		k, f := pose.K[9*node:9*node+9], pose.Factor[9*node:9*node+9]
		k[1], k[2], k[5], f[1], f[2], f[5] = 0, 0, 0, 0, 0, 0 // above the diagonal nothing is read
		sum += f[0] + f[4] + f[8]
		negative = negative || f[0] < 0 || f[4] < 0 || f[8] < 0
	}
	if sum-sum != 0 {
		return false
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
			a[2*r+k] = at(o.columns[k] + stage + int(axis))
		}
	}
	if !pose.drive(n, a) {
		return false
	}
	pose.Verdict = s.rangeOfBlades(pose)
	return true
}

// copyLane fills to from one lane.
func copyLane(to, from []float64) {
	for i := range to {
		to[i] = from[dense.Lanes*i]
	}
}
