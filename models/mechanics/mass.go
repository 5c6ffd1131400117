package mechanics

// Mass writes the in-plane mass matrix at a pose, over the pattern, kg and
// kg m²: the bodies' own, the links' and for every blade the consistent matrix of a beam
// that follows its chord with linear stretch and cubic deflection (J. S.
// Archer, Consistent mass matrix for distributed mass systems, ASCE J. Struct.
// Div. 89, 1963), carried rigidly to the origins of its bodies. Rotary inertia
// of the blade's section, of order (t/L)², is left out. Held unknowns are not
// treated here.
func (s *Scratch) Mass(pose *Pose, mass []float64) {
	m := s.Model
	s.massOfBodies(mass)
	s.addLinkMass(m, pose, mass, false)
	for i := range m.blades {
		bb, lk := &m.blades[i], &pose.link[i]
		length := s.Section[i].Length
		total := s.Stage.Density[i] * length * s.Stage.Thickness[i] * s.Stage.Width[i]
		e := beamMass(total, length)
		a, b := carriedEnd{lk.nx, lk.ny, lk.an, lk.am}, carriedEnd{lk.nx, lk.ny, lk.bn, lk.bm}
		if k := bb.rootNode; k >= 0 {
			addBeamMass(mass[9*k:], &e.root, &a, &a)
		}
		if k := bb.tipNode; k >= 0 {
			addBeamMass(mass[9*k:], &e.tip, &b, &b)
		}
		switch {
		case bb.couple < 0:
		case bb.coupleFlips:
			addBeamMass(mass[bb.couple:], &e.tipRoot, &b, &a)
		default:
			e.tipRoot[5], e.tipRoot[7] = e.tipRoot[7], e.tipRoot[5]
			addBeamMass(mass[bb.couple:], &e.tipRoot, &a, &b)
		}
	}
}

// massOfBodies is Mass without blades and links: the same at all poses.
func (s *Scratch) massOfBodies(mass []float64) {
	m := s.Model
	clear(mass)
	for node, b := range m.Body {
		d := mass[9*node : 9*node+9]
		d[0] += s.Stage.Mass[b]
		d[4] += s.Stage.Mass[b]
		d[8] += s.Stage.Iz[b]
	}
}

// carriedEnd is how the end of a blade follows the origin of its body: direction of the chord, and the lever arm turned
// by 90 degrees along it and across.
type carriedEnd struct{ nx, ny, n, m float64 }

// addBeamMass computes to += lᵀ m r for a block m of a beam, whose axial motion is coupled to no other.
func addBeamMass(to []float64, m *[9]float64, l, r *carriedEnd) {
	x0, y0, t0 := m[0]*r.nx, m[0]*r.ny, m[0]*r.n
	x1, y1, t1 := -m[4]*r.ny, m[4]*r.nx, m[4]*r.m+m[5]
	x2, y2, t2 := -m[7]*r.ny, m[7]*r.nx, m[7]*r.m+m[8]
	to = to[:9]
	to[0] += l.nx*x0 - l.ny*x1
	to[1] += l.nx*y0 - l.ny*y1
	to[2] += l.nx*t0 - l.ny*t1
	to[3] += l.ny*x0 + l.nx*x1
	to[4] += l.ny*y0 + l.nx*y1
	to[5] += l.ny*t0 + l.nx*t1
	to[6] += l.n*x0 + l.m*x1 + x2
	to[7] += l.n*y0 + l.m*y1 + y2
	to[8] += l.n*t0 + l.m*t1 + t2
}

type beamBlocks struct{ root, tip, tipRoot [9]float64 }

// beamMass returns the consistent mass of a straight beam: blocks of (axial,
// lateral, rotation) at root and tip, and the one with rows of the tip and
// columns of the root.
func beamMass(total, length float64) beamBlocks {
	k, l := total/420, length
	return beamBlocks{
		root:    [9]float64{140 * k, 0, 0, 0, 156 * k, 22 * l * k, 0, 22 * l * k, 4 * l * l * k},
		tip:     [9]float64{140 * k, 0, 0, 0, 156 * k, -22 * l * k, 0, -22 * l * k, 4 * l * l * k},
		tipRoot: [9]float64{70 * k, 0, 0, 0, 54 * k, 13 * l * k, 0, -13 * l * k, -3 * l * l * k},
	}
}

// addCongruent computes to += lᵀ m r for 3 by 3 blocks.
func addCongruent(to []float64, l, m, r *[9]float64) {
	var x [9]float64 // m r
	for i := 0; i < 9; i += 3 {
		for j := range 3 {
			x[i+j] = m[i]*r[j] + m[i+1]*r[3+j] + m[i+2]*r[6+j]
		}
	}
	to = to[:9]
	for i := range 3 {
		for j := range 3 {
			to[3*i+j] += l[i]*x[j] + l[3+i]*x[3+j] + l[6+i]*x[6+j]
		}
	}
}
