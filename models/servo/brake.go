package servo

import (
	"math"
	"slices"
)

// addLocked adds to the peaks the frequencies of the modes with both arms locked,
// which the modes turn into, lightly damped again, when the actuators brake far beyond
// critical.
//
// Locking the arms leaves N − n₋ modes below w, N the number of free modes below w and
// n₋ that of negative eigenvalues of the undamped response of the arms, P_aa(w):
// between two free modes n₋ falls by one at each locked one.
func (r *response) addLocked() {
	modes := r.omega
	for k := 0; k+1 < len(modes); k++ {
		a, b := modes[k]*(1+1e-7), modes[k+1]*(1-1e-7)
		if a >= b {
			continue
		}
		from, to := r.negativeArms(a), r.negativeArms(b)
		for n := from - 1; n >= to; n-- { // where n₋ falls to n
			low, high := a, b
			for high-low > 0.1*r.zeta*low {
				if m := 0.5 * (low + high); r.negativeArms(m) <= n {
					high = m
				} else {
					low = m
				}
			}
			r.peaks = append(r.peaks, high)
		}
	}
	slices.Sort(r.peaks)
}

// negativeArms counts the negative eigenvalues of Σ in inᵀ/(ω_k² − w²), in the arms'
// shapes along x and y.
func (r *response) negativeArms(w float64) int {
	var xx, xy, yy float64
	for k, wk := range r.omega {
		q := 1 / ((wk - w) * (wk + w))
		x, y := r.force[2*k], r.force[2*k+1]
		xx += x * x * q
		xy += x * y * q
		yy += y * y * q
	}
	switch {
	case xx*yy < xy*xy:
		return 1
	case xx+yy < 0 && yy == 0: // nothing is driven along y
		return 1
	case xx+yy < 0:
		return 2
	}
	return 0
}

// braked returns (I + jωc P_aa)⁻¹, by which the damping c of the actuators multiplies
// the plant from the right: of the force commanded, what is left for the stage.
func (r *response) braked(w float64, arm *plantValue) plantValue {
	c := complex(0, w*r.brake)
	x, y := 1+c*arm[0], 1+c*arm[3]
	det := x*y - c*c*arm[1]*arm[2]
	q := 1 / square(det)
	inv := complex(real(det)*q, -imag(det)*q)
	return plantValue{y * inv, -c * arm[1] * inv, -c * arm[2] * inv, x * inv}
}

// times is the product of two 2×2 matrices.
func (p *plantValue) times(m *plantValue) plantValue {
	return plantValue{
		p[0]*m[0] + p[1]*m[2], p[0]*m[1] + p[1]*m[3],
		p[2]*m[0] + p[3]*m[2], p[2]*m[1] + p[3]*m[3],
	}
}

// bounded reports whether there are bounds of what lies between two points: not for a stage that is braked and has rigid-body modes.
func (r *response) bounded() bool { return r.brake == 0 || r.omega[0] > 0 }

// freed is Δ = det(I + jωc P_aa), which turns the return differences of braked actuators into sums over the undamped modes: with
// B = jωc P_aa and Q = C P_s, P_s the undamped plant of the sensor,
//
//	Δ (1 + L_x) = det [1 + B_xx + Q_xx, B_xy + Q_xy; B_yx, 1 + B_yy],   Δ det(I + L) = det(I + B + Q)
//
// Δ has the poles of the undamped plant and, since a brake only takes energy out, no zero in the right half plane: it changes no count of encirclements. It is 1
// without braking, and for a stage with rigid-body modes, whose poles at the origin it would change.
func (r *response) freed(w float64) complex128 {
	if r.brake == 0 || !r.bounded() {
		return 1
	}
	var arm plantValue
	r.pushed.at(w, r.zeta, r.omega, nil, &arm)
	c := complex(0, w*r.brake)
	return (1+c*arm[0])*(1+c*arm[3]) - c*c*arm[1]*arm[2]
}

// kinds of what a mode does in a loop that is braked: at the arms, and at the sensors along x and y
const (
	kindArm = iota
	kindX
	kindY
	numKinds
)

// bounds of a function of frequency in an interval: its value, first and second divided difference.
type bounds struct{ value, slope, bend float64 }

// product bounds the second divided difference of a product.
func (b *bounds) product(c *bounds) float64 {
	return b.value*c.bend + b.slope*c.slope + b.bend*c.value
}

// brakedBend bounds a plant between two points as bend does, with arms and sensors apart: sums over modes of |shape| |b_x|, |shape| |b_y| times t_k, and, for
// the pairs of a mode with itself, of 2 |b_x b_y| |shape| |shape| times t_k t_k[a,b,w] and the like.
type brakedBend struct {
	along [numKinds][2]bounds
	own   [numKinds][numKinds][3]float64
}

// brakedBend computes the bounds between a and b.
func (r *response) brakedBend(a, b float64, z *brakedBend) {
	*z = brakedBend{}
	root := r.bends.root
	for k, wk := range r.omega {
		peak, width := wk*root, r.zeta*wk
		g := 1 / (a + peak)
		fa := 1 / math.Sqrt((a-peak)*(a-peak)+width*width)
		fb := 1 / math.Sqrt((b-peak)*(b-peak)+width*width)
		near := max(fa, fb)
		if a < peak && peak < b {
			near = 1 / width
		}
		v := near * g
		d := v * (near + g)
		q := fa*fb*(v+g*g) + v*g*g
		bx, by := math.Abs(r.force[2*k]), math.Abs(r.force[2*k+1])
		shape := r.reach[numKinds*k : numKinds*(k+1)]
		for i, s := range shape {
			for j, force := range [2]float64{bx, by} {
				c := &z.along[i][j]
				c.value += s * force * v
				c.slope += s * force * d
				c.bend += s * force * q
			}
			for j, other := range shape {
				c, both := &z.own[i][j], 2*bx*by*s*other
				c[0] += both * (2*v*q + d*d)
				c[1] += both * v * d
				c[2] += both * v * v
			}
		}
	}
}

// factor is a function of frequency that a kind of sums is multiplied by, bounded.
type factor struct {
	kind int
	bounds
}

// row is a row of a determinant: B, with or without Q.
type row [2]factor

// along bounds the row's entry along an axis of the force.
func (u *row) along(z *brakedBend, axis int) (sum bounds) {
	for i := range u {
		f, b := &u[i], &z.along[u[i].kind][axis]
		sum.value += f.value * b.value
		sum.slope += f.value*b.slope + f.slope*b.value
		sum.bend += f.product(b)
	}
	return sum
}

// deviation bounds how far 1 + U_x + V_y + det of rows U, V leaves its chord, over h²/4.
func (z *brakedBend) deviation(u, v *row) float64 {
	ux, uy, vx, vy := u.along(z, 0), u.along(z, 1), v.along(z, 0), v.along(z, 1)
	pairs := ux.product(&vy) + uy.product(&vx)
	for i := range u {
		for j := range v {
			p, q, own := &u[i], &v[j], &z.own[u[i].kind][v[j].kind]
			pairs -= p.value*q.value*own[0] + 2*(p.value*q.slope+p.slope*q.value)*own[1] + p.product(&q.bounds)*own[2]
		}
	}
	return ux.bend + vy.bend + max(pairs, 0)
}

// brakedArc bounds how far Δ (1 + L_x), Δ (1 + L_y), Δ det(I + L) and Δ leave their chords.
type brakedArc struct{ x, y, det, free float64 }

// brakedDeviates bounds the interval from a to b. Each of the four is 1 + U_x + V_y + det of rows U, V, sums over modes of t_k u_k b_k, t_k v_k b_k
// with u_k = jωc a_kx + C_x s_kx, v_k alike, or without C s; a_k is the mode's shape at the arms, s_k at the sensors, b_k at the forces. The determinant,
//
//	Σ_k<l t_k t_l (u_k v_l − u_l v_k)(b_kx b_ly − b_ky b_lx)
//
// has no double pole, so that its bound sums over pairs of different modes.
func (l *Loop) brakedDeviates(c *loopCase, t *trial, a, b *node, z *brakedBend) (d brakedArc) {
	r, h, f := c.r, b.w-a.w, c.scale
	first, second := l.slope(f*a.w, f*b.w, t.wc)
	first, second = f*first, f*f*second
	x := 0.5 * first * h
	if x > 1 {
		return brakedArc{x: math.Inf(1)}
	}
	q := math.Sqrt(max(a.shape, b.shape)) * (1 + x + x*x) / (f * f)
	half := 0.5 * (first*first + second)
	brake := factor{kindArm, bounds{b.w * r.brake, r.brake, 0}}
	sensor := func(kind int, k float64) factor { return factor{kind, bounds{k, k * first, k * half}} }
	alone, rowX, rowY := row{brake}, row{brake, sensor(kindX, t.kx*q)}, row{brake, sensor(kindY, t.ky*q)}
	h *= 0.25 * h
	return brakedArc{h * z.deviation(&rowX, &alone), h * z.deviation(&alone, &rowY), h * z.deviation(&rowX, &rowY), h * z.deviation(&alone, &alone)}
}

// judgeBraked is [Loop.judge] with actuators that brake.
func (l *Loop) judgeBraked(c *loopCase, t *trial, a, b *node, z *brakedBend, f *finding) (v verdict, peak float64, axis int) {
	d := l.brakedDeviates(c, t, a, b, z)
	f.least = [2]float64{} // Δ hides the distance of an axis alone
	if !(clearance(a.x, b.x) > d.x && clearance(a.y, b.y) > d.y) {
		return unsettled, 0, 0
	}
	if l.axes == 1 {
		u, s := sensitive(a.free, b.free, a.x, b.x, d.free, d.x, f.limit2)
		return u, s, 0
	}
	if l.s.OtherAxisOpen {
		u, s := sensitive(a.free, b.free, a.x, b.x, d.free, d.x, f.limit2)
		v, r := sensitive(a.free, b.free, a.y, b.y, d.free, d.y, f.limit2)
		return worse(u, v, s, r)
	}
	if !(clearance(a.det, b.det) > d.det) {
		return unsettled, 0, 0
	}
	u, s := sensitive(a.y, b.y, a.det, b.det, d.y, d.det, f.limit2)
	v, r := sensitive(a.x, b.x, a.det, b.det, d.x, d.det, f.limit2)
	return worse(u, v, s, r)
}
