package mechanics

import (
	"math"

	"flexwright/models"
)

// What links do between the parts of bodies that bend: a potential ½ dᵀ K d of the
// relative motion d of the second part's origin, measured in the axes of the first part,
// so that a rigid motion of both costs nothing however large; in the same axes the mass.

// linkBlocks is where a link's matrices go: see bladeBlocks.
type linkBlocks struct {
	from, to    int // bodies
	fromNode    int // -1 when fixed
	toNode      int
	couple      int
	coupleFlips bool
}

// prepareLinks fills the constants of the links, once for those that are the same but for a
// turn.
func (s *Scratch) prepareLinks(st *models.Stage) {
	s.linked++
	t := s.Model.Topology
	at := func(i int) [4]float64 {
		l := t.Links[i]
		return [4]float64{st.X[l.From], st.Y[l.From], st.X[l.To], st.Y[l.To]}
	}
	for i := range t.Links {
		c, own, done := &s.links[i], at(i), false
		for k := i - 1; k >= 0 && !done; k-- {
			var cos, sin float64
			if cos, sin, done = sameTurned(&st.Links[i], &st.Links[k], own, at(k)); done {
				*c = s.links[k]
				c.turn(cos, sin)
			}
		}
		if !done {
			c.prepare(&st.Links[i], own[0], own[1], own[2], own[3])
		}
		s.size = max(s.size, math.Abs(c.rhoX), math.Abs(c.rhoY))
	}
}

// rounded is what the rounding of displacements leaves of the residual in a short, stiff link,
// 4 times 2^-53 of them, as the force that the residual is measured by.
const rounded = 4 * 1.1e-16 / residualTolerance

// assembleLinks adds the forces and the tangent of all links to the residual and to k, and
// returns the larger of scale and the largest force, N, or what makes rounding pass. With D the vector between the
// origins, u = R(-φa) D, d = (u - ρ, φb - φa) and g = K d = (f, m),
//
//	∂u = R(-φa)(dqb - dqa) + (u_y, -u_x) dφa
//
// and the geometric part is J f between φa and the displacements, -f·u at φa.
func (s *Scratch) assembleLinks(scale float64) float64 {
	m := s.Model
	for i := range m.links {
		lb, c := &m.links[i], &s.links[i]
		qa, qb := s.q[3*lb.from:3*lb.from+3:3*lb.from+3], s.q[3*lb.to:3*lb.to+3:3*lb.to+3]
		sin, v := s.sin[lb.from], s.versine[lb.from]
		cos := 1 - v
		k := &c.in
		ex, ey, fx, fy, mt := c.pull(qb[0]-qa[0], qb[1]-qa[1], qb[2]-qa[2], sin, v)
		ux, uy := ex+c.rhoX, ey+c.rhoY
		gx, gy := cos*fx-sin*fy, sin*fx+cos*fy // in the plate's axes
		scale = max(scale, math.Abs(gx), math.Abs(gy))
		// K in the plate's axes, against x, y, yaw of the second part
		cc, ss, cs := cos*cos, sin*sin, cos*sin
		kxx := cc*k[0] - 2*cs*k[1] + ss*k[4]
		kyy := ss*k[0] + 2*cs*k[1] + cc*k[4]
		kxy := cs*(k[0]-k[4]) + (cc-ss)*k[1]
		kxt, kyt, ktt := cos*k[2]-sin*k[5], sin*k[2]+cos*k[5], k[8]
		scale = max(scale, rounded*(kxx+kyy)*(math.Abs(qb[0])+math.Abs(qb[1])))
		if n := lb.toNode; n >= 0 {
			r := s.residual[3*n : 3*n+3 : 3*n+3]
			r[0] += gx
			r[1] += gy
			r[2] += mt
			d := (*[9]float64)(s.k[9*n:])
			d[0] += kxx
			d[3] += kxy
			d[4] += kyy
			d[6] += kxt
			d[7] += kyt
			d[8] += ktt
		}
		n := lb.fromNode
		if n < 0 {
			continue
		}
		// the first part's yaw moves the second's origin by -w beside it, in the plate's axes
		wx, wy := -(sin*ux + cos*uy), cos*ux-sin*uy // turned D
		// rows of x, y, yaw of the second part against yaw of the first
		bx, by := -(kxx*wx+kxy*wy)-kxt, -(kxy*wx+kyy*wy)-kyt
		bt := -(kxt*wx + kyt*wy) - ktt
		r := s.residual[3*n : 3*n+3 : 3*n+3]
		r[0] -= gx
		r[1] -= gy
		r[2] -= mt + gx*wx + gy*wy
		// yaw of the first part against itself
		tt := -(wx*bx + wy*by) - bt - (fx*ux + fy*uy)
		bx, by = bx-gy, by+gx // geometric: J f
		d := (*[9]float64)(s.k[9*n:])
		d[0] += kxx
		d[3] += kxy
		d[4] += kyy
		d[6] -= bx
		d[7] -= by
		d[8] += tt
		if lb.couple < 0 {
			continue
		}
		d = (*[9]float64)(s.k[lb.couple:])
		d[0] -= kxx
		d[1] -= kxy
		d[3] -= kxy
		d[4] -= kyy
		d[8] += bt
		// first part's yaw with the second's displacement: (bx, by); its displacement with
		// the second's yaw: -(kxt, kyt)
		if lb.coupleFlips { // rows of the second part
			d[2] += bx
			d[5] += by
			d[6] -= kxt
			d[7] -= kyt
		} else {
			d[2] -= kxt
			d[5] -= kyt
			d[6] += bx
			d[7] += by
		}
	}
	return scale
}

// pull returns, of a motion of the second part beyond the first's and a yaw of the first, of sine sin and versine v, u - ρ and
// the force and moment on the second part at its origin, in the first's axes.
func (c *linkConstants) pull(dx, dy, turn, sin, v float64) (ex, ey, fx, fy, m float64) {
	cos, k := 1-v, &c.in
	// u - ρ = R(-φa)(dq) + (R(-φa) - 1) ρ
	ex = cos*dx + sin*dy - v*c.rhoX + sin*c.rhoY
	ey = cos*dy - sin*dx - sin*c.rhoX - v*c.rhoY
	return ex, ey, k[0]*ex + k[1]*ey + k[2]*turn, k[3]*ex + k[4]*ey + k[5]*turn, k[6]*ex + k[7]*ey + k[8]*turn
}

// turned3 returns a matrix of (x, y, yaw), or upright of (z, roll, pitch), with the two
// components along x and y turned by (cos, sin).
func turned3(a *plane3, cos, sin float64, upright bool) plane3 {
	cc, ss, cs := cos*cos, sin*sin, cos*sin
	if upright {
		p, q, r, t := a[4], a[5], a[7], a[8]
		return plane3{a[0], cos*a[1] - sin*a[2], sin*a[1] + cos*a[2],
			cos*a[3] - sin*a[6], cc*p - cs*(q+r) + ss*t, cs*(p-t) + cc*q - ss*r,
			sin*a[3] + cos*a[6], cs*(p-t) + cc*r - ss*q, ss*p + cs*(q+r) + cc*t}
	}
	p, q, r, t := a[0], a[1], a[3], a[4]
	return plane3{cc*p - cs*(q+r) + ss*t, cs*(p-t) + cc*q - ss*r, cos*a[2] - sin*a[5],
		cs*(p-t) + cc*r - ss*q, ss*p + cs*(q+r) + cc*t, sin*a[2] + cos*a[5],
		cos*a[6] - sin*a[7], sin*a[6] + cos*a[7], a[8]}
}

// addLinkMass adds the consistent mass of the links to a mass matrix over the pattern of
// m, in the plane or out of it, at a pose.
func (s *Scratch) addLinkMass(m *Model, pose *Pose, mass []float64, upright bool) {
	for i := range m.links {
		lb, c := &m.links[i], &s.links[i]
		blocks := &c.inMass
		if upright {
			blocks = &c.outMass
		}
		sin, cos := math.Sincos(pose.Q[3*lb.from+2])
		if n := lb.fromNode; n >= 0 {
			b := turned3(&blocks[0], cos, sin, upright)
			addBlock(mass[9*n:], &b)
		}
		if n := lb.toNode; n >= 0 {
			b := turned3(&blocks[1], cos, sin, upright)
			addBlock(mass[9*n:], &b)
		}
		if lb.couple >= 0 {
			b := turned3(&blocks[2], cos, sin, upright)
			if !lb.coupleFlips {
				b = plane3{b[0], b[3], b[6], b[1], b[4], b[7], b[2], b[5], b[8]}
			}
			addBlock(mass[lb.couple:], &b)
		}
	}
}

// linkLoad returns the forces on the origins of link i's parts per unit acceleration of
// everything along axis (x or y in the plane, z out of it: 0), in the plate's axes at a yaw of the first part.
func (c *linkConstants) load(axis int, cos, sin float64, upright bool) (from, to [3]float64) {
	blocks := &c.inMass
	e := [2]float64{cos, -sin} // the axis in the part's axes
	if axis == 1 {
		e = [2]float64{sin, cos}
	}
	if upright {
		blocks, e = &c.outMass, [2]float64{1, 0}
	}
	for r := range 3 {
		// rows of the first part: root-root and root-tip, the transpose of tip-root
		from[r] = (blocks[0][3*r]+blocks[2][r])*e[0] + (blocks[0][3*r+1]+blocks[2][3+r])*e[1]
		to[r] = (blocks[1][3*r]+blocks[2][3*r])*e[0] + (blocks[1][3*r+1]+blocks[2][3*r+1])*e[1]
	}
	if upright {
		for _, v := range [2]*[3]float64{&from, &to} {
			v[1], v[2] = cos*v[1]-sin*v[2], sin*v[1]+cos*v[2]
		}
		return from, to
	}
	for _, v := range [2]*[3]float64{&from, &to} {
		v[0], v[1] = cos*v[0]-sin*v[1], sin*v[0]+cos*v[1]
	}
	return from, to
}

func addBlock(to []float64, b *plane3) {
	to = to[:9]
	for i, v := range b {
		to[i] += v
	}
}
