package drawing

import (
	"math"

	"flexwright/models"
)

// Gap is the narrowest place between two parts of the plate.
type Gap struct {
	Distance, X, Y float64 // m; Distance 0 where they meet
	A, B           string  // names of the parts
}

// Pose is the displacement of a body: of its origin (x, y) and its rotation about it.
type Pose struct{ X, Y, Yaw float64 }

// BodiesAt returns the contours of all bodies, displaced, in the order of Bodies
// followed by Rings. poses has one pose per body.
func (p *Plate) BodiesAt(poses []Pose) []Contour {
	var out []Contour
	for i, c := range p.Bodies {
		q := poses[i]
		out = append(out, c.Move(q.X, q.Y, q.Yaw, p.Stage.X[i], p.Stage.Y[i]))
	}
	return append(out, p.Rings...) // a ring is part of the ground
}

// BladeAt returns the outline of blade e between displaced bodies: the centre line
// is the cubic that meets both ends in place and direction (an Euler-Bernoulli
// beam without axial force), the thickness is kept.
func (p *Plate) BladeAt(e int, poses []Pose) Contour {
	b := &p.Blades[e]
	move := func(body int, x, y float64) (float64, float64) {
		q := poses[body]
		s, c := math.Sincos(q.Yaw)
		dx, dy := x-p.Stage.X[body], y-p.Stage.Y[body]
		return p.Stage.X[body] + q.X + dx*c - dy*s, p.Stage.Y[body] + q.Y + dx*s + dy*c
	}
	x0, y0 := move(b.From, b.X, b.Y)
	x1, y1 := move(b.To, b.EndX, b.EndY)
	length := math.Hypot(b.EndX-b.X, b.EndY-b.Y)
	psi := math.Atan2(b.EndY-b.Y, b.EndX-b.X)
	s0, c0 := math.Sincos(psi + poses[b.From].Yaw)
	s1, c1 := math.Sincos(psi + poses[b.To].Yaw)
	const n = 32
	left, right := make(Contour, n+1), make(Contour, n+1)
	for k := 0; k <= n; k++ {
		t := float64(k) / n
		// Hermite polynomials and their derivatives.
		h00, h10, h01, h11 := (1+2*t)*(1-t)*(1-t), t*(1-t)*(1-t), t*t*(3-2*t), t*t*(t-1)
		d00, d10, d01, d11 := 6*t*(t-1), (1-t)*(1-3*t), 6*t*(1-t), t*(3*t-2)
		x := h00*x0 + h10*length*c0 + h01*x1 + h11*length*c1
		y := h00*y0 + h10*length*s0 + h01*y1 + h11*length*s1
		dx := d00*x0 + d10*length*c0 + d01*x1 + d11*length*c1
		dy := d00*y0 + d10*length*s0 + d01*y1 + d11*length*s1
		r := b.Thickness / 2 / math.Hypot(dx, dy)
		right[k] = Vertex{X: x + dy*r, Y: y - dx*r}
		left[n-k] = Vertex{X: x - dy*r, Y: y + dx*r}
	}
	return append(right, left...)
}

// Clearance returns the narrowest gap between any two bodies, two blades, or a
// blade and a body that it is not clamped to, with everything displaced.
// Distances above 10 mm are not told apart: Distance is then +Inf.
func (p *Plate) Clearance(poses []Pose) Gap {
	for _, most := range reach {
		if g := p.clearance(poses, most); !math.IsInf(g.Distance, 1) {
			return g
		}
	}
	return Gap{Distance: math.Inf(1)}
}

func (p *Plate) clearance(poses []Pose, most float64) Gap {
	type part struct {
		mesh     *mesh
		name     string
		body     int // the number of a body, -1 for a blade
		clampedA int // of a blade: its two bodies
		clampedB int
	}
	var parts []part
	for i, c := range p.Bodies {
		q := poses[i]
		moved := c.Move(q.X, q.Y, q.Yaw, p.Stage.X[i], p.Stage.Y[i])
		parts = append(parts, part{newMesh([][]pt{moved.flatten(chord)}), p.Topology.Bodies[i].Name, i, -1, -1})
	}
	for e := range p.Blades {
		outline := p.BladeAt(e, poses)
		parts = append(parts, part{newMesh([][]pt{outline.flatten(chord)}), p.Topology.BladeName(e), -1, p.Blades[e].From, p.Blades[e].To})
	}
	best := Gap{Distance: most}
	found := false
	for i := range parts {
		for j := range parts {
			a, b := &parts[i], &parts[j]
			if i == j || a.body >= 0 && (b.clampedA == a.body || b.clampedB == a.body) || b.body >= 0 && (a.clampedA == b.body || a.clampedB == b.body) {
				continue
			}
			if far := best.Distance; a.mesh.x0 > b.mesh.x1+far || b.mesh.x0 > a.mesh.x1+far || a.mesh.y0 > b.mesh.y1+far || b.mesh.y0 > a.mesh.y1+far {
				continue
			}
			for _, v := range a.mesh.points {
				b.mesh.near(v, best.Distance, func(s int) {
					if q, distance, _ := b.mesh.foot(s, v); distance < best.Distance {
						best = Gap{distance, (v.x + q.x) / 2, (v.y + q.y) / 2, a.name, b.name}
						found = true
					}
				})
			}
			if i < j && best.Distance > 0 {
				if at, ok := a.mesh.meets(b.mesh); ok {
					best, found = Gap{0, at.x, at.y, a.name, b.name}, true
				}
			}
		}
	}
	if !found {
		best.Distance = math.Inf(1)
	}
	return best
}

// meets returns a point where a line of m crosses one of other.
func (m *mesh) meets(other *mesh) (at pt, ok bool) {
	if m.x0 > other.x1 || other.x0 > m.x1 || m.y0 > other.y1 || other.y0 > m.y1 {
		return pt{}, false
	}
	for i, a := range m.points {
		b := m.points[m.next[i]]
		if max(a.x, b.x) < other.x0 || min(a.x, b.x) > other.x1 || max(a.y, b.y) < other.y0 || min(a.y, b.y) > other.y1 {
			continue
		}
		other.each(min(a.x, b.x), max(a.x, b.x), min(a.y, b.y), max(a.y, b.y), func(c int) {
			for _, s := range other.cells[c] {
				if p, hit := meet(a, b, other.points[s], other.points[other.next[s]]); hit && !ok {
					at, ok = p, true
				}
			}
		})
		if ok {
			return at, true
		}
	}
	return pt{}, false
}

// fullTravel returns the narrowest gap over the nine positions of the largest
// range, each guide sharing its travel evenly.
func (p *Plate) fullTravel(l models.Layout) Gap {
	best := Gap{Distance: math.Inf(1)}
	motions := make([]models.Motion, len(p.Topology.Bodies))
	poses := make([]Pose, len(motions))
	for _, x := range []float64{-1, 0, 1} {
		for _, y := range []float64{-1, 0, 1} {
			l.NominalMotion(p.Stage, x*p.Stage.UpTo, y*p.Stage.UpTo, motions)
			for i, m := range motions {
				x1, y1 := m.At(p.Stage.X[i], p.Stage.Y[i])
				poses[i] = Pose{x1 - p.Stage.X[i], y1 - p.Stage.Y[i], m.Yaw}
			}
			if g := p.Clearance(poses); g.Distance < best.Distance {
				best = g
			}
		}
	}
	return best
}
