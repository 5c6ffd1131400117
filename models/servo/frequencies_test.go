package servo

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// tangled is no stage: its lowest modes may coincide, shapes be far from orthogonal, and sensors see with a minus sign.
func tangled(rng *rand.Rand, poses int) *Plant {
	modes := 3 + rng.IntN(6)
	p := NewPlant(poses, modes)
	power := func(low, high float64) float64 { return math.Pow(10, low+(high-low)*rng.Float64()) }
	for pose := range poses {
		omega := p.Omega[pose*modes : (pose+1)*modes]
		low := 2 * math.Pi * power(0.3, 2.3)
		for k := range omega {
			if omega[k] = low * power(0, 1.7); k < 2 {
				omega[k] = low * (1 + []float64{0, 1e-9, 0.01, 0.3, 2}[rng.IntN(5)]*rng.Float64())
			}
		}
		if rng.IntN(6) == 0 {
			omega[modes-1] = omega[2]
		}
		slices.Sort(omega)
		sin, cos := math.Sincos(2 * math.Pi * rng.Float64())
		turned := [4]float64{cos, sin, -sin, cos}
		uneven, weak, size := []float64{0, 0.01, 0.1, 0.5}[rng.IntN(4)], []float64{0.01, 0.1, 0.4, 1}[rng.IntN(4)], power(-0.5, 0.5)
		back := rng.IntN(4) == 0
		for k := range modes {
			sign := 1.0
			if back && k == 0 || rng.IntN(6) == 0 {
				sign = -1
			}
			for axis := range 2 {
				shape := func() float64 {
					if k < 2 {
						return size * (turned[2*k+axis] + uneven*rng.NormFloat64())
					}
					return size * weak * rng.NormFloat64()
				}
				at := 2*(pose*modes+k) + axis
				p.Force[at], p.Arm[at], p.Stage[at] = shape(), sign*shape(), sign*shape()
			}
		}
	}
	return p
}

// The bandwidth is where |S| of an axis reaches 1/√2, and up to there a dense scan of no case meets that.
func TestRises(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 9))
	seen := 0
	for n := range 400 {
		p := tangled(rng, 2)
		s := Default()
		s.Damping = []float64{0.002, 0.0005, 0.02, 0.1}[rng.IntN(4)]
		s.Scales = [][]float64{{1, 0.97, 1.03}, {0.8, 1, 1.1}, {1}}[rng.IntN(3)]
		s.Sensor = Sensor(rng.IntN(int(numSensor)))
		s.From, s.Ceiling = 1, 2000
		l := mustLoop(t, s, p.Poses, p.Modes, 1)
		l.Prepare(p)
		hz := math.Pow(10, 0.5+2*rng.Float64())
		tr, ok := l.trial(2 * math.Pi * hz)
		if !ok {
			continue
		}
		seen++
		bandwidth, _, _ := l.Frequencies(hz)
		bandwidth *= 2 * math.Pi
		there, first := math.Inf(-1), math.Inf(1)
		for i := range l.cases[:l.inUse] {
			c := &l.cases[i]
			excess := func(w float64) float64 {
				var m node
				l.nodeAt(c, w, &tr, &m)
				return m.excess()
			}
			there, first = max(there, excess(bandwidth/c.scale)), min(first, c.r.w[0]*c.scale)
			for k := 1; k < c.r.n; k++ {
				for part := range 20 {
					w := c.r.w[k-1] + float64(part)/20*(c.r.w[k]-c.r.w[k-1])
					if w*c.scale < bandwidth*(1-2*sharp) && excess(w) > 0 {
						t.Fatalf("plant %d: |S|² is %g at %g rad/s, bandwidth %g", n, half+excess(w), w*c.scale, bandwidth)
					}
				}
			}
		}
		if math.Abs(there) > 1e-6 && bandwidth > first {
			t.Errorf("plant %d: |S|² is %g at the bandwidth, %g rad/s", n, half+there, bandwidth)
		}
	}
	if seen < 300 {
		t.Errorf("%d of 400 plants are seen", seen)
	}
}
