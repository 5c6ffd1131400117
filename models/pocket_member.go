package models

import (
	"math"

	"flexwright/models/elementary"
)

// Flexing tells by which part more a member gives than the same member without
// pockets, for what moves it: the zero value is a solid member.
type Flexing struct {
	Axial float64 // pulled along
	Bend  float64 // bent in the plane
	Shear float64 // sheared in the plane
	Lift  float64 // bent or sheared out of the plane
	Twist float64 // twisted
}

// Of a rib between two pockets the 0.4th part carries as if there were no pockets:
// forces must spread into it and out again. Chords bend as if they went on by half
// their height; a rib gives half of what a slender one would, and twists a sixth;
// chords twist with 0.3 of the stiffness of ends that cannot warp. These four were
// chosen by five members as solids.
const (
	ribShare   = 0.4
	chordReach = 0.5
	ribBends   = 0.5
	ribTwists  = 1.0 / 6
	chordTwist = 0.3
)

// pocketRow returns the flexing of a member of the width W in the plane and the depth
// b with pockets of width w and length l, corners of radius R, in its middle, one per
// pitch P. It is a ladder: two chords of height c = (W - w)/2, ribs of r = P - l.
//
//	axial, lift  λ (W/(W-w) - 1),     λ = 1 - 0.4 (1 - l'/P), l' the pocket's area over w
//	bend         λ (W³/(W³-w³) - 1)
//	shear        per pitch and unit force: chords that bend between ribs (l + c/2)³/(2 E b c³),
//	             ribs P² (w - 2R)/(2 E b r³), shear of both, over that of the solid member
//	twist        chords lifted against each other, ribs twisted in series, and chords
//	             twisted, ends held against warping, over the solid member
//
// The first three follow from beams (S. P. Timoshenko, Strength of Materials), with
// shares that were fitted to solids (testdata/reference/elastic/members.csv: W/b 0.3 to
// 0.8, w/W 0.25 to 0.7): axial and lift within 4 %, bend 1 %, shear 9 %, twist 20 %. A
// member with several rows counts as one with a row as wide as all of them.
func pocketRow(W, b, w, l, P, R, poisson float64) Flexing {
	c, r := (W-w)/2, P-l
	g := 1 / (2 * (1 + poisson)) // over E, as everything below
	open := l - (4-math.Pi)*R*R/w
	part := 1 - ribShare*(1-open/P)
	f := Flexing{Axial: part * (W/(W-w) - 1), Bend: part * (W*W*W/(W*W*W-w*w*w) - 1)}
	f.Lift = f.Axial

	chord, rib := l+chordReach*c, max(0, w-2*R)
	shear := chord*chord*chord/(2*c*c*c) + ribBends*P*P*rib/(r*r*r) + 6.0/5/g*(l/(W-w)+r/W)
	f.Shear = shear/(6.0/5/g*P/W) - 1

	// Twist: per unit of the angle along the member.
	k := math.Sqrt(48*g*(1-poisson*poisson)) / b
	held := func(length float64) float64 { // ends that cannot warp
		u, e := k*length/2, elementary.Exp(-k*length)
		return 1 / (1 - (1-e)/(1+e)/u)
	}
	arm := (w + c) / 2
	ribGives := ribTwists * P * P / 2 * w / (g * torsion(r, b) * held(w))
	lifted := 2 * arm * arm * P / (l*l*l/(c*b*b*b) + 6.0/5*l/(g*c*b) + ribGives)
	twisted := chordTwist * 2 * g * torsion(c, b) * held(l)
	f.Twist = max(0, g*torsion(W, b)/(lifted+twisted)-1)
	return f
}

// torsion returns the torsion constant of a rectangle, a b³/3 (1 - 0.63 b/a (1 - (b/a)⁴/12))
// with b the shorter side (Roark's Formulas for Stress and Strain), m⁴.
func torsion(a, b float64) float64 {
	long, short := max(a, b), min(a, b)
	q := short / long
	return long * short * short * short / 3 * (1 - 0.63*q*(1-q*q*q*q/12))
}

// flexing returns that of a member of the given width and length with the pockets of a
// grid along r (or s), each cut to the share of its area.
func (g *pocketGrid) flexing(alongR bool, width, depth, length, share, wall, poisson float64) (f Flexing) {
	if g.count() == 0 || share == 0 {
		return f
	}
	along, across := &g.r, &g.s
	if !alongR {
		along, across = across, along
	}
	full := g.pocket(0)
	p := full.shrunk(share)
	w, l, pitch := p.Y1-p.Y0, p.X1-p.X0, full.X1-full.X0+wall
	if !alongR {
		w, l, pitch = l, w, full.Y1-full.Y0+wall
	}
	f = pocketRow(width, depth, w*float64(across.n), l, pitch, p.Radius, poisson)
	part := min(1, float64(along.n)*pitch/length) // the rest is solid
	return Flexing{f.Axial * part, f.Bend * part, f.Shear * part, f.Lift * part, f.Twist * part}
}
