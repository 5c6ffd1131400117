package servo

import (
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

func near(t *testing.T, name string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: %.6g, want %.6g within %g", name, got, want, rel)
	}
}

// White noise through a second-order system: force noise of power density G on a mass
// on a spring moves it by σ² = G/(8 ζ ω³ m²), an acceleration of the floor by σ² =
// G/(8 ζ ω³) (Crandall & Mark, Random Vibration in Mechanical Systems, 1963: π/2 ×
// half-power bandwidth × peak). Tolerance: the 1 % in variance promised,
// and the tails outside the band, below 1e-4.
func TestNoiseSecondOrder(t *testing.T) {
	for _, zeta := range []float64{0.0005, 0.002, 0.02, 0.1} {
		s := single(Default())
		s.Damping = zeta
		const mass, hz = 2.3, 31.0
		w := 2 * math.Pi * hz
		l := mustLoop(t, s, 1, 2, 1)
		l.Prepare(massOnSpring(mass, w))
		d := Disturbances{
			Amplifier: Density{Level: 3e-4}, Floor: Density{Level: 2e-5},
			FullScale: 100, ConverterBits: 12, Low: 0.01, SampleRate: 10e3,
		}
		b, ok := l.Noise(0, &d)
		if !ok {
			t.Fatal("not computed")
		}
		unit := math.Sqrt(1 / (8 * zeta * w * w * w))
		for axis := range 2 {
			near(t, "force", b.Part[axis][Amplifier], 3e-4/mass*unit, 0.005)
			near(t, "floor", b.Part[axis][Floor], 2e-5*unit, 0.005)
			near(t, "converter", b.Part[axis][Converter], 100.0/4096/math.Sqrt(12)*math.Sqrt(2/d.SampleRate)/mass*unit, 0.005)
			near(t, "total", b.Total[axis], math.Sqrt(square(complex(b.Part[axis][Amplifier], b.Part[axis][Floor]))+math.Pow(b.Part[axis][Converter], 2)), 1e-12)
		}
	}
}

// White noise through a first-order system: gap-sensor noise enters through the
// split's low-pass of 1 Hz, and a loop a hundred times faster follows it, so σ² = G
// π/2 f_s; the lower end of the band takes 2/π × 0.001 off, the loop 1 %.
func TestNoiseFirstOrder(t *testing.T) {
	s := single(Default())
	s.Sensor = SensorSplit
	s.SplitFrequency = 1
	l := mustLoop(t, s, 1, 2, 1)
	l.Prepare(massOnSpring(1, 2*math.Pi*10))
	d := Disturbances{Gap: Density{Level: 1e-9}, Low: 0.001, SampleRate: 10e3}
	b, _ := l.Noise(150, &d)
	near(t, "gap sensor", b.Total[0], 1e-9*math.Sqrt(math.Pi/2), 0.01)
}

// closedLoop returns A and the input vectors of force and sensor noise of one axis of
// a mass on a spring with the controller in companion form; position is the first
// state.
func closedLoop(s *Settings, mass, w float64, tr *trial) (a *mat.Dense, force, sensor []float64) {
	num := times([]float64{1 / s.IntegratorRatio, 1}, []float64{1, s.LeadRatio})
	den := times([]float64{0, 1}, times([]float64{1, 1 / s.TamingRatio}, []float64{1, 1 / s.LowPassRatio}))
	n := 5
	a = mat.NewDense(n, n, nil)
	a.Set(0, 1, 1)
	a.Set(1, 0, -w*w)
	a.Set(1, 1, -2*s.Damping*w)
	for i := range num {
		a.Set(1, 2+i, tr.kx*num[i]/mass)
	}
	a.Set(2, 3, tr.wc)
	a.Set(3, 4, tr.wc)
	for i := range 3 {
		a.Set(4, 2+i, -tr.wc*den[i]/den[3])
	}
	a.Set(4, 0, -tr.wc/den[3])
	return a, []float64{0, 1 / mass, 0, 0, 0}, []float64{0, 0, 0, 0, -tr.wc / den[3]}
}

// variance solves A X + X Aᵀ + b bᵀ G/2 = 0 and returns X₁₁.
func variance(a *mat.Dense, b []float64, g float64) float64 {
	n, _ := a.Dims()
	big := mat.NewDense(n*n, n*n, nil)
	rhs := mat.NewVecDense(n*n, nil)
	for i := range n {
		for j := range n {
			row := i*n + j
			for k := range n {
				big.Set(row, k*n+j, big.At(row, k*n+j)+a.At(i, k))
				big.Set(row, i*n+k, big.At(row, i*n+k)+a.At(j, k))
			}
			rhs.SetVec(row, -b[i]*b[j]*g/2)
		}
	}
	var x mat.VecDense
	if err := x.SolveVec(big, rhs); err != nil {
		panic(err)
	}
	return x.AtVec(0)
}

// The closed loop against the Lyapunov equation of its state space (exact, white noise
// over all frequencies) and against a simulation in time, exact from sample to sample.
func TestNoiseClosedLoop(t *testing.T) {
	const mass, hz, crossover = 1.3, 12.0, 60.0
	w := 2 * math.Pi * hz
	s := single(Default())
	s.Delay = 0
	l := mustLoop(t, s, 1, 2, 1)
	l.Prepare(massOnSpring(mass, w))
	tr, _ := l.trial(2 * math.Pi * crossover)
	d := Disturbances{Amplifier: Density{Level: 1e-3}, Encoder: Density{Level: 1e-9}, Low: 0.01, SampleRate: 100e3}
	b, _ := l.Noise(crossover, &d)
	a, force, sensor := closedLoop(&s, mass, w, &tr)
	exactForce := math.Sqrt(variance(a, force, 1e-6))
	exactSensor := math.Sqrt(variance(a, sensor, 1e-18))
	near(t, "force", b.Part[0][Amplifier], exactForce, 0.005)
	near(t, "sensor", b.Part[0][Encoder], exactSensor, 0.005)

	// Simulation: noise held over each step h has the density G up to 1/2h, σ_u² = G/(2h).
	const h, steps, skip = 2e-4, 400_000, 5000
	n, _ := a.Dims()
	block := mat.NewDense(n+2, n+2, nil)
	for i := range n {
		for j := range n {
			block.Set(i, j, a.At(i, j)*h)
		}
		block.Set(i, n, force[i]*h)
		block.Set(i, n+1, sensor[i]*h)
	}
	var e mat.Dense
	e.Exp(block)
	step := e.RawMatrix()
	rng := rand.New(rand.NewPCG(3, 1))
	x, y := make([]float64, n+2), make([]float64, n)
	uf, us := 1e-3/math.Sqrt(2*h), 1e-9/math.Sqrt(2*h)
	sum := 0.0
	for k := range steps + skip {
		x[n], x[n+1] = uf*rng.NormFloat64(), us*rng.NormFloat64()
		for i := range n {
			v := 0.0
			for j := range n + 2 {
				v += step.Data[i*step.Stride+j] * x[j]
			}
			y[i] = v
		}
		copy(x, y)
		if k >= skip {
			sum += x[0] * x[0]
		}
	}
	// 80 s of a process whose memory is about 1/(2π 20 Hz): some 10⁴ independent
	// samples, 0.7 % in σ; three times that.
	near(t, "simulation", math.Sqrt(sum/steps), b.Total[0], 0.02)
}

// The actuator's damping c of one mode is a damping ratio c/2mω more, in the loop and
// in the noise.
func TestActuatorDamping(t *testing.T) {
	const mass, hz = 1.4, 20.0
	w := 2 * math.Pi * hz
	for sensor := range numSensor {
		s := single(Default())
		s.Sensor, s.Damping = sensor, 0.01
		s.ActuatorDamping = 2 * mass * w * 0.05
		other := s
		other.Damping, other.ActuatorDamping = 0.06, 0
		d := Disturbances{Amplifier: Density{Level: 1e-3}, Encoder: Density{Level: 1e-9}, Gap: Density{Level: 1e-9}, Floor: Density{Level: 1e-4}, Low: 0.01, SampleRate: 10e3}
		var m [2]Margins
		var b [2]Budget
		for i, s := range []Settings{s, other} {
			l := mustLoop(t, s, 1, 2, 1)
			l.Prepare(massOnSpring(mass, w))
			m[i], _ = l.Margins(80)
			b[i], _ = l.Noise(80, &d)
		}
		near(t, "phase margin", m[0].Phase, m[1].Phase, 1e-4) // of the far modes (ζ/2)² is left out
		near(t, "gain", m[0].Position[0], m[1].Position[0], 1e-4)
		for i := range NumSources {
			near(t, i.String(), b[0].Part[0][i], b[1].Part[0][i], 0.002) // different grids
		}
	}
}

// A table of densities is interpolated on logarithmic axes and held outside.
func TestDensityTable(t *testing.T) {
	d := Density{Hz: []float64{1, 100}, Value: []float64{1e-6, 1e-8}}
	for _, c := range [][2]float64{{0.1, 1e-6}, {1, 1e-6}, {10, 1e-7}, {100, 1e-8}, {1e4, 1e-8}} {
		near(t, "density", math.Sqrt(d.squared(c[0])), c[1], 1e-12)
	}
	bad := Disturbances{
		Encoder: Density{Hz: []float64{2, 1}, Value: []float64{1, 1}}, Gap: Density{Level: -1}, FullScale: 1, Low: 1, SampleRate: 1,
	}
	err := bad.Validate()
	if err == nil || len(err.(interface{ Unwrap() []error }).Unwrap()) != 4 {
		t.Errorf("%v", err)
	}
}

func TestNoiseReference(t *testing.T) {
	p := referencePlant(t)
	l := mustLoop(t, Default(), 9, 39, 1)
	r := l.Crossover(p)
	d := Disturbances{
		Amplifier: Density{Level: 1e-4}, FullScale: 100, ConverterBits: 16, Encoder: Density{Level: 1e-11},
		Gap: Density{Level: 5e-11}, Floor: Density{Level: 1e-5}, Low: 0.1, SampleRate: 10e3,
	}
	b, ok := l.Noise(r.Hz, &d)
	if !ok || !(b.Total[0] > 0) {
		t.Fatalf("%+v", b)
	}
	// The worst pose of x again, by the trapezium rule at 0.02 % spacing on the plain
	// response; 39 coupled modes.
	pl := newPlain(Default(), p)
	m, _ := l.Margins(r.Hz)
	var force, sensor float64
	var last [2]float64
	old := 0.0
	for w := 2 * math.Pi * d.Low; w < math.Pi*d.SampleRate; w *= 1.0002 {
		v := pl.response(0, b.Pose[0], 1, w)
		c := pl.controller(w, 2*math.Pi*r.Hz)
		cx, cy := c*complex(m.Position[0], 0), c*complex(m.Position[1], 0)
		// rows of P (I + C P)⁻¹ by elimination of the second loop
		xx := v[0][0] - v[0][1]*cy*v[1][0]/(1+cy*v[1][1])
		hx := xx / (1 + cx*xx)
		yx := v[1][1] - v[1][0]*cx*v[0][1]/(1+cx*v[0][0])
		hy := v[0][1] / (1 + cx*v[0][0]) / (1 + cy*yx)
		now := [2]float64{square(hx) + square(hy), square(hx*cx) + square(hy*cy)}
		if old > 0 {
			force += 0.5 * (now[0] + last[0]) * (w - old) / (2 * math.Pi)
			sensor += 0.5 * (now[1] + last[1]) * (w - old) / (2 * math.Pi)
		}
		old, last = w, now
	}
	near(t, "force, coupled", b.Part[0][Amplifier], 1e-4*math.Sqrt(force), 0.005)
	near(t, "encoder, coupled", b.Part[0][Encoder], 1e-11*math.Sqrt(sensor), 0.005)
	near(t, "gap sensor, coupled", b.Part[0][Gap], 5e-11*math.Sqrt(sensor), 0.005)
	if n := testing.AllocsPerRun(2, func() { l.Noise(r.Hz, &d) }); n != 0 {
		t.Errorf("%v allocations", n)
	}
}

func BenchmarkNoiseReference(b *testing.B) {
	p := referencePlant(b)
	l := mustLoop(b, Default(), 9, 39, 1)
	r := l.Crossover(p)
	d := Disturbances{Amplifier: Density{Level: 1e-4}, Encoder: Density{Level: 1e-11}, Floor: Density{Level: 1e-5}, Low: 0.1, SampleRate: 10e3}
	b.ReportAllocs()
	for b.Loop() {
		l.Noise(r.Hz, &d)
	}
}

// Of two axes each gap sensor's noise is there by itself, and that of an axis without one is not.
func TestNoiseWithoutGapSensors(t *testing.T) {
	l := mustLoop(t, single(Default()), 1, 6, 1)
	p := randomPlant(rand.New(rand.NewPCG(3, 8)), 1, 6)
	l.Prepare(p)
	d := Disturbances{Gap: Density{Level: 1e-9}, Low: 0.1, SampleRate: 10e3}
	noise := func(without [2]bool) (v [2]float64) {
		d.NoGap = without
		b, ok := l.Noise(10, &d)
		if !ok {
			t.Fatal("not computed")
		}
		return [2]float64{b.Part[0][Gap], b.Part[1][Gap]}
	}
	both, y, x := noise([2]bool{}), noise([2]bool{true, false}), noise([2]bool{false, true})
	for axis := range 2 {
		near(t, "both gap sensors", both[axis], math.Hypot(x[axis], y[axis]), 1e-9)
	}
	if !(x[0] > 0 && y[1] > 0) || noise([2]bool{true, true}) != [2]float64{} {
		t.Errorf("noise %v and %v", x, y)
	}
}
