package servo

import "math"

// At low frequencies a stage on its suspension does what its two lowest modes do, and little else: much of a loop is known without a look at the plant. With
// a_k a mode's shape at the sensors, b_k at the forces, A = [a₁ a₂], B = [b₁ b₂], τ_k = ω_k² − w² + 2jζω_k w and E what all other modes do,
//
//	P = P₀ + E,   P₀⁻¹ = B⁻ᵀ diag(τ) A⁻¹,   I + L = L₀ (I + M),   M = L₀⁻¹ + P₀⁻¹ E
//
// but for a scaling of the axes by their gains. B⁻ᵀ A⁻¹ is nearly a mass m times I, so that M is μ I, μ = τ₁ m/(C k), and something small. Where that is
// less than |1 + μ|,
//
//	|S| ≤ (|μ| + what is small of L₀⁻¹)/(|1 + μ| − all that is small)
//
// and det(I + L) turns as C² (1 + μ)²/(τ₁ τ₂) and, to within 90° for each of two factors, what is small. An axis alone has
// 1/τ₁ and 1/τ₂ weighted with r₁, r₂ ≥ 0: with τ_z = (r₁ τ₂ + r₂ τ₁)/(r₁ + r₂) that is the inverse of
//
//	τ₁ τ₂/((r₁ + r₂) τ_z) = (τ_z + (p − q) Δ − p q Δ²/τ_z)/(r₁ + r₂),   p = r₁/(r₁ + r₂),   q = 1 − p,   Δ = τ₁ − τ₂

// suspension is what is known of the two lowest modes of a pose, and bounds what the others do.
type suspension struct {
	known bool
	low   [2]float64 // their frequencies, rad/s
	mass  [4]float64 // B⁻ᵀ A⁻¹, kg
	sum   float64    // largest row sum of its magnitudes
	other float64    // and of what the second mode adds to it for τ₂ − τ₁
	axes  [2]suspensionAxis
	rest  float64 // Σ strength/ω² of the other modes
	next  float64 // the lowest of these, rad/s
}

// rounding is how far p and q may lie below 0.
const rounding = 1e-6

// suspensionAxis is an axis alone.
type suspensionAxis struct {
	per        float64 // 1/(r₁ + r₂), kg
	mean, root float64 // (p ω₂² + q ω₁²) and p ω₂ + q ω₁, of τ_z
	off, both  float64 // |p − q| and |p q|
}

func (m *suspension) prepare(r *response) {
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
		q := 1 - p
		m.axes[i] = suspensionAxis{per: 1 / (one + two), mean: p*high*high + q*low*low, root: p*high + q*low, off: math.Abs(p - q), both: math.Abs(p * q)}
	}
	m.known = true
}

// apart bounds |Δ| up to a frequency.
func (m *suspension) apart(to, zeta float64) float64 {
	return (m.low[1] - m.low[0]) * (m.low[1] + m.low[0] + 2*zeta*to)
}

// others bounds ‖E‖ up to a frequency below the other modes.
func (m *suspension) others(to float64) float64 {
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
func (x *suspensionAxis) inverse(from, to, zeta, apart float64) (main, more float64) {
	more = x.off * apart
	if both := x.both * apart * apart; both > 0 {
		least := min(max(x.mean-2*zeta*zeta*x.root*x.root, from*from), to*to)
		more += both / math.Sqrt(resonance2(x.mean, x.root, zeta, least))
	}
	return largest(x.mean, x.root, zeta, from, to) * x.per, more * x.per
}

// suspended returns the last point of a pose up to which, from 0 on, that is enough to know for all scales that |S| keeps within a limit, and how each return
// difference turns; 0 where there is none. No 1 + L of an axis alone is less than least.
func (l *Loop) suspended(r *response, t *trial, limit2 float64) (end int, least float64) {
	m := &r.suspension
	if !m.known || !l.inColumns() {
		return 0, 0
	}
	g := m.over(t)
	from := 0.9 * m.low[0]
	nearest := l.stiff(r, t, &g, limit2, from)
	if nearest == 0 {
		return 0, 0
	}
	room, high := 0.0, m.low[1]
	for to := r.index(1.07 * high); to < r.n && r.w[to] < 0.8*m.next; to++ {
		b := l.massive(r, t, &g, limit2, from, r.w[to])
		if !b.ok { // the nearer its ends, the nearer are the bounds
			middle := math.Sqrt(from * r.w[to])
			a := l.massive(r, t, &g, limit2, from, middle)
			if !a.ok {
				break
			}
			if b = l.massive(r, t, &g, limit2, middle, r.w[to]); !b.ok {
				break
			}
			nearest = min(nearest, a.least)
		}
		from, nearest = r.w[to], min(nearest, b.least)
		// above its resonance τ is near the negative axis, which turns 1 + μ by 12° at most, as what is small does by 24°
		if past := (from - high) * (from + high); to > coarsePoints && 2*r.zeta*high*from < 0.2*b.room*past && b.part <= 0.4 {
			end, room, least = to, b.room, nearest
		}
	}
	// and all scales are within 30° there
	if end == 0 || grown(l.shifts(l.s.Scales[l.spread.middle]*r.w[end], t)) > 0.5*room {
		return 0, 0
	}
	return end, least
}

// massBound bounds an interval for all scales.
type massBound struct {
	ok    bool    // |S| keeps within the limit
	room  float64 // |1 + μ| at least
	part  float64 // what is small, of that
	least float64 // |1 + L| of both axes alone
}

// massive bounds an interval above the lower of both modes, or around them: with C ahead by φ or more, and by at most 90°,
//
//	|1 + μ|² ≥ 1 − 2 |μ| cos φ + |μ|²
func (l *Loop) massive(r *response, t *trial, g *weighed, limit2, from, to float64) (b massBound) {
	m, q := &r.suspension, &l.corners
	scale := l.s.Scales[l.spread.middle] * l.spread.most
	x, y := l.s.Scales[l.spread.least]*from*t.per, scale*to*t.per
	dr, di := 1-y*y*q.cd, y*q.sum
	ab, ay, bx := q.a*q.b, q.a/y, q.b*x
	d2 := dr*dr + di*di
	over := scale * scale * math.Sqrt(d2/(1+ab*ab+max(2*ab, ay*ay+bx*bx))) // 1/|C| without gain
	cos := 1.0
	if late, ni := y*t.wc*l.s.Delay, bx-q.a/x; late < 0.6 && ni > 0 && dr > 0 {
		late *= 1 + late*late // no less than its tangent
		re, im := q.real*dr+ni*di, ni*dr-q.real*di
		if re, im = re+im*late, im-re*late; im > 0 {
			cos = re / math.Sqrt(re*re+im*im)
		}
	}
	apart, rest := m.apart(to, r.zeta), m.others(to)
	tau := largest(m.low[0]*m.low[0], m.low[0], r.zeta, from, to)
	other := m.other * apart
	var peak2 float64
	b.room, peak2 = aside(tau*g.mass*over, cos)
	off := over * (tau*g.uneven + other*g.most)
	per := 1 / b.room
	b.part = (off + (m.sum*tau+other)*rest) * per
	left, peak := 1-b.part, math.Sqrt(peak2)+off*per
	b.ok = b.part < 0.9 && peak*peak <= limit2*left*left
	inverse := 0.0
	for i, k := range g.per {
		main, more := m.axes[i].inverse(from, to, r.zeta, apart)
		room, _ := aside(main*over*k, cos)
		b.part = max(b.part, (more*over*k+(main+more)*rest)/room)
		b.room, inverse = min(b.room, room), max(inverse, (main+more)*over*k)
	}
	b.ok = b.ok && b.part < 0.9
	b.least = b.room * (1 - b.part) / inverse
	return b
}

// aside bounds |1 + μ| for |μ| up to most and arg(−1/μ) of that cosine or more, and |μ/(1 + μ)|².
func aside(most, cos float64) (room, peak2 float64) {
	at := min(most, max(cos, 0)) // where 1 + μ is least
	far2 := 1 - 2*most*cos + most*most
	if room = math.Sqrt(max(1-2*at*cos+at*at, 0)); most*cos <= 1 {
		return room, most * most / far2
	}
	return room, 1 / (1 - cos*cos)
}

// weighed is the stage against the controllers' gains.
type weighed struct {
	per    [2]float64 // 1/k of both
	most   float64    // the larger one
	mass   float64    // of both axes in the mean, over the gain
	uneven float64    // how far they are from that, and from being apart
}

func (m *suspension) over(t *trial) (g weighed) {
	x, y := 1/t.kx, 1/t.ky
	g.per, g.most = [2]float64{x, y}, max(x, y)
	g.mass = 0.5 * (m.mass[0]*x + m.mass[3]*y)
	g.uneven = 0.5*math.Abs(m.mass[0]*x-m.mass[3]*y) + max(math.Abs(m.mass[1])*y, math.Abs(m.mass[2])*x)
	return g
}

// stiff bounds |1 + L| of both axes alone from 0 to a frequency below both modes, where the stage is a spring: with Re C ≥ 0, Re μ ≥ 0 but for
// the damping. It is 0 where that is not enough to know that all eigenvalues of I + M keep right of the imaginary axis, and |S| within the limit.
func (l *Loop) stiff(r *response, t *trial, g *weighed, limit2, to float64) (least float64) {
	m, q := &r.suspension, &l.corners
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

	most := spring * g.mass * over // |μ|
	damping := damped * m.low[0] * g.mass * over
	off := over * (spring*g.uneven + m.other*apart*g.most)
	small := off + (m.sum*spring+m.other*apart)*rest
	if far := damping + small; !(g.mass > 0 && far <= 0.7) {
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
	for i, k := range g.per {
		a := &m.axes[i]
		main, more := a.inverse(0, to, r.zeta, apart)
		far := (damped*a.root*a.per+more)*over*k + (main+more)*rest
		if !(far <= 0.7) {
			return 0
		}
		least = min(least, (1-far)/((main+more)*over*k))
	}
	return least
}

// resume starts turns at a point that [Loop.suspended] found, with what the return differences of a case have turned from 0 on.
func (l *Loop) resume(c *loopCase, t *trial, d *difference, w float64, turn *turns) {
	q, m := &l.corners, &c.r.suspension
	x := c.scale * w * t.per
	ni, dr, di := q.b*x-q.a/x, 1-x*x*q.cd, x*q.sum
	controller := math.Atan2(ni, q.real) - math.Atan2(di, dr) - c.scale*w*l.s.Delay
	over := c.scale * c.scale * math.Sqrt((dr*dr+di*di)/(q.real*q.real+ni*ni))
	sin, cos := math.Sincos(controller)
	to := func(most float64) float64 { // τ is near −1
		return controller - math.Pi + math.Atan2(most*over*sin, 1-most*over*cos)
	}
	tau := w*w - m.low[0]*m.low[0]
	g := m.over(t)
	turn.x.resume(-0.5*math.Pi, to((w*w-m.axes[0].mean)*m.axes[0].per*g.per[0]), d.x)
	turn.y.resume(-0.5*math.Pi, to((w*w-m.axes[1].mean)*m.axes[1].per*g.per[1]), d.y)
	turn.det.resume(-math.Pi, 2*to(tau*g.mass), d.det)
}
