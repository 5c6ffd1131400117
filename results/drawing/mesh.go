package drawing

import "math"

// mesh is a set of closed lines of straight segments, with a grid of cells over
// it to find the segments near a point. Segment i leaves point i.
type mesh struct {
	points     []pt
	next, prev []int
	along      []pt // unit vector along each segment

	x0, y0, x1, y1 float64
	nx, ny         int
	cells          [][]int32
}

// cell is the size of the grid's cells, m: a few blades wide.
const cell = 2e-3

func newMesh(loops [][]pt) *mesh {
	m := &mesh{x0: math.Inf(1), y0: math.Inf(1), x1: math.Inf(-1), y1: math.Inf(-1)}
	for _, l := range loops {
		base, n := len(m.points), len(l)
		for i, p := range l {
			m.points = append(m.points, p)
			m.next = append(m.next, base+(i+1)%n)
			m.prev = append(m.prev, base+(i+n-1)%n)
			m.x0, m.x1, m.y0, m.y1 = min(m.x0, p.x), max(m.x1, p.x), min(m.y0, p.y), max(m.y1, p.y)
		}
	}
	m.along = make([]pt, len(m.points))
	for i, a := range m.points {
		b := m.points[m.next[i]]
		l := math.Hypot(b.x-a.x, b.y-a.y)
		m.along[i] = pt{(b.x - a.x) / l, (b.y - a.y) / l}
	}
	m.nx, m.ny = int((m.x1-m.x0)/cell)+1, int((m.y1-m.y0)/cell)+1
	m.cells = make([][]int32, m.nx*m.ny)
	for i, p := range m.points {
		q := m.points[m.next[i]]
		// Segments are short or parallel to an axis: their box is little more than they.
		m.each(min(p.x, q.x), max(p.x, q.x), min(p.y, q.y), max(p.y, q.y), func(c int) {
			m.cells[c] = append(m.cells[c], int32(i))
		})
	}
	return m
}

// each visits the cells that a box touches.
func (m *mesh) each(x0, x1, y0, y1 float64, visit func(c int)) {
	clamp := func(v float64, n int) int { return max(0, min(n-1, int(math.Floor(v/cell)))) }
	i0, i1 := clamp(x0-m.x0, m.nx), clamp(x1-m.x0, m.nx)
	j0, j1 := clamp(y0-m.y0, m.ny), clamp(y1-m.y0, m.ny)
	for j := j0; j <= j1; j++ {
		for i := i0; i <= i1; i++ {
			visit(j*m.nx + i)
		}
	}
}

// near visits the segments that come within radius of p; others too, and some
// more than once.
func (m *mesh) near(p pt, radius float64, visit func(segment int)) {
	if p.x < m.x0-radius || p.x > m.x1+radius || p.y < m.y0-radius || p.y > m.y1+radius {
		return
	}
	m.each(p.x-radius, p.x+radius, p.y-radius, p.y+radius, func(c int) {
		for _, s := range m.cells[c] {
			visit(int(s))
		}
	})
}

// foot returns the point of segment i nearest to p, its distance, and where on the
// segment it is: 0 at its start, 1 at its end.
func (m *mesh) foot(i int, p pt) (q pt, distance, at float64) {
	a, b := m.points[i], m.points[m.next[i]]
	dx, dy := b.x-a.x, b.y-a.y
	at = ((p.x-a.x)*dx + (p.y-a.y)*dy) / (dx*dx + dy*dy)
	at = max(0, min(1, at))
	q = pt{a.x + at*dx, a.y + at*dy}
	return q, math.Sqrt((p.x-q.x)*(p.x-q.x) + (p.y-q.y)*(p.y-q.y)), at
}

// crossing returns a point where two segments meet that do not follow each other.
func (m *mesh) crossing() (pt, bool) {
	for i, a := range m.points {
		b := m.points[m.next[i]]
		var at pt
		found := false
		m.each(min(a.x, b.x), max(a.x, b.x), min(a.y, b.y), max(a.y, b.y), func(c int) {
			for _, s := range m.cells[c] {
				j := int(s)
				if j <= i || j == m.next[i] || j == m.prev[i] || found {
					continue
				}
				if p, ok := meet(a, b, m.points[j], m.points[m.next[j]]); ok {
					at, found = p, true
				}
			}
		})
		if found {
			return at, true
		}
	}
	return pt{}, false
}

// meet reports whether the segments ab and cd have a point in common, to within [same].
func meet(a, b, c, d pt) (pt, bool) {
	side := func(p, q, r pt) float64 { // distance of r from the line pq, positive to the left
		return ((q.x-p.x)*(r.y-p.y) - (q.y-p.y)*(r.x-p.x)) / math.Hypot(q.x-p.x, q.y-p.y)
	}
	c1, d1, a2, b2 := side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
	if min(c1, d1) > same || max(c1, d1) < -same || min(a2, b2) > same || max(a2, b2) < -same {
		return pt{}, false
	}
	if math.Abs(c1-d1) < same { // parallel, on one line: do they overlap along it?
		dx, dy := b.x-a.x, b.y-a.y
		l := math.Hypot(dx, dy)
		s, t := ((c.x-a.x)*dx+(c.y-a.y)*dy)/l, ((d.x-a.x)*dx+(d.y-a.y)*dy)/l
		if max(s, t) < -same || min(s, t) > l+same {
			return pt{}, false
		}
		return c, true
	}
	f := c1 / (c1 - d1)
	return pt{c.x + f*(d.x-c.x), c.y + f*(d.y-c.y)}, true
}
