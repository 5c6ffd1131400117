package mechanics

import (
	"flexwright/models"
	"flexwright/models/blade"
)

// endFlexibility is what gives where a blade ends, in series with it, in the blade's axes:
// along it (m/N), and out of the plane zz, z-roll, z-pitch, roll-roll, roll-pitch,
// pitch-pitch.
type endFlexibility struct {
	axial float64
	out   [6]float64
}

// add adds a bar: Timoshenko's cantilever, twisted by the blade's pitch. In the plane only
// what it gives along the blade counts: it turns far less than the blade's root.
func (e *endFlexibility) add(b *models.Bar) {
	if b.Length == 0 {
		return
	}
	g := b.Young / (2 * (1 + b.Poisson))
	l, s := b.Length, b.Span
	more := &b.Flexing
	in, out := b.Young*b.Depth*cube(b.Height)/(12*(1+more.Bend)), b.Young*b.Height*cube(b.Depth)/(12*(1+more.Lift))
	shear := l / (5.0 / 6 * g * b.Height * b.Depth)
	e.axial += l*l*(l/3+s)/in + (1+more.Shear)*shear
	twist := (1 + more.Twist) * blade.BeamTwist(l, b.Height, b.Depth, b.Young, b.Poisson, true)
	e.out[0] += l*l*(l/3+s)/out + (1+more.Lift)*shear + twist*b.Offset*b.Offset
	e.out[1] += b.Toward * l * (l/2 + s) / out
	e.out[2] -= twist * b.Offset
	e.out[3] += (l + s) / out
	e.out[5] += twist
}

// addRoot adds the root of a blade in a deep body (E, ν, width b), beside its turning in the
// plane, which is in the drawn length ([models.FilletStiffening]):
//
//	1.95/(E b) along the blade, 2.05 · 12/(E b³) in pitch, 2.1/(G b) in z
//
// from leaves between blocks as solids, fillets as large as the thickness, b/L 0.2 to 0.8:
// 1.947 and 1.952; 2.01 to 2.11; 2.1 to 6.6, of which the last is a small difference: a
// strip of the width t that shears a half plane gives (1/π) ln(4R/t), 1.5 with R = b/2.
func (e *endFlexibility) addRoot(young, poisson, width float64) {
	e.axial += 1.95 / (young * width)
	e.out[0] += 2.1 * 2 * (1 + poisson) / (young * width)
	e.out[5] += 2.05 * 12 / (young * cube(width))
}

// bladeEnds returns what gives at the root and at the tip of a blade, whose first and
// last segments are root and tip.
func bladeEnds(st *models.Stage, root, tip int) (r, t endFlexibility) {
	stiffness := st.RootStiffness
	if stiffness == 0 {
		stiffness = 1
	}
	if st.Yields[root] {
		r.addRoot(stiffness*st.Young[root], st.Poisson[root], st.Width[root])
	}
	if st.Yields[tip] {
		t.addRoot(stiffness*st.Young[tip], st.Poisson[tip], st.Width[tip])
	}
	r.add(&st.RootBar[root])
	t.add(&st.TipBar[tip])
	return r, t
}
