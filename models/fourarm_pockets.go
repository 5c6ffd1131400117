package models

import "math"

// Pockets of the four-arm stage.
//
// Every pocket keeps the wall pocket_wall to edges, to the faces that blades grow
// from and to its neighbours. The joints of back and prongs, the feet, the tongue
// and the middle of an arm's back, where the actuator sits, stay solid. In the
// stage ribs run through the rows and columns of the payload's holes, and the
// pockets' corners are round enough to leave the wall around each hole.

// fourArmPockets are the full pockets of one design, in the frame of one arm.
type fourArmPockets struct {
	stage        pocketGrid
	prong        pocketGrid // at s > 0; the other prong is its mirror image
	back         pocketGrid // at s > 0, likewise
	inner, outer pocketGrid // stage guide's body, ground guide's body
	share        float64    // of each pocket's area that is cut
}

// arrange places full pockets.
func (k *fourArmPockets) arrange(p *fourArmPlate, wall float64, holes HolePattern) {
	// Stage: the square, without its necks.
	in := p.hs - wall
	k.stage.radius = pocketCorner
	least := leastPocket
	if holes.Columns > 0 && holes.Rows > 0 {
		// From a crossing of ribs, half a wall from the sides of the pocket, to its
		// rounded corner: √2 (wall/2 + r) - r.
		r := (holes.Diameter/2 + wall - math.Sqrt2*wall/2) / (math.Sqrt2 - 1)
		k.stage.radius = max(pocketCorner, r)
		least = 2 * k.stage.radius
	}
	lines := func(c *cells, n int) {
		c.n = 0
		lo := -in
		for i := range n {
			at := (float64(i) - float64(n-1)/2) * holes.Pitch
			c.divide(lo, at-wall/2, wall, least, ribSpacing*wall)
			lo = at + wall/2
		}
		c.divide(lo, in, wall, least, ribSpacing*wall)
	}
	lines(&k.stage.r, holes.Columns)
	lines(&k.stage.s, holes.Rows)

	along := func(g *pocketGrid, r bool, lo, hi, inner, outer float64) { // a member, its pockets in one row
		g.r.n, g.s.n, g.radius = 0, 0, pocketCorner
		length, width := &g.r, &g.s
		if !r {
			length, width = width, length
		}
		room := outer - inner - 2*wall
		width.divide(inner+wall, outer-wall, wall, leastPocket, ribSpacing*wall)
		length.divide(lo, hi, wall, leastPocket, memberLimit(room, wall))
	}
	along(&k.prong, true, p.a-p.f+wall, p.rb, p.p1, p.sq)
	along(&k.back, false, max(p.wb/2, wall/2), p.p1, p.rb, p.rb+p.wb)
	along(&k.inner, false, -p.wo1-p.q1+wall, p.wo1+p.q1-wall, p.a+p.l1+p.d1, p.a+p.l1+p.h)
	along(&k.outer, true, p.R-p.wo2-p.q2+wall, p.R+p.wo2+p.q2-wall, p.c+p.l2+p.d2, p.c+p.l2+p.h)
}

// fill arranges the pockets for the part pocketing of the plates of all moving
// bodies, which have the area solid, and finds which share of each is cut.
func (k *fourArmPockets) fill(p *fourArmPlate, pocketing, wall, solid float64, holes HolePattern) Verdict {
	k.share = 0
	if pocketing == 0 {
		return Verdict{}
	}
	k.arrange(p, wall, holes)
	room, least := k.stage.room()
	for _, g := range []struct {
		grid  *pocketGrid
		times float64
	}{{&k.prong, 8}, {&k.back, 8}, {&k.inner, 4}, {&k.outer, 4}} {
		a, l := g.grid.room()
		room += g.times * a
		least = max(least, l)
	}
	switch share := pocketing * solid / room; {
	case room == 0:
		return Verdict{Status: CannotBuild, Format: "pocketing = %.4[2]g %%: no body is wide enough for a pocket between walls of pocket_wall = %.4[3]g mm", Value: pocketing * 100, Bound: wall * 1e3}
	case share > 1:
		return Verdict{Status: CannotBuild, Format: "pocketing = %.4[2]g %% is more than the %.4[3]g %% that walls of pocket_wall leave room for", Value: pocketing * 100, Bound: math.Floor(room/solid*1e4) / 100}
	case share < least:
		return Verdict{Status: CannotBuild, Format: "pocketing = %.4[2]g %% makes pockets too narrow for a start hole: 0 or at least %.4[3]g %%", Value: pocketing * 100, Bound: math.Ceil(least*room/solid*1e4) / 100}
	default:
		k.share = share
	}
	return Verdict{}
}

// cut takes the pockets of a grid out of a body's section; mirrored those at -s too.
func (k *fourArmPockets) cut(q *section, g *pocketGrid, mirrored bool) {
	if k.share == 0 {
		return
	}
	for i := range g.count() {
		o := g.pocket(i).shrunk(k.share).section()
		q.less(o)
		if mirrored {
			o.s = -o.s
			q.less(o)
		}
	}
}

// list returns the pockets of a grid, turned to the direction of an arm.
func (k *fourArmPockets) list(out []Pocket, dir struct{ cos, sin float64 }, g *pocketGrid, mirrored bool) []Pocket {
	if k.share == 0 {
		return out
	}
	put := func(p Pocket) {
		var s shape
		s.parts[0], s.n = p.Rectangle, 1
		out = append(out, Pocket{appendTurned(nil, dir, s)[0], p.Radius})
	}
	for i := range g.count() {
		p := g.pocket(i).shrunk(k.share)
		put(p)
		if mirrored {
			p.Y0, p.Y1 = -p.Y1, -p.Y0
			put(p)
		}
	}
	return out
}
