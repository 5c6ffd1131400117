package servo

import "math"

// At low frequencies the two lowest modes, the stage on its suspension, make a loop whose gain is large, and known without a look at the plant. With
// a_k a mode's shape at the sensors, b_k at the forces, A = [a₁ a₂], B = [b₁ b₂], τ_k = ω_k² − w² + 2jζω_k w and E what all other modes do,
//
//	P = P₀ + E,   P₀⁻¹ = B⁻ᵀ diag(τ) A⁻¹,   I + L = L₀ (I + M),   M = L₀⁻¹ + P₀⁻¹ E
//
// but for a scaling of the axes by their gains. Where ‖M‖ ≤ 0.7, det(I + M) keeps right of the imaginary axis, and |S| ≤ ‖L₀⁻¹‖/(1 − ‖M‖). An axis alone has
// 1/τ₁ and 1/τ₂ weighted with r₁, r₂ ≥ 0: with τ_z = (r₁ τ₂ + r₂ τ₁)/(r₁ + r₂) that is the inverse of
//
//	τ₁ τ₂/((r₁ + r₂) τ_z) = (τ_z + (p − q) Δ − p q Δ²/τ_z)/(r₁ + r₂),   p = r₁/(r₁ + r₂),   q = 1 − p,   Δ = τ₁ − τ₂
//
// So from 0 on each return difference turns as C and the τ do, but for what I + M adds.

// strong is what is known of the two lowest modes of a pose, and bounds what the others do.
type strong struct {
	known bool
	low   [2]float64 // their frequencies, rad/s
	mass  [4]float64 // B⁻ᵀ A⁻¹, kg
	sum   float64    // largest row sum of its magnitudes
	other float64    // and of what the second mode adds to it for τ₂ − τ₁
	axes  [2]strongAxis
	rest  float64 // Σ strength/ω² of the other modes
	next  float64 // the lowest of these, rad/s
}

// rounding is how far p and q may lie below 0.
const rounding = 1e-6

// strongAxis is an axis alone.
type strongAxis struct {
	total      float64 // r₁ + r₂, 1/kg
	mean, root float64 // (p ω₂² + q ω₁²) and p ω₂ + q ω₁, of τ_z
	p, q       float64
}

func (m *strong) prepare(r *response) {
	m.known = false
	if len(r.omega) < 3 || r.brake > 0 || r.sensor == SensorSplit || !(r.omega[1] < 100*r.omega[0]) {
		return
	}
	out := r.stage
	if r.sensor == SensorArm {
		out = r.arm
	}
	in := r.force
	detA, detB := out[0]*out[3]-out[1]*out[2], in[0]*in[3]-in[1]*in[2]
	both := detA * detB
	if !(both > 0) {
		return
	}
	low, high := r.omega[0], r.omega[1]
	m.low, m.next, m.rest = [2]float64{low, high}, r.omega[2], r.over[2]
	q := 1 / both
	m.mass = [4]float64{
		q * (in[3]*out[3] + in[1]*out[1]), -q * (in[3]*out[2] + in[1]*out[0]),
		-q * (in[2]*out[3] + in[0]*out[1]), q * (in[2]*out[2] + in[0]*out[0]),
	}
	m.sum = max(math.Abs(m.mass[0])+math.Abs(m.mass[1]), math.Abs(m.mass[2])+math.Abs(m.mass[3]))
	m.other = math.Abs(q) * (math.Abs(out[0]) + math.Abs(out[1])) * max(math.Abs(in[0]), math.Abs(in[1]))
	for i := range m.axes {
		one, two := out[i]*in[i], out[2+i]*in[2+i]
		p := one / (one + two)
		if !(one+two > 0 && p >= -rounding && p <= 1+rounding) {
			return
		}
		m.axes[i] = strongAxis{total: one + two, mean: p*high*high + (1-p)*low*low, root: p*high + (1-p)*low, p: p, q: 1 - p}
	}
	m.known = true
}

// apart bounds |Δ| up to a frequency.
func (m *strong) apart(to, zeta float64) float64 {
	return (m.low[1] - m.low[0]) * (m.low[1] + m.low[0] + 2*zeta*to)
}

// others bounds ‖E‖ up to a frequency below the other modes.
func (m *strong) others(to float64) float64 {
	ratio := to / m.next
	return m.rest / (1 - ratio*ratio)
}

// resonance2 is |τ|², of a resonance with ω² and ω, at w².
func resonance2(mean, root, zeta, w2 float64) float64 {
	re := mean - w2
	return re*re + 4*zeta*zeta*root*root*w2
}

// largest bounds |τ|, whose square is convex in w², from one frequency to another.
func largest(mean, root, zeta, from, to float64) float64 {
	return math.Sqrt(max(resonance2(mean, root, zeta, from*from), resonance2(mean, root, zeta, to*to)))
}

// inverse bounds |τ_z|/(r₁ + r₂), and what is left of the inverse of an axis alone.
func (x *strongAxis) inverse(from, to, zeta, apart float64) (main, more float64) {
	more = math.Abs(x.p-x.q) * apart
	if both := math.Abs(x.p*x.q) * apart * apart; both > 0 {
		least := min(max(x.mean-2*zeta*zeta*x.root*x.root, from*from), to*to)
		more += both / math.Sqrt(resonance2(x.mean, x.root, zeta, least))
	}
	return largest(x.mean, x.root, zeta, from, to) / x.total, more / x.total
}

// loud returns the last point of a pose up to which, from 0 on, the gain of all scales is so large that |S| keeps within a limit and each return difference
// turns as said above, at that point to within 60°; 0 where there is none. No 1 + L of an axis alone is less than least.
func (l *Loop) loud(r *response, t *trial, limit2 float64) (end int, least float64) {
	m := &r.strong
	if !m.known || !l.inColumns() {
		return 0, 0
	}
	from := 0.9 * m.low[0]
	if least = l.stiff(r, t, limit2, from); least == 0 {
		return 0, 0
	}
	most, high := 0.0, m.low[1]
	for to := r.index(1.01 * high); to < r.n && r.w[to] < 0.8*m.next; to++ {
		far := l.gainless(r, t, limit2, from, r.w[to])
		if most = max(most, far); !(most <= 0.7) {
			break
		}
		from = r.w[to]
		// above its resonance τ is within 0.3 rad of the negative axis
		if past := (from - high) * (from + high); far <= 0.5 && to > coarsePoints && 2*r.zeta*high*from < 0.3*past {
			end, least = to, min(least, (1-most)/most)
		}
	}
	if end == 0 || l.shifts(l.s.Scales[l.spread.middle]*r.w[end], t) > 0.5 {
		return 0, 0
	}
	return end, least
}

// gainless bounds ‖M‖, and |M| of both axes alone, for all scales from one frequency to another, rad/s; infinite where |S| may exceed the limit.
func (l *Loop) gainless(r *response, t *trial, limit2, from, to float64) float64 {
	m, q := &r.strong, &l.corners
	scale := l.s.Scales[l.spread.middle] * l.spread.most
	x, y := l.s.Scales[l.spread.least]*from*t.per, scale*to*t.per
	dr, di := 1-y*y*q.cd, y*q.sum
	ab, ay, bx := q.a*q.b, q.a/y, q.b*x
	over := scale * scale * math.Sqrt((dr*dr+di*di)/(1+ab*ab+max(2*ab, ay*ay+bx*bx))) // 1/|C| without gain
	apart, rest := m.apart(to, r.zeta), m.others(to)
	all := m.sum*largest(m.low[0]*m.low[0], m.low[0], r.zeta, from, to) + m.other*apart
	inverse := all * over / min(t.kx, t.ky)
	far := inverse + all*rest
	if room := 1 - far; !(room > 0 && inverse*inverse <= limit2*room*room) {
		return math.Inf(1)
	}
	for i, k := range [...]float64{t.kx, t.ky} {
		main, more := m.axes[i].inverse(from, to, r.zeta, apart)
		far = max(far, (main+more)*(over/k+rest))
	}
	return far
}

// stiff bounds |1 + L| of both axes alone from 0 to a frequency below both modes, where the stage is a spring: with Re C ≥ 0, M is μ I and something small, Re μ ≥ 0 but for
// the damping. It is 0 where that is not enough to know that all eigenvalues of I + M keep right of the imaginary axis, and |S| within the limit.
func (l *Loop) stiff(r *response, t *trial, limit2, to float64) (least float64) {
	m, q := &r.strong, &l.corners
	// C lags by less than 90°: its lead over that is concave, and the lag of delay and corners no more than linear, in w
	scale := l.s.Scales[l.spread.middle] * l.spread.most
	y := scale * to * t.per
	z, lag := q.real*y/q.a, y*(q.sum+t.wc*l.s.Delay)
	if !(z*z >= lag*lag*(1+z*z)) {
		return 0
	}
	dr, di := 1-y*y*q.cd, y*q.sum
	over := scale * scale * math.Sqrt(dr*dr+di*di) / q.real // 1/|C| without gain
	apart, rest := m.apart(to, r.zeta), m.others(to)
	spring, damped := m.low[0]*m.low[0], 2*r.zeta*to

	mx, my := m.mass[0]/t.kx, m.mass[3]/t.ky
	mass := 0.5 * (mx + my)
	uneven := 0.5*math.Abs(mx-my) + max(math.Abs(m.mass[1])/t.ky, math.Abs(m.mass[2])/t.kx)
	most := spring * mass * over // |μ|
	damping := damped * m.low[0] * mass * over
	off := over * (spring*uneven + m.other*apart/min(t.kx, t.ky))
	small := off + (m.sum*spring+m.other*apart)*rest
	if far := damping + small; !(mass > 0 && far <= 0.7) {
		return 0
	}
	// cos arg C ≥ |μ|/most but for the lag, so |1 + μ|² ≥ near − 2 lag |μ| + (1 + 2 lead/most) |μ|², with which
	// |S| ≤ (|μ| + off)/(|1 + μ| − small) is largest at the largest |μ|; μ without damping, that is
	off += damping
	near, lead := 1-2*damping, 1-0.5*lag*lag
	sum := near + most*(most+2*lead)
	if !(lead > 0 && near > lag*most+off*(most+2*lead)+small*math.Sqrt(sum)) {
		return 0
	}
	if room := math.Sqrt(sum-2*lag*most) - small; !(room > 0 && (most+off)*(most+off) <= limit2*room*room) {
		return 0
	}
	least = math.Inf(1)
	for i, k := range [...]float64{t.kx, t.ky} {
		a := &m.axes[i]
		main, more := a.inverse(0, to, r.zeta, apart)
		far := (damped*a.root/a.total+more)*over/k + (main+more)*rest
		if !(far <= 0.7) {
			return 0
		}
		least = min(least, (1-far)*k/((main+more)*over))
	}
	return least
}

// startLoud starts turns at a point that [Loop.loud] found, with what the return differences of a case have turned from 0 on.
func (l *Loop) startLoud(c *loopCase, t *trial, d *difference, w float64, turn *turns) {
	q := &l.corners
	x := c.scale * w * t.per
	controller := math.Atan2(q.b*x-q.a/x, q.real) - math.Atan2(x*q.sum, 1-x*x*q.cd) - c.scale*w*l.s.Delay
	to := controller - math.Pi // with τ near −1
	turn.x.resume(-0.5*math.Pi, to, d.x)
	turn.y.resume(-0.5*math.Pi, to, d.y)
	turn.det.resume(-math.Pi, 2*to, d.det)
}
