package blade

import (
	"math"

	"flexwright/models/elementary"
)

// OutOfPlane holds the constants of one blade for motion out of the plane: z,
// roll (about the chord) and pitch (about the in-plane normal of the chord).
type OutOfPlane struct {
	Length float64 // m

	bend, shear            float64    // L/(E Iz), L/(5/6 G A)
	loseBending, loseShear float64    // flexibility that the clamps take away: of Mc², of V²
	gj                     float64    // torsional stiffness G J, N m²
	warp                   float64    // E' b³t³/144, N m⁴
	polar                  float64    // (b² + t²)/12, m²
	steep                  float64    // η, see Flexibility
	column                 float64    // L²/E I of bending in the plane, 1/N
	ends                   [6]float64 // see Yield
}

// NewOutOfPlane returns the constants of a rectangular blade; length, thickness
// (in plane) and width in m, young E in Pa, ν = poisson within 0 <= ν < 0.5.
//
//	E Iz = E t b³/12,  G A = E b t/(2(1+ν)),  E' = E/(1-ν²)
//	J = b t³ (1/3 - 0.21007 (t/b) (1 - (t/b)⁴/12))
//
// J is Saint-Venant's torsion constant of the rectangle (R. J. Roark, W. C.
// Young, Formulas for Stress and Strain, table of torsion constants; the
// second coefficient is that of the series, 0.6302/3), within 0.2 % for
// b >= t. The warping stiffness E' b³t³/144 is Vlasov's, with E' because a wide
// strip warps as a plate.
func NewOutOfPlane(length, thickness, width, young, poisson float64) OutOfPlane {
	if !(length > 0 && thickness > 0 && width > 0) {
		panic("blade: size not positive")
	}
	r := width / length
	checkStrip(r, poisson)
	b, t := width, thickness
	g := young / (2 * (1 + poisson))
	o := OutOfPlane{
		Length: length,
		bend:   length / (young * t * b * b * b / 12),
		shear:  length / (5.0 / 6 * g * b * t),
		gj:     g * torsion(b, t),
		warp:   young / (1 - poisson*poisson) * b * b * b * t * t * t / 144,
		polar:  (b*b + t*t) / 12,
		column: 12 * length * length / (BendingFactor(length, t, b, poisson) * young * b * t * t * t),
	}
	o.steep = 0.5 * (StripFactor(r, poisson) - 1) / (1 + r*(1.5+8*r))
	o.loseBending = (1 - 1/clampBending(r, poisson)) * o.bend
	o.loseShear = (1 - 1/clampShear(r, poisson)) * (o.bend*length*length/12 + o.shear)
	return o
}

// torsion returns Saint-Venant's torsion constant of a rectangle a by b, m⁴.
func torsion(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	x := b / a
	return a * b * b * b * (1.0/3 - 0.21007*x*(1-x*x*x*x/12))
}

// BeamTwist returns the twist per torque, rad/(N m), of a stocky bar of the given length
// and section (height by depth, m), which warps freely at its end. Free where it begins
// too it is L/GJ. Held there it grows from a bar that warps against it, as a foot from a prong:
//
//	(L - (1 - e^(-2kL))/2k)/GJ,  k² = GJ/(E' b³h³/144)
//
// (V. Z. Vlasov's torsion; E' and J as in [NewOutOfPlane]). That form is between a held and a
// free end and was chosen by its agreement with plates as solids.
func BeamTwist(length, height, depth, young, poisson float64, held bool) float64 {
	gj := young / (2 * (1 + poisson)) * torsion(depth, height)
	if !held {
		return length / gj
	}
	bh := depth * height
	k := math.Sqrt(gj / (young / (1 - poisson*poisson) * bh * bh * bh / 144))
	return (length - (1-elementary.Exp(-2*k*length))/(2*k)) / gj
}

// Yield adds to the blade's flexibility what gives where it ends, in series:
// zz, z-roll, z-pitch, roll-roll, roll-pitch, pitch-pitch at the root and at the tip, in the
// axes of the blade at rest.
func (o *OutOfPlane) Yield(root, tip *[6]float64) { o.ends = EndsAtTip(o.Length, root, tip) }

// EndsAtTip returns what gives at the ends of a blade of a length, see [OutOfPlane.Yield], as
// the motion of its tip under forces there.
func EndsAtTip(l float64, root, tip *[6]float64) [6]float64 {
	// the root's pitch lets the tip down by L
	return [6]float64{root[0] - 2*l*root[2] + l*l*root[5] + tip[0], root[1] - l*root[4] + tip[1], root[2] - l*root[5] + tip[2],
		root[3] + tip[3], root[4] + tip[4], root[5] + tip[5]}
}

// Abscissas and weights of Gauss's rule of five points on [0, 1], and the
// shifted Legendre polynomials P0..P4 there times (2k+1) weight: the projection
// of a function on them; and the bubble of [OutOfPlane.Flexibility] and its integral.
var (
	gaussX, gaussW   [5]float64
	legendre         [5][5]float64 // [k][point]
	bubbleG, bubbleY [5]float64
	bubbleX          [5][3]float64 // integrals from 0 of s^k times the bubble
)

// bubble returns 16 u - 80 u², u = s (1-s), which vanishes at both ends and has
// no mean, and its integral from 0.
func bubble(s float64) (g, y float64) {
	u := s * (1 - s)
	return u * (16 - 80*u), s * s * (8 + s*(-32+s*(40-16*s)))
}

func init() {
	// M. Abramowitz, I. A. Stegun, Handbook of Mathematical Functions, 25.4.29
	r := math.Sqrt(10.0 / 7)
	x := [5]float64{-math.Sqrt(5+2*r) / 3, -math.Sqrt(5-2*r) / 3, 0, math.Sqrt(5-2*r) / 3, math.Sqrt(5+2*r) / 3}
	s := 13 * math.Sqrt(70)
	w := [5]float64{(322 - s) / 900, (322 + s) / 900, 128.0 / 225, (322 + s) / 900, (322 - s) / 900}
	for i, v := range x {
		gaussX[i], gaussW[i] = (1+v)/2, w[i]/2
		v2 := v * v
		p := [5]float64{1, v, (3*v2 - 1) / 2, v * (5*v2 - 3) / 2, (35*v2*v2 - 30*v2 + 3) / 8}
		bubbleG[i], bubbleY[i] = bubble(gaussX[i])
		s := gaussX[i]
		bubbleX[i] = [3]float64{bubbleY[i], s * s * s * (16.0/3 + s*(-24+s*(32-s*40/3))), s * s * s * s * (4 + s*(-19.2+s*(80.0/3-s*80/7)))}
		for k := range p {
			legendre[k][i] = float64(2*k+1) * gaussW[i] * p[k]
		}
	}
}

// Flexibility fills f with the displacements z (m), roll and pitch (rad) of the
// tip under a unit force along z, a unit roll and a unit pitch moment on it,
// root clamped; row-major and symmetric. The axes are x along the chord from
// root to tip, y its normal in the plane (counter-clockwise), z out of the
// plane; the blade is bent in the plane, its ends at the angles a (root) and b
// (tip) to the chord in rad, under the axial force in N, tension positive.
//
// The loads are carried along the bent centreline: the cubic of those end
// angles, and what the clamps make of it. They keep the section from curling, so
// that the blade bends less beside them and is steeper at half length: of the sway
// (a+b)/2 the slope gets η (16 u - 80 u²), u = s (1-s), with η = ½ (f-1)/(1 + 1.5 r + 8 r²),
// r = b/L and f of [StripFactor], a fit to the mean deflection of the Kirchhoff plate. An axial
// force p = P L²/EI makes η less by p/(160 + 2p): the sway shape of the beam-column, exact to
// the first order in p, with the pole where that shape buckles. With T the moment about its tangent, M that about its normal,
//
//	f = ∫ M Mᵀ/(E Iz) ds + (L/GA) on z + ∫ T ψᵀ ds,   G J* ψ - E' Γ ψ'' = T,  ψ = 0 at both clamps,
//
// where ψ is the twist per length (V. Z. Vlasov, Thin-Walled Elastic Beams; both
// ends restrain warping) and G J* = G J + P (b² + t²)/12 (S. P. Timoshenko,
// J. M. Gere, Theory of Elastic Stability, art. 5.3). M is integrated by five
// Gauss points; T is projected on polynomials of degree 4, for which the twist
// equation is solved exactly, and what the fifth adds to them. What the clamps take from bending and shear
// (plane-stress plate, see strip.go) is subtracted with the end moments.
//
// It returns false, f undefined, when the blade has buckled in torsion
// (compression beyond G J* + E'Γ π²/L² = 0, within 3 %). Checked for |a|, |b| up to
// 0.15 and b/L from 0.13 to 0.8.
func (o *OutOfPlane) Flexibility(a, b, axial float64, f *[9]float64) bool {
	l := o.Length
	// Slope of the centreline, sin θ = s0 + s1 s + s2 s², with the end angles' sines.
	sa, sb := a*(1-a*a/6), b*(1-b*b/6)
	s0, s1, s2 := sa, -4*sa-2*sb, 3*(sa+sb)
	p := axial * o.column
	extra := 0.5 * (sa + sb) * (o.steep - p/(160+2*p))
	// x/L = s - ½ ∫ sin²θ, to second order
	c1, c2, c3, c4, c5 := s0*s0, s0*s1, (s1*s1+2*s0*s2)/3, s1*s2/2, s2*s2/5
	tip := 1 - 0.5*(c1+c2+c3+c4+c5) - extra*s2*(4.0/105)

	var m, t [3][5]float64
	var tt [3][5]float64 // Legendre coefficients of t
	for i, s := range gaussX {
		sin := s0 + s*(s1+s*s2) + extra*bubbleG[i]
		q := sin * sin
		cos := 1 - q*(0.5+0.125*q)
		y := s*(s0+s*(s1/2+s*s2/3)) + extra*bubbleY[i]
		g := &bubbleX[i]
		x := s*(1-0.5*(c1+s*(c2+s*(c3+s*(c4+s*c5))))) - extra*(s0*g[0]+s1*g[1]+s2*g[2])
		// A unit force at the tip has the moments -y about x and x - tip about y.
		mx, my := -y*l, (x-tip)*l
		m[0][i] = cos*my - sin*mx
		m[1][i] = -sin
		m[2][i] = cos
		t[0][i] = cos*mx + sin*my
		t[1][i] = cos
		t[2][i] = sin
	}
	for k := range 3 {
		u := &t[k]
		for j := range 5 {
			p := &legendre[j]
			tt[k][j] = p[0]*u[0] + p[1]*u[1] + p[2]*u[2] + p[3]*u[3] + p[4]*u[4]
		}
	}

	// End values of M: their mean is the constant part, their difference the shear.
	cosA, cosB := 1-sa*sa*0.5, 1-sb*sb*0.5
	m0 := [3]float64{-cosA * tip * l, -sa, cosA}
	m1 := [3]float64{0, -sb, cosB}

	var r twist
	if !r.solve(o.gj+axial*o.polar, o.warp, l) {
		return false
	}
	for i := range 3 {
		w := &m[i]
		w0, w1, w2, w3, w4 := gaussW[0]*w[0], gaussW[1]*w[1], gaussW[2]*w[2], gaussW[3]*w[3], gaussW[4]*w[4]
		for j := 0; j <= i; j++ {
			v := &m[j]
			f[3*i+j] = o.bend * (w0*v[0] + w1*v[1] + w2*v[2] + w3*v[3] + w4*v[4])
		}
	}
	// the bubble makes T of the fifth degree, where the Gauss points have none
	o.complete(&r, &tt, -extra*l*(16.0/63), &m0, &m1, f)
	return true
}

// complete adds to the lower triangle of f, which holds the bending, twist,
// shear and what the clamps take away, and fills the upper one. t5 is the force's torque of
// the fifth degree.
func (o *OutOfPlane) complete(r *twist, tt *[3][5]float64, t5 float64, m0, m1 *[3]float64, f *[9]float64) {
	for i := range 3 {
		f[3*i] += t5 * (r.r15*tt[i][1] + r.r35*tt[i][3])
	}
	f[0] += t5 * (r.r15*tt[0][1] + r.r35*tt[0][3])
	il := 1 / (o.Length * o.Length)
	for i := range 3 {
		u := &tt[i]
		// even and odd coefficients do not mix
		e0 := r.r00*u[0] + r.r02*u[2] + r.r04*u[4]
		e2 := r.r02*u[0] + r.r22*u[2] + r.r24*u[4]
		e4 := r.r04*u[0] + r.r24*u[2] + r.r44*u[4]
		o1 := r.r11*u[1] + r.r13*u[3]
		o3 := r.r13*u[1] + r.r33*u[3]
		ci, vi := 0.25*(m0[i]+m1[i])*o.loseBending, (m1[i]-m0[i])*il*o.loseShear
		for j := 0; j <= i; j++ {
			v := &tt[j]
			sum := f[3*i+j] + e0*v[0] + o1*v[1] + e2*v[2] + o3*v[3] + e4*v[4]
			sum -= ci*(m0[j]+m1[j]) + vi*(m1[j]-m0[j])
			f[3*i+j], f[3*j+i] = sum, sum
		}
	}
	f[0] += o.shear
}

// Piece is one of several equal parts of a bent blade, from the root: where it
// starts, from the blade's root end in the axes of the blade's chord, m; the
// direction of its own chord there; and the angles of its ends to that, rad.
type Piece struct{ X, Y, Nx, Ny, A, B float64 }

// FlexibilityAlong is [OutOfPlane.Flexibility] for a centreline known in pieces,
// each the cubic of its end angles; chord is the distance of the blade's ends, m. The
// torque is projected on polynomials of degree 4 over the whole blade.
func (o *OutOfPlane) FlexibilityAlong(pieces []Piece, chord, axial float64, f *[9]float64) bool {
	n := float64(len(pieces))
	l := o.Length / n
	var tt [3][5]float64
	t5 := 0.0
	*f = [9]float64{}
	first, last := &pieces[0], &pieces[len(pieces)-1]
	extra := 0.5 * (first.Ny + first.A*first.Nx + last.Ny + last.B*last.Nx) * o.steep
	for k := range pieces {
		p := &pieces[k]
		sa, sb := p.A*(1-p.A*p.A/6), p.B*(1-p.B*p.B/6)
		s0, s1, s2 := sa, -4*sa-2*sb, 3*(sa+sb)
		for i, s := range gaussX {
			sin := s0 + s*(s1+s*s2)
			cos := math.Sqrt(1 - sin*sin)
			x := l * s * (1 - 0.5*(s0*s0+s*(s0*s1+s*((s1*s1+2*s0*s2)/3+s*(s1*s2/2+s*s2*s2/5)))))
			y := l * s * (s0 + s*(s1/2+s*s2/3))
			// in the axes of the blade's chord
			x, y = p.X+p.Nx*x-p.Ny*y, p.Y+p.Ny*x+p.Nx*y
			cos, sin = p.Nx*cos-p.Ny*sin, p.Ny*cos+p.Nx*sin
			slope, rise := bubble((float64(k) + s) / n)
			cos, sin, y = cos-extra*slope*sin, sin+extra*slope*cos, y+extra*rise*o.Length
			mx, my := -y, x-chord
			m := [3]float64{cos*my - sin*mx, -sin, cos}
			t := [3]float64{cos*mx + sin*my, cos, sin}
			w := gaussW[i] / n
			v := 2*(float64(k)+s)/n - 1
			v2 := v * v
			poly := [5]float64{1, v, (3*v2 - 1) / 2, v * (5*v2 - 3) / 2, (35*v2*v2 - 30*v2 + 3) / 8}
			for a := range 3 {
				for d := range 5 {
					tt[a][d] += float64(2*d+1) * w * poly[d] * t[a]
				}
				if a == 0 {
					t5 += 11 * w * v * (15 + v2*(63*v2-70)) / 8 * t[0]
				}
				for b := 0; b <= a; b++ {
					f[3*a+b] += o.bend * w * m[a] * m[b]
				}
			}
		}
	}
	sinA, cosA := math.Sincos(first.A)
	sinB, cosB := math.Sincos(last.B)
	sinA, cosA = first.Ny*cosA+first.Nx*sinA, first.Nx*cosA-first.Ny*sinA
	sinB, cosB = last.Ny*cosB+last.Nx*sinB, last.Nx*cosB-last.Ny*sinB
	m0 := [3]float64{-cosA * chord, -sinA, cosA}
	m1 := [3]float64{0, -sinB, cosB}
	var r twist
	if !r.solve(o.gj+axial*o.polar, o.warp, o.Length) {
		return false
	}
	o.complete(&r, &tt, t5, &m0, &m1, f)
	return true
}

// twist is the solution of the twist equation for torques P0..P4 on [0, 1]:
// rkl = ∫ Pk ψl ds, in 1/N m times m (a flexibility for torque coefficients).
type twist struct {
	r00, r02, r04, r22, r24, r44, r11, r13, r33, r15, r35 float64
}

// solve fills r for the torsional stiffness gj (N m², of either sign), the
// warping stiffness (N m⁴) and the length. With x = 2s - 1 the equation is
//
//	ψ - e ψ'' = T/gj,  e = 4 warp/(gj L²),  ψ(±1) = 0,
//
// whose particular solution for T = Pk is Σ eⁿ d²ⁿPk/dx²ⁿ, and whose homogeneous
// ones are cosh(κx) and sinh(κx), κ² = 1/e (cos and sin for gj < 0).
func (r *twist) solve(gj, warp, length float64) bool {
	const small, limit = 0.05, -2.4 // κ²; buckled in torsion at -π²/4
	z := gj * length * length / (4 * warp)
	scale := length * length * length / (4 * warp)
	if !(z > limit) {
		return false
	}
	if math.Abs(z) >= small {
		r.closed(z, scale/z)
		return true
	}
	// The closed form divides zero by zero at z = 0, where the solution is
	// smooth: linear between both sides (off by (small/2.47)² = 4e-4 at most).
	var p, n twist
	p.closed(small, scale/small)
	n.closed(-small, -scale/small)
	u := (z + small) / (2 * small)
	mix := func(p, n float64) float64 { return u*p + (1-u)*n }
	*r = twist{mix(p.r00, n.r00), mix(p.r02, n.r02), mix(p.r04, n.r04), mix(p.r22, n.r22), mix(p.r24, n.r24),
		mix(p.r44, n.r44), mix(p.r11, n.r11), mix(p.r13, n.r13), mix(p.r33, n.r33), mix(p.r15, n.r15), mix(p.r35, n.r35)}
	return true
}

func (r *twist) closed(z, scale float64) {
	e := 1 / z
	// tau = tanh κ/κ, sigma = coth κ/κ
	var tau, sigma float64
	if z > 0 {
		k := math.Sqrt(z)
		q := elementary.Exp(-2 * k)
		tau, sigma = (1-q)/((1+q)*k), (1+q)/((1-q)*k)
	} else {
		k := math.Sqrt(-z)
		t := math.Tan(k)
		tau, sigma = t/k, -1/(t*k)
	}
	b2, b3, b4 := 1+3*e, 1+15*e, 1+e*(45+105*e)
	c1 := sigma - e
	c2 := b2*tau - 3*e
	c3 := b3*c1 - 5*e
	c4 := b4*tau - e*(10+105*e)
	r.r00 = scale * (1 - tau)
	r.r02 = -scale * c2
	r.r04 = -scale * c4
	r.r22 = scale * (0.2 - b2*c2)
	r.r24 = scale * (7*e - b4*c2)
	r.r44 = scale * (1.0/9 - b4*c4)
	r.r11 = scale * (1.0/3 - c1)
	r.r13 = -scale * c3
	r.r33 = scale * (1.0/7 - b3*c3)
	c5 := (1+e*(105+945*e))*c1 - e*(14+315*e)
	r.r15 = -scale * c5
	r.r35 = -scale * b3 * c5
}

// Tangent fills k with the stiffness of the tip (z, roll, pitch), root clamped:
// the inverse of [OutOfPlane.Flexibility], with the ends of [OutOfPlane.Yield], and the stiffening of strong-axis
// bending by the axial force P, (P/L) [6/5, L/10; L/10, 2L²/15] on (z, pitch).
// Axes, arguments and result as there; N/m, N/rad, N m/rad.
func (o *OutOfPlane) Tangent(a, b, axial float64, k *[9]float64) bool {
	var f [9]float64
	return o.Flexibility(a, b, axial, &f) && o.stiffen(&f, axial, k)
}

// TangentAlong is [OutOfPlane.Tangent] for a centreline known in pieces.
func (o *OutOfPlane) TangentAlong(pieces []Piece, chord, axial float64, k *[9]float64) bool {
	var f [9]float64
	return o.FlexibilityAlong(pieces, chord, axial, &f) && o.stiffen(&f, axial, k)
}

// ChainForce returns the force and moments on the tip (z, roll, pitch) that bend the blade and
// what gives at its ends where the tip moves against the root by motion: with k of [OutOfPlane.Tangent]
// all but what the axial force adds.
func (o *OutOfPlane) ChainForce(k *[9]float64, axial float64, motion [3]float64) (f [3]float64) {
	for r := range f {
		f[r] = k[3*r]*motion[0] + k[3*r+1]*motion[1] + k[3*r+2]*motion[2]
	}
	f[0] -= axial * (1.2/o.Length*motion[0] + 0.1*motion[2])
	f[2] -= axial * (0.1*motion[0] + 2.0/15*o.Length*motion[2])
	return f
}

func (o *OutOfPlane) stiffen(f *[9]float64, axial float64, k *[9]float64) bool {
	e := &o.ends
	f[0], f[4], f[8] = f[0]+e[0], f[4]+e[3], f[8]+e[5]
	f[1], f[2], f[5] = f[1]+e[1], f[2]+e[2], f[5]+e[4] // invert3 reads the upper triangle
	if !invert3(f, k) {
		return false
	}
	k[0] += 1.2 * axial / o.Length
	k[2] += 0.1 * axial
	k[6] += 0.1 * axial
	k[8] += 2.0 / 15 * axial * o.Length
	return true
}

// invert3 inverts a symmetric 3 by 3 matrix; false if it is not positive definite.
func invert3(f, k *[9]float64) bool {
	a, b, c := f[0], f[1], f[2]
	d, e, g := f[4], f[5], f[8]
	k00 := d*g - e*e
	k01 := c*e - b*g
	k02 := b*e - c*d
	det := a*k00 + b*k01 + c*k02
	if !(a > 0 && d > 0 && a*d-b*b > 0 && det > 0) {
		return false
	}
	q := 1 / det
	k[0], k[1], k[2] = k00*q, k01*q, k02*q
	k[3], k[4], k[5] = k[1], (a*g-c*c)*q, (b*c-a*e)*q
	k[6], k[7], k[8] = k[2], k[5], (a*d-b*b)*q
	return true
}
