package models

// fourArmSections are the bodies of one design as drawn, in the frame of one arm.
type fourArmSections struct {
	ground         section // one of its four sides
	stage, arm     section
	guide1, guide2 section // body of the stage guide, of the ground guide
	pockets        fourArmPockets
}

// fill computes the sections of p: rectangles, what blades add at their roots, less
// pockets and holes. Pockets that there is no room for are refused.
func (q *fourArmSections) fill(p *fourArmPlate, d *Design) Verdict {
	ground, neck, arm, inner, outer := p.ground(), p.neck(), p.arm(), p.stageGuide(), p.groundGuide()
	q.ground, q.arm, q.guide1, q.guide2 = ground.section(), arm.section(), inner.section(), outer.section()
	n := neck.section()
	for _, sign := range [2]float64{-1, 1} {
		n.join(p.root(p.t1, p.d1, p.a-p.d1, sign*p.wi1, 1, 0))
		q.ground.join(p.root(p.t2, p.d2, p.R+sign*p.wo2, p.c-p.d2, 0, 1))
		q.arm.join(p.root(p.t1, p.d1, p.a-p.d1, sign*p.wo1, 1, 0))
		q.arm.join(p.root(p.t2, p.d2, p.R+sign*p.wi2, p.c-p.d2, 0, 1))
		for _, w := range [2]float64{p.wi1, p.wo1} {
			q.guide1.join(p.root(p.t1, p.d1, p.a+p.l1+p.d1, sign*w, -1, 0))
		}
		for _, w := range [2]float64{p.wi2, p.wo2} {
			q.guide2.join(p.root(p.t2, p.d2, p.R+sign*w, p.c+p.l2+p.d2, 0, -1))
		}
	}
	// The stage is the same about both axes: a square and four necks.
	square := 4 * p.hs * p.hs
	second := square*p.hs*p.hs/3 + 2*(n.jr+n.area*n.r*n.r) + 2*n.js
	q.stage = section{area: square + 4*n.area, jr: second, js: second}

	solid := q.stage.area + 4*(q.arm.area+q.guide1.area+q.guide2.area)
	if v := q.pockets.fill(p, d.Parameters[pPocketing], d.Parameters[pPocketWall], solid, d.Holes); !v.OK() {
		return v
	}
	q.pockets.cut(&q.stage, &q.pockets.stage, false)
	q.pockets.cut(&q.arm, &q.pockets.prong, true)
	q.pockets.cut(&q.arm, &q.pockets.back, true)
	q.pockets.cut(&q.guide1, &q.pockets.inner, false)
	q.pockets.cut(&q.guide2, &q.pockets.outer, false)
	for i := range d.Holes.Columns {
		for j := range d.Holes.Rows {
			q.stage.less(d.Holes.hole(i, j).section())
		}
	}
	return Verdict{}
}

// root is what the end of a blade adds to its body on the face at (r, s), the blade
// leaving along (ur, us): two fillets, and the strip by which the blade is drawn
// longer than it bends (taken off where the face is set forward). So small a piece
// counts as a point.
func (p *fourArmPlate) root(t, depth, r, s, ur, us float64) section {
	fillets := 2 * spandrel.area * p.rho * p.rho
	q := section{area: fillets + depth*t}
	at := spandrel.centroid * p.rho // from the face
	q.r, q.s = r+at*ur, s+at*us
	return q
}
