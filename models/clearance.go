package models

import "math"

// Motion is a displacement of a body in the plane without rotation, m.
type Motion struct{ X, Y float64 }

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
				a = a.Shift(motions[p.Body])
				for _, b := range q.Rectangles {
					b = b.Shift(motions[q.Body])
					if d := a.Distance(b); d < least.Distance {
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

// Shift returns r moved by m.
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
