package drawing

import "math"

// bladeEnd is where a blade of thickness 2 half runs into a body with fillets.
type bladeEnd struct {
	x, y   float64 // middle of the blade on the body's face, m
	ux, uy float64 // along the blade, away from the body
	half   float64
	rho    float64 // fillet radius
}

// knee is a corner on the way to the drawing: with the radius it gets.
type knee struct {
	pt
	concave bool
	radius  float64
}

// shaper turns corners into contours: inside corners rounded.
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

// contour draws one traced loop: fillets where blades end, the corner radius at
// other inside corners. found counts, for each blade end, the corners met there.
func (s *shaper) contour(loop []corner, found []int) Contour {
	knees := make([]knee, len(loop))
	for i, c := range loop {
		knees[i] = knee{pt{c.x, c.y}, c.concave, 0}
		if !c.concave {
			continue
		}
		knees[i].radius = s.corner
		for k := range s.ends {
			e := &s.ends[k]
			along := (c.x-e.x)*e.ux + (c.y-e.y)*e.uy
			across := (c.x-e.x)*-e.uy + (c.y-e.y)*e.ux
			if math.Abs(along) < 2*same && math.Abs(math.Abs(across)-e.half) < 2*same {
				knees[i].radius = e.rho
				found[k]++
			}
		}
	}
	return s.round(knees)
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
