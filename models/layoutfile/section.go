package layoutfile

import (
	"math"

	"flexwright/models"
)

// section of a shape in its frame: area, centroid and central second moments.
type section struct{ area, x, y, jx, jy, jxy float64 } // m², m, m, ∫(x-xc)² dA, ∫(y-yc)² dA, ∫(x-xc)(y-yc) dA: m⁴

// join adds the area of o, which may be negative, to q.
func (q *section) join(o section) {
	area := q.area + o.area
	dx, dy := o.x-q.x, o.y-q.y
	reduced := q.area * o.area / area
	q.x += o.area / area * dx
	q.y += o.area / area * dy
	q.jx += o.jx + reduced*dx*dx
	q.jy += o.jy + reduced*dy*dy
	q.jxy += o.jxy + reduced*dx*dy
	q.area = area
}

// section computes the section of the rectangles of a shape, without members where these
// bend, and the extent of all.
func (s *shape) section(r *registers, bend bool) (q section, extent models.Rectangle) {
	extent = nothing
	for i := range s.boxes {
		b := &s.boxes[i]
		x0, x1, y0, y1 := r[b.x0], r[b.x1], r[b.y0], r[b.y1]
		if x1-x0 < sliver || y1-y0 < sliver {
			continue
		}
		a := (x1 - x0) * (y1 - y0)
		for _, f := range b.frames {
			ax, ay := f.apply(x0, y0)
			bx, by := f.apply(x1, y1)
			include(&extent, ax, ay, bx, by)
			if bend && b.side != 0 {
				continue
			}
			cx, cy := f.apply((x0+x1)/2, (y0+y1)/2)
			q.area += a
			q.x += a * cx
			q.y += a * cy
		}
	}
	q.x /= q.area
	q.y /= q.area
	for i := range s.boxes {
		b := &s.boxes[i]
		x0, x1, y0, y1 := r[b.x0], r[b.x1], r[b.y0], r[b.y1]
		if x1-x0 < sliver || y1-y0 < sliver || bend && b.side != 0 {
			continue
		}
		a := (x1 - x0) * (y1 - y0)
		ix, iy := (x1-x0)*(x1-x0)/12, (y1-y0)*(y1-y0)/12
		for _, f := range b.frames {
			cx, cy := f.apply((x0+x1)/2, (y0+y1)/2)
			ux, uy := ix, iy
			if f.swaps() {
				ux, uy = iy, ix
			}
			q.jx += a * (ux + (cx-q.x)*(cx-q.x))
			q.jy += a * (uy + (cy-q.y)*(cy-q.y))
			q.jxy += a * (cx - q.x) * (cy - q.y)
		}
	}
	return q, extent
}

// spandrel is what a fillet of radius 1 adds to a square corner: its area, and its
// centroid from either side.
const (
	spandrelArea     = 1 - math.Pi/4
	spandrelCentroid = (10 - 3*math.Pi) / (12 - 3*math.Pi)
)

// section of what the end of a blade adds to its body: two fillets, and the strip by
// which the blade is drawn longer than it bends (taken off where the face is set
// forward). So small a piece counts as a point.
func (e *root) section(r *registers, on *shape) section {
	b := e.blade
	if b.fillet < 0 || !(r[b.fillet] > 0) {
		return section{}
	}
	radius, thickness := r[b.fillet], r[b.thickness]
	depth := models.FilletStiffening(radius/thickness) * radius
	dx, dy := b.direction(r)
	along := spandrelCentroid*radius - depth // the fillets' centroid, from where the blade begins
	x, y := r[b.x]+along*dx, r[b.y]+along*dy
	if e.tip {
		x, y = r[b.x]+(r[b.length]-along)*dx, r[b.y]+(r[b.length]-along)*dy
	}
	x, y = e.frame.apply(x, y)
	fillets := 2 * spandrelArea * radius * radius
	if b.cos >= 0 { // the corners on either side open by α and 180° - α
		fx, fy := r[b.x]-depth*dx, r[b.y]-depth*dy
		if e.tip {
			fx, fy = r[b.x]+(r[b.length]+depth)*dx, r[b.y]+(r[b.length]+depth)*dy
		}
		fx, fy = e.frame.apply(fx, fy)
		ux, uy := e.frame.apply(dx, dy)
		fillets = radius * radius * (2/on.sine(r, fx, fy, ux, uy) - math.Pi/2)
	}
	return section{area: fillets + depth*thickness, x: x, y: y}
}

// sine of the angle between a blade along (ux, uy) and the face that (x, y) is on; of the
// steeper one where it is on none.
func (s *shape) sine(r *registers, x, y, ux, uy float64) float64 {
	const near = 1e-7 // m; rounding of sums of a few dimensions
	for i := range s.boxes {
		b := &s.boxes[i]
		for _, f := range b.frames {
			ax, ay := f.apply(r[b.x0], r[b.y0])
			bx, by := f.apply(r[b.x1], r[b.y1])
			withinX, withinY := x > min(ax, bx)-near && x < max(ax, bx)+near, y > min(ay, by)-near && y < max(ay, by)+near
			switch {
			case withinX && min(math.Abs(y-ay), math.Abs(y-by)) < near:
				return max(math.Abs(uy), leastSine)
			case withinY && min(math.Abs(x-ax), math.Abs(x-bx)) < near:
				return max(math.Abs(ux), leastSine)
			}
		}
	}
	return max(math.Abs(ux), math.Abs(uy))
}

// leastSine keeps the fillets of a blade finite: one that leans less lies along its face.
const leastSine = 1e-3

// fill writes the copies of a body and widens the extent of the plate.
func (s *shape) fill(d *models.Design, st *models.Stage, r *registers, extent *models.Rectangle, bend bool) {
	// what is fixed is given as a whole: nothing of it moves
	q, own := s.section(r, bend && !s.fixed)
	for i := range s.roots {
		if o := s.roots[i].section(r, s); o.area != 0 {
			q.join(o)
		}
	}
	if holes := &d.Holes; s.stage {
		radius := holes.Diameter / 2
		for i := range holes.Columns {
			for j := range holes.Rows {
				x, y := holes.At(i, j)
				area, second := math.Pi*radius*radius, math.Pi/4*radius*radius*radius*radius
				q.join(section{area: -area, x: x, y: y, jx: -second, jy: -second})
			}
		}
	}
	b := r[s.thickness]
	areal := b * d.Material.Density
	m := areal * q.area
	aboutX, aboutY := areal*q.jy+m*b*b/12, areal*q.jx+m*b*b/12
	for k, body := range s.bodies {
		f := s.frames[k]
		ax, ay := f.apply(own.X0, own.Y0)
		bx, by := f.apply(own.X1, own.Y1)
		include(extent, ax, ay, bx, by)
		cx, cy := f.apply(q.x, q.y)
		st.X[body], st.Y[body], st.Z[body] = cx, cy, 0
		st.Mass[body] = m
		st.Unmounted(body)
		st.Ix[body], st.Iy[body], st.Iz[body], st.Ixy[body] = aboutX, aboutY, areal*(q.jx+q.jy), areal*q.jxy
		if f.swaps() {
			st.Ix[body], st.Iy[body] = aboutY, aboutX
		}
		if f.swaps() != f.mirror {
			st.Ixy[body] = 0 - st.Ixy[body]
		}
		for i := range s.masses {
			add := &s.masses[i]
			if !add.on[k] {
				continue
			}
			x, y, z := cx, cy, 0.0
			if add.x >= 0 {
				x, y = f.apply(r[add.x], r[add.y])
			}
			if add.height >= 0 {
				z = r[add.height]
			}
			size := 0.0
			if add.size >= 0 {
				size = r[add.size]
			}
			st.MountDisc(body, r[add.mass], x, y, z, size)
			if add.payload && r[add.mass] > 0 {
				st.Payload += r[add.mass]
				st.PayloadSpread += r[add.mass] / st.Payload * (models.DiscSpread(size) - st.PayloadSpread)
			}
		}
	}
}

// holeWall is the least metal around the payload's holes, m (common practice).
const holeWall = 3e-3

// room refuses a stage none of whose rectangles holds the payload's holes.
func (l *Layout) room(d *models.Design, r *registers) models.Verdict {
	h := &d.Holes
	if h.Columns == 0 || h.Rows == 0 {
		return models.Verdict{}
	}
	x := (float64(h.Columns-1)*h.Pitch+h.Diameter)/2 + holeWall - slack
	y := (float64(h.Rows-1)*h.Pitch+h.Diameter)/2 + holeWall - slack
	for i := range l.shapes {
		s := &l.shapes[i]
		for k := range s.boxes {
			if b := &s.boxes[k]; s.stage && r[b.x0] <= -x && r[b.x1] >= x && r[b.y0] <= -y && r[b.y1] >= y {
				return models.Verdict{}
			}
		}
	}
	return models.Verdict{Status: models.CannotBuild, Value: 2e3 * x, Bound: 2e3 * y,
		Format: "no rectangle of the stage holds the payload's holes, which take %.4[2]g by %.4[3]g mm about its middle"}
}
