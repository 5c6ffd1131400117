package mechanics

import (
	"math"

	"flexwright/models/blade"
)

// assemble computes the residual (internal minus applied forces) and the
// tangent with constant actuator forces at the iterate (q, p, force), the axial
// forces of the blades condensed. It leaves in link what the update of the
// axial forces needs, in pose the end forces of the blades, and returns the
// largest internal force, N, as the scale of the residual. It returns false
// where a blade has turned over.
//
// With the chord direction n, m across it, and for each end the lever arm r
// turned by 90 degrees, s, variations of the chord are
//
//	dl = n·(dqb + sb dφb - dqa - sa dφa) = a·dq,  l dα = m·(…) = b·dq
//
// and those of the deformation de = a·dq/L, dθa = dφa - b·dq/l, dθb = dφb - b·dq/l.
// The second variations give the geometric part
//
//	N/l b bᵀ + (Ma+Mb)/l² (a bᵀ + b aᵀ) + (f·ra) φa² - (f·rb) φb²,  f = N n - (Ma+Mb)/l m
func (s *Scratch) assemble(pose *Pose, loadFactor float64) (scale float64, ok bool) {
	m := s.Model
	clear(s.k)
	for i, l := range s.load {
		s.residual[i] = -loadFactor * l
	}
	for b := range m.Topology.Bodies {
		sin, cos := math.Sincos(s.q[3*b+2])
		s.sin[b], s.versine[b] = sin, sin*sin/(1+cos)
	}
	var st blade.State
	for i := range m.blades {
		bb := &m.blades[i]
		sec := &s.Section[i]
		qa, qb := s.q[3*bb.root:3*bb.root+3:3*bb.root+3], s.q[3*bb.tip:3*bb.tip+3:3*bb.tip+3]
		// lever arms, turned, and their change
		ax, ay, bx, by := s.rootX[i], s.rootY[i], s.tipX[i], s.tipY[i]
		sa, va, sb, vb := s.sin[bb.root], s.versine[bb.root], s.sin[bb.tip], s.versine[bb.tip]
		dax, day := -va*ax-sa*ay, sa*ax-va*ay
		dbx, dby := -vb*bx-sb*by, sb*bx-vb*by
		ux, uy := qb[0]+dbx-qa[0]-dax, qb[1]+dby-qa[1]-day
		ax, ay, bx, by = ax+dax, ay+day, bx+dbx, by+dby
		// chord, in the frame of the blade at rest
		c, sn := s.cosPsi[i], s.sinPsi[i]
		u, w := c*ux+sn*uy, c*uy-sn*ux
		length := sec.Length
		if !(u > -0.9*length) {
			return 0, false
		}
		chord := math.Sqrt((length+u)*(length+u) + w*w)
		e := (2*length*u + u*u + w*w) / (length * (chord + length))
		turn := math.Atan(w / (length + u))
		ta, tb := qa[2]-turn, qb[2]-turn
		p := s.p[i]
		sec.At(e, ta, tb, p, &st)

		il := 1 / chord
		ct, stn := (length+u)*il, w*il
		nx, ny := c*ct-sn*stn, sn*ct+c*stn
		an, am := ny*ax-nx*ay, nx*ax+ny*ay // n·s and m·s with s = (-ry, rx), m = (-ny, nx)
		bn, bm := ny*bx-nx*by, nx*bx+ny*by
		lk := &s.link[i]
		*lk = link{nx, ny, an, am, bn, bm, chord, ta, st.Row[1], st.Row[2], st.Residual, st.C}

		// residual, with the axial equation condensed
		stiff := sec.EI / length
		extra := stiff * st.Residual / st.C
		axial := (st.Force[0] + extra) / length
		ma, mb := st.Force[1]+extra*st.Row[1], st.Force[2]+extra*st.Row[2]
		shear := -(ma + mb) * il
		fx, fy := axial*nx-shear*ny, axial*ny+shear*nx
		scale = max(scale, math.Abs(axial), math.Abs(shear))
		if k := bb.tipNode; k >= 0 {
			r := s.residual[3*k : 3*k+3 : 3*k+3]
			r[0] += fx
			r[1] += fy
			r[2] += axial*bn + shear*bm + mb
		}
		if k := bb.rootNode; k >= 0 {
			r := s.residual[3*k : 3*k+3 : 3*k+3]
			r[0] -= fx
			r[1] -= fy
			r[2] += ma - axial*an - shear*am
		}
		pose.Axial[i] = st.Force[0] / length
		pose.RootM[i], pose.TipM[i] = st.Force[1], st.Force[2]

		// tangent in the basis a, b, φa, φb
		axial = st.Force[0] / length
		moments := st.Force[1] + st.Force[2]
		shear = -moments * il
		t := &st.Tangent
		aa := t[0] / (length * length)
		ab := -(t[1]+t[2])/length*il + moments*il*il
		bbn := (t[3]+2*t[4]+t[5])*il*il + axial*il
		aA, aB := t[1]/length, t[2]/length
		bA, bB := -(t[3]+t[4])*il, -(t[4]+t[5])*il
		fRa := (axial*nx-shear*ny)*ax + (axial*ny+shear*nx)*ay
		fRb := (axial*nx-shear*ny)*bx + (axial*ny+shear*nx)*by
		tbn, tbm := aa*bn+ab*bm+aB, ab*bn+bbn*bm+bB
		tan, tam := aA-aa*an-ab*am, bA-ab*an-bbn*am
		yawB := bn*(tbn+aB) + bm*(tbm+bB) + t[5] - fRb
		yawA := -an*(tan+aA) - am*(tam+bA) + t[3] + fRa
		yawAB := bn*tan + bm*tam - aB*an - bB*am + t[4]
		sxx := aa*nx*nx - 2*ab*nx*ny + bbn*ny*ny
		syy := aa*ny*ny + 2*ab*nx*ny + bbn*nx*nx
		sxy := (aa-bbn)*nx*ny + ab*(nx*nx-ny*ny)
		tbx, tby := tbn*nx-tbm*ny, tbn*ny+tbm*nx
		tax, tay := tan*nx-tam*ny, tan*ny+tam*nx
		if k := bb.rootNode; k >= 0 {
			d := (*[9]float64)(s.k[9*k:])
			d[0] += sxx
			d[3] += sxy
			d[4] += syy
			d[6] -= tax
			d[7] -= tay
			d[8] += yawA
		}
		if k := bb.tipNode; k >= 0 {
			d := (*[9]float64)(s.k[9*k:])
			d[0] += sxx
			d[3] += sxy
			d[4] += syy
			d[6] += tbx
			d[7] += tby
			d[8] += yawB
		}
		if bb.couple >= 0 {
			d := (*[9]float64)(s.k[bb.couple:])
			d[0] -= sxx
			d[1] -= sxy
			d[3] -= sxy
			d[4] -= syy
			d[8] += yawAB
			if bb.coupleFlips { // rows of the tip, columns of the root
				d[2] += tax
				d[5] += tay
				d[6] -= tbx
				d[7] -= tby
			} else {
				d[2] -= tbx
				d[5] -= tby
				d[6] += tax
				d[7] += tay
			}
		}
	}
	scale = s.assembleLinks(scale)
	for i, b := range m.mounted {
		node, k, q := m.Node[b], &s.Stage.Springs[i], s.q[3*b:3*b+3]
		for axis := range 3 {
			f := k[axis] * q[axis]
			s.residual[3*node+axis] += f
			s.k[9*node+4*axis] += k[axis]
			if axis < 2 {
				scale = max(scale, math.Abs(f))
			}
		}
	}
	s.applyActuators()
	s.holdUnknowns()
	return scale, true
}

// deflections fills what pose says of the blades' shapes, of which no equilibrium needs to know, as they were
// assembled last; the iterate must not have changed since.
func (s *Scratch) deflections(pose *Pose) {
	for i := range s.link {
		lk, bb, sec := &s.link[i], &s.Model.blades[i], &s.Section[i]
		sin, cos := math.Sincos(lk.turn)
		pose.W[i] = -lk.chord / sec.Length * sin
		pose.RootP[i] = s.p[i]*cos - (pose.RootM[i]+pose.TipM[i])/lk.chord*sec.Length*sec.Length/sec.EI*sin
		pose.Phi[i] = s.q[3*bb.tip+2] - s.q[3*bb.root+2]
	}
}

// holdUnknowns replaces the equation of every held unknown by "does not move".
func (s *Scratch) holdUnknowns() {
	p := s.Model.Pattern
	for _, h := range s.Model.held {
		p.Hold(s.k, h.node, h.axis)
		s.residual[3*h.node+h.axis] = 0
		for k := range s.Model.Topology.Actuators {
			s.column[k][3*h.node+h.axis] = 0
		}
	}
}
