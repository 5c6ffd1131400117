package mechanics

import "flexwright/models"

// sixReduced is sixProblem where motions follow others: both problems are reduced, and what
// couples them at a height goes with the motions that it moves.
func (d *Dynamics) sixReduced(pose *Pose) models.Verdict {
	plane, m, st, six := d.plane, d.upright, d.s.Stage, d.six
	in, out := d.memory, d.over
	out.drop = false
	d.inPlaneProblem(pose, in)
	if i, ok := d.Vertical(pose); !ok {
		return models.Verdict{Status: models.Buckled, Format: reasonTorsion, Index: i, Blades: m.Topology}
	}
	copy(out.k, d.k)
	copy(out.mass, d.mass)
	if six.follow == nil {
		six.follow = make([]float64, plane.Unknowns()*plane.Unknowns())
		six.followOut = make([]float64, m.Unknowns()*m.Unknowns())
		six.outRows = make([]float64, m.Unknowns()*d.width)
	}
	// what heights add to the rows, on the unknowns out of the plane
	rows := six.outRows
	clear(rows)
	for node, b := range m.Body {
		rows[(3*node+2)*d.width+RowFloorX] += st.Mass[b] * st.Z[b]
		rows[(3*node+1)*d.width+RowFloorY] -= st.Mass[b] * st.Z[b]
	}
	d.actuatorTilts(rows, 0, d.width)
	d.sensorTilts(rows, 0, d.width)
	if node := m.Node[m.Topology.Stage]; node >= 0 {
		rows[(3*node+2)*d.width+RowPointX] = d.Point[2]
		rows[(3*node+1)*d.width+RowPointY] = -d.Point[2]
	}
	nin, ok := in.reduceWith(in.rows, six.follow, d.width)
	nout, okOut := out.reduceWith(rows, six.followOut, d.width)
	if !ok || !okOut {
		return models.Verdict{Status: models.Failed, Format: reasonMass}
	}
	all, width := nin+nout, d.width+nout
	six.all, six.out = all, nout
	six.k, six.mass, six.rows = six.k[:all*all], six.mass[:all*all], six.rows[:all*width]
	clear(six.rows)
	clear(six.mass)
	clear(six.k)
	place := func(e *eigenMemory, n, at int, rows []float64) {
		for _, p := range [2]struct{ from, to []float64 }{{e.keptK(), six.k}, {e.keptMass(), six.mass}} {
			e.expandKept(p.from, six.part)
			for i := range n {
				copy(p.to[(at+i)*all+at:(at+i)*all+at+n], six.part[i*n:(i+1)*n])
			}
		}
		for i := range n {
			copy(six.rows[(at+i)*width:(at+i)*width+d.width], rows[i*d.width:(i+1)*d.width])
		}
	}
	place(in, nin, 0, in.rows)
	place(out, nout, nin, rows)
	// mass m at the height h: m h between x and pitch, -m h between y and roll
	couple := func(u, v int, value float64) {
		a, b := six.follow[u*nin:(u+1)*nin], six.followOut[v*nout:(v+1)*nout]
		for i, x := range a {
			if x == 0 {
				continue
			}
			for j, y := range b {
				six.mass[i*all+nin+j] += value * x * y
				six.mass[(nin+j)*all+i] += value * x * y
			}
		}
	}
	for node, b := range m.Body {
		if value := st.Mass[b] * st.Z[b]; value != 0 {
			at := 3 * plane.Node[b]
			couple(at, 3*node+2, value)
			couple(at+1, 3*node+1, -value)
		}
	}
	return models.Verdict{}
}

// reduceWith reduces the problem in e and rows, that wide, and fills follow with how every
// unknown (rows) follows the kept ones; it returns how many are kept.
func (e *eigenMemory) reduceWith(rows, follow []float64, width int) (n int, ok bool) {
	if e.reduced == nil {
		n = e.model.Unknowns()
		clear(follow[:n*n])
		kept := 0
		for u := range n {
			if e.drop && !e.model.isFree(u) {
				continue
			}
			copy(rows[kept*width:(kept+1)*width], rows[u*width:(u+1)*width])
			kept++
		}
		at := 0
		for u := range n {
			if e.drop && !e.model.isFree(u) {
				continue
			}
			follow[u*kept+at] = 1
			at++
		}
		return kept, true
	}
	x := e.reduced
	if !x.Reduce(e.k, e.mass, rows, width) {
		return 0, false
	}
	n = x.Order()
	unit, motion := e.values[:n], e.full[:e.model.Unknowns()]
	for i := range n {
		clear(unit)
		unit[i] = 1
		x.Follow(unit, motion)
		for u, v := range motion {
			follow[u*n+i] = v
		}
	}
	return n, true
}

// isFree reports whether an unknown of the plane is not held.
func (m *Model) isFree(u int) bool {
	for _, h := range m.held {
		if 3*h.node+h.axis == u {
			return false
		}
	}
	return true
}

// keptK and keptMass are the matrices of the kept unknowns, for expandKept.
func (e *eigenMemory) keptK() []float64 {
	if e.reduced != nil {
		return e.reduced.K
	}
	return e.k
}

func (e *eigenMemory) keptMass() []float64 {
	if e.reduced != nil {
		return e.reduced.M
	}
	return e.mass
}

// expandKept writes one of them as a full matrix.
func (e *eigenMemory) expandKept(a, full []float64) {
	if e.reduced != nil {
		e.reduced.Expand(a, full)
		return
	}
	e.model.Pattern.Expand(a, full)
	if e.drop {
		e.model.compact(full)
	}
}
