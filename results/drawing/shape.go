package drawing

import "math"

// bladeEnd is where a blade of thickness 2 half runs into a body with fillets.
type bladeEnd struct {
	blade  int
	tip    bool
	x, y   float64 // middle of the blade on the model's face, m
	ux, uy float64 // along the blade, away from the body
	half   float64
	rho    float64 // fillet radius
	depth  float64 // by which the face is set back, κ rho
}

// land is the least length of face left standing beside a recess, m; anything
// shorter, and anything less than twice as wide as it is high or as the blade is
// thick, is set back too: a ridge must not be the thinnest wall.
const land = 1e-3

// knee is a corner on the way to the drawing: with the radius it gets.
type knee struct {
	pt
	concave bool
	radius  float64
}

// shaper turns corners into contours: faces set back at blades, inside corners rounded.
type shaper struct {
	ends   []bladeEnd
	corner float64 // radius of inside corners away from blades
	least  float64 // radius below which an inside corner cannot be cut
	refuse func(x, y float64, format string, args ...any)
}

// run is the length along the bottom of a recess that the inside corner at its
// wall takes, for a wall of the given height.
func run(height, radius float64) float64 {
	if height >= radius {
		return radius
	}
	return math.Sqrt(height * (2*radius - height))
}

// contour draws one traced loop.
func (s *shaper) contour(loop []corner) Contour { return s.round(s.recess(loop)) }

// recess sets the faces back by κ rho where blades end, so that the blade between
// them is drawn 2 κ rho longer than the length that bends. Where little of the
// face would be left, all of it goes.
func (s *shaper) recess(loop []corner) []knee {
	n := len(loop)
	owner := make([]*bladeEnd, n)
	for i, c := range loop {
		if !c.concave {
			continue
		}
		for k := range s.ends {
			e := &s.ends[k]
			along := (c.x-e.x)*e.ux + (c.y-e.y)*e.uy
			across := (c.x-e.x)*-e.uy + (c.y-e.y)*e.ux
			if math.Abs(along) < 2*same && math.Abs(math.Abs(across)-e.half) < 2*same {
				owner[i] = e
			}
		}
	}
	shift := make([]pt, n)     // of each corner
	steps := make([][]knee, n) // inserted on the edge that leaves each corner
	for i := range n {
		j := (i + 1) % n
		dx, dy := loop[j].x-loop[i].x, loop[j].y-loop[i].y
		length := math.Abs(dx) + math.Abs(dy)
		dx, dy = dx/length, dy/length
		face := func(e *bladeEnd) bool { return e != nil && math.Abs(dx*e.ux+dy*e.uy) < 0.5 }
		a, b := owner[i], owner[j]
		if !face(a) {
			a = nil
		}
		if !face(b) {
			b = nil
		}
		if a == nil && b == nil {
			continue
		}
		var used, depth, ux, uy float64
		least := land
		for k, e := range []*bladeEnd{a, b} {
			switch {
			case e != nil:
				used += e.rho + run(e.depth, s.corner)
				least = max(least, 2*e.depth, 4*e.half)
				if e.depth > depth {
					depth, ux, uy = e.depth, e.ux, e.uy
				}
			case loop[[2]int{i, j}[k]].concave:
				used += s.corner
			}
		}
		if length < used+least {
			for _, k := range []int{i, j} {
				shift[k].x -= depth * ux
				shift[k].y -= depth * uy
			}
			continue
		}
		if a != nil {
			shift[i].x -= a.depth * a.ux
			shift[i].y -= a.depth * a.uy
			at := a.rho + run(a.depth, s.corner)
			x, y := loop[i].x+dx*at, loop[i].y+dy*at
			steps[i] = append(steps[i],
				knee{pt{x - a.depth*a.ux, y - a.depth*a.uy}, true, s.corner}, knee{pt{x, y}, false, 0})
		}
		if b != nil {
			shift[j].x -= b.depth * b.ux
			shift[j].y -= b.depth * b.uy
			at := b.rho + run(b.depth, s.corner)
			x, y := loop[j].x-dx*at, loop[j].y-dy*at
			steps[i] = append(steps[i],
				knee{pt{x, y}, false, 0}, knee{pt{x - b.depth*b.ux, y - b.depth*b.uy}, true, s.corner})
		}
	}
	var out []knee
	for i, c := range loop {
		k := knee{pt{c.x + shift[i].x, c.y + shift[i].y}, c.concave, 0}
		switch {
		case owner[i] != nil:
			k.radius = owner[i].rho
		case c.concave:
			k.radius = s.corner
		}
		out = append(append(out, k), steps[i]...)
	}
	return out
}

// round replaces inside corners by arcs. An arc that is larger than one of the
// edges beside it ends where that edge ends, if there is an outside corner there.
func (s *shaper) round(knees []knee) Contour {
	n := len(knees)
	length := func(i int) float64 { // of the edge that leaves knee i
		a, b := knees[i], knees[(i+1)%n]
		return math.Abs(b.x-a.x) + math.Abs(b.y-a.y)
	}
	type arcAt struct {
		from, to  pt
		bulge     float64
		in, out   float64 // length used of the edges before and after
		used      bool
		swallowed bool // the corner itself is the end of a neighbour's arc
	}
	arcs := make([]arcAt, n)
	for i, k := range knees {
		if k.radius == 0 {
			continue
		}
		prev, next := (i+n-1)%n, (i+1)%n
		before, after := length(prev), length(i)
		bx, by := (k.x-knees[prev].x)/before, (k.y-knees[prev].y)/before
		ax, ay := (knees[next].x-k.x)/after, (knees[next].y-k.y)/after
		r := k.radius
		a := &arcs[i]
		a.used, a.in, a.out, a.bulge = true, r, r, -math.Tan(math.Pi/8)
		partial := func(h float64) float64 { return -math.Tan(math.Acos((r-h)/r) / 4) }
		switch {
		case after < r-same && !knees[next].concave:
			a.in, a.out, a.bulge = run(after, r), after, partial(after)
			arcs[next].swallowed = true
		case before < r-same && !knees[prev].concave:
			a.in, a.out, a.bulge = before, run(before, r), partial(before)
			arcs[prev].swallowed = true
		}
		a.from = pt{k.x - bx*a.in, k.y - by*a.in}
		a.to = pt{k.x + ax*a.out, k.y + ay*a.out}
	}
	for i := range n {
		j := (i + 1) % n
		if arcs[i].out+arcs[j].in > length(i)+2*same {
			s.refuse((knees[i].x+knees[j].x)/2, (knees[i].y+knees[j].y)/2,
				"an edge of %.4g mm has no room for the inside corners at its ends, which take %.4g mm",
				length(i)*1e3, (arcs[i].out+arcs[j].in)*1e3)
		}
		if r := knees[i].radius; r > 0 && r < s.least-same {
			s.refuse(knees[i].x, knees[i].y, "an inside corner of radius %.4g mm is sharper than half the kerf, %.4g mm", r*1e3, s.least*1e3)
		}
	}
	var out Contour
	put := func(v Vertex) {
		if m := len(out); m > 0 && out[m-1].Bulge == 0 && math.Hypot(out[m-1].X-v.X, out[m-1].Y-v.Y) < 2*same {
			out = out[:m-1]
		}
		out = append(out, v)
	}
	for i, k := range knees {
		a := &arcs[i]
		switch {
		case a.used:
			put(Vertex{a.from.x, a.from.y, a.bulge})
			put(Vertex{a.to.x, a.to.y, 0})
		case !a.swallowed:
			put(Vertex{k.x, k.y, 0})
		}
	}
	if m := len(out); m > 1 && out[m-1].Bulge == 0 && math.Hypot(out[m-1].X-out[0].X, out[m-1].Y-out[0].Y) < 2*same {
		out = out[:m-1]
	}
	return out
}
