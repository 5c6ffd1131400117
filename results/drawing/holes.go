package drawing

import (
	"container/heap"
	"math"
)

// drill places mounting and payload holes.
func (p *Plate) drill(refuse func(x, y float64, format string, args ...any)) {
	o := &p.Options
	ground := p.ground()
	if o.MountingHoles > 0 {
		x0, x1, y0, y1 := p.Bodies[ground].Bounds()
		if len(p.Rings) == 0 {
			refuse(x0, y0, "mounting holes need a frame around everything")
			return
		}
		// In the middle between the plate's edge and the frame's inner edge.
		x := [3]float64{(p.X0 + x0) / 2, (p.X0 + p.X1) / 2, (p.X1 + x1) / 2}
		y := [3]float64{(p.Y0 + y0) / 2, (p.Y0 + p.Y1) / 2, (p.Y1 + y1) / 2}
		places := [8][2]int{{0, 0}, {2, 0}, {2, 2}, {0, 2}, {1, 0}, {2, 1}, {1, 2}, {0, 1}}
		for _, k := range places[:o.MountingHoles] {
			p.MountingHoles = append(p.MountingHoles, Circle{x[k[0]], y[k[1]], o.MountingDiameter / 2})
		}
	}
	stage := p.Topology.Stage
	x0, x1, y0, y1 := p.Bodies[stage].Bounds()
	for j := range o.Payload.Rows {
		for i := range o.Payload.Columns {
			x, y := o.Payload.At(i, j)
			p.PayloadHoles = append(p.PayloadHoles, Circle{(x0+x1)/2 + x, (y0+y1)/2 + y, o.Payload.Diameter / 2})
		}
	}
	for _, h := range p.MountingHoles {
		p.Metal[ground] -= math.Pi * h.Radius * h.Radius
	}
	for _, h := range p.PayloadHoles {
		p.Metal[stage] -= math.Pi * h.Radius * h.Radius
	}
}

// holes places one start hole per cut, and refuses holes that leave too little
// metal or find no room.
func (p *Plate) holes(refuse func(x, y float64, format string, args ...any)) {
	o := &p.Options
	m := newMesh(flattened(p.Contours))
	drilled := append(append([]Circle(nil), p.MountingHoles...), p.PayloadHoles...)
	for i, h := range drilled {
		what := "mounting"
		if i >= len(p.MountingHoles) {
			what = "payload"
		}
		if wall := m.depth(pt{h.X, h.Y}) - h.Radius; wall < o.MinimumWall {
			refuse(h.X, h.Y, "a %s hole leaves %.4g mm of metal, less than minimum_wall, %.4g mm", what, wall*1e3, o.MinimumWall*1e3)
		}
		for _, g := range drilled[:i] {
			if wall := math.Hypot(g.X-h.X, g.Y-h.Y) - g.Radius - h.Radius; wall < o.MinimumWall {
				refuse(h.X, h.Y, "two %s holes leave %.4g mm of metal between them, less than minimum_wall, %.4g mm", what, wall*1e3, o.MinimumWall*1e3)
				break
			}
		}
	}
	if o.StartHole == 0 {
		return
	}
	for i, c := range p.Contours[1:] {
		at, room := widest(newMesh([][]pt{c.flatten(chord)}), o.StartHole)
		if room < o.StartHole/2 {
			refuse(at.x, at.y, "cut %d has no room for a start hole of %.4g mm: its widest place takes %.4g mm", i+1, o.StartHole*1e3, 2*room*1e3)
		}
		p.StartHoles = append(p.StartHoles, Circle{at.x, at.y, o.StartHole / 2})
	}
}

// holePattern draws the pitches of holes.
func (p *Plate) holePattern(s *svg) {
	if h := &p.Options.Payload; len(p.PayloadHoles) > 0 {
		a := p.PayloadHoles[0]
		below := -(a.Y-a.Radius)*1e3 + 3*s.k
		beside := (a.X-a.Radius)*1e3 - 3*s.k
		if h.Columns > 1 {
			s.dimension(a.X*1e3, below, (a.X+h.Pitch)*1e3, below, size(h.Pitch*1e3))
		}
		if h.Rows > 1 {
			s.dimension(beside, -a.Y*1e3, beside, -(a.Y+h.Pitch)*1e3, size(h.Pitch*1e3))
		}
	}
	if len(p.MountingHoles) >= 4 {
		a, b := p.MountingHoles[0], p.MountingHoles[2]
		below, beside := -p.Y0*1e3+8*s.k, p.X1*1e3+8*s.k
		s.dimension(a.X*1e3, below, b.X*1e3, below, size((b.X-a.X)*1e3))
		s.dimension(beside, -a.Y*1e3, beside, -b.Y*1e3, size((b.Y-a.Y)*1e3))
	}
}

// ground returns the number of the fixed body.
func (p *Plate) ground() int {
	for i, b := range p.Topology.Bodies {
		if b.Held.Has(0) {
			return i
		}
	}
	panic("drawing: no fixed body")
}

// depth returns how deep p lies in the metal, negative outside, m.
func (m *mesh) depth(p pt) float64 {
	least := math.Inf(1)
	inside := false
	for i, a := range m.points {
		b := m.points[m.next[i]]
		_, d, _ := m.foot(i, p)
		least = min(least, d)
		// Crossings of the ray to the right.
		if (a.y > p.y) != (b.y > p.y) && p.x < a.x+(p.y-a.y)/(b.y-a.y)*(b.x-a.x) {
			inside = !inside
		}
	}
	if inside {
		return least
	}
	return -least
}

// square cells of the search for the widest place, the most promising first.
type squares []struct{ x, y, half, room, most float64 }

func (s squares) Len() int           { return len(s) }
func (s squares) Less(i, j int) bool { return s[i].most > s[j].most }
func (s squares) Swap(i, j int)      { s[i], s[j] = s[j], s[i] }
func (s *squares) Push(v any) {
	*s = append(*s, v.(struct{ x, y, half, room, most float64 }))
}
func (s *squares) Pop() any {
	v := (*s)[len(*s)-1]
	*s = (*s)[:len(*s)-1]
	return v
}

// widest returns the point inside a cut that is farthest from its boundary, by
// splitting squares and dropping those that cannot hold a better one. It stops
// within 20 µm of the largest distance, or within a third of it when that is more
// than plenty.
func widest(m *mesh, plenty float64) (pt, float64) {
	var queue squares
	put := func(x, y, half float64) float64 {
		room := m.depth(pt{x, y}) // a lone cut counts as inside by its crossings
		heap.Push(&queue, struct{ x, y, half, room, most float64 }{x, y, half, room, room + half*math.Sqrt2})
		return room
	}
	best, room := pt{m.x0, m.y0}, math.Inf(-1)
	half := min(m.x1-m.x0, m.y1-m.y0) / 2
	for x := m.x0 + half; x < m.x1+half; x += 2 * half {
		for y := m.y0 + half; y < m.y1+half; y += 2 * half {
			if r := put(x, y, half); r > room {
				best, room = pt{x, y}, r
			}
		}
	}
	for queue.Len() > 0 {
		s := heap.Pop(&queue).(struct{ x, y, half, room, most float64 })
		if s.most < room+20e-6 || room > plenty && s.most < 1.5*room {
			break
		}
		h := s.half / 2
		for _, d := range [4]pt{{-h, -h}, {h, -h}, {-h, h}, {h, h}} {
			if r := put(s.x+d.x, s.y+d.y, h); r > room {
				best, room = pt{s.x + d.x, s.y + d.y}, r
			}
		}
	}
	return best, room
}
