package servo

import (
	"math"
	"math/rand/v2"
	"testing"
)

// onlyX leaves of a plant what is along x.
func onlyX(p *Plant) *Plant {
	for i := 1; i < 2*p.Poses*p.Modes; i += 2 {
		p.Force[i], p.Arm[i], p.Stage[i] = 0, 0, 0
	}
	return p
}

// twice is a plant whose axes are both what p is along x, and do not know each other.
func twice(p *Plant) *Plant {
	q := NewPlant(p.Poses, 2*p.Modes)
	for n := range p.Poses * p.Modes {
		for axis := range 2 {
			k := 2*n + axis
			q.Omega[k] = p.Omega[n]
			q.Force[2*k+axis], q.Arm[2*k+axis], q.Stage[2*k+axis] = p.Force[2*n], p.Arm[2*n], p.Stage[2*n]
			q.Floor[2*k+axis] = p.Floor[2*n]
		}
	}
	return q
}

// A stage that is driven along x alone has the loop that two such stages have which know
// nothing of each other, whatever sensor, amplifier and shape.
func TestOneAxisIsHalfOfTwo(t *testing.T) {
	rng := rand.New(rand.NewPCG(16, 1))
	const poses, modes = 3, 4
	d := Disturbances{Amplifier: Density{Level: 1e-3}, Encoder: Density{Level: 1e-9}, Gap: Density{Level: 1e-9}, Floor: Density{Level: 1e-4}, Low: 0.1, SampleRate: 10e3}
	closed := 0
	for n := range 60 {
		s := Default()
		s.Sensor = Sensor(n % int(numSensor))
		s.Damping = 0.01
		if n%2 == 1 {
			s.ActuatorDamping = math.Pow(10, 3*rng.Float64())
		}
		if n%4 >= 2 {
			s.Shapes = ShapeList[:3]
		}
		plant := onlyX(randomPlant(rng, poses, modes))
		if n%5 == 4 {
			for pose := range poses {
				plant.Omega[pose*modes] = 0 // no suspension
			}
		}
		both := mustLoop(t, s, poses, 2*modes, 1)
		s.OneAxis = true
		one := mustLoop(t, s, poses, modes, 1)
		a, b := one.Tune(plant), both.Tune(twice(plant))
		near(t, "crossover", a.Hz, b.Hz, 1e-4) // either is located to 1e-5, and |S| judged to 1e-4
		if a.Axis != 0 || a.Hz > 0 && (a.Shape != b.Shape || a.Reason != b.Reason || a.Pose != b.Pose || a.Scale != b.Scale) {
			t.Errorf("%d: %+v and, of two axes, %+v", n, a, b)
		}
		if a.Hz == 0 {
			continue
		}
		closed++
		near(t, "bandwidth", a.Bandwidth, b.Bandwidth, 1e-4)
		near(t, "closed loop", a.ClosedLoop, b.ClosedLoop, 1e-4)
		hz := 0.9 * a.Hz
		m, ok := one.Margins(hz)
		w, _ := both.Margins(hz)
		if !ok || m.Position[1] != 0 {
			t.Fatal("no margins, or a gain on y")
		}
		near(t, "phase margin", m.Phase, w.Phase, 1e-6)
		near(t, "gain margin", m.Gain, w.Gain, 1e-6)
		near(t, "peak", m.Peak, w.Peak, 2*sure)
		near(t, "gain", m.Position[0], w.Position[0], 1e-9)
		r, lag, _ := one.Tracking(hz, 1)
		q, behind, _ := both.Tracking(hz, 1)
		near(t, "error", r, q, 1e-9)
		near(t, "lag", lag, behind, 1e-9)
		if r, ok = one.Feedforward(hz, 1, 0.01, 0.02); !ok {
			t.Fatal("no feedforward")
		}
		q, _ = both.Feedforward(hz, 1, 0.01, 0.02)
		near(t, "error with feedforward", r, q, 1e-9)
		noise, _ := one.Noise(hz, &d)
		of, _ := both.Noise(hz, &d)
		near(t, "noise", noise.Total[0], of.Total[0], 0.002) // on different grids
		if noise.Total[1] != 0 || noise.Part[1] != [NumSources]float64{} {
			t.Errorf("noise along y: %v", noise)
		}
		x, _ := one.Export(hz, []*Plant{plant}, make([][2]float64, poses), nil, 1e-4)
		if len(x.Controllers) != 1 || len(x.Poses[0].Stage) != 1 || x.OtherAxis != "" {
			t.Errorf("%d controllers, %d outputs, other axis %q", len(x.Controllers), len(x.Poses[0].Stage), x.OtherAxis)
		}
	}
	if closed < 30 {
		t.Errorf("only %d loops", closed)
	}
}

// The values of TestPublishedMass and TestPublishedDelay, of a mass that is driven along x alone.
func TestPublishedMassOnOneAxis(t *testing.T) {
	const hz, mass = 100.0, 1.7
	s := single(Default())
	s.OneAxis, s.Delay, s.LowPassRatio = true, 0, 10
	p := onlyX(massOnSpring(mass, 0.5*2*math.Pi*hz))
	l := mustLoop(t, s, 1, 2, 1)
	l.Prepare(p)
	m, _ := l.Margins(hz)
	if got := m.Phase * 180 / math.Pi; math.Abs(got-41.86) > 0.005 || math.Abs(m.Peak-1.519) > 0.0005 {
		t.Errorf("phase margin %.4f°, |S| %.5f, want 41.86, 1.519", got, m.Peak)
	}
	s.Delay = 500e-6
	l = mustLoop(t, s, 1, 2, 1)
	r := l.Crossover(onlyX(massOnSpring(1, 0)))
	if got := r.Hz * 2 * math.Pi * s.Delay; math.Abs(got-0.1611) > 0.00005 || r.Reason != Sensitivity {
		t.Errorf("ωc τ = %.6f, %v, want 0.1611, sensitivity", got, r.Reason)
	}
}

func TestOneAxisAllocatesNothing(t *testing.T) {
	s := Default()
	s.OneAxis, s.Shapes = true, ShapeList
	l := mustLoop(t, s, 3, 6, 1)
	p := onlyX(randomPlant(rand.New(rand.NewPCG(2, 2)), 3, 6))
	l.Tune(p)
	if n := testing.AllocsPerRun(3, func() { l.Tune(p) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
}
