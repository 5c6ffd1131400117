package servo

import (
	"math"
	"slices"
)

// Between two points a, b of a grid, a function f of frequency leaves its chord by
//
//	f(w) − chord(w) = (w − a)(w − b) f[a, b, w]
//
// with Newton's divided difference (e.g. P. J. Davis, Interpolation and Approximation, 1963,
// ch. 2), so by no more than (b − a)²/4 times its largest magnitude. A mode has the poles
// ±ω√(1−ζ²) + jζω, and the differences of 1/(w − p) are products of values of it. So the sums
// over all modes of
//
//	value v ≥ |t(w)|, slope d ≥ |t[w, w']|, bend q ≥ |t[a, b, w]|,   t = 1/(ω² − w² + 2jζωw)
//
// bound the plant and its chords, however many modes there are between a and b or near them.
//
// det P has no double pole, because a mode's residue has rank one:
//
//	det P = Σ_k<l (a_k × a_l)(b_k × b_l) t_k t_l,   |a_k × a_l| ≤ |a_k| |a_l|
//
// with a_k the mode's shape at the sensors, b_k at the forces, so that its bounds are sums
// over pairs of different modes of (|a_k| |b_kx|)(|a_l| |b_ly|).

// bend bounds a plant between two points: the modes' sums weighted with |a| |b_x|, with |a| |b_y|, with
// |a_x b_y| and |a_y b_x|, and det P.
type bend struct {
	value, slope, bend [weights + 1]float64
	row                float64     // largest row sum |P_i1| + |P_i2|, of the grid's intervals
	narrow             controlled  // with any controller; grows is 0 where the interval is too wide for that
	braked             *brakedBend // instead of all that, where actuators brake
}

// controlled bounds the plant times the controller, per controller: |C| by how much it grows in the
// interval, bends of C P, of det P times C².
type controlled struct {
	grows float64
	bend  [weights + 1]float64
}

// with joins an interval of width h with a controller of |d ln C/dw| ≤ first and |d² ln C/dw²| ≤
// second. ok is false where that is too much for one interval.
func (z *bend) with(c *controlled, h, first, second float64) (ok bool) {
	x := 0.5 * first * h
	if x > 1 {
		return false
	}
	c.grows = 1 + x + x*x // no less than eˣ
	half := 0.5 * (first*first + second)
	for i := range weights {
		c.bend[i] = z.bend[i] + first*z.slope[i] + half*z.value[i]
	}
	c.bend[determinant] = z.bend[determinant] + 2*first*z.slope[determinant] + (2*first*first+second)*z.value[determinant]
	return true
}

const (
	alongX = iota
	alongY
	acrossXY
	acrossYX
	weights     // of a mode
	determinant = weights
)

// modeBends computes bends of one pose, those between points of the grid once.
type modeBends struct {
	root     float64 // √(1 − ζ²)
	lag      float64 // s, delay times the largest scale
	notches  bool
	strength []float64 // (modes × weights) 1/kg
	before   []float64 // (modes+1 × weights) sums over the modes before k
	over     []float64 // (modes+1 × weights) sums of strength/ω² over the modes from k up
	done     []bool    // of the interval that ends at the point
	interval []bend
	braked   []brakedBend // the same, where actuators brake
	quarter  []int        // of the interval that ends at a point: its place among quarters, plus 1
	quarters [][4]bend
	poles    []float64           // of a block
	parts    [deepest/4 + 1]bend // of intervals that are halved
	braking  []brakedBend        // the same
}

func newModeBends(modes int, s *Settings) modeBends {
	m := modeBends{
		root: math.Sqrt(1 - s.Damping*s.Damping), lag: s.Delay * slices.Max(s.Scales), notches: len(s.Notches) > 0,
		strength: make([]float64, weights*modes),
		poles:    make([]float64, 3*lanes*modes),
		before:   make([]float64, weights*(modes+1)), over: make([]float64, weights*(modes+1)),
	}
	if s.ActuatorDamping > 0 {
		m.braking = make([]brakedBend, len(m.parts))
	}
	return m
}

func (m *modeBends) grow(n int) {
	m.done = append(m.done, make([]bool, n)...)
	m.interval = append(m.interval, make([]bend, n)...)
	m.quarter = append(m.quarter, make([]int, n)...)
	if m.braking == nil {
		return
	}
	m.braked = append(m.braked, make([]brakedBend, n)...)
	for i := range m.interval {
		m.interval[i].braked = &m.braked[i]
	}
}

func (m *modeBends) prepare(r *response) {
	n := len(r.omega)
	clear(m.before[:weights])
	for k := range n {
		var x, y, out float64
		if r.sensor != SensorStage {
			x, y = math.Abs(r.arm[2*k]), math.Abs(r.arm[2*k+1])
			out = math.Sqrt(x*x + y*y)
		}
		if r.sensor != SensorArm {
			u, v := math.Abs(r.stage[2*k]), math.Abs(r.stage[2*k+1])
			x, y, out = x+u, y+v, out+math.Sqrt(u*u+v*v)
		}
		bx, by := math.Abs(r.force[2*k]), math.Abs(r.force[2*k+1])
		strength := m.strength[weights*k : weights*(k+1)]
		strength[alongX], strength[alongY], strength[acrossXY], strength[acrossYX] = out*bx, out*by, x*by, y*bx
		addWeights(m.before[weights*(k+1):], m.before[weights*k:], strength, 1)
	}
	clear(m.over[weights*n : weights*(n+1)])
	for k := n - 1; k >= 0; k-- {
		q := 0.0
		if w := r.omega[k]; w > 0 {
			q = 1 / (w * w)
		}
		addWeights(m.over[weights*k:], m.over[weights*(k+1):], m.strength[weights*k:], q)
	}
}

// addWeights sets to = from + times × strength of one mode.
func addWeights(to, from, strength []float64, times float64) {
	t, f, s := (*[weights]float64)(to), (*[weights]float64)(from), (*[weights]float64)(strength)
	t[0], t[1], t[2], t[3] = f[0]+times*s[0], f[1]+times*s[1], f[2]+times*s[2], f[3]+times*s[3]
}

// part returns memory for the bend of a part of an interval, so deep.
func (m *modeBends) part(deep int) *bend {
	z := &m.parts[deep]
	if m.braking != nil {
		z.braked = &m.braking[deep]
	}
	return z
}

// upTo returns the bend of the interval that ends at point i of the grid.
func (r *response) upTo(i int) *bend {
	m := &r.bends
	if !m.done[i] {
		m.done[i] = true
		z := &m.interval[i]
		z.row = math.Inf(1)
		if z.braked != nil {
			r.brakedBend(r.w[i-1], r.w[i], z.braked)
			return z
		}
		if r.sensor == SensorSplit {
			r.bend(r.w[i-1], r.w[i], z)
			return z
		}
		r.boundPoints(i, i)
		for k := range weights + 1 {
			of := &r.plantColumns.bends
			z.value[k], z.slope[k], z.bend[k] = of[k][i], of[weights+1+k][i], of[2*(weights+1)+k][i]
		}
		z.row = r.plantColumns.bends[numBends-1][i]
		m.limit(r.w[i-1], r.w[i], z)
	}
	return &m.interval[i]
}

// bend bounds the plant between a and b, with arms and sensors apart where actuators brake.
func (r *response) bend(a, b float64, z *bend) {
	if z.braked != nil {
		r.brakedBend(a, b, z.braked)
		return
	}
	m := &r.bends
	low, high := r.nearby(a, b)
	var s [numSums]float64
	sumInterval(a, b, m.root, r.zeta, r.omega[low:high], m.strength[weights*low:weights*high], &s)
	m.join(a, b, low, high, &s, z)
}

// Modes below a/2 and above 2b are summed together: with x = a or the mode's frequency |t| ≤ 4/3 x⁻², its poles are x/2 and x away.
const away = 2

// nearby are the modes between a and b that are summed one by one.
func (r *response) nearby(a, b float64) (low, high int) {
	return r.near.move(r.omega, a/away, b*away)
}

// join makes a bend of the sums over the modes from low up to high.
func (m *modeBends) join(a, b float64, low, high int, s *[numSums]float64, z *bend) {
	const (
		value = 1 / (1 - 1.0/(away*away))
		slope = value * (1/(1-1.0/away) + 1)
		turn  = value * (1/((1-1.0/away)*(1-1.0/away)) + 1/(1-1.0/away) + 1)
	)
	qa, qb := 1/a, 1/(away*b)
	for i := range weights {
		x, y := m.before[weights*low+i]*qa*qa, m.over[weights*high+i]
		z.value[i] = value*(x+y) + s[sumValue+i]
		z.slope[i] = slope*(x*qa+y*qb) + s[sumSlope+i]
		z.bend[i] = turn*(x*qa*qa+y*qb*qb) + s[sumBend+i]
	}
	z.value[determinant] = max(z.value[alongX]*z.value[alongY]-s[sumOwn], 0)
	z.slope[determinant] = max(z.value[alongX]*z.slope[alongY]+z.slope[alongX]*z.value[alongY]-2*s[sumOwn+1], 0)
	z.bend[determinant] = max(z.value[alongX]*z.bend[alongY]+z.slope[alongX]*z.slope[alongY]+z.bend[alongX]*z.value[alongY]-s[sumOwn+2], 0)
	m.limit(a, b, z)
}

// limit joins a narrow interval with any controller.
func (m *modeBends) limit(a, b float64, z *bend) {
	z.narrow.grows = 0
	if h := b - a; h < 0.01*a && !m.notches {
		// the controller's corners, the split sensor's among them, are no nearer than the origin
		z.with(&z.narrow, h, 6/a+m.lag, 7/(a*a))
	}
}
