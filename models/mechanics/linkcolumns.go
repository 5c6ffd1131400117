package mechanics

import (
	"math"

	"flexwright/models/dense"
)

// linkColumns are the links of a stage at some poses, in the columns of [carryLinks], as [bladeColumns].
type linkColumns struct {
	poses, links int
	linked       int // of the scratch, when their constants were taken over
	memory       []float64
	columns      [carryLinksColumns][]float64
	scalars      [carryLinksScalars]float64
	own          []float64 // constants of each link, column by column
	// what goes where: over the pattern, to the unknowns, and to their rows
	stiff, mass, weight []dense.Sum
	inPlaneMass, floor  []dense.Sum
}

func newLinkColumns(m *Model, poses, width int) *linkColumns {
	n := len(m.links)
	c := &linkColumns{poses: poses, links: n, own: make([]float64, carryLinksColumns*n)}
	size := (n*poses + 7) / 8 * 8
	c.memory = make([]float64, len(c.columns)*size+dense.Beyond)
	for i := range c.columns {
		c.columns[i] = c.memory[i*size:]
	}
	for i := range m.links {
		lb := &m.links[i]
		from := func(column int) int { return column*size + i*poses }
		for part, end := range []struct{ node, stiff, mass, weight, inPlane int }{
			{lb.fromNode, carryLinksStiffFrom00, carryLinksOutMassFrom00, carryLinksWeightFrom0, carryLinksMassFrom00},
			{lb.toNode, carryLinksStiffTo00, carryLinksOutMassTo00, carryLinksWeightTo0, carryLinksMassTo00},
		} {
			if end.node < 0 {
				continue
			}
			for e, offset := range lowerTriangle {
				to := 9*end.node + offset
				c.stiff = append(c.stiff, dense.Sum{To: to, From: from(end.stiff + e)})
				c.mass = append(c.mass, dense.Sum{To: to, From: from(end.mass + e)})
				c.inPlaneMass = append(c.inPlaneMass, dense.Sum{To: to, From: from(end.inPlane + e)})
			}
			for r := range 3 {
				// the weights of both parts take turns
				c.weight = append(c.weight, dense.Sum{To: 3*end.node + r, From: from(end.weight + 2*r)})
				// accelerated along x and y: columns of the part's own block and of the one beside it
				for axis, row := range [2]int{RowFloorX, RowFloorY} {
					own := [3][2]int{{0, 1}, {1, 2}, {3, 4}}[r][axis]
					couple := 3*axis + r
					if part == 1 {
						couple = 3*r + axis
					}
					to := (3*end.node+r)*width + row
					c.floor = append(c.floor, dense.Sum{To: to, From: from(end.inPlane + own)}, dense.Sum{To: to, From: from(carryLinksMassCouple00 + couple)})
				}
			}
		}
		if lb.couple < 0 {
			continue
		}
		for e := range 9 {
			to := lb.couple + e
			if !lb.coupleFlips { // columns of the second part
				to = lb.couple + e%3*3 + e/3
			}
			c.stiff = append(c.stiff, dense.Sum{To: to, From: from(carryLinksStiffCouple00 + e)})
			c.mass = append(c.mass, dense.Sum{To: to, From: from(carryLinksOutMassCouple00 + e)})
			c.inPlaneMass = append(c.inPlaneMass, dense.Sum{To: to, From: from(carryLinksMassCouple00 + e)})
		}
	}
	return c
}

// prepare takes over the constants of the links.
func (c *linkColumns) prepare(d *Dynamics) {
	c.linked = d.s.linked
	for i := range c.links {
		l := &d.s.links[i]
		set := func(column int, v float64) { c.own[column*c.links+i] = v }
		for e, offset := range lowerTriangle {
			set(carryLinksLevelFrom00+e, l.inMass[0][offset])
			set(carryLinksLevelTo00+e, l.inMass[1][offset])
			set(carryLinksUprightFrom00+e, l.outMass[0][offset])
			set(carryLinksUprightTo00+e, l.outMass[1][offset])
			set(carryLinksStiff00+e, l.out[offset])
		}
		for e := range 9 {
			set(carryLinksLevelCouple00+e, l.inMass[2][e])
			set(carryLinksUprightCouple00+e, l.outMass[2][e])
		}
	}
	for _, part := range [...]struct{ first, n int }{{carryLinksLevelFrom00, 6}, {carryLinksLevelTo00, 6}, {carryLinksUprightFrom00, 6}, {carryLinksUprightTo00, 6},
		{carryLinksStiff00, 6}, {carryLinksLevelCouple00, 9}, {carryLinksUprightCouple00, 9}} {
		for column := part.first; column < part.first+part.n; column++ {
			dense.Repeat(c.columns[column], c.own[column*c.links:][:c.links], c.poses)
		}
	}
}

// place takes over where the links are at pose, the k-th of these.
func (c *linkColumns) place(d *Dynamics, pose *Pose, k int) {
	if c.linked != d.s.linked {
		c.prepare(d)
	}
	c.scalars[carryLinksByAlong] = 0
	if d.Up == Flat {
		c.scalars[carryLinksByAlong] = -gravity
	}
	x, st := &c.columns, d.s.Stage
	for i := range c.links {
		lb, at := &d.upright.links[i], i*c.poses+k
		x[carryLinksSin][at], x[carryLinksCos][at] = math.Sincos(pose.Q[3*lb.from+2])
		x[carryLinksRx][at] = st.X[lb.to] + pose.Q[3*lb.to] - st.X[lb.from] - pose.Q[3*lb.from]
		x[carryLinksRy][at] = st.Y[lb.to] + pose.Q[3*lb.to+1] - st.Y[lb.from] - pose.Q[3*lb.from+1]
	}
}

// solve makes the columns of what links are to the bodies.
func (c *linkColumns) solve() { carryLinks(&c.columns, &c.scalars, 0, c.links*c.poses) }

// add adds numbers of the k-th pose to where they go.
func (c *linkColumns) add(sums []dense.Sum, k int, to []float64) {
	for _, s := range sums {
		to[s.To] += c.memory[s.From+k]
	}
}
