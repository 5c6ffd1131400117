package drawing

import (
	"container/heap"
	"math"
)

// holes places mounting and payload holes and one start hole per cut, and refuses
// those that leave too little metal or find no room.
func (p *Plate) holes(refuse func(x, y float64, format string, args ...any)) {
	o := &p.Options
	outer, inner := p.Stage.Frame/2, 0.0
	// The frame's inner edge: the widest cut of the plate seen along the diagonal is
	// the ground's own inner contour.
	x0, x1, _, _ := p.Bodies[p.ground()].Bounds()
	inner = (x1 - x0) / 2
	middle := (outer + inner) / 2
	if o.MountingHoles >= 4 {
		for _, s := range [][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
			p.MountingHoles = append(p.MountingHoles, Circle{s[0] * middle, s[1] * middle, o.MountingDiameter / 2})
		}
	}
	if o.MountingHoles >= 8 {
		for _, s := range [][2]float64{{0, -1}, {1, 0}, {0, 1}, {-1, 0}} {
			p.MountingHoles = append(p.MountingHoles, Circle{s[0] * middle, s[1] * middle, o.MountingDiameter / 2})
		}
	}
	n := o.PayloadHoles
	for j := range n {
		for i := range n {
			p.PayloadHoles = append(p.PayloadHoles, Circle{
				(float64(i) - float64(n-1)/2) * o.PayloadPitch, (float64(j) - float64(n-1)/2) * o.PayloadPitch, o.PayloadDiameter / 2})
		}
	}
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
