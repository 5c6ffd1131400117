package drawing

import "math"

// Vertex is a corner of a contour, m. Bulge bends the edge that leaves it: the
// tangent of a quarter of the arc's angle, positive when the arc turns left, 0 for
// a straight edge, as in a DXF polyline.
type Vertex struct{ X, Y, Bulge float64 }

// Contour is a closed line of straight edges and circular arcs. The metal is on
// its left: an outer contour runs counter-clockwise, a cut clockwise.
type Contour []Vertex

// Circle is a hole, m.
type Circle struct{ X, Y, Radius float64 }

// same is the distance below which two points count as one, m: far below what a
// wire can cut, far above the rounding of sums of dimensions.
const same = 1e-9

// arc returns centre, radius and angle (positive to the left) of the arc from v to w.
func arc(v, w Vertex) (cx, cy, radius, angle float64) {
	angle = 4 * math.Atan(v.Bulge)
	dx, dy := w.X-v.X, w.Y-v.Y
	chord := math.Hypot(dx, dy)
	radius = chord / (2 * math.Abs(math.Sin(angle/2)))
	// From the middle of the chord towards the centre, to the left of a left turn.
	h := chord / 2 / math.Tan(angle/2)
	cx = (v.X+w.X)/2 - dy/chord*h
	cy = (v.Y+w.Y)/2 + dx/chord*h
	return cx, cy, radius, angle
}

// Area returns the enclosed area, m²: positive counter-clockwise. Exact for arcs.
func (c Contour) Area() float64 {
	sum := 0.0
	for i, v := range c {
		w := c[(i+1)%len(c)]
		sum += (v.X*w.Y - w.X*v.Y) / 2
		if v.Bulge != 0 {
			_, _, r, angle := arc(v, w)
			sum += r * r * (angle - math.Sin(angle)) / 2
		}
	}
	return sum
}

// Length returns the length of the line, m.
func (c Contour) Length() float64 {
	sum := 0.0
	for i, v := range c {
		w := c[(i+1)%len(c)]
		if v.Bulge != 0 {
			_, _, r, angle := arc(v, w)
			sum += r * math.Abs(angle)
		} else {
			sum += math.Hypot(w.X-v.X, w.Y-v.Y)
		}
	}
	return sum
}

// Bounds returns the least box around the contour.
func (c Contour) Bounds() (x0, x1, y0, y1 float64) {
	x0, x1, y0, y1 = math.Inf(1), math.Inf(-1), math.Inf(1), math.Inf(-1)
	put := func(x, y float64) {
		x0, x1, y0, y1 = min(x0, x), max(x1, x), min(y0, y), max(y1, y)
	}
	for i, v := range c {
		put(v.X, v.Y)
		if v.Bulge == 0 {
			continue
		}
		// An arc reaches further where it passes through one of the four directions.
		w := c[(i+1)%len(c)]
		cx, cy, r, angle := arc(v, w)
		start := math.Atan2(v.Y-cy, v.X-cx)
		for k := range 4 {
			direction := float64(k) * math.Pi / 2
			turn := math.Mod(direction-start, 2*math.Pi)
			if angle > 0 && turn < 0 {
				turn += 2 * math.Pi
			} else if angle < 0 && turn > 0 {
				turn -= 2 * math.Pi
			}
			if math.Abs(turn) < math.Abs(angle) {
				s, c := math.Sincos(direction)
				put(cx+r*c, cy+r*s)
			}
		}
	}
	return x0, x1, y0, y1
}

// pt is a point of a flattened contour, m.
type pt struct{ x, y float64 }

// flatten replaces arcs by chords of at most step radians. The points are on the
// arc, so that a chord is off it by r step²/8 at most.
func (c Contour) flatten(step float64) []pt {
	var out []pt
	for i, v := range c {
		out = append(out, pt{v.X, v.Y})
		if v.Bulge == 0 {
			continue
		}
		cx, cy, r, angle := arc(v, c[(i+1)%len(c)])
		n := int(math.Ceil(math.Abs(angle)/step - 1e-9))
		start := math.Atan2(v.Y-cy, v.X-cx)
		for k := 1; k < n; k++ {
			s, c := math.Sincos(start + angle*float64(k)/float64(n))
			out = append(out, pt{cx + r*c, cy + r*s})
		}
	}
	return out
}

// Move returns the contour displaced by (dx, dy) and turned by yaw about (x, y).
func (c Contour) Move(dx, dy, yaw, x, y float64) Contour {
	out := make(Contour, len(c))
	s, k := math.Sincos(yaw)
	for i, v := range c {
		a, b := v.X-x, v.Y-y
		out[i] = Vertex{x + dx + a*k - b*s, y + dy + a*s + b*k, v.Bulge}
	}
	return out
}

// Offset returns the contour at the distance d to the right of c, away from the
// metal: the path of a wire that cuts a kerf of 2 d. Sharp outer corners become
// arcs about the corner. Inner arcs must have at least the radius d, and the line
// no sharp inner corner; ok is false otherwise.
func (c Contour) Offset(d float64) (out Contour, ok bool) {
	n := len(c)
	ok = true
	type edge struct{ a, b, da, db pt } // shifted ends, directions there
	edges := make([]edge, n)
	gone := make([]bool, n) // an arc that shrinks to a point
	for i, v := range c {
		w := c[(i+1)%n]
		var e edge
		if v.Bulge == 0 {
			l := math.Hypot(w.X-v.X, w.Y-v.Y)
			e.da = pt{(w.X - v.X) / l, (w.Y - v.Y) / l}
			e.db = e.da
		} else {
			cx, cy, r, angle := arc(v, w)
			side := 1.0
			if angle < 0 {
				side = -1
			}
			e.da = pt{-(v.Y - cy) / r * side, (v.X - cx) / r * side}
			e.db = pt{-(w.Y - cy) / r * side, (w.X - cx) / r * side}
			if angle < 0 && r < d-same {
				ok = false
			}
			gone[i] = angle < 0 && r < d+same
		}
		e.a = pt{v.X + d*e.da.y, v.Y - d*e.da.x}
		e.b = pt{w.X + d*e.db.y, w.Y - d*e.db.x}
		edges[i] = e
	}
	for i, v := range c {
		if gone[i] {
			continue
		}
		e, next := edges[i], edges[(i+1)%n]
		out = append(out, Vertex{e.a.x, e.a.y, v.Bulge})
		cross := e.db.x*next.da.y - e.db.y*next.da.x
		if turn := math.Atan2(cross, e.db.x*next.da.x+e.db.y*next.da.y); turn > 1e-6 {
			out = append(out, Vertex{e.b.x, e.b.y, math.Tan(turn / 4)})
		} else if turn < -1e-6 {
			ok = false
		}
	}
	return out, ok
}
