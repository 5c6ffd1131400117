package models

// shape is a union of rectangles that do not overlap, in the frame of one arm:
// X is r (outward), Y is s (90° counter-clockwise from r).
type shape struct {
	n     int
	parts [8]Rectangle
}

func (s *shape) add(r0, r1, s0, s1 float64) {
	if r1 > r0 && s1 > s0 {
		s.parts[s.n] = Rectangle{r0, r1, s0, s1}
		s.n++
	}
}

// mirrored adds a rectangle and its mirror image about the arm's axis.
func (s *shape) mirrored(r0, r1, s0, s1 float64) {
	s.add(r0, r1, s0, s1)
	s.add(r0, r1, -s1, -s0)
}

// section holds area, centroid and central second moments of a shape.
type section struct{ area, r, s, jr, js, jrs float64 } // m², m, m, ∫(r-rc)² dA, ∫(s-sc)² dA, ∫(r-rc)(s-sc) dA: m⁴

func (s *shape) section() section {
	var q section
	for _, p := range s.parts[:s.n] {
		a := p.Area()
		q.area += a
		q.r += a * (p.X0 + p.X1) / 2
		q.s += a * (p.Y0 + p.Y1) / 2
	}
	q.r /= q.area
	q.s /= q.area
	for _, p := range s.parts[:s.n] {
		a, r, t := p.Area(), (p.X0+p.X1)/2-q.r, (p.Y0+p.Y1)/2-q.s
		dr, dt := p.X1-p.X0, p.Y1-p.Y0
		q.jr += a * (dr*dr/12 + r*r)
		q.js += a * (dt*dt/12 + t*t)
		q.jrs += a * r * t
	}
	return q
}

// arm: two prongs, two feet that carry the outer blades of the stage guide, the
// back, and the tongue that carries the inner blades of the ground guide.
func (p *fourArmPlate) arm() (s shape) {
	s.mirrored(p.a-p.f, p.rb, p.p1, p.sq)
	s.mirrored(p.a-p.f, p.a-p.d1, p.wo1-p.q1, p.p1)
	s.add(p.rb, p.rb+p.wb, -p.sq, p.sq)
	s.add(p.R-p.wi2-p.q2, p.R+p.wi2+p.q2, p.sq, p.c-p.d2)
	return s
}

// neck joins the stage to the inner blades of one stage guide.
func (p *fourArmPlate) neck() (s shape) {
	s.add(p.hs, p.a-p.d1, -p.wi1-p.q1, p.wi1+p.q1)
	return s
}

func (p *fourArmPlate) stageGuide() (s shape) {
	s.add(p.a+p.l1+p.d1, p.a+p.l1+p.h, -p.wo1-p.q1, p.wo1+p.q1)
	return s
}

func (p *fourArmPlate) groundGuide() (s shape) {
	s.add(p.R-p.wo2-p.q2, p.R+p.wo2+p.q2, p.c+p.l2+p.d2, p.c+p.l2+p.h)
	return s
}

// ground: one side of the frame with the corner at its clockwise end, and the
// prongs and feet that carry the outer blades of one ground guide.
func (p *fourArmPlate) ground() (s shape) {
	in := p.half - p.frame
	s.add(in, p.half, -p.half, in)
	s.add(p.R-p.p2-p.w, p.R-p.p2, p.c-p.f, in)
	s.add(p.R+p.p2, in, p.c-p.f, in)
	s.add(p.R-p.p2, p.R-p.wo2+p.q2, p.c-p.f, p.c-p.d2)
	s.add(p.R+p.wo2-p.q2, p.R+p.p2, p.c-p.f, p.c-p.d2)
	return s
}

// Build implements [Layout].
func (l *fourArm) Build(d *Design, st *Stage) Verdict {
	var p fourArmPlate
	var q fourArmSections
	return l.build(&p, &q, d, st)
}

// build fills st with rigid bodies, and p and q with what it is made from.
func (l *fourArm) build(p *fourArmPlate, q *fourArmSections, d *Design, st *Stage) Verdict {
	if v := p.resolve(d); !v.OK() {
		return v
	}
	x, m := d.Parameters, d.Material
	st.Travel, st.UpTo, st.Frame = x[pTravel], p.T, 2*p.half
	st.Loads, st.Material, st.RootStiffness = nil, m, 1
	st.Payload, st.PayloadSpread = x[pStageAdded], DiscSpread(x[pStageAddedSize])

	plate := p.b * m.Density // kg/m²

	if v := q.fill(p, d); !v.OK() {
		return v
	}
	g := &q.ground
	st.X[faGround], st.Y[faGround], st.Z[faGround] = 0, 0, 0
	st.Mass[faGround] = 4 * plate * g.area
	polar := g.jr + g.js + g.area*(g.r*g.r+g.s*g.s)
	st.Iz[faGround] = 4 * plate * polar
	st.Ix[faGround] = st.Iz[faGround]/2 + st.Mass[faGround]*p.b*p.b/12
	st.Iy[faGround], st.Ixy[faGround] = st.Ix[faGround], 0

	l.place(st, faStage, armDirection[2], q.stage, plate, p.b, point{x[pStageAddedX], x[pStageAddedY], x[pStageAddedHeight], x[pStageAdded], st.PayloadSpread})

	back := p.rb + p.wb/2
	actR, actS := back+x[pActuatorRadial], x[pActuatorTangential]
	for i, dir := range armDirection {
		l.place(st, faArm+i, dir, q.arm, plate, p.b, p.mounted(x, i))
		l.place(st, faGuide+2*i, dir, q.guide1, plate, p.b, point{q.guide1.r, q.guide1.s, x[pGuideAddedHeight], x[pGuideAdded], 0})
		l.place(st, faGuide+2*i+1, dir, q.guide2, plate, p.b, point{q.guide2.r, q.guide2.s, x[pGuideAddedHeight], x[pGuideAdded], 0})
		if i < 2 {
			st.ActX[i], st.ActY[i] = turn(dir, actR, actS)
			st.ActZ[i], st.ActAlong[i], st.ActAcross[i] = 0, 0, 0
		}

		k := 8 * i
		for j, s := range [4]float64{-p.wi1, -p.wo1, p.wi1, p.wo1} {
			st.RootX[k+j], st.RootY[k+j] = turn(dir, p.a, s)
			st.TipX[k+j], st.TipY[k+j] = turn(dir, p.a+p.l1, s)
			st.Thickness[k+j] = p.t1
		}
		for j, r := range [4]float64{-p.wi2, -p.wo2, p.wi2, p.wo2} {
			st.RootX[k+4+j], st.RootY[k+4+j] = turn(dir, p.R+r, p.c)
			st.TipX[k+4+j], st.TipY[k+4+j] = turn(dir, p.R+r, p.c+p.l2)
			st.Thickness[k+4+j] = p.t2
		}
	}
	for e := range faBlades {
		st.Width[e] = p.b
		st.Young[e], st.Poisson[e], st.Density[e] = m.Young, m.Poisson, m.Density
		st.BendingFactor[e], st.StretchFactor[e] = 0, 1
		st.RootBar[e], st.TipBar[e], st.Yields[e] = Bar{}, Bar{}, false
		st.Fillet[e] = p.rho
	}
	return Verdict{}
}

// mounted is what is mounted on arm i.
func (p *fourArmPlate) mounted(x []float64, i int) point {
	back := p.rb + p.wb/2
	if i < 2 {
		return point{back + x[pActuatorRadial], x[pActuatorTangential], x[pArmAddedHeight], x[pArmAdded], 0}
	}
	return point{back, 0, x[pIdleAddedHeight], x[pIdleAdded], 0}
}

// point is a mass mounted on a body, in the frame of an arm; spread as in
// [Stage.MountedSpread].
type point struct{ r, s, z, mass, spread float64 }

// place writes the centre of mass and the moments of inertia of a plate of the
// given section (areal density in kg/m², thickness b) with what is mounted on it.
func (*fourArm) place(st *Stage, body int, dir struct{ cos, sin float64 }, q section, areal, b float64, add point) {
	mp := areal * q.area
	m := mp + add.mass
	r := (mp*q.r + add.mass*add.r) / m
	s := (mp*q.s + add.mass*add.s) / m
	z := add.mass * add.z / m
	reduced := mp * add.mass / m // of the two masses about their common centre
	dr, ds, dz := add.r-q.r, add.s-q.s, add.z
	aboutR := areal*q.js + mp*b*b/12 + reduced*(ds*ds+dz*dz) + add.mass*add.spread/2
	aboutS := areal*q.jr + mp*b*b/12 + reduced*(dr*dr+dz*dz) + add.mass*add.spread/2
	st.X[body], st.Y[body] = turn(dir, r, s)
	st.Z[body] = z
	st.Mass[body] = m
	st.Mounted[body], st.MountedZ[body], st.MountedSpread[body] = add.mass, add.z, add.spread
	st.MountedX[body], st.MountedY[body] = turn(dir, add.r, add.s)
	st.Iz[body] = areal*(q.jr+q.js) + reduced*(dr*dr+ds*ds) + add.mass*add.spread
	product := areal*q.jrs + reduced*dr*ds
	if dir.cos == 0 { // turned by 90°
		aboutR, aboutS, product = aboutS, aboutR, 0-product
	}
	st.Ix[body], st.Iy[body], st.Ixy[body] = aboutR, aboutS, product
}

// turn takes (r, s) in the frame of an arm to the plane.
func turn(dir struct{ cos, sin float64 }, r, s float64) (x, y float64) {
	return r*dir.cos - s*dir.sin, r*dir.sin + s*dir.cos
}

// Outline implements [Layout]. The rectangles of one body do not overlap.
func (l *fourArm) Outline(d *Design) ([]Outline, Verdict) {
	var p fourArmPlate
	if v := p.resolve(d); !v.OK() {
		return nil, v
	}
	outlines := make([]Outline, faBodies)
	for i := range outlines {
		outlines[i].Body = i
	}
	put := func(body int, dir struct{ cos, sin float64 }, s shape) {
		outlines[body].Rectangles = appendTurned(outlines[body].Rectangles, dir, s)
	}
	var q fourArmSections
	if v := q.fill(&p, d); !v.OK() {
		return nil, v
	}
	pockets := &q.pockets
	cut := func(body int, dir struct{ cos, sin float64 }, g *pocketGrid, mirrored bool) {
		outlines[body].Pockets = pockets.list(outlines[body].Pockets, dir, g, mirrored)
	}
	cut(faStage, armDirection[2], &pockets.stage, false)
	outlines[faStage].Rectangles = append(outlines[faStage].Rectangles, Rectangle{-p.hs, p.hs, -p.hs, p.hs})
	for i, dir := range armDirection {
		put(faGround, dir, p.ground())
		put(faStage, dir, p.neck())
		put(faArm+i, dir, p.arm())
		cut(faArm+i, dir, &pockets.prong, true)
		cut(faArm+i, dir, &pockets.back, true)
		put(faGuide+2*i, dir, p.stageGuide())
		put(faGuide+2*i+1, dir, p.groundGuide())
		cut(faGuide+2*i, dir, &pockets.inner, false)
		cut(faGuide+2*i+1, dir, &pockets.outer, false)
	}
	return outlines, Verdict{}
}

func appendTurned(rs []Rectangle, dir struct{ cos, sin float64 }, s shape) []Rectangle {
	for _, q := range s.parts[:s.n] {
		x0, y0 := turn(dir, q.X0, q.Y0)
		x1, y1 := turn(dir, q.X1, q.Y1)
		rs = append(rs, Rectangle{min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)})
	}
	return rs
}

// Stops implements [Stopper]: per arm two bosses on the frame behind the prongs,
// which the arm's back meets when it moves outward. They keep the free gap to the
// tongue. Where the frame itself is near enough there is none.
func (l *fourArm) Stops(d *Design, play float64) []Outline {
	var p fourArmPlate
	if v := p.resolve(d); !v.OK() {
		return nil
	}
	var s shape
	s.mirrored(p.rb+p.wb+p.T+play, p.half-p.frame, p.p1-p.w/2, min(p.p1+p.w/2, p.sq-p.g))
	o := Outline{Body: faGround}
	for _, dir := range armDirection {
		o.Rectangles = appendTurned(o.Rectangles, dir, s)
	}
	return []Outline{o}
}
