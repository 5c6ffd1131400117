package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
)

// The floor's row is M e, of bodies and blades: for an assembly that floats
// free, the rigid translation is a mode and φᵀM e its √(total mass).
func TestFloorRows(t *testing.T) {
	a := &assembly{t: 0.5e-3}
	a.addBody("a", 0, 0)
	a.addBody("b", 0.06, 0.01)
	a.addBody("c", 0.02, 0.07)
	a.addBlade(0, 1, 0.005, 0, 0.05, 0.01)
	a.addBlade(1, 2, 0.06, 0.02, 0.02, 0.06)
	a.top.Stage = 1
	s, st := a.scratch()
	d, pose := atRest(t, s)
	total := 0.3
	for i := range s.Section {
		total += st.Density[i] * s.Section[i].Length * st.Thickness[i] * st.Width[i]
	}
	modes := d.NewModes()
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	for axis := range 2 {
		sum := 0.0
		for k := range modes.Count {
			r := modes.Rows[k*NumRows+RowFloorX+axis]
			sum += r * r
			if k > 2 && math.Abs(r) > 1e-6 {
				t.Errorf("axis %d: elastic mode %d moves the centre of mass by %g", axis, k, r)
			}
		}
		if math.Abs(sum/total-1) > 1e-9 {
			t.Errorf("axis %d: participations add up to %g kg, mass is %g", axis, sum, total)
		}
	}
}

// Free-free assemblies have three zero modes in the plane and three out of it,
// and six with a body that nothing joins. A zero frequency is 0 in the plane;
// out of it rounding leaves less than 1e-5 of the first elastic one.
func TestZeroModes(t *testing.T) {
	rng := rand.New(rand.NewPCG(21, 22))
	for trial := range 10 {
		n := 2 + rng.IntN(4)
		a := &assembly{t: 0.5e-3}
		for i := range n {
			a.addBody("body", 0.1*float64(i)+0.02*rng.Float64(), 0.1*rng.Float64())
		}
		for i := 1; i < n; i++ {
			p, q := a.body[i-1], a.body[i]
			a.addBlade(i-1, i, p[0]+0.01*rng.Float64(), p[1], q[0]-0.01, q[1]+0.01*rng.Float64())
			if rng.IntN(2) == 0 {
				a.addBlade(i-1, i, p[0], p[1]+0.02, q[0]-0.01, q[1]+0.03)
			}
		}
		zero := 3
		if trial%2 == 1 {
			a.addBody("loose", 1, 1)
			zero = 6
		}
		s, _ := a.scratch()
		d, pose := atRest(t, s)
		modes := d.NewModes()
		if v := d.InPlane(pose, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		out, v := d.OutOfPlane(pose, nil)
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		for k := range modes.Count {
			if (modes.Omega[k] == 0) != (k < zero) {
				t.Errorf("trial %d in plane: mode %d of %d at %g rad/s, want %d zero ones", trial, k, modes.Count, modes.Omega[k], zero)
			}
			if (out[k] < 1e-5*out[zero]) != (k < zero) {
				t.Errorf("trial %d out of plane: mode %d at %g rad/s, want %d zero ones", trial, k, out[k], zero)
			}
		}
	}
}

// turned returns the stage turned about z by an angle and mirrored about x if
// asked (mirror first).
func turned(top *models.Topology, st *models.Stage, angle float64, mirror bool) *models.Stage {
	sin, cos := math.Sincos(angle)
	r := models.NewStage(top)
	*r = *st
	turn := func(x, y []float64) (a, b []float64) {
		a, b = make([]float64, len(x)), make([]float64, len(x))
		for i := range x {
			v := y[i]
			if mirror {
				v = -v
			}
			a[i], b[i] = cos*x[i]-sin*v, sin*x[i]+cos*v
		}
		return a, b
	}
	r.X, r.Y = turn(st.X, st.Y)
	r.RootX, r.RootY = turn(st.RootX, st.RootY)
	r.TipX, r.TipY = turn(st.TipX, st.TipY)
	r.ActX, r.ActY = turn(st.ActX, st.ActY)
	return r
}

// Turning or mirroring the assembly changes nothing but signs: frequencies,
// forces and support stiffness at a turned position. By a quarter turn x and y
// change places, and the actuators with them.
func TestTurnedAndMirrored(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	pose, modes := NewPose(s.Model), d.NewModes()
	s.At(pose, 0.004, 0.002)
	d.InPlane(pose, modes)
	out, _ := d.OutOfPlane(pose, nil)
	var support [9]float64
	if !d.Support(pose, top.Stage, &support) {
		t.Fatal("no support")
	}
	for _, c := range []struct {
		name   string
		angle  float64
		mirror bool
		x, y   float64
		force  [2]float64 // signs
	}{
		{"mirrored", 0, true, 0.004, -0.002, [2]float64{1, -1}},
		{"half a turn", math.Pi, false, -0.004, -0.002, [2]float64{-1, -1}},
		{"a quarter", math.Pi / 2, false, -0.002, 0.004, [2]float64{1, -1}},
		{"mirrored, a quarter", math.Pi / 2, true, 0.002, 0.004, [2]float64{1, 1}},
	} {
		other := *top
		if c.angle == math.Pi/2 {
			other.Actuators = []models.ActuatorSpec{{Body: top.Actuators[0].Body, Axis: models.AxisY}, {Body: top.Actuators[1].Body, Axis: models.AxisX}}
		}
		s2 := NewScratch(NewModel(&other))
		stage2 := turned(&other, st, c.angle, c.mirror)
		if c.angle == math.Pi/2 {
			stage2.Ix, stage2.Iy = st.Iy, st.Ix
		}
		s2.Prepare(stage2)
		d2 := NewDynamics(s2)
		d2.Prepare()
		pose2, modes2 := NewPose(s2.Model), d2.NewModes()
		s2.At(pose2, c.x, c.y)
		if !pose2.Verdict.OK() {
			t.Fatal(pose2.Verdict.Reason())
		}
		d2.InPlane(pose2, modes2)
		out2, _ := d2.OutOfPlane(pose2, nil)
		for k := range 2 {
			if diff := math.Abs(pose2.Force[k] - c.force[k]*pose.Force[k]); diff > 1e-7*math.Abs(pose.Force[k]) {
				t.Errorf("%s: force %d %.9g, was %.9g", c.name, k, pose2.Force[k], pose.Force[k])
			}
		}
		for k := range out {
			// eps times the largest eigenvalue, over the frequency itself
			if math.Abs(modes2.Omega[k]/modes.Omega[k]-1) > 2e-6 || math.Abs(out2[k]/out[k]-1) > 2e-6 {
				t.Errorf("%s: mode %d in plane %g was %g, out of plane %g was %g", c.name, k, modes2.Omega[k], modes.Omega[k], out2[k], out[k])
			}
		}
		var k2 [9]float64
		d2.Support(pose2, other.Stage, &k2)
		if math.Abs(k2[0]/support[0]-1) > 1e-7 || math.Abs((k2[4]+k2[8])/(support[4]+support[8])-1) > 1e-7 {
			t.Errorf("%s: support %g, was %g", c.name, k2, support)
		}
	}
}

// A rigid motion of everything costs no energy: K times it is zero, in the plane
// and out, at a displaced pose under load; a yaw only turns the forces. The
// blade's matrices are symmetric.
func TestRigidMotionCostsNothing(t *testing.T) {
	top, st := readReference(t)
	free := *top
	free.Bodies = append([]models.BodySpec(nil), top.Bodies...)
	for i := range free.Bodies {
		free.Bodies[i].Held = 0
	}
	free.Actuators = nil
	s := NewScratch(NewModel(&free))
	fixed := NewScratch(NewModel(top))
	for i := range st.X { // ground needs a mass only to be a body
		if math.IsNaN(st.Mass[i]) {
			st.Mass[i], st.Ix[i], st.Iy[i], st.Iz[i] = 1, 1, 1, 1
		}
	}
	fixed.Prepare(st)
	s.Prepare(st)
	from, pose := NewPose(fixed.Model), NewPose(s.Model)
	fixed.At(from, 0.004, -0.003)
	// the same state in the free assembly
	copy(s.q, from.Q)
	copy(s.p, from.P)
	if _, ok := s.assemble(pose, 0); !ok {
		t.Fatal("not assembled")
	}
	copy(pose.Q, s.q)
	copy(pose.P, s.p)
	copy(pose.K, s.k)
	copy(pose.link, s.link)
	d := NewDynamics(s)
	d.Prepare()
	if _, ok := d.Vertical(pose); !ok {
		t.Fatal("not assembled")
	}
	n := s.Model.Unknowns()
	in, out := make([]float64, n*n), make([]float64, n*n)
	s.Model.Pattern.Expand(pose.K, in)
	s.Model.Pattern.Expand(d.k, out)
	for motion := range 3 {
		u, v := make([]float64, n), make([]float64, n)
		for node, b := range s.Model.Body {
			x, y := st.X[b]+pose.Q[3*b], st.Y[b]+pose.Q[3*b+1]
			switch motion {
			case 0:
				u[3*node], v[3*node] = 1, 1 // x; z
			case 1:
				u[3*node+1] = 1               // y
				v[3*node], v[3*node+1] = y, 1 // roll
			case 2:
				u[3*node], u[3*node+1], u[3*node+2] = -y, x, 1 // yaw
				v[3*node], v[3*node+2] = -x, 1                 // pitch
			}
		}
		check := func(what string, k, u []float64, want func(i int) float64) {
			for i := range n {
				sum, size := 0.0, 0.0
				for j := range n {
					sum += k[i*n+j] * u[j]
					size += math.Abs(k[i*n+j] * u[j])
				}
				if math.Abs(sum-want(i)) > 1e-9*size {
					t.Errorf("%s, motion %d, row %d: %g, want %g, of %g", what, motion, i, sum, want(i), size)
				}
			}
		}
		nothing := func(int) float64 { return 0 }
		turned := nothing
		if motion == 2 {
			// Yaw turns the forces that the blades leave on each body.
			turned = func(i int) float64 {
				return [3]float64{-s.residual[i/3*3+1], s.residual[i/3*3], 0}[i%3]
			}
		}
		check("in plane", in, u, turned)
		check("out of plane", out, v, nothing)
	}
	var k, f [9]float64
	for range 20 {
		rng := rand.New(rand.NewPCG(23, 24))
		i := rng.IntN(len(d.blades))
		if !d.blades[i].Tangent(0.05, -0.1, 20, &k) || !d.blades[i].Flexibility(0.05, -0.1, 20, &f) {
			t.Fatal("not definite")
		}
		for r := range 3 {
			for c := range r {
				if k[3*r+c] != k[3*c+r] || f[3*r+c] != f[3*c+r] {
					t.Fatal("not symmetric")
				}
			}
		}
	}
}
