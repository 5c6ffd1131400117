package servo

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"
)

// Up to the point where the gain is large, |S| of all scales keeps within the limit, 1 + L keeps its distance, and each return difference has turned
// from 0 on as is said of it, against steps that are small.
func TestSuspended(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 71))
	plants := frontPlants(t, 6)
	for range 480 {
		plants = append(plants, suspended(rng))
	}
	for range 300 {
		plants = append(plants, tangled(rng, 1))
	}
	found, near := 0, 0
	for n, p := range plants {
		s := Default()
		s.Damping = []float64{0.002, 0.0005, 0.02, 0.1}[rng.IntN(4)]
		s.Delay = []float64{1.5e-4, 0, 2e-3}[rng.IntN(3)]
		s.Scales = [][]float64{{1, 0.97, 1.03}, {0.9, 1, 1.05}, {1, 1.2}}[rng.IntN(3)]
		s.IntegratorRatio, s.LeadRatio = 3+10*rng.Float64(), 5*rng.Float64()
		if n%2 == 1 {
			s.Sensor = SensorArm
		}
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		l.Prepare(p)
		for k := range 6 {
			tr, ok := l.trial(p.Omega[1] * (1.2 + 3*rng.Float64()*rng.Float64()))
			if !ok {
				continue
			}
			limit2 := []float64{4, half, 1.5}[k%3]
			pose := rng.IntN(p.Poses)
			r := l.responses[pose]
			end, least := l.suspended(r, &tr, limit2)
			if end == 0 {
				continue
			}
			if found++; tr.wc < 2*p.Omega[1] {
				near++
			}
			middle := &l.cases[l.middle(&l.cases[pose])]
			var m node
			l.node(middle, end, &tr, &m)
			var common turns
			l.resume(middle, &tr, &m.difference, m.w, &common)
			for i := range s.Scales {
				c := &l.cases[i*l.poses+pose]
				turn := common
				var own node
				l.node(c, end, &tr, &own)
				turn.step(&own.difference)
				is := turned(t, l, c, &tr, end, limit2, least)
				for j, w := range [3]*winding{&turn.x, &turn.y, &turn.det} {
					if want := cmplx.Phase(w.last) + 2*math.Pi*float64(w.crossings) - w.from; math.Abs(is[j]-want) > 0.02 {
						t.Fatalf("plant %d, %g rad/s, scale %g: return difference %d turns by %g rad, said %g", n, tr.wc, c.scale, j, is[j], want)
					}
				}
			}
		}
	}
	t.Logf("%d, %d of them near the suspension", found, near)
	if found < 200 || near < 40 {
		t.Errorf("%d found, %d near the suspension", found, near)
	}
}

// suspended is a stage on its suspension, not quite symmetric, with other modes above.
func suspended(rng *rand.Rand) *Plant {
	p := NewPlant(1, 7)
	low := 2 * math.Pi * (5 + 40*rng.Float64())
	turn := 2 * math.Pi * rng.Float64()
	if rng.IntN(3) == 0 {
		turn = 0
	}
	uneven := 0.1 * rng.Float64() * rng.Float64()
	sin, cos := math.Sincos(turn)
	shape := [4]float64{cos, sin, -sin, cos}
	for k := range 7 {
		p.Omega[k] = low
		switch {
		case k == 1:
			p.Omega[k] = low * (1 + rng.Float64()*rng.Float64()*rng.Float64())
		case k > 1:
			p.Omega[k] = p.Omega[k-1] * (1 + 3*rng.Float64()/float64(k-1))
		}
		for axis := range 2 {
			at := 2*k + axis
			if k < 2 {
				of := shape[at]
				p.Force[at], p.Arm[at], p.Stage[at] = of+uneven*rng.NormFloat64(), of+uneven*rng.NormFloat64(), of+uneven*rng.NormFloat64()
			} else {
				p.Force[at], p.Arm[at], p.Stage[at] = 0.3*rng.NormFloat64(), 0.3*rng.NormFloat64(), 0.3*rng.NormFloat64()
			}
		}
	}
	return p
}

// turned is how far the return differences of a case turn up to a point.
func turned(t *testing.T, l *Loop, c *loopCase, tr *trial, end int, limit2, least float64) (by [3]float64) {
	t.Helper()
	const parts = 25
	var last [3]complex128
	for i := range end {
		for q := range parts + 1 {
			var m node
			l.nodeAt(c, c.r.w[i]+float64(q)/parts*(c.r.w[i+1]-c.r.w[i]), tr, &m)
			if most := max(m.s[0], m.s[1]); most > limit2 {
				t.Fatalf("scale %g: |S|² is %g at %g rad/s, limit %g", c.scale, most, m.w, limit2)
			}
			if cmplx.Abs(m.x) < least || cmplx.Abs(m.y) < least {
				t.Fatalf("scale %g: 1 + L is %g and %g at %g rad/s, bound %g", c.scale, m.x, m.y, m.w, least)
			}
			now := [3]complex128{m.x, m.y, m.det}
			for k, z := range now {
				if i == 0 && q == 0 { // from 0 on to the first point it turns by a few thousandths
					by[k] = cmplx.Phase(z) - [3]float64{-0.5, -0.5, -1}[k]*math.Pi
					by[k] -= 2 * math.Pi * math.Round(by[k]/(2*math.Pi))
				} else {
					by[k] += cmplx.Phase(z / last[k])
				}
			}
			last = now
		}
	}
	return by
}
