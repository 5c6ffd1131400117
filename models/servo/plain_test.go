package servo

import (
	"math"
	"math/cmplx"
	"sort"
)

// plain is the loop judged the long way: a dense grid around every mode, complex arithmetic
// term by term, arguments unwrapped, nothing left out.
type plain struct {
	s      Settings
	plants []*Plant
	grids  map[[3]int][]float64
	resp   map[[3]int][][2][2]complex128
	last   [3]int // set, pose and scale that failed last: asked first
}

func newPlain(s Settings, plants ...*Plant) *plain {
	return &plain{s, plants, map[[3]int][]float64{}, map[[3]int][][2][2]complex128{}, [3]int{}}
}

func (p *plain) response(set, pose int, scale, w float64) (out [2][2]complex128) {
	pl := p.plants[set]
	s := complex(0, w)
	brake := [2][2]complex128{{1, 0}, {0, 1}} // I + s c P_aa
	low := 1 / (1 + s/complex(2*math.Pi*p.s.SplitFrequency, 0))
	for k := range pl.Modes {
		n := pose*pl.Modes + k
		wk := pl.Omega[n] * scale
		d := s*s + complex(2*p.s.Damping*wk, 0)*s + complex(wk*wk, 0)
		for i := range 2 {
			arm, stage := complex(pl.Arm[2*n+i], 0), complex(pl.Stage[2*n+i], 0)
			see := stage
			switch p.s.Sensor {
			case SensorArm:
				see = arm
			case SensorSplit:
				see = stage*low + arm*(1-low)
			}
			for j := range 2 {
				out[i][j] += see * complex(pl.Force[2*n+j], 0) / d
				brake[i][j] += s * complex(p.s.ActuatorDamping*pl.Force[2*n+i]*pl.Force[2*n+j], 0) / d
			}
		}
	}
	if p.s.ActuatorDamping > 0 {
		det := brake[0][0]*brake[1][1] - brake[0][1]*brake[1][0]
		inverse := [2][2]complex128{{brake[1][1] / det, -brake[0][1] / det}, {-brake[1][0] / det, brake[0][0] / det}}
		free := out
		for i := range 2 {
			for j := range 2 {
				out[i][j] = free[i][0]*inverse[0][j] + free[i][1]*inverse[1][j]
			}
		}
	}
	return out
}

func (p *plain) controller(w, wc float64) complex128 {
	s, c := complex(0, w), complex(wc, 0)
	q := (1 + c/(complex(p.s.IntegratorRatio, 0)*s)) * (1 + complex(p.s.LeadRatio, 0)*s/c) /
		(1 + s/(complex(p.s.TamingRatio, 0)*c))
	if !math.IsInf(p.s.LowPassRatio, 1) {
		q /= 1 + s/(complex(p.s.LowPassRatio, 0)*c)
	}
	for _, n := range p.s.Notches {
		z := s / complex(2*math.Pi*n.Frequency, 0)
		q *= (z*z + complex(n.Width*n.Depth, 0)*z + 1) / (z*z + complex(n.Width, 0)*z + 1)
	}
	return q * cmplx.Exp(-s*complex(p.s.Delay, 0))
}

// grid has 41 points to ±20 ζ around each mode and 2 % steps elsewhere.
func (p *plain) grid(set, pose, n int, scale float64) ([]float64, [][2][2]complex128) {
	key := [3]int{set, pose, n}
	if g, ok := p.grids[key]; ok {
		return g, p.resp[key]
	}
	pl := p.plants[set]
	var g []float64
	for w := 1e-4; w < 3e6; w *= 1.02 {
		g = append(g, w)
	}
	for _, w := range pl.Omega[pose*pl.Modes : (pose+1)*pl.Modes] {
		for i := -20; i <= 20; i++ {
			x := float64(i) / 20
			g = append(g, w*scale*(1+p.s.Damping*20*x*x*x))
		}
	}
	if p.s.ActuatorDamping > 0 { // modes turn into those with the arms locked, wherever these are
		modes := pl.Omega[pose*pl.Modes : (pose+1)*pl.Modes]
		for w := 0.5 * modes[0] * scale; w < 2*modes[pl.Modes-1]*scale; w *= 1 + 0.3*p.s.Damping {
			g = append(g, w)
		}
	}
	sort.Float64s(g)
	p.grids[key] = g
	r := make([][2][2]complex128, len(g))
	for i, w := range g {
		r[i] = p.response(set, pose, scale, w)
	}
	p.resp[key] = r
	return g, r
}

// turn adds up by how much f turns from point to point of a grid, halving where it turns fast.
func turn(g []float64, values []complex128, f func(w float64) complex128) float64 {
	var from func(a, b float64, fa, fb complex128, depth int) float64
	from = func(a, b float64, fa, fb complex128, depth int) float64 {
		d := cmplx.Phase(fb / fa)
		if math.Abs(d) < 0.5 || depth == 0 {
			return d
		}
		m := 0.5 * (a + b)
		fm := f(m)
		return from(a, m, fa, fm, depth-1) + from(m, b, fm, fb, depth-1)
	}
	sum := 0.0
	for i := 1; i < len(g); i++ {
		sum += from(g[i-1], g[i], values[i-1], values[i], 25)
	}
	return sum
}

// holds judges one crossover. Plants without rigid-body modes only: with one
// integrator a stable loop turns 1 + L by +90°.
func (p *plain) holds(wc float64) bool {
	centre := p.response(0, 0, 1, wc)
	c0 := cmplx.Abs(p.controller(wc, wc))
	k := [2]float64{1 / (c0 * cmplx.Abs(centre[0][0])), 1 / (c0 * cmplx.Abs(centre[1][1]))}
	if !p.caseHolds(p.last[0], p.last[1], p.last[2], p.s.Scales[p.last[2]], wc, k) {
		return false
	}
	for set, pl := range p.plants {
		for n, scale := range p.s.Scales {
			for pose := range pl.Poses {
				if !p.caseHolds(set, pose, n, scale, wc, k) {
					p.last = [3]int{set, pose, n}
					return false
				}
			}
		}
	}
	return true
}

func (p *plain) caseHolds(set, pose, n int, scale, wc float64, k [2]float64) bool {
	g, resp := p.grid(set, pose, n, scale)
	var alone, coupled [2][]complex128
	at := func(w float64, r *[2][2]complex128, i int) (single, both complex128) {
		j := 1 - i
		c := p.controller(w, wc)
		ci, cj := c*complex(k[i], 0), c*complex(k[j], 0)
		eff := r[i][i]
		if !p.s.OtherAxisOpen {
			eff -= cj * r[i][j] * r[j][i] / (1 + cj*r[j][j])
		}
		return 1 + ci*r[i][i], 1 + ci*eff
	}
	least := 1 / p.s.SensitivityLimit
	for m, w := range g {
		for i := range 2 {
			one, both := at(w, &resp[m], i)
			if cmplx.Abs(both) < least {
				return false
			}
			alone[i] = append(alone[i], one)
			coupled[i] = append(coupled[i], both)
		}
	}
	for i := range 2 {
		for m := 1; m+1 < len(g); m++ { // golden section in every dip that may be deeper than its points
			a, b := g[m-1], g[m+1]
			if d := cmplx.Abs(coupled[i][m]); d > 2*least || d > cmplx.Abs(coupled[i][m-1]) || d > cmplx.Abs(coupled[i][m+1]) {
				continue
			}
			for range 40 {
				x, y := b-0.6180339887*(b-a), a+0.6180339887*(b-a)
				rx, ry := p.response(set, pose, scale, x), p.response(set, pose, scale, y)
				_, fx := at(x, &rx, i)
				_, fy := at(y, &ry, i)
				if math.Min(cmplx.Abs(fx), cmplx.Abs(fy)) < least {
					return false
				}
				if cmplx.Abs(fx) < cmplx.Abs(fy) {
					b = y
				} else {
					a = x
				}
			}
		}
		one := func(w float64) complex128 {
			r := p.response(set, pose, scale, w)
			alone, _ := at(w, &r, i)
			return alone
		}
		both := func(w float64) complex128 {
			r := p.response(set, pose, scale, w)
			_, coupled := at(w, &r, i)
			return coupled
		}
		if math.Abs(turn(g, alone[i], one)-math.Pi/2) > 0.1 || math.Abs(turn(g, coupled[i], both)-math.Pi/2) > 0.1 {
			return false
		}
	}
	return true
}

// bandwidth scans down the same ladder of crossovers and halves the last interval.
func (p *plain) bandwidth() float64 {
	low, high := 2*math.Pi*p.s.From, 2*math.Pi*p.s.Ceiling
	steps := int(math.Ceil(math.Log(high/low) / math.Log1p(p.s.Step)))
	ratio := math.Pow(low/high, 1/float64(steps))
	wc := high
	for i := 0; !p.holds(wc); i++ {
		if i == steps {
			return 0
		}
		wc *= ratio
	}
	if wc == high {
		return p.s.Ceiling
	}
	good, bad := wc, wc/ratio
	for bad/good > 1+1e-4 {
		m := math.Sqrt(good * bad)
		if p.holds(m) {
			good = m
		} else {
			bad = m
		}
	}
	return good / (2 * math.Pi)
}
