package mechanics

import (
	"flexwright/models/blade"
	"flexwright/models/dense"
)

//go:generate go run -C ../../.ci/lanes . -what carry -pkg mechanics -columns ../../models/mechanics/carry -out ../../models/mechanics/carry_amd64.s -stubs ../../models/mechanics/carry_stubs_amd64.go

// bladeColumns are the blades of a stage at some poses in columns: a number for each pose of a blade,
// blade after blade. The bits are the same for one pose and for many.
type bladeColumns struct {
	poses, blades        int
	prepared             bool // of the constants
	tangents             *blade.Tangents
	memory               []float64 // all columns but those of the tangents
	upright              [carryUprightColumns][]float64
	inPlane              [carryInPlaneColumns][]float64
	length, whole, heavy []float64 // of each blade
	// what goes where: over the pattern, to the unknowns, and to their rows
	stiff, mass, weight []dense.Sum
	inPlaneMass, floor  []dense.Sum
}

var noScalars [1]float64 // of the kernels

func newBladeColumns(m *Model, poses, width int) *bladeColumns {
	n := len(m.blades)
	f := func() []float64 { return make([]float64, n) }
	c := &bladeColumns{poses: poses, blades: n, tangents: blade.NewTangents(n, poses), length: f(), whole: f(), heavy: f()}
	size := (n*poses + 7) / 8 * 8
	c.memory = make([]float64, (len(c.upright)+len(c.inPlane))*size+dense.Beyond)
	var start [carryUprightColumns]int
	var startInPlane [carryInPlaneColumns]int
	for i := range c.upright {
		start[i] = i * size
		c.upright[i] = c.memory[start[i]:]
	}
	for i := range c.inPlane {
		startInPlane[i] = (len(c.upright) + i) * size
		c.inPlane[i] = c.memory[startInPlane[i]:]
	}
	for _, both := range [][2]int{{carryInPlaneNx, carryUprightNx}, {carryInPlaneNy, carryUprightNy}, {carryInPlaneAn, carryUprightAn}, {carryInPlaneAm, carryUprightAm},
		{carryInPlaneBn, carryUprightBn}, {carryInPlaneBm, carryUprightBm}, {carryInPlaneMass, carryUprightMass}} {
		c.inPlane[both[0]] = c.upright[both[1]]
	}
	for i, k := range c.tangents.Stiffness() {
		c.upright[[6]int{carryUprightK00, carryUprightK01, carryUprightK02, carryUprightK11, carryUprightK12, carryUprightK22}[i]] = k
	}
	for i := range m.blades {
		bb := &m.blades[i]
		from := func(column int) int { return start[column] + i*poses }
		inPlane := func(column int) int { return startInPlane[column] + i*poses }
		for _, end := range []struct{ node, stiff, mass, roll, pitch, inPlane, yawX, yawY int }{
			{bb.rootNode, carryUprightStiffRoot00, carryUprightMassRoot00, carryUprightRollRoot, carryUprightPitchRoot,
				carryInPlaneMassRoot00, carryInPlaneYawXRoot, carryInPlaneYawYRoot},
			{bb.tipNode, carryUprightStiffTip00, carryUprightMassTip00, carryUprightRollTip, carryUprightPitchTip,
				carryInPlaneMassTip00, carryInPlaneYawXTip, carryInPlaneYawYTip},
		} {
			if end.node < 0 {
				continue
			}
			at := 3 * end.node * width
			c.floor = append(c.floor, dense.Sum{To: at + RowFloorX, From: inPlane(carryInPlaneHalf)}, dense.Sum{To: at + width + RowFloorY, From: inPlane(carryInPlaneHalf)},
				dense.Sum{To: at + 2*width + RowFloorX, From: inPlane(end.yawX)}, dense.Sum{To: at + 2*width + RowFloorY, From: inPlane(end.yawY)})
			for e, offset := range lowerTriangle {
				c.stiff = append(c.stiff, dense.Sum{To: 9*end.node + offset, From: from(end.stiff + e)})
				c.mass = append(c.mass, dense.Sum{To: 9*end.node + offset, From: from(end.mass + e)})
				c.inPlaneMass = append(c.inPlaneMass, dense.Sum{To: 9*end.node + offset, From: inPlane(end.inPlane + e)})
			}
			for a, column := range [3]int{carryUprightWeight, end.roll, end.pitch} {
				c.weight = append(c.weight, dense.Sum{To: 3*end.node + a, From: from(column)})
			}
		}
		if bb.couple < 0 {
			continue
		}
		for e := range 9 {
			to := bb.couple + e
			if !bb.coupleFlips { // columns of the tip
				to = bb.couple + e%3*3 + e/3
			}
			c.stiff = append(c.stiff, dense.Sum{To: to, From: from(carryUprightStiffCouple00 + e)})
			c.mass = append(c.mass, dense.Sum{To: to, From: from(carryUprightMassCouple00 + e)})
			c.inPlaneMass = append(c.inPlaneMass, dense.Sum{To: to, From: inPlane(carryInPlaneMassCouple00 + e)})
		}
	}
	return c
}

// lowerTriangle are the places of the numbers of a 3 by 3 block that count on the diagonal.
var lowerTriangle = [6]int{0, 3, 4, 6, 7, 8}

// prepare takes over the constants of the blades, once for a candidate.
func (c *bladeColumns) prepare(d *Dynamics) {
	if c.prepared {
		return
	}
	c.prepared = true
	for i := range d.blades {
		c.tangents.Set(i, &d.blades[i])
		c.length[i], c.whole[i], c.heavy[i] = d.blades[i].Length, 2*d.half[i], 0
		if d.Up == Flat {
			c.heavy[i] = -gravity * d.half[i]
		}
	}
	dense.Repeat(c.inPlane[carryInPlaneLength], c.length, c.poses)
	dense.Repeat(c.upright[carryUprightMass], c.whole, c.poses)
	dense.Repeat(c.upright[carryUprightRotary], d.rotary, c.poses)
	dense.Repeat(c.upright[carryUprightWeight], c.heavy, c.poses)
}

// place takes over where the blades are at pose, the k-th of these; of blades that are one element each.
func (c *bladeColumns) place(d *Dynamics, pose *Pose, k int) {
	c.prepare(d)
	for i := range c.blades {
		lk := &pose.link[i]
		c.put(i, k, &ends{lk.nx, lk.ny, lk.chord, lk.am, -lk.an, lk.bm, -lk.bn})
	}
}

func (c *bladeColumns) put(i, k int, e *ends) {
	x, at := &c.upright, i*c.poses+k
	x[carryUprightNx][at], x[carryUprightNy][at], x[carryUprightChord][at] = e.nx, e.ny, e.chord
	x[carryUprightAm][at], x[carryUprightAn][at], x[carryUprightBm][at], x[carryUprightBn][at] = e.ax, -e.ay, e.bx, -e.by
}

// solveInPlane makes the columns of what blades are to the bodies in the plane.
func (c *bladeColumns) solveInPlane() { carryInPlane(&c.inPlane, &noScalars, 0, c.blades*c.poses) }

// bend takes over how the blades are bent at pose, and where they are; false with the first that has buckled in torsion, where that is known at once.
func (c *bladeColumns) bend(d *Dynamics, pose *Pose, k int) (blade int, ok bool) {
	if d.segments == 1 {
		c.place(d, pose, k)
		c.bendWhole(pose, k)
		return 0, true
	}
	c.prepare(d)
	for i := range c.blades {
		var e ends
		var stiff [9]float64
		if !d.bladeInPieces(pose, i, &e, &stiff) {
			return i, false
		}
		c.tangents.Put(i, k, &stiff)
		c.put(i, k, &e)
	}
	return 0, true
}

// bendWhole is bend of blades that are one element each, once they are placed.
func (c *bladeColumns) bendWhole(pose *Pose, k int) {
	for i := range c.blades {
		turn := pose.link[i].turn
		c.tangents.Bend(i, k, turn, turn+pose.Phi[i], pose.Axial[i])
	}
}

// solve makes the columns of what blades are to the bodies; false with a blade that has buckled in torsion.
func (c *bladeColumns) solve(whole bool) (blade int, ok bool) {
	if whole {
		if blade, ok = c.tangents.Solve(); !ok {
			return blade, false
		}
	}
	carryUpright(&c.upright, &noScalars, 0, c.blades*c.poses)
	return 0, true
}

// add adds numbers of the k-th pose to where they go.
func (c *bladeColumns) add(sums []dense.Sum, k int, to []float64) {
	for _, s := range sums {
		to[s.To] += c.memory[s.From+k]
	}
}
