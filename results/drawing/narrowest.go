package drawing

import "math"

// Place is a length and where it was found, m.
type Place struct{ Size, X, Y float64 }

// How far the line between the two sides of a wall may be from square to either.
const square = 12 * math.Pi / 180

// narrowest returns the thinnest wall (metal true) or the narrowest gap of the
// plate: the shortest line that runs through metal (through a gap) and is square
// to the boundary at both ends, an end in a corner that sticks out into what is
// measured counting as square over the whole fan between its sides. Size is +Inf
// when there is none below most.
func (m *mesh) narrowest(metal bool, most float64) Place {
	best := Place{Size: most}
	found := false
	normal := func(d pt) pt { // into what is measured; the metal is on the left
		if metal {
			return pt{-d.y, d.x}
		}
		return pt{d.y, -d.x}
	}
	// fits reports whether the direction d leaves the boundary squarely at point i.
	fits := func(i int, d pt) bool {
		n1, n2 := normal(m.along[m.prev[i]]), normal(m.along[i])
		if n1.x*d.x+n1.y*d.y < -0.3 || n2.x*d.x+n2.y*d.y < -0.3 {
			return false // the other side; saves the angles
		}
		turn := math.Atan2(n1.x*n2.y-n1.y*n2.x, n1.x*n2.x+n1.y*n2.y)
		if metal {
			turn = -turn // metal fills more than half the circle where the line turns right
		}
		if turn < -square {
			return false
		}
		angle := func(n pt) float64 { return math.Acos(max(-1, min(1, n.x*d.x+n.y*d.y))) }
		return angle(n1)+angle(n2) < math.Abs(turn)+square
	}
	try := func(p pt, square func(d pt) bool) {
		m.near(p, best.Size, func(j int) {
			q, distance, at := m.foot(j, p)
			if distance >= best.Size || distance < same {
				return
			}
			d := pt{(q.x - p.x) / distance, (q.y - p.y) / distance}
			if !square(d) {
				return
			}
			back := pt{-d.x, -d.y}
			switch at {
			case 0:
				if !fits(j, back) {
					return
				}
			case 1:
				if !fits(m.next[j], back) {
					return
				}
			default:
				if n := normal(m.along[j]); n.x*back.x+n.y*back.y <= 0 {
					return
				}
			}
			best, found = Place{distance, (p.x + q.x) / 2, (p.y + q.y) / 2}, true
		})
	}
	for i, p := range m.points {
		try(p, func(d pt) bool { return fits(i, d) })
		// Between its ends a long segment may face a corner of something else, which
		// has its own turn; two long ones may face each other with sharp corners only.
		q := m.points[m.next[i]]
		if math.Hypot(q.x-p.x, q.y-p.y) < 0.2e-3 {
			continue
		}
		n := normal(m.along[i])
		try(pt{(p.x + q.x) / 2, (p.y + q.y) / 2}, func(d pt) bool { return n.x*d.x+n.y*d.y > math.Cos(square) })
	}
	if !found {
		best.Size = math.Inf(1)
	}
	return best
}
