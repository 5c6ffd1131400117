package mechanics

import "flexwright/models/dense"

// beside is what the problems of all poses side by side are put together from.
type beside struct {
	poses             *bladeColumns
	stiff, mass, rows [][]float64 // of each pose, without blades
	own               [][]float64 // stiffness where actuators have some
	places            []int32     // of rows that are not 0
	inPlane, upright  []int32     // what batches add of the blades
}

func newBeside(d *Dynamics) *beside {
	n, m := len(d.s.Poses), d.plane
	b := &beside{poses: newBladeColumns(d.upright, n, NumRows), stiff: make([][]float64, n)}
	matrices := func(size int) (list [][]float64) {
		for range n {
			list = append(list, make([]float64, size))
		}
		return list
	}
	b.own, b.mass, b.rows = matrices(m.Pattern.Len()), matrices(m.Pattern.Len()), matrices(m.Unknowns()*NumRows)
	if d.above != nil {
		var weight []dense.Sum
		for _, s := range b.poses.weight {
			weight = append(weight, dense.Sum{To: NumRows * s.To, From: s.From})
		}
		b.upright = d.above.Sums(b.poses.stiff, b.poses.mass, weight)
	}
	if d.batch == nil {
		return b
	}
	b.inPlane = d.batch.Sums(nil, b.poses.inPlaneMass, b.poses.floor)
	add := func(node, axis int, rows ...int) {
		for _, r := range rows {
			b.places = append(b.places, int32((3*node+axis)*NumRows+r))
		}
	}
	for node := range m.Body {
		for axis := range 3 {
			add(node, axis, RowFloorX, RowFloorY)
		}
	}
	for k := range m.Topology.Actuators {
		for end := range 2 {
			if _, node, _ := m.actuatorEnd(k, end); node >= 0 {
				for axis := range 3 {
					add(node, axis, RowActuator+k)
				}
			}
		}
	}
	if node := m.Node[m.Topology.Stage]; node >= 0 {
		for axis := range 3 {
			add(node, axis, RowPointX, RowPointY, RowStageX, RowStageY)
		}
	}
	return b
}

// putInPlane leaves the problems of all poses in the plane in d.batch, with the bits of [Dynamics.inPlaneProblem]; of blades that
// are one element each.
func (d *Dynamics) putInPlane() {
	b, poses, st := d.beside, d.s.Poses, d.s.Stage
	stiffened := false
	for k := range st.ActAlong {
		stiffened = stiffened || st.ActAlong[k] != 0 || st.ActAcross[k] != 0
	}
	for i := range poses {
		pose := &poses[i]
		b.poses.place(d, pose, i)
		b.stiff[i] = pose.K
		if stiffened {
			b.stiff[i] = b.own[i]
			copy(b.own[i], pose.K)
			d.actuatorStiffness(pose, b.own[i])
		}
		d.s.massOfBodies(pose, b.mass[i])
		for _, p := range b.places {
			b.rows[i][p] = 0
		}
		d.rowsOfBodies(pose, b.rows[i])
	}
	b.poses.solveInPlane()
	d.batch.PutEach(b.stiff, b.mass, b.rows, b.places)
	d.batch.Add(b.poses.memory, b.inPlane)
}
