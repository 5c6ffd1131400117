package models

import (
	"fmt"
)

// Elastic is a layout whose bodies can bend.
type Elastic interface {
	Layout
	// Elastic returns the same layout with bodies that bend: its topology has the same
	// bodies, blades and actuators first, under the same numbers, then the parts of
	// bodies, and links between them; nil where none of its bodies bends.
	Elastic() Layout
}

// Parts of an arm, after the bodies of the rigid plate.
const (
	faCorner    = iota // of back, prong and tongue, on the side of positive s
	faFootMinus        // foot of the prong on the side of negative s
	faFootPlus
	faFootGround // foot of the frame's prong that stands free
	faParts
)

// Links of an arm.
const (
	faHalfBack   = iota // back's middle to corner
	faProngMinus        // back's middle to the foot on the side of negative s
	faProngPlus         // corner to the other foot
	faProngGround
	faLinks
)

func faPart(arm, part int) int { return faBodies + faParts*arm + part }

// elasticFourArm is the four-arm stage with bodies that bend.
type elasticFourArm struct {
	*fourArm
	topology *Topology
}

var theElasticFourArm = &elasticFourArm{theFourArm, elasticFourArmTopology()}

// Elastic implements [Elastic]. What bends, in and out of the plane:
//
//   - half backs of the arms, prongs of arms and frame, and the feet on them, as
//     beams in series: from the middle of the back (where the arm is driven) to the corner that
//     carries the tongue, on to the foot of the prong there, and straight to that of the
//     other prong; from the frame to the foot of its free prong. The other foot of the
//     frame stands on its ring;
//   - the bodies of the guides between inner and outer blades, in series with these;
//   - the root of every blade, along the blade and out of the plane ([Stage.Yields]). That it
//     turns in the plane is in the drawn length ([FilletStiffening]).
//
// The stage, the tongues, the corners and the ring of the frame are rigid. A joint gives way as if
// the narrower member went on for a quarter of the other's width. Pockets take
// stiffness from backs, prongs and guide bodies: each gives as a ladder does ([Flexing]).
//
// Modes: all motions of stage and arms' middles; guide bodies along the motion that they
// guide and in z; feet of prongs across the prong and, those of the arms, in z. The other
// motions follow.
func (*fourArm) Elastic() Layout { return theElasticFourArm }

func (l *elasticFourArm) Topology() *Topology { return l.topology }

// Elastic implements [Elastic].
func (l *elasticFourArm) Elastic() Layout { return l }

// Rigid is the layout without parts.
func (l *elasticFourArm) Rigid() Layout { return l.fourArm }

// Bending returns the layout that l is with bodies that bend; false where none does.
func Bending(l Layout) (Layout, bool) {
	if e, ok := l.(Elastic); ok {
		if b := e.Elastic(); b != nil {
			return b, true
		}
	}
	return l, false
}

// Rigid returns the layout that l is with rigid bodies: what a plate is drawn from.
func Rigid(l Layout) Layout {
	if e, ok := l.(interface{ Rigid() Layout }); ok {
		return e.Rigid()
	}
	return l
}

func elasticFourArmTopology() *Topology {
	t := *fourArmTopology()
	t.Links = make([]LinkSpec, 0, 4*faLinks)
	for i, dir := range armDirection {
		along, across := MoveX, MoveY // r and s
		if dir.cos == 0 {
			along, across = MoveY, MoveX
		}
		t.Bodies[faGuide+2*i].Follows = MoveAll &^ (across | MoveZ)
		t.Bodies[faGuide+2*i+1].Follows = MoveAll &^ (along | MoveZ)
		arm := faArm + i
		part := func(whole int, name string, follows Motions) {
			t.Bodies = append(t.Bodies, BodySpec{Name: fmt.Sprintf("%s, %s", t.Bodies[whole].Name, name), Part: whole + 1, Follows: follows})
		}
		part(arm, "corner", MoveAll)
		part(arm, "foot 1", MoveAll&^(across|MoveZ))
		part(arm, "foot 2", MoveAll&^(across|MoveZ))
		part(faGround, fmt.Sprintf("foot %d", i+1), MoveAll)
		t.Links = append(t.Links,
			LinkSpec{arm, faPart(i, faCorner)}, LinkSpec{arm, faPart(i, faFootMinus)},
			LinkSpec{faPart(i, faCorner), faPart(i, faFootPlus)}, LinkSpec{faGround, faPart(i, faFootGround)})
		// blades at -wi1, -wo1, wi1, wo1 of the stage guide, -wi2, -wo2, wi2, wo2 of the ground guide
		b := t.Blades[8*i : 8*i+8]
		b[1].From, b[3].From = faPart(i, faFootMinus), faPart(i, faFootPlus)
		b[4].From, b[6].From = faPart(i, faCorner), faPart(i, faCorner)
		b[5].From = faPart(i, faFootGround)
	}
	return &t
}

// NominalMotion moves the parts with their bodies.
func (l *elasticFourArm) NominalMotion(s *Stage, x, y float64, motions []Motion) {
	l.fourArm.NominalMotion(s, x, y, motions)
	for i := faBodies; i < len(l.topology.Bodies); i++ {
		motions[i] = motions[l.topology.Whole(i)]
	}
}

// jointShare is how far a member's elastic length reaches into the joint that it grows
// from, of the other's width: chosen by plates as solids.
const jointShare = 0.25

// Build implements [Layout].
func (l *elasticFourArm) Build(d *Design, st *Stage) Verdict {
	var p fourArmPlate
	var q fourArmSections
	if v := l.fourArm.build(&p, &q, d, st); !v.OK() {
		return v
	}
	m := d.Material
	e := elasticPlate{fourArmPlate: &p, material: m, reach: jointShare * p.w, areal: p.b * m.Density}
	e.prong.left, e.back.left = 1, 1
	if k := &q.pockets; k.share > 0 {
		wall := d.Parameters[pPocketWall]
		with := func(g *pocketGrid, alongR bool, width, length float64) pocketed {
			room, _ := g.room()
			return pocketed{1 - k.share*room/(width*length), g.flexing(alongR, width, p.b, length, k.share, wall, m.Poisson)}
		}
		e.prong = with(&k.prong, true, p.w, p.rb-p.a+p.f)
		e.back = with(&k.back, false, p.wb, p.p1)
		e.guide1 = with(&k.inner, false, p.h-p.d1, 2*(p.wo1+p.q1)).flexing
		e.guide2 = with(&k.outer, true, p.h-p.d2, 2*(p.wo2+p.q2)).flexing
	}
	corner := e.corner()
	for i, dir := range armDirection {
		e.links(st.Links[faLinks*i:faLinks*i+faLinks], dir)
		e.blades(st, 8*i)
		l.place(st, faPart(i, faCorner), dir, corner, e.areal, p.b, point{})
		e.massless(st, faArm+i, dir, p.rb+p.wb/2, 0)
		add := p.mounted(d.Parameters, i)
		x, y := turn(dir, add.r, add.s)
		st.Mount(faArm+i, add.mass, x, y, add.z)
		e.massless(st, faPart(i, faFootMinus), dir, p.a, -p.wo1)
		e.massless(st, faPart(i, faFootPlus), dir, p.a, p.wo1)
		e.massless(st, faPart(i, faFootGround), dir, p.R-p.wo2, p.c)
		// what blades add at their roots
		root := e.areal * p.root(p.t1, p.d1, 0, 0, 0, 0).area
		st.Mass[faPart(i, faFootMinus)], st.Mass[faPart(i, faFootPlus)] = root, root
	}
	return Verdict{}
}

// elasticPlate makes the parts and members of one arm, in its frame.
type elasticPlate struct {
	*fourArmPlate
	material *Material
	reach    float64 // of a member into the joint with a prong, m
	areal    float64 // kg/m²

	prong, back    pocketed
	guide1, guide2 Flexing
}

// pocketed is a member with pockets.
type pocketed struct {
	left    float64 // part of its metal
	flexing Flexing
}

// corner is where back, prong and tongue meet on the side of positive s.
func (e *elasticPlate) corner() section {
	var s shape
	s.add(e.rb, e.rb+e.wb, e.p1, e.sq)
	s.add(e.R-e.wi2-e.q2, e.R+e.wi2+e.q2, e.sq, e.c-e.d2)
	q := s.section()
	for _, at := range [2]float64{-e.wi2, e.wi2} {
		q.join(e.root(e.t2, e.d2, e.R+at, e.c-e.d2, 0, 1))
	}
	return q
}

// massless puts a part at (r, s) whose mass is in its links.
func (*elasticPlate) massless(st *Stage, body int, dir struct{ cos, sin float64 }, r, s float64) {
	st.X[body], st.Y[body] = turn(dir, r, s)
	st.Z[body], st.Mass[body], st.Ix[body], st.Iy[body], st.Ixy[body], st.Iz[body] = 0, 0, 0, 0, 0, 0
	st.Unmounted(body)
}

// links fills those of one arm.
func (e *elasticPlate) links(links []Link, dir struct{ cos, sin float64 }) {
	// A beam along (r0, s0) to (r1, s1), metal from begin to end on that line.
	beam := func(r0, s0, r1, s1, begin, end, height float64, k pocketed) (b Beam) {
		b.X0, b.Y0 = turn(dir, r0, s0)
		b.X1, b.Y1 = turn(dir, r1, s1)
		b.Begin, b.End, b.Height, b.Depth = begin, end, height, e.b
		b.Young, b.Poisson, b.Density, b.Flexing = e.material.Young, e.material.Poisson, k.left*e.material.Density, k.flexing
		return b
	}
	solid := pocketed{left: 1}
	middle, line := e.rb+e.wb/2, e.sq-e.w/2 // of back and prongs
	halfBack := func(sign, end float64) Beam {
		b := beam(middle, 0, middle, sign*(e.p1+e.reach), 0, end, e.wb, e.back)
		b.Back = true
		return b
	}
	// From r = from inward to the middle of the foot, then across to the blade.
	foot := e.a - (e.f+e.d1)/2
	prong := func(sign, from float64) (Beam, Beam) {
		begin := e.p1 + e.reach
		b := beam(foot, sign*begin, foot, sign*e.wo1, begin-e.p1, begin-e.wo1+e.q1, e.f-e.d1, solid)
		b.Held = true
		return beam(from, sign*line, foot, sign*line, from-e.rb, from-e.a+e.f, e.w, e.prong), b
	}
	links[faHalfBack] = Link{N: 1, Beams: [MaxBeams]Beam{halfBack(1, e.p1)}}
	links[faProngMinus] = Link{N: 3, Beams: [MaxBeams]Beam{halfBack(-1, e.sq)}} // with its corner
	links[faProngMinus].Beams[1], links[faProngMinus].Beams[2] = prong(-1, e.rb+jointShare*e.wb)
	links[faProngPlus] = Link{N: 2}
	links[faProngPlus].Beams[0], links[faProngPlus].Beams[1] = prong(1, min(e.rb, e.R-e.wi2-e.q2)+e.reach)

	in, at, begin := e.half-e.frame, e.R-e.p2-e.w/2, e.R-e.p2-e.reach
	foot = e.c - (e.f+e.d2)/2
	across := beam(begin, foot, e.R-e.wo2, foot, e.reach, e.R-e.wo2+e.q2-begin, e.f-e.d2, solid)
	across.Held = true
	links[faProngGround] = Link{N: 2, Beams: [MaxBeams]Beam{beam(at, in, at, foot, 0, in-e.c+e.f, e.w, solid), across}}
}

// blades fills what the blades of one arm, from number k on, stand on.
func (e *elasticPlate) blades(st *Stage, k int) {
	m := e.material
	for j := range 8 {
		st.Yields[k+j] = true
	}
	guide := func(inner, outer, set float64, f Flexing) Bar {
		return Bar{Length: outer - inner, Span: inner, Toward: 1, Height: e.h - set, Depth: e.b, Young: m.Young, Poisson: m.Poisson, Flexing: f}
	}
	st.TipBar[k+3] = guide(e.wi1, e.wo1, e.d1, e.guide1) // on the blade's left
	st.TipBar[k+5] = guide(e.wi2, e.wo2, e.d2, e.guide2)
	st.TipBar[k+1], st.TipBar[k+7] = st.TipBar[k+3], st.TipBar[k+5]
	st.TipBar[k+1].Toward, st.TipBar[k+7].Toward = -1, -1
	// the foot on the ring of the frame
	st.RootBar[k+7] = Bar{Length: e.p2 + e.reach - e.wo2, Toward: 1, Offset: (e.f - e.d2) / 2, Height: e.f - e.d2, Depth: e.b,
		Young: m.Young, Poisson: m.Poisson}
}
