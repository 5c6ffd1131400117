package models

import "math"

// Motion is a displacement of a body in the plane: (x, y) goes to
// (x + X - Yaw y, y + Y + Yaw x). The turn is about the origin of the plate, and small.
type Motion struct{ X, Y, Yaw float64 } // m, m, rad

// Turned is the motion of a body whose point (x, y) moves by (dx, dy) while it turns by
// yaw about it.
func Turned(x, y, dx, dy, yaw float64) Motion {
	return Motion{X: dx + yaw*y, Y: dy - yaw*x, Yaw: yaw}
}

// At returns where the motion takes a point.
func (m Motion) At(x, y float64) (float64, float64) {
	return x + m.X - m.Yaw*y, y + m.Y + m.Yaw*x
}

// Gap is the least distance between two bodies.
type Gap struct {
	Distance float64 // m; negative: the depth of an overlap
	A, B     int     // bodies, by number; A < B
	X, Y     float64 // where: the middle of the gap, m
}

// Clearance returns the narrowest gap between any two of the bodies once each has
// moved by motions[body]. Distances are those of rectangles: the length of the
// shortest line between them, or, when they overlap, minus the least shift that
// separates them. With fewer than two bodies the distance is +Inf.
func Clearance(outlines []Outline, motions []Motion) Gap {
	least := Gap{Distance: math.Inf(1)}
	for i := range outlines {
		for j := i + 1; j < len(outlines); j++ {
			p, q := &outlines[i], &outlines[j]
			for _, a := range p.Rectangles {
				for _, b := range q.Rectangles {
					if d := Distance(a, motions[p.Body], b, motions[q.Body]); d < least.Distance {
						a, b := a.Bounds(motions[p.Body]), b.Bounds(motions[q.Body])
						least = Gap{
							Distance: d, A: p.Body, B: q.Body,
							X: between(a.X0, a.X1, b.X0, b.X1),
							Y: between(a.Y0, a.Y1, b.Y0, b.Y1),
						}
					}
				}
			}
		}
	}
	return least
}

// Distance returns the distance between two rectangles once each has moved, m; negative
// when they overlap: minus the least shift that separates them.
func Distance(a Rectangle, m Motion, b Rectangle, n Motion) float64 {
	if m.Yaw == 0 && n.Yaw == 0 {
		return a.Shift(m).Distance(b.Shift(n))
	}
	p, q := a.moved(m), b.moved(n)
	apart := max(p.beyond(&q), q.beyond(&p))
	if apart <= 0 {
		return apart
	}
	least := math.Inf(1)
	for i := range p {
		for k := range p {
			least = min(least, p.edge(k).toPoint(q[i]), q.edge(k).toPoint(p[i]))
		}
	}
	return least
}

// quadrilateral has its corners counter-clockwise.
type quadrilateral [4][2]float64

func (r Rectangle) moved(m Motion) (q quadrilateral) {
	for i, c := range [4][2]float64{{r.X0, r.Y0}, {r.X1, r.Y0}, {r.X1, r.Y1}, {r.X0, r.Y1}} {
		q[i][0], q[i][1] = m.At(c[0], c[1])
	}
	return q
}

// Bounds returns the box around r once it has moved.
func (r Rectangle) Bounds(m Motion) Rectangle {
	q := r.moved(m)
	return Rectangle{
		X0: min(q[0][0], q[1][0], q[2][0], q[3][0]), X1: max(q[0][0], q[1][0], q[2][0], q[3][0]),
		Y0: min(q[0][1], q[1][1], q[2][1], q[3][1]), Y1: max(q[0][1], q[1][1], q[2][1], q[3][1]),
	}
}

// segment is a line between two points.
type segment struct{ x0, y0, x1, y1 float64 }

func (p *quadrilateral) edge(i int) segment {
	a, b := p[i], p[(i+1)&3]
	return segment{a[0], a[1], b[0], b[1]}
}

// beyond is how far q lies outside of one of the edges of p, at most.
func (p *quadrilateral) beyond(q *quadrilateral) float64 {
	most := math.Inf(-1)
	for i := range p {
		e := p.edge(i)
		length := math.Hypot(e.x1-e.x0, e.y1-e.y0)
		nearest := math.Inf(1)
		for _, c := range q {
			nearest = min(nearest, ((c[0]-e.x0)*(e.y1-e.y0)-(c[1]-e.y0)*(e.x1-e.x0))/length)
		}
		most = max(most, nearest)
	}
	return most
}

func (e segment) toPoint(c [2]float64) float64 {
	dx, dy := e.x1-e.x0, e.y1-e.y0
	t := ((c[0]-e.x0)*dx + (c[1]-e.y0)*dy) / (dx*dx + dy*dy)
	t = min(max(t, 0), 1)
	return math.Hypot(c[0]-e.x0-t*dx, c[1]-e.y0-t*dy)
}

// Shift returns r moved by m, without its turn.
func (r Rectangle) Shift(m Motion) Rectangle {
	return Rectangle{r.X0 + m.X, r.X1 + m.X, r.Y0 + m.Y, r.Y1 + m.Y}
}

// Area returns the area of r, m².
func (r Rectangle) Area() float64 { return (r.X1 - r.X0) * (r.Y1 - r.Y0) }

// Distance returns the distance between r and q, m; negative when they overlap.
func (r Rectangle) Distance(q Rectangle) float64 {
	dx := max(q.X0-r.X1, r.X0-q.X1)
	dy := max(q.Y0-r.Y1, r.Y0-q.Y1)
	switch {
	case dx > 0 && dy > 0:
		return math.Hypot(dx, dy)
	default:
		return max(dx, dy)
	}
}

// between returns the middle of the stretch between the intervals a and b, or of
// their common part.
func between(a0, a1, b0, b1 float64) float64 { return (max(a0, b0) + min(a1, b1)) / 2 }
