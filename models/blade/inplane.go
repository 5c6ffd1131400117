package blade

// The in-plane blade, measured against the chord that joins its ends.
//
// Deformation: stretch e = l/L - 1 of the chord l, and the rotations a, b of
// the root's and the tip's tangent against the chord. Of these, s = (a+b)/2
// bends the blade into an S and d = (b-a)/2 into an arc. With the axial force
// P, tension positive, as an unknown of its own, p = P L²/EI, the energy is
//
//	V = (EI/L) [ k₊(p) s² + k₋(p) d² - (4/35) s⁴ - (4/5) s² d² + p e - ½ C0 p² ],  stationary in p
//	k₊ = 6 + (1+ε₊) p/10 - (p²/1400 α) / (1 + p/90 α),  α = Section.Arc
//	k₋ = 2 α + (1+ε₋) p/6 - (p²/360 α) / (1 + p/42 α)
//
// With α = 1 and no ε, k₊ and k₋ are the two eigenvalues of the exact beam-column matrix of the end
// rotations (S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd
// ed., 1961, ch. 1), as the [2/1] Padé approximants of their series in p:
// within 1e-4 of 12 in the guided stiffness for -π² <= p <= 20. The part linear
// in p is the shortening of the bent blade, of which clamps add a little ([ClampShortening]), the rest the softening of the axial
// direction with deflection. That is bending away from the clamps in both shapes, so
// that α belongs to both: solid leaves soften as with 1.00 to 1.05 E I where their
// stiffness is that of 1.03 to 1.10 E I.
//
// The terms of fourth order are those of the inextensible elastica: with the
// linear shape θ = s (12x²-1)/2 + 2 d x over -½ <= x <= ½ and its shear force
// 12 s, the constraint ∫ sin θ = 0 adds -(12 s/6) ∫ θ³. The next terms are of
// order p s⁴ and s⁶.
//
// Keeping p as an unknown, Newton's method never divides a small geometric
// error by the tiny C0.
const (
	quartic  = 4.0 / 35
	quarticX = 4.0 / 5
)

// Valid range of the blade model: outside it a candidate's status is out_of_range.
const (
	MinAxial      = -8.0 // least p
	MaxAxial      = 10.0 // largest p
	MaxDeflection = 0.1  // largest |w/L|
)

// State is the mechanics of one blade at a deformation (e, a, b) and a
// normalised axial force p. Forces are conjugate to (e, a, b): Force[0] is the
// axial force times L, Force[1], Force[2] are the end moments, all in N m.
type State struct {
	Force [3]float64 // gradient of the energy, N m
	// Tangent with p condensed: ee, ea, eb, aa, ab, bb, N m. It is the Hessian
	// of the energy with p eliminated where Residual is 0.
	Tangent [6]float64
	// Condensation of p: dp = (Row·(de, da, db) + Residual) / C
	Row      [3]float64
	Residual float64 // (L/EI) dV/dp
	C        float64 // -(L/EI) d²V/dp²
}

// pade returns f = p²/(1 + p/pole) and its first two derivatives. Below -25,
// which only an iteration on its way passes, it goes on as its own Taylor
// polynomial of second degree, clear of the pole.
func pade(p, pole float64) (f, f1, f2 float64) {
	const floor = -25
	x := max(p, floor)
	r := 1 / (1 + x/pole)
	f, f1, f2 = x*x*r, x*(2+x/pole)*r*r, 2*r*r*r
	if d := p - x; d != 0 {
		f += d * (f1 + 0.5*f2*d)
		f1 += f2 * d
	}
	return f, f1, f2
}

// Energy returns V in N m at the deformation (e, a, b) and axial force p,
// whether or not it is stationary in p.
func (s *Section) Energy(e, a, b, p float64) float64 {
	sum, diff := 0.5*(a+b), 0.5*(b-a)
	fs, _, _ := pade(p/s.Arc, 90)
	fd, _, _ := pade(p/s.Arc, 42)
	s2, d2 := sum*sum, diff*diff
	return s.EI / s.Length * ((6+p*s.ShortS-s.Arc*fs/1400)*s2 + (2*s.Arc+p*s.ShortArc-s.Arc*fd/360)*d2 -
		quartic*s2*s2 - quarticX*s2*d2 + p*e - 0.5*s.C0*p*p)
}

// At fills st for the deformation (e, a, b) and the axial force p.
func (s *Section) At(e, a, b, p float64, st *State) {
	stiff := s.EI / s.Length
	sum, diff := 0.5*(a+b), 0.5*(b-a)
	arc := s.Arc
	ia := 1 / arc
	fs, fs1, fs2 := pade(p*ia, 90)
	fd, fd1, fd2 := pade(p*ia, 42)
	s2, d2 := sum*sum, diff*diff

	ks, ks1, ks2 := 6+p*s.ShortS-arc*fs*(1.0/1400), s.ShortS-fs1*(1.0/1400), ia*fs2*(1.0/1400)
	kd, kd1, kd2 := 2*arc+p*s.ShortArc-arc*fd*(1.0/360), s.ShortArc-fd1*(1.0/360), ia*fd2*(1.0/360)

	gs := sum * (2*ks - 4*quartic*s2 - 2*quarticX*d2)
	gd := diff * (2*kd - 2*quarticX*s2)
	st.Force[0] = stiff * p
	st.Force[1] = stiff * 0.5 * (gs - gd)
	st.Force[2] = stiff * 0.5 * (gs + gd)

	rs, rd := 2*ks1*sum, 2*kd1*diff
	ra, rb := 0.5*(rs-rd), 0.5*(rs+rd)
	c := s.C0 + ks2*s2 + kd2*d2
	st.Row[0], st.Row[1], st.Row[2] = 1, ra, rb
	st.Residual = e + ks1*s2 + kd1*d2 - s.C0*p
	st.C = c

	hss := 2*ks - 12*quartic*s2 - 2*quarticX*d2
	hsd := -4 * quarticX * sum * diff
	hdd := 2*kd - 2*quarticX*s2
	ic := 1 / c
	st.Tangent[0] = stiff * ic
	st.Tangent[1] = stiff * ra * ic
	st.Tangent[2] = stiff * rb * ic
	st.Tangent[3] = stiff * (0.25*(hss-2*hsd+hdd) + ra*ra*ic)
	st.Tangent[4] = stiff * (0.25*(hss-hdd) + ra*rb*ic)
	st.Tangent[5] = stiff * (0.25*(hss+2*hsd+hdd) + rb*rb*ic)
}
