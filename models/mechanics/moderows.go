package mechanics

import (
	"math"
)

// inPlaneRows fills rows (n by d.width) with the vectors c whose products with
// the shapes are wanted.
func (d *Dynamics) inPlaneRows(pose *Pose, rows []float64) {
	m := d.s.Model
	clear(rows)
	d.rowsOfBodies(pose, rows)
	d.floorOfBodies(rows)
	if d.segments == 1 {
		d.oneLink.add(d.oneLink.floor, 0, rows)
		d.one.add(d.one.floor, 0, rows)
	} else {
		d.floorOfLinks(pose, rows)
		d.floorOfBlades(pose, rows)
	}
	d.sensorRows(pose, rows)
	for _, h := range m.held {
		at := (3*h.node + h.axis) * d.width
		clear(rows[at : at+d.width])
	}
}

// rowsOfBodies is inPlaneRows without the floor and sensors.
func (d *Dynamics) rowsOfBodies(pose *Pose, rows []float64) {
	m := d.s.Model
	d.actuatorRows(pose, rows)
	if node := m.Node[m.Topology.Stage]; node >= 0 {
		sin, cos := math.Sincos(pose.Q[3*m.Topology.Stage+2])
		x, y := cos*d.Point[0]-sin*d.Point[1], sin*d.Point[0]+cos*d.Point[1]
		at := 3 * node * d.width
		rows[at+RowPointX], rows[at+2*d.width+RowPointX] = 1, -y
		rows[at+d.width+RowPointY], rows[at+2*d.width+RowPointY] = 1, x
		rows[at+RowStageX], rows[at+d.width+RowStageY] = 1, 1
	}
}

// floorOfBodies adds the inertia forces of bodies.
func (d *Dynamics) floorOfBodies(rows []float64) {
	for node, b := range d.s.Model.Body {
		d.addFloor(rows, node, d.s.Stage.Mass[b], d.s.Stage.Mass[b], 0, 0)
	}
}

// addFloor adds the inertia forces per acceleration of everything along x and y on a body.
func (d *Dynamics) addFloor(rows []float64, node int, fx, fy, yawX, yawY float64) {
	at := 3 * node * d.width
	rows[at+RowFloorX] += fx
	rows[at+d.width+RowFloorY] += fy
	rows[at+2*d.width+RowFloorX] += yawX
	rows[at+2*d.width+RowFloorY] += yawY
}

// floorOfLinks adds those of links.
func (d *Dynamics) floorOfLinks(pose *Pose, rows []float64) {
	m := d.s.Model
	for i := range m.links {
		lb := &m.links[i]
		sin, cos := math.Sincos(pose.Q[3*lb.from+2])
		x1, x2 := d.s.links[i].load(0, cos, sin, false)
		y1, y2 := d.s.links[i].load(1, cos, sin, false)
		for _, p := range [2]struct {
			node int
			x, y *[3]float64
		}{{lb.fromNode, &x1, &y1}, {lb.toNode, &x2, &y2}} {
			if p.node < 0 {
				continue
			}
			for r := range 3 {
				at := (3*p.node + r) * d.width
				rows[at+RowFloorX] += p.x[r]
				rows[at+RowFloorY] += p.y[r]
			}
		}
	}
}

// floorOfBlades adds those of blades, the part of a blade on a fixed body included.
func (d *Dynamics) floorOfBlades(pose *Pose, rows []float64) {
	m := d.s.Model
	for i := range m.blades {
		bb, lk := &m.blades[i], &pose.link[i]
		h := d.half[i/d.segments] / float64(d.segments)
		// A beam in uniform translation: half its mass at each end, and the end
		// moments of the consistent matrix, ± total L/12 across the chord.
		moment := h * d.s.Section[i].Length / 6
		for end := range 2 {
			node, n, along, sign := bb.rootNode, lk.an, lk.am, 1.0
			if end == 1 {
				node, n, along, sign = bb.tipNode, lk.bn, lk.bm, -1.0
			}
			if node < 0 {
				continue
			}
			x, y := along*lk.nx+n*lk.ny, along*lk.ny-n*lk.nx
			d.addFloor(rows, node, h, h, -h*y-sign*moment*lk.ny, h*x+sign*moment*lk.nx)
		}
	}
}
