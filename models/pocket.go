package models

import "math"

// Pocket is an opening through the plate that takes metal out of a body: a
// rectangle with corners of one radius, at most half of its shorter side, m.
type Pocket struct {
	Rectangle
	Radius float64
}

// Area returns the area of the opening, m²: w h - (4 - π) r².
func (p Pocket) Area() float64 { return p.Rectangle.Area() - (4-math.Pi)*p.Radius*p.Radius }

// HolePattern is a grid of through holes in the middle of the stage, Columns along
// x and Rows along y, lengths in m. The zero value has no holes.
type HolePattern struct {
	Columns, Rows   int
	Pitch, Diameter float64
}

// hole returns the hole of a column and a row as a round pocket.
func (h *HolePattern) hole(column, row int) Pocket {
	x, y := h.At(column, row)
	r := h.Diameter / 2
	return Pocket{Rectangle{x - r, x + r, y - r, y + r}, r}
}

// At returns the middle of the hole of a column and a row, counted from the lower left.
func (h *HolePattern) At(column, row int) (x, y float64) {
	return (float64(column) - float64(h.Columns-1)/2) * h.Pitch, (float64(row) - float64(h.Rows-1)/2) * h.Pitch
}

const (
	// pocketCorner is the radius of a pocket's corners where nothing else asks for
	// more, m: no notch, and room for any cutter of a wire or water jet.
	pocketCorner = 1e-3
	// leastPocket is the least width of a full pocket, m: below it a wire spends
	// more time threading than cutting.
	leastPocket = 2e-3
	// leastCut is the least width of a pocket that is smaller than it could be, m:
	// room for a start hole of 1 mm.
	leastCut = 1.5e-3
	// maxCells bounds the pockets along one direction of a body; with more room
	// they are larger than [ribSpacing] asks for.
	maxCells = 32
)

// shrunk returns the pocket with the part share, 0 to 1, of the area of p about
// the same centre. The longer side gives first, down to the shorter one, then
// both: a slot stays as wide as it can be and its ribs grow, which costs a member
// less of its stiffness than thinner ribs would.
func (p Pocket) shrunk(share float64) Pocket {
	w, h := p.X1-p.X0, p.Y1-p.Y0
	short := min(w, h)
	area := share * p.Area()
	r := min(p.Radius, short/2)
	box := area + (4-math.Pi)*r*r // of the rectangle around it
	long := box / short
	if long < short {
		if short = math.Sqrt(box); short < 2*r { // a circle
			short = math.Sqrt(4 * area / math.Pi)
			r = short / 2
		}
		long = short
	}
	if w > h {
		w, h = long, short
	} else {
		w, h = short, long
	}
	x, y := (p.X0+p.X1)/2, (p.Y0+p.Y1)/2
	return Pocket{Rectangle{x - w/2, x + w/2, y - h/2, y + h/2}, r}
}

// least returns the least share that shrunk can leave with a width of leastCut:
// the one of the circle, for a pocket that is wider.
func (p Pocket) least() float64 { return min(1, math.Pi/4*leastCut*leastCut/p.Area()) }

// spandrel is what a rounded corner of radius 1 takes from a square corner: its
// centroid from either side, its second moment about an axis through it that is
// parallel to a side. The latter follows from the circle: a square of side 2 less
// four spandrels has the second moment π/4.
var spandrel = func() (q struct{ area, centroid, own float64 }) {
	q.area = 1 - math.Pi/4
	q.centroid = (10 - 3*math.Pi) / (12 - 3*math.Pi)
	arm := 1 - q.centroid
	q.own = (4.0/3-math.Pi/4)/4 - q.area*arm*arm
	return q
}()

// section returns area, centroid and central second moments of the opening, exact.
func (p Pocket) section() section {
	w, h, r := p.X1-p.X0, p.Y1-p.Y0, p.Radius
	moment := func(along, across float64) float64 { // ∫ x² dA, x measured along
		corner, arm := spandrel.area*r*r, along/2-spandrel.centroid*r
		return across*along*along*along/12 - 4*(corner*arm*arm+spandrel.own*r*r*r*r)
	}
	return section{area: p.Area(), r: (p.X0 + p.X1) / 2, s: (p.Y0 + p.Y1) / 2, jr: moment(w, h), js: moment(h, w)}
}

// join adds the area of o, which may be negative, to q.
func (q *section) join(o section) {
	area := q.area + o.area
	dr, ds := o.r-q.r, o.s-q.s
	reduced := q.area * o.area / area
	q.r += o.area / area * dr
	q.s += o.area / area * ds
	q.jr += o.jr + reduced*dr*dr
	q.js += o.js + reduced*ds*ds
	q.jrs += o.jrs + reduced*dr*ds
	q.area = area
}

// less takes o out of q.
func (q *section) less(o section) {
	q.join(section{area: -o.area, r: o.r, s: o.s, jr: -o.jr, js: -o.js, jrs: -o.jrs})
}

// span is an interval along one direction of a body, m.
type span struct{ lo, hi float64 }

// cells are the spans of full pockets along one direction, ribs between them.
type cells struct {
	n    int
	span [maxCells]span
}

// divide adds equal cells between lo and hi, each at least as wide as least and,
// where that leaves it room, at most as limit, with ribs of the width of the wall
// between them; none where there is no room for one.
func (c *cells) divide(lo, hi, wall, least, limit float64) {
	const slack = 1e-9 // a member of just the least width has it in rounded sums too
	room := hi - lo
	if c.n == maxCells || room < least-slack {
		return
	}
	n := int(math.Ceil((room + wall) / (limit + wall) * (1 - slack)))
	n = max(1, min(n, int((room+wall+slack)/(least+wall)), maxCells-c.n))
	size := (room+wall)/float64(n) - wall
	for i := range n {
		at := lo + float64(i)*(size+wall)
		c.span[c.n] = span{at, at + size}
		c.n++
	}
}

// ribSpacing is the longest side of a pocket in walls of the body. In a member it
// is shorter: as long as the pocket is wide, or four walls. The walls beside a
// pocket bend like beams clamped in the ribs; at these lengths that costs a member
// less than the metal it saves.
const ribSpacing = 8

// memberLimit returns the limit for pockets along a member that leaves them the given width.
func memberLimit(width, wall float64) float64 {
	return min(ribSpacing*wall, max(width, 4*wall))
}

// pocketGrid is all full pockets of a part of a body: r cells times s cells.
type pocketGrid struct {
	r, s   cells
	radius float64 // of their corners, at most half of their least width
}

// pocket returns full pocket k of count.
func (g *pocketGrid) pocket(k int) Pocket {
	a, b := g.r.span[k/g.s.n], g.s.span[k%g.s.n]
	return Pocket{Rectangle{a.lo, a.hi, b.lo, b.hi}, min(g.radius, (a.hi-a.lo)/2, (b.hi-b.lo)/2)}
}

func (g *pocketGrid) count() int { return g.r.n * g.s.n }

// room returns the area of all pockets at their largest, and the least share of it
// that each of them can be shrunk to.
func (g *pocketGrid) room() (area, least float64) {
	for k := range g.count() {
		p := g.pocket(k)
		area += p.Area()
		least = max(least, p.least())
	}
	return area, least
}
