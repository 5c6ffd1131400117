package drawing

import "math"

// A blade that is parallel to neither side of the plate meets its faces at an angle: it is
// no rectangle of the union, but is put into the contours afterwards. Its two fillets on
// a face have the same radius and unequal lengths.

// foot is where such a blade stands on a straight edge of a contour: the vertex that the edge
// leaves, then along the contour, with the metal on the left, the first fillet from p to a,
// the blade's edges out from a and back to b, and the second fillet from b to q.
type foot struct {
	contour, vertex int
	p, a, b, q      Vertex
	end             float64 // how far the longer fillet reaches along the blade from its middle on the face, m
}

// foot finds the edge that a blade's end stands on, with room for its fillets.
func (e *bladeEnd) foot(contours []Contour) (foot, bool) {
	for i, c := range contours {
		for k, v := range c {
			w := c[(k+1)%len(c)]
			length := math.Hypot(w.X-v.X, w.Y-v.Y)
			if v.Bulge != 0 || length < same {
				continue
			}
			fx, fy := (w.X-v.X)/length, (w.Y-v.Y)/length
			sin, cos := e.ux*fy-e.uy*fx, e.ux*fx+e.uy*fy // of the angle from the edge to the blade, out of the metal
			at := (e.x-v.X)*fx + (e.y-v.Y)*fy
			off := (e.x-v.X)*fy - (e.y-v.Y)*fx
			if sin < 1e-3 || math.Abs(off) > 2*same {
				continue
			}
			// The corner on the side that the contour comes from opens by the angle between -f
			// and u, the other by what is left of 180°; half of either gives the fillets' lengths.
			first, second := e.rho*math.Sqrt((1-cos)/(1+cos)), e.rho*math.Sqrt((1+cos)/(1-cos))
			half := e.half / sin
			if at-half-first < -same || at+half+second > length+same {
				continue
			}
			corner := func(s, back, out, bulge float64) (on, up Vertex) {
				x, y := e.x+s*fx, e.y+s*fy
				return Vertex{x + back*fx, y + back*fy, bulge}, Vertex{x + out*e.ux, y + out*e.uy, 0}
			}
			f := foot{contour: i, vertex: k}
			opens := math.Acos(-cos) // of the first corner
			f.p, f.a = corner(-half, -first, first, -math.Tan((math.Pi-opens)/4))
			f.q, f.b = corner(half, second, second, 0)
			f.b.Bulge = -math.Tan(opens / 4)
			if e.rho == 0 {
				f.p.Bulge, f.b.Bulge = 0, 0
			}
			// the corners lie ± half cos off the blade's middle, along it
			f.end = max(first-half*cos, second+half*cos)
			return f, true
		}
	}
	return foot{}, false
}

// stub puts the beginning of a blade, cut off square where its fillets end, into the
// contours of its body.
func (e *bladeEnd) stub(contours []Contour, f *foot) {
	vx, vy := -e.uy*e.half, e.ux*e.half
	if vx*(f.q.X-f.p.X)+vy*(f.q.Y-f.p.Y) < 0 {
		vx, vy = -vx, -vy
	}
	x, y := e.x+f.end*e.ux, e.y+f.end*e.uy
	c := contours[f.contour]
	out := append(Contour{}, c[:f.vertex+1]...)
	out = lead(out, f.p, f.a, Vertex{x - vx, y - vy, 0}, Vertex{x + vx, y + vy, 0}, f.b, f.q)
	contours[f.contour] = append(out, c[f.vertex+1:]...)
}

// lead goes on with vertices, of two at the same place with the later one.
func lead(c Contour, on ...Vertex) Contour {
	for _, v := range on {
		if last := c[len(c)-1]; math.Hypot(last.X-v.X, last.Y-v.Y) < 2*same {
			c[len(c)-1] = v
			continue
		}
		c = append(c, v)
	}
	return c
}

// span joins contours by blades, each given by its two ends. It returns the number of the
// first blade that has no foot, -1 where all have.
func span(contours []Contour, blades [][2]bladeEnd) ([]Contour, int) {
	for n := range blades {
		root, ok := blades[n][0].foot(contours)
		tip, okay := blades[n][1].foot(contours)
		if !ok || !okay {
			return contours, n
		}
		contours = join(contours, &root, &tip)
	}
	return contours, -1
}

// join cuts the edges at both feet and leads them across the blade: two contours become
// one, or one becomes two.
func join(contours []Contour, f, g *foot) []Contour {
	var out []Contour
	for i, c := range contours {
		if i != f.contour && i != g.contour {
			out = append(out, c)
		}
	}
	// from after a foot's edge to before it again
	around := func(f *foot) Contour {
		c := contours[f.contour]
		return append(append(Contour{}, c[f.vertex+1:]...), c[:f.vertex+1]...)
	}
	if f.contour != g.contour {
		c := lead(around(f), f.p, f.a, g.b, g.q)
		return append(out, lead(append(c, around(g)...), g.p, g.a, f.b, f.q))
	}
	c := around(f) // ends with the vertex of f
	n := len(c)
	k := (g.vertex - f.vertex - 1 + n) % n // of the edge of g in c
	first := lead(append(Contour{}, c[:k+1]...), g.p, g.a, f.b, f.q)
	second := lead(append(Contour{}, c[k+1:]...), f.p, f.a, g.b, g.q)
	return append(out, first, second)
}
