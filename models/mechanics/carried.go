package mechanics

import (
	"flexwright/models/blade"
	"flexwright/models/dense"
)

//go:generate go run -C ../../.ci/lanes . -what carry -pkg mechanics -columns ../../models/mechanics/carry -out ../../models/mechanics/carry_amd64.s -stubs ../../models/mechanics/carry_stubs_amd64.go

// bladeColumns are the blades of a stage at some poses, out of the plane, in columns: a number for each pose of a blade,
// blade after blade. The bits are the same for one pose and for many.
type bladeColumns struct {
	poses, blades int
	tangents      *blade.Tangents
	memory        []float64 // all columns but those of the tangents
	upright       [carryUprightColumns][]float64
	scalars       [carryUprightScalars]float64
	// what goes where: over the pattern, and to the unknowns
	stiff, mass, weight []dense.Sum
}

func newBladeColumns(m *Model, poses int) *bladeColumns {
	n := len(m.blades)
	c := &bladeColumns{poses: poses, blades: n, tangents: blade.NewTangents(n, poses)}
	size := (n*poses + 7) / 8 * 8
	c.memory = make([]float64, len(c.upright)*size+dense.Beyond)
	var start [carryUprightColumns]int
	for i := range c.upright {
		start[i] = i * size
		c.upright[i] = c.memory[i*size:]
	}
	for i, k := range c.tangents.Stiffness() {
		c.upright[[6]int{carryUprightK00, carryUprightK01, carryUprightK02, carryUprightK11, carryUprightK12, carryUprightK22}[i]] = k
	}
	for i := range m.blades {
		bb := &m.blades[i]
		from := func(column int) int { return start[column] + i*poses }
		for _, end := range []struct{ node, stiff, mass, roll, pitch int }{
			{bb.rootNode, carryUprightStiffRoot00, carryUprightMassRoot00, carryUprightRollRoot, carryUprightPitchRoot},
			{bb.tipNode, carryUprightStiffTip00, carryUprightMassTip00, carryUprightRollTip, carryUprightPitchTip},
		} {
			if end.node < 0 {
				continue
			}
			for e, offset := range lowerTriangle {
				c.stiff = append(c.stiff, dense.Sum{To: 9*end.node + offset, From: from(end.stiff + e)})
				c.mass = append(c.mass, dense.Sum{To: 9*end.node + offset, From: from(end.mass + e)})
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
		}
	}
	return c
}

// lowerTriangle are the places of the numbers of a 3 by 3 block that count on the diagonal.
var lowerTriangle = [6]int{0, 3, 4, 6, 7, 8}

// prepare takes over the constants of the blades.
func (c *bladeColumns) prepare(d *Dynamics) {
	for i := range d.blades {
		c.tangents.Set(i, &d.blades[i])
		weight := 0.0
		if d.Up == Flat {
			weight = -gravity * d.half[i]
		}
		for k := range c.poses {
			at := i*c.poses + k
			c.upright[carryUprightMass][at], c.upright[carryUprightRotary][at], c.upright[carryUprightWeight][at] = 2*d.half[i], d.rotary[i], weight
		}
	}
}

// bend takes over where the blades are at pose, the k-th of these; false with the first that has buckled in torsion, where that is known at once.
func (c *bladeColumns) bend(d *Dynamics, pose *Pose, k int) (blade int, ok bool) {
	for i := range c.blades {
		var e ends
		if d.segments == 1 {
			lk := &pose.link[i]
			e = ends{lk.nx, lk.ny, lk.chord, lk.am, -lk.an, lk.bm, -lk.bn}
			c.tangents.Bend(i, k, lk.turn, lk.turn+pose.Phi[i], pose.Axial[i])
		} else {
			var stiff [9]float64
			if !d.bladeInPieces(pose, i, &e, &stiff) {
				return i, false
			}
			c.tangents.Put(i, k, &stiff)
		}
		at := i*c.poses + k
		x := &c.upright
		x[carryUprightNx][at], x[carryUprightNy][at], x[carryUprightChord][at] = e.nx, e.ny, e.chord
		x[carryUprightAm][at], x[carryUprightAn][at], x[carryUprightBm][at], x[carryUprightBn][at] = e.ax, -e.ay, e.bx, -e.by
	}
	return 0, true
}

// solve makes the columns of what blades are to the bodies; false with a blade that has buckled in torsion.
func (c *bladeColumns) solve(whole bool) (blade int, ok bool) {
	if whole {
		if blade, ok = c.tangents.Solve(); !ok {
			return blade, false
		}
	}
	carryUpright(&c.upright, &c.scalars, 0, c.blades*c.poses)
	return 0, true
}

// add adds numbers of the k-th pose to where they go.
func (c *bladeColumns) add(sums []dense.Sum, k int, to []float64) {
	for _, s := range sums {
		to[s.To] += c.memory[s.From+k]
	}
}
