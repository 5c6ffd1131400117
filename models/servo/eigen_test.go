package servo

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// randomPlant has two axes' rigid-like modes and others that couple both, with random
// signs: collocated and not, as met off centre.
func randomPlant(rng *rand.Rand, poses, modes int) *Plant {
	p := NewPlant(poses, modes)
	for pose := range poses {
		w := 2 * math.Pi * (5 + 10*rng.Float64())
		for k := range modes {
			n := pose*modes + k
			if k > 1 {
				w *= 1 + math.Pow(10, -2.5+2.7*rng.Float64())
			} else {
				w *= 1 + 0.05*rng.Float64()
			}
			p.Omega[n] = w
			strength := math.Pow(10, -2+1.7*rng.Float64())
			if k < 2 {
				strength = 0.02
			}
			for j := range 2 {
				p.Force[2*n+j] = strength * rng.NormFloat64()
				p.Arm[2*n+j] = p.Force[2*n+j]
				p.Stage[2*n+j] = p.Force[2*n+j] * rng.NormFloat64()
				if k < 2 {
					own := 0.0
					if j == k {
						own = 1
					}
					p.Force[2*n+j] += own
					p.Arm[2*n+j] += own
					p.Stage[2*n+j] = own + strength*rng.NormFloat64()
				}
			}
		}
	}
	return p
}

// closedLoopStable forms the state space of the modes and both controllers and asks for its
// eigenvalues. The delay is a Padé approximation of the given order (none: 0). Time is
// scaled with wc. axis 0, 1: that loop alone; 2: both closed.
func closedLoopStable(s *Settings, p *Plant, t *trial, axis, pade int) bool {
	modes := p.Modes
	// controller numerator and denominator in s/wc
	num := []float64{1} // ascending powers
	den := []float64{0, 1}
	num = times(num, []float64{1 / s.IntegratorRatio, 1})
	num = times(num, []float64{1, s.LeadRatio})
	den = times(den, []float64{1, 1 / s.TamingRatio})
	den = times(den, []float64{1, 1 / s.LowPassRatio})
	if pade > 0 {
		x := s.Delay * t.wc
		a, b := make([]float64, pade+1), make([]float64, pade+1)
		c := 1.0
		for i := range pade + 1 {
			b[i] = c
			a[i] = c
			if i%2 == 1 {
				a[i] = -c
			}
			c *= x * float64(pade-i) / float64((2*pade-i)*(i+1))
		}
		num, den = times(num, a), times(den, b)
	}
	order := len(den) - 1
	n := 2*modes + 2*order
	a := mat.NewDense(n, n, nil)
	gains := [2]float64{t.kx, t.ky}
	for k := range modes {
		w := p.Omega[k] / t.wc
		a.Set(2*k, 2*k+1, w)
		a.Set(2*k+1, 2*k, -w)
		a.Set(2*k+1, 2*k+1, -2*s.Damping*w)
	}
	for k := range modes {
		for j := range modes {
			for c := range 2 {
				brake := s.ActuatorDamping * p.Force[2*k+c] * p.Force[2*j+c] / t.wc * p.Omega[j] / p.Omega[k]
				a.Set(2*k+1, 2*j+1, a.At(2*k+1, 2*j+1)-brake)
			}
		}
	}
	lead := den[order]
	for c := range 2 {
		at := 2*modes + c*order
		// companion form, input e = −y, output k Σ num_i x_i (strictly proper)
		for i := range order - 1 {
			a.Set(at+i, at+i+1, 1)
		}
		for i := range order {
			a.Set(at+order-1, at+i, -den[i]/lead)
		}
		if axis != 2 && axis != c {
			continue
		}
		for k := range modes {
			w := p.Omega[k] / t.wc
			// position of mode k = its first state × (out); state scaled so that x1' = w x2
			a.Set(at+order-1, 2*k, -p.Stage[2*k+c]/lead)
			for i := range num {
				a.Set(2*k+1, at+i, a.At(2*k+1, at+i)+p.Force[2*k+c]*gains[c]*num[i]/(t.wc*t.wc)/w)
			}
		}
	}
	if axis != 2 { // drop the open controller: its integrator is not the loop's
		keep := make([]int, 0, n)
		for i := range n {
			if c := (i - 2*modes) / order; i < 2*modes || c == axis {
				keep = append(keep, i)
			}
		}
		b := mat.NewDense(len(keep), len(keep), nil)
		for i, x := range keep {
			for j, y := range keep {
				b.Set(i, j, a.At(x, y))
			}
		}
		a = b
	}
	var e mat.Eigen
	if !e.Factorize(a, mat.EigenNone) {
		panic("no eigenvalues")
	}
	for _, v := range e.Values(nil) {
		if real(v) > 0 {
			return false
		}
	}
	return true
}

func times(a, b []float64) []float64 {
	c := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		for j, y := range b {
			c[i+j] += x * y
		}
	}
	return c
}

// Encirclements counted on the grid against the eigenvalues of the closed loop's state
// space: 1,000 random plants, half of them braked by their actuators, without delay
// and with a Padé approximation of order 8, whose phase at the frequencies where a
// loop can encircle anything differs from the delay's by less than 1e-6 rad.
func TestEncirclementAgainstEigenvalues(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 4))
	stable, disagree := 0, 0
	for trials := range 1000 {
		s := single(Default())
		s.SensitivityLimit = 10
		s.Damping = math.Pow(10, -3+1.5*rng.Float64())
		pade := 0
		s.Delay = 0
		if trials%2 == 1 {
			s.Delay, pade = 100e-6, 8
		}
		if trials%4 >= 2 {
			s.ActuatorDamping = math.Pow(10, 3*rng.Float64()) // of masses near 1 kg: to far beyond critical
		}
		modes := 3 + trials%6
		p := randomPlant(rng, 1, modes)
		l := mustLoop(t, s, 1, modes, 1)
		l.Prepare(p)
		tr, ok := l.trial(2 * math.Pi * 5 * math.Pow(20, rng.Float64()))
		if !ok {
			t.Fatal("no gain")
		}
		f := finding{limit2: math.Inf(1), whole: true} // stability only
		l.sweep(&l.cases[0], &tr, &f)
		got := f.reason
		want := Ceiling
		switch {
		case !closedLoopStable(&s, p, &tr, 0, pade), !closedLoopStable(&s, p, &tr, 1, pade):
			want = UnstableAlone
		case !closedLoopStable(&s, p, &tr, 2, pade):
			want = UnstableCoupled
		}
		if want == Ceiling {
			stable++
		}
		if got != want {
			disagree++
			t.Errorf("plant %d: encirclements say %v, eigenvalues %v", trials, got, want)
		}
	}
	t.Logf("%d of 1000 stable, %d disagree", stable, disagree)
	if stable < 100 || stable > 900 {
		t.Errorf("%d of 1000 stable: the sample does not test both answers", stable)
	}
}

// The fast search against the plain one, which walks the same ladder: random plants
// with random sensors, notches and payloads. 1e-3 is the promise of the definition.
func TestBandwidthAgainstPlain(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 8))
	zero := 0
	for n := range 16 {
		s := Default()
		s.Sensor = Sensor(n % int(numSensor))
		s.Damping = math.Pow(10, -2.7+rng.Float64())
		s.Step = 0.04
		s.OtherAxisOpen = n%5 == 4
		if n%4 == 3 {
			s.Notches = []Notch{{Frequency: 40 + 100*rng.Float64(), Width: 0.3, Depth: 0.1}}
		}
		modes := 3 + n%5
		plants := []*Plant{randomPlant(rng, 2, modes)}
		if n%3 == 1 {
			heavy := randomPlant(rng, 2, modes)
			for k := range heavy.Omega {
				heavy.Omega[k] = plants[0].Omega[k] * 0.9
			}
			copy(heavy.Force, plants[0].Force)
			copy(heavy.Arm, plants[0].Arm)
			copy(heavy.Stage, plants[0].Stage)
			plants = append(plants, heavy)
		}
		l := mustLoop(t, s, 2, modes, 2)
		got := l.Crossover(plants...)
		want := newPlain(s, plants...).bandwidth()
		if want == 0 {
			zero++
		}
		if math.Abs(got.Hz-want) > 1e-3*want {
			t.Errorf("plant %d (%v): %.5f Hz, plain %.5f; %+v", n, s.Sensor, got.Hz, want, got)
		}
	}
	if zero > 8 {
		t.Errorf("%d of 16 plants have no bandwidth: the sample tests nothing", zero)
	}
	t.Logf("%d without bandwidth", zero)
}
