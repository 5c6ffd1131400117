package blade

import (
	"math"

	"flexwright/models/elementary"
)

// Clamped-strip factors. A strip that bends or stretches would narrow or curl
// across its width (Poisson's effect), but its clamps do not let it: over
// about half a width from each end it behaves as a wide plate. With r = b/L the
// factors below are the stiffness of the clamped strip over that of the beam,
//
//	f(r, ν) = 1/(1 - g),   g = ν² (a1 r + a2 r² + a3 r³) / (1 + b1 r + b2 r² + a3 r³),
//
// which has the two limits exactly: f -> 1 for r -> 0, where g is proportional
// to r because each end adds a stiffening of its own, and f -> 1/(1-ν²) for
// r -> ∞. The coefficients, linear in ν, were fitted to converged Ritz
// solutions (products of polynomials of degree 50 along and 28 across) of
//
//   - the Kirchhoff plate, D/2 ∬ (w,xx + w,zz)² - 2(1-ν)(w,xx w,zz - w,xz²)
//     (S. P. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, art. 22),
//   - the plate in its own plane (plane stress),
//
// both clamped over the full width at both ends, one of them displaced, for
// 0.05 <= r <= 10 and 0 < ν < 0.5. They reproduce those solutions within 0.05 %
// for r <= 10 (strip and arc bending, stretch) and were not fitted to any blade of the
// reference data. The tests solve both plates again.
type clampFit struct{ a1, a2, a3, b1, b2 [2]float64 } // c[0] + c[1] ν

var (
	stripFit         = clampFit{[2]float64{2.70471, -0.40586}, [2]float64{1.53356, 1.42237}, [2]float64{31.74947, -29.01753}, [2]float64{3.0057, -0.91041}, [2]float64{6.47072, -3.3333}}
	arcFit           = clampFit{[2]float64{0.89813, -0.09033}, [2]float64{0.02735, -0.08447}, [2]float64{3.44639, -1.63472}, [2]float64{0.80678, -0.1935}, [2]float64{1.25187, -0.84216}}
	stretchFit       = clampFit{[2]float64{0.30118, -0.05855}, [2]float64{-0.02571, 0.02804}, [2]float64{0.14113, 0.03013}, [2]float64{0.08442, 0.38723}, [2]float64{0.14768, -0.0147}}
	strongBendingFit = clampFit{[2]float64{0.13113, -0.02779}, [2]float64{0.00003, 0.00847}, [2]float64{0.00978, 0.01322}, [2]float64{0.01173, 0.26348}, [2]float64{0.04007, 0.02566}}
)

// gain returns g of the factor 1/(1 - g).
func (c *clampFit) gain(r, nu float64) float64 {
	a1, a2, a3 := c.a1[0]+c.a1[1]*nu, c.a2[0]+c.a2[1]*nu, c.a3[0]+c.a3[1]*nu
	b1, b2 := c.b1[0]+c.b1[1]*nu, c.b2[0]+c.b2[1]*nu
	// Divided by r³ beyond r = 1, so that any width is finite.
	if r > 1 {
		q := 1 / r
		return nu * nu * (a3 + q*(a2+q*a1)) / (a3 + q*(b2+q*(b1+q)))
	}
	return nu * nu * r * (a1 + r*(a2+r*a3)) / (1 + r*(b1+r*(b2+r*a3)))
}

// StripFactor returns the factor f on E I of a thin blade (t much less than b
// and L) whose ends move sideways without rotating, the motion of a guide:
//
//	lateral stiffness = 12 f E I / L³
//
// widthOverLength is b/L >= 0, poisson ν within 0 <= ν < 0.5. It is the
// Kirchhoff plate's within 0.05 % for b/L <= 10. A negative width or a ν outside
// its range panics. See [BendingFactor] for a blade that is not thin and [ArcFactor]
// for one that bends to an arc.
func StripFactor(widthOverLength, poisson float64) float64 {
	checkStrip(widthOverLength, poisson)
	return 1 / (1 - stripFit.gain(widthOverLength, poisson))
}

// BendingFactor returns the factor f on E I of a blade of finite thickness
// (length, thickness, width in m): that of [StripFactor], with the first
// corrections in t/L and t/b,
//
//		1/f = 1 - g/(1 + Y) + 2.4 (1+ν) (t/L)² - 3 (1-ν²) c (t/L)
//
//	  - Y = 3.05 (t/b)^(5/4) / (1 + 0.9 b/L): a free edge lets go of its twisting
//	    moment over about one thickness (a fit to Ritz solutions of the Mindlin
//	    plate, shear factor 5/6, within 8 % of Y for t/b from 0.02 to 0.25 and
//	    b/L <= 1);
//	  - 2.4 (1+ν) (t/L)² = 12 E I/(5/6 G A L²): shear (Timoshenko beam);
//	  - the last term: at a clamp the thickness cannot change either. It is the
//	    stiffening of a plate bent in its own plane, c = ν'² (0.13113 - 0.02779 ν'),
//	    in plane strain, ν' = ν/(1-ν).
//
// Valid for t/b <= 0.3 and t/L <= 0.1, beyond which it stays smooth and positive
// but is not checked. Sizes that are not positive panic.
func BendingFactor(length, thickness, width, poisson float64) float64 {
	if !(length > 0 && thickness > 0 && width > 0) {
		panic("blade: size not positive")
	}
	r, tau, beta := width/length, thickness/length, thickness/width
	checkStrip(r, poisson)
	shear := 2.4 * (1 + poisson) * tau * tau
	return 1 / (1 - stripFit.gain(r, poisson)/(1+edge(r, beta)) + shear - 3*thicknessClamp(poisson)*tau)
}

// ArcFactor returns the factor on E I of a blade that is bent to an arc, its end
// moments equal and opposite and its ends free to approach, as between bodies that
// turn: 1.048 where [StripFactor] is 1.085 (b/L = 0.52, ν = 0.33). Arguments,
// corrections and range as in [BendingFactor], but that there is no shear and that a
// clamp counts for a third of what it does in an S, where the moment is at the clamps:
//
//	1/f = 1 - g/(1 + Y) - (1-ν²) c (t/L)
func ArcFactor(length, thickness, width, poisson float64) float64 {
	if !(length > 0 && thickness > 0 && width > 0) {
		panic("blade: size not positive")
	}
	r, tau, beta := width/length, thickness/length, thickness/width
	checkStrip(r, poisson)
	return 1 / (1 - arcFit.gain(r, poisson)/(1+edge(r, beta)) - thicknessClamp(poisson)*tau)
}

// edge is Y of [BendingFactor]; b/L and t/b.
func edge(r, beta float64) float64 {
	return 3.05 * beta * math.Sqrt(math.Sqrt(beta)) / (1 + 0.9*r)
}

// thicknessClamp is (1-ν²) c of [BendingFactor].
func thicknessClamp(poisson float64) float64 {
	nu := poisson / (1 - poisson)
	return (1 - poisson*poisson) * nu * nu * (strongBendingFit.a1[0] + strongBendingFit.a1[1]*nu)
}

// ClampStress returns the largest bending stress across the width at the clamp of a
// thin blade that moves as a guide, over the mean: the plate factor on stress. A
// clamp keeps the blade from curling, so that the middle of the width takes more than
// its share:
//
//	κ = 1 + ν (0.5 + 0.65 ν) (0.2 + 0.8 exp(-(r/0.44)^1.45)),  r = b/L
//
// a fit within 1.5 % to the Kirchhoff plate of [StripFactor] (the corners, whose
// stress is low but not regular, left out) for 0.1 <= r <= 6 and 0.2 <= ν <= 0.45. It is
// the largest principal stress; von Mises's is [ClampMises] of it there. Arguments as in
// [StripFactor].
func ClampStress(widthOverLength, poisson float64) float64 {
	checkStrip(widthOverLength, poisson)
	return 1 + poisson*(0.5+0.65*poisson)*(0.2+0.8*elementary.Exp(-elementary.Pow(widthOverLength/0.44, 1.45)))
}

// ClampMises returns von Mises's equivalent stress over the largest principal one, σ, on a
// blade's face at the clamp: √(1-ν+ν²), 0.883 at ν = 0.33. The blade cannot narrow there, so
// that σ comes with νσ across it.
func ClampMises(poisson float64) float64 { return math.Sqrt(1 - poisson + poisson*poisson) }

// ClampShortening returns by how much more of its length a bent blade of r = b/L loses
// along its chord than a beam with the same rotations of its ends, relative: in an S, as
// the motion of a guide, and in an arc. Clamps stiffen its ends, so that it is steeper
// between them. With the factors f of [BendingFactor] and fa of [ArcFactor],
//
//	ε₊ = (f - 1)/(2.9 + 11 r + 42 r²/(1 + 0.4 r)),  ε₋ = (f/fa - 1)(0.7 + 0.3/(1 + 7r + 20r²))
//
// fits to ½ ∬ w,x² of the Kirchhoff plate of [StripFactor], within 0.06 % of the shortening
// in an S and 0.25 % in an arc for 0.05 <= r <= 10 and ν <= 0.45, half of that for ν <= 0.33. Guided leaves as solids have
// ε₊ = 0.0068 at r = 0.2, 0.0045 at 0.52 (ν = 0.33).
func ClampShortening(r, bendingFactor, arcFactor float64) (s, arc float64) {
	s = (bendingFactor - 1) / (2.9 + r*(11+42*r/(1+0.4*r)))
	return s, (bendingFactor/arcFactor - 1) * (0.7 + 0.3/(1+r*(7+20*r)))
}

// ClampStretchFactor returns the axial stiffness of a blade clamped over its
// full width over E A/L: 1.016 at b/L = 0.52, 1.024 at 0.8 (ν = 0.33). It is
// the plane-stress plate's within 0.05 % for b/L <= 10. Arguments as in
// [StripFactor].
func ClampStretchFactor(widthOverLength, poisson float64) float64 {
	checkStrip(widthOverLength, poisson)
	return 1 / (1 - stretchFit.gain(widthOverLength, poisson))
}

// clampBending returns the stiffness of a blade bent to a constant curvature
// about its strong axis (end rotations equal and opposite) over E Iz/L.
func clampBending(r, nu float64) float64 { return 1 / (1 - strongBendingFit.gain(r, nu)) }

// clampShear returns the stiffness of a blade whose ends are displaced across
// its strong axis without rotating, over 1/(L³/12 E Iz + 1.2 L/G A). Its clamps
// prevent the narrowing and also the warping of the section by shear:
//
//	1 - 1/f = G/(1 + 2.4 (1+ν) r²),
//	G = (p1 ν² r + p2 r² + p3 r³ + 0.4 (1+ν) q2 r⁴)/(1 + q1 r + q2 r²)
//
// with f -> 1.2 (uniform shear) for r -> ∞: within 0.04 % of the plane-stress
// plate for 0.1 <= r <= 1, 0.2 % for r <= 10.
func clampShear(r, nu float64) float64 {
	p1, p2, p3 := 0.346015-0.032154*nu, 0.012260+0.244187*nu, 0.024456+0.078276*nu
	q1, q2 := 0.475437-0.270952*nu, 0.223595-0.065138*nu
	g := r * (p1*nu*nu + r*(p2+r*(p3+r*0.4*(1+nu)*q2))) / (1 + r*(q1+r*q2))
	return 1 / (1 - g/(1+2.4*(1+nu)*r*r))
}

func checkStrip(r, nu float64) {
	if !(r >= 0 && nu >= 0 && nu < 0.5) {
		panic("blade: width or Poisson's ratio out of range")
	}
}
