package mechanics

import "flexwright/models/dense"

// beside is what the problems of all poses side by side are put together from.
type beside struct {
	blades           *bladeColumns
	links            *linkColumns
	plane, upright   lists
	own              [][]float64 // stiffness in the plane where actuators have some
	mass, floor      []float64   // in the plane
	floorPlaces      []int32
	placed           int     // for what equilibria blades and links are in their columns
	inPlane, inLink  []int32 // what batches add of blades and links
	outside, outLink []int32
}

// lists are stiffness and rows of each pose, without blades and links out of the plane; and the places of rows that may be other than 0.
type lists struct {
	stiff, rows [][]float64
	places      []int32
}

func newLists(m *Model, poses int, places []int32) lists {
	return lists{make([][]float64, poses), matrices(poses, m.Unknowns()*NumRows), places}
}

func matrices(n, size int) (list [][]float64) {
	for range n {
		list = append(list, make([]float64, size))
	}
	return list
}

func newBeside(d *Dynamics) *beside {
	n := len(d.s.Poses)
	b := &beside{blades: newBladeColumns(d.upright, n, NumRows), links: newLinkColumns(d.upright, n, NumRows), mass: make([]float64, d.plane.Pattern.Len()), floor: make([]float64, d.plane.Unknowns()*NumRows), floorPlaces: floorPlaces(d.plane), plane: newLists(d.plane, n, drivePlaces(d.plane)), upright: newLists(d.upright, n, formPlaces(d.upright)),
		own: matrices(n, d.plane.Pattern.Len())}
	if d.above != nil {
		b.outside = d.above.Sums(b.blades.stiff, b.blades.mass, ofRows(b.blades.weight))
		b.outLink = d.above.Sums(b.links.stiff, b.links.mass, ofRows(b.links.weight))
	}
	if d.batch != nil {
		b.inPlane = d.batch.Sums(nil, b.blades.inPlaneMass, b.blades.floor)
		b.inLink = d.batch.Sums(nil, b.links.inPlaneMass, b.links.floor)
	}
	return b
}

// ofRows are sums of what goes to unknowns, to the first number of their rows.
func ofRows(sums []dense.Sum) (rows []dense.Sum) {
	for _, s := range sums {
		rows = append(rows, dense.Sum{To: NumRows * s.To, From: s.From})
	}
	return rows
}

// rowPlaces returns which numbers of the rows in the plane may be other than 0.
func rowPlaces(m *Model) []int32 { return append(floorPlaces(m), drivePlaces(m)...) }

// rowPlace is where numbers of rows are, of the unknowns of a node.
func rowPlace(node int, rows ...int) (places []int32) {
	for axis := range 3 {
		for _, r := range rows {
			places = append(places, int32((3*node+axis)*NumRows+r))
		}
	}
	return places
}

// floorPlaces is rowPlaces of those that the floor excites.
func floorPlaces(m *Model) (places []int32) {
	for node := range m.Body {
		places = append(places, rowPlace(node, RowFloorX, RowFloorY)...)
	}
	return places
}

// drivePlaces is rowPlaces of the others.
func drivePlaces(m *Model) (places []int32) {
	add := func(node int, rows ...int) { places = append(places, rowPlace(node, rows...)...) }
	for k := range m.Topology.Actuators {
		for end := range 2 {
			if _, node, _ := m.actuatorEnd(k, end); node >= 0 {
				add(node, RowActuator+k)
			}
		}
	}
	if node := m.Node[m.Topology.Stage]; node >= 0 {
		add(node, RowPointX, RowPointY, RowStageX, RowStageY)
	}
	return places
}

// formPlaces is rowPlaces of the forms out of the plane.
func formPlaces(m *Model) (places []int32) {
	for u := range m.Unknowns() {
		places = append(places, int32(u*NumRows))
	}
	if stage := m.Node[m.Topology.Stage]; stage >= 0 {
		for axis := range 3 {
			places = append(places, int32((3*stage+axis)*NumRows+1+axis))
		}
	}
	return places
}

// filled is a bit for each number of an unknown's row that may be other than 0.
func filled(m *Model, places []int32) []uint8 {
	bits := make([]uint8, m.Unknowns())
	for _, p := range places {
		bits[p/NumRows] |= 1 << (p % NumRows)
	}
	return bits
}

// putInPlane leaves the problems of all poses in the plane in d.batch, with the bits of [Dynamics.inPlaneProblem]; of blades that
// are one element each.
func (d *Dynamics) putInPlane() {
	b, x, poses, st := d.beside, &d.beside.plane, d.s.Poses, d.s.Stage
	stiffened := false
	for k := range st.ActAlong {
		stiffened = stiffened || st.ActAlong[k] != 0 || st.ActAcross[k] != 0
	}
	for i := range poses {
		pose := &poses[i]
		b.blades.place(d, pose, i)
		b.links.place(d, pose, i)
		x.stiff[i] = pose.K
		if stiffened {
			x.stiff[i] = b.own[i]
			copy(b.own[i], pose.K)
			d.actuatorStiffness(pose, b.own[i])
		}
		for _, p := range x.places {
			x.rows[i][p] = 0
		}
		d.rowsOfBodies(pose, x.rows[i])
	}
	b.placed = d.s.found
	b.blades.solveInPlane()
	b.links.solve()
	d.s.massOfBodies(b.mass)
	d.batch.PutEach(x.stiff, b.mass, x.rows, x.places)
	clear(b.floor)
	d.floorOfBodies(b.floor)
	d.batch.PutRows(b.floor, b.floorPlaces)
	d.batch.Add(b.links.memory, b.inLink)
	d.batch.Add(b.blades.memory, b.inPlane)
}

// putUpright leaves the problems of all poses out of the plane in d.above, with the bits of [Dynamics.Vertical]; false where a blade has buckled
// in torsion.
func (d *Dynamics) putUpright() bool {
	b, x, poses := d.beside, &d.beside.upright, d.s.Poses
	placed := d.segments == 1 && b.placed == d.s.found && b.blades.prepared
	for i := range poses {
		if placed {
			b.blades.bendWhole(&poses[i], i)
			continue
		}
		if _, ok := b.blades.bend(d, &poses[i], i); !ok {
			return false
		}
		b.links.place(d, &poses[i], i)
	}
	if _, ok := b.blades.solve(d.segments == 1); !ok {
		return false
	}
	b.links.solve()
	if !d.tall { // the same at all poses
		d.verticalBodies(&poses[0])
		d.supportForms()
		d.above.PutSame(d.k, d.mass, d.forms, x.places)
	} else {
		forms := d.forms
		for i := range poses {
			d.forms, x.stiff[i] = x.rows[i], d.k
			d.verticalBodies(&poses[i])
			d.supportForms()
		}
		d.forms = forms
		d.above.PutEach(x.stiff, d.mass, x.rows, x.places)
	}
	d.above.Add(b.links.memory, b.outLink)
	d.above.Add(b.blades.memory, b.outside)
	return true
}
