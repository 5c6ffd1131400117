package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"

	"gonum.org/v1/gonum/mat"
)

// dynamics returns a solved pose at rest and its dynamics.
func dynamics(s *Scratch) (*Dynamics, *Pose) {
	d := NewDynamics(s)
	d.Prepare()
	pose := NewPose(s.Model)
	s.At(pose, 0, 0)
	return d, pose
}

// atRest returns the pose of an unloaded assembly, which may float free: at
// rest it is in equilibrium, but Newton's method cannot say so there.
func atRest(t *testing.T, s *Scratch) (*Dynamics, *Pose) {
	d, pose := NewDynamics(s), NewPose(s.Model)
	d.Prepare()
	clear(s.q)
	clear(s.p)
	if _, ok := s.assemble(pose, 0); !ok {
		t.Fatal("not assembled")
	}
	copy(pose.K, s.k)
	copy(pose.link, s.link)
	return d, pose
}

// chain returns a beam of n equal segments from a clamped root along x, the
// nodes between them bodies without mass, with a tip body of mass mu times the
// blade's and no inertia, held as asked. Unit bending stiffness per length.
func chain(n int, mu float64, held ...models.Axis) (*Scratch, float64) {
	a := &assembly{t: 0.2e-3}
	a.addBody("ground", 0, 0)
	step := testLength / float64(n)
	for i := 1; i <= n; i++ {
		if i < n {
			a.addBody("node", step*float64(i), 0)
		} else {
			a.addBody("tip", testLength, 0, held...)
		}
		a.addBlade(i-1, i, step*float64(i-1), 0, step*float64(i), 0)
	}
	a.top.Stage = n
	s, st := a.scratch()
	blade := 2810 * testLength * testWidth * a.t
	for i := 1; i <= n; i++ {
		// A node without mass of its own: the blades' consistent mass is definite by itself.
		st.Mass[i], st.Ix[i], st.Iy[i], st.Iz[i] = 0, 0, 0, 0
	}
	st.Mass[n] = mu * blade
	s.Prepare(st)
	return s, math.Sqrt(a.ei()/(2810*testWidth*a.t)) / (testLength * testLength)
}

// Published natural frequencies of beams, assembled from ten blades in series
// with held ends. βL of the first three modes: clamped-clamped, cantilever,
// clamped-guided, clamped-pinned (R. D. Blevins, Formulas for Natural Frequency and
// Mode Shape, 1979; computed there and here from the characteristic equations).
// Ten cubic elements with consistent mass leave (βL/10)⁴/720 of ω² (third mode: 2e-3),
// the ends' own shear and rotary inertia are left out on both sides.
func TestBeamFrequencies(t *testing.T) {
	for _, c := range beams {
		for k, got := range beamModes(t, c.held) {
			b := c.betaL[k]
			if math.Abs(got/b-1) > 1e-3*math.Pow(b/11, 4)+2e-6 {
				t.Errorf("%s mode %d: βL %.6f, published %.6f", c.name, k+1, got, b)
			}
		}
	}
}

var beams = []struct {
	name  string
	held  []models.Axis
	betaL [3]float64
}{
	{"clamped-clamped", []models.Axis{models.AxisY, models.AxisYaw}, [3]float64{4.730041, 7.853205, 10.995608}},
	{"cantilever", nil, [3]float64{1.875104, 4.694091, 7.854757}},
	{"clamped-guided", []models.Axis{models.AxisYaw}, [3]float64{2.365020, 5.497804, 8.639380}},
	{"clamped-pinned", []models.Axis{models.AxisY}, [3]float64{3.926602, 7.068583, 10.210176}},
}

// beamModes returns βL of the first three modes of ten blades in series.
func beamModes(t *testing.T, held []models.Axis) (betaL [3]float64) {
	s, unit := chain(10, 0, held...)
	d, pose := dynamics(s)
	modes := d.NewModes()
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	for k := range betaL {
		betaL[k] = math.Sqrt(modes.Omega[k] / unit)
	}
	return betaL
}

// First frequency with a tip mass μ times the blade's: exact values of
// ω √(m L⁴/EI) of the fixed-guided and the cantilever blade (published check
// values, computed from the characteristic equation).
func TestTipMass(t *testing.T) {
	for _, c := range tipMasses {
		for k, held := range [][]models.Axis{{models.AxisYaw}, nil} {
			if want := c[1+k]; want != 0 {
				if got := tipMassMode(t, c[0], held); math.Abs(got/want-1) > 3e-5 { // (βL/8)⁴/1440
					t.Errorf("μ %g, held %v: %.6f, exact %.6f", c[0], held, got, want)
				}
			}
		}
	}
}

// μ, fixed-guided, cantilever
var tipMasses = [][3]float64{{0, 5.593321, 3.516015}, {0.1, 4.994873, 2.967838}, {0.5, 3.699989, 2.016299}, {1, 2.954553, 1.557298}, {5, 1.494558, 0.756937}, {50, 0.488088, 0}}

func tipMassMode(t *testing.T, mu float64, held []models.Axis) float64 {
	s, unit := chain(8, mu, held...)
	d, pose := dynamics(s)
	modes := d.NewModes()
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	return modes.Omega[0] / unit
}

// A published benchmark: the pinned beam with an axial force, f_i = (i²π/2L²)
// √(1 + P L²/(E I i²π²)) √(E I/(ρ A)) (R. D. Blevins, Formulas for Natural Frequency and
// Mode Shape, 1979, eq. 8-20, as quoted in the verification manual of a public
// finite-element program, test SDLL101). Sixteen blades in series, both ends held
// across and free to turn, one of them pushed or pulled along. Thin blades, so that
// stretching does not shorten them: t²/(12 L²) p = 1e-6.
func TestPinnedBeamUnderAxialForce(t *testing.T) {
	const n = 16
	for _, p := range []float64{-9, -5, 0, 5, 20} { // P L²/EI; Euler's load is -π²
		a := &assembly{t: 0.2e-3}
		step := testLength / float64(n)
		a.addBody("anchor", 0, 0, models.AxisX, models.AxisY)
		for i := 1; i < n; i++ {
			a.addBody("node", step*float64(i), 0)
		}
		a.addBody("end", testLength, 0, models.AxisY)
		for i := range n {
			a.addBlade(i, i+1, step*float64(i), 0, step*float64(i+1), 0)
		}
		a.top.Stage = n
		s, st := a.scratch(models.Load{Body: n, Axis: models.AxisX, Value: p * a.ei() / (testLength * testLength)})
		clear(st.Mass)
		clear(st.Iz)
		clear(st.Ix)
		clear(st.Iy)
		s.Prepare(st)
		d, pose := dynamics(s)
		if !pose.Verdict.OK() {
			t.Fatalf("p = %g: %s", p, pose.Verdict.Reason())
		}
		modes := d.NewModes()
		if v := d.InPlane(pose, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		unit := math.Sqrt(a.ei()/(2810*testWidth*a.t)) / (testLength * testLength)
		for i := 1.0; i <= 4; i++ {
			want := i * i * math.Pi * math.Pi * math.Sqrt(1+p/(i*i*math.Pi*math.Pi)) * unit
			got := modes.Omega[int(i)-1]
			// (iπ/16)⁴/1440 of the elements; near Euler's load 11 times that of the stiffness left
			if math.Abs(got/want-1) > 3e-4 {
				t.Errorf("p = %g mode %g: %.6g rad/s, published %.6g", p, i, got, want)
			}
		}
	}
}

// The guided blade loses its stability at P = -π² EI/L² (clamped, sway free;
// published.md, section 1): solved below, buckled above, and its margin is the ratio of the loads.
func TestGuidedBladeBuckles(t *testing.T) {
	a := guided(0.2e-3)
	unit := a.ei() / (testLength * testLength)
	for _, c := range []struct {
		p      float64
		status models.Status
	}{{5, models.Solved}, {9.83, models.OutOfRange}, {9.92, models.Buckled}} { // the series in p ends 0.14 % late
		s, _ := a.scratch(models.Load{Body: 1, Axis: models.AxisX, Value: -c.p * unit})
		pose := NewPose(s.Model)
		s.At(pose, 0, 0)
		if pose.Verdict.Status != c.status {
			t.Errorf("p = -%g: %s (%s), want %s", c.p, pose.Verdict.Status, pose.Verdict.Reason(), c.status)
		}
		if c.status == models.Solved && math.Abs(pose.P[0]+c.p) > 1e-9 {
			t.Errorf("p = %g, load -%g", pose.P[0], c.p)
		}
	}
}

// The whole problem against a plain solution: full matrices, gonum's Cholesky
// and symmetric eigenvalues. Rounding leaves eps times the largest eigenvalue in the
// plain ones, and eps times their ratio to the least in ours, 1e-8 at most.
func TestModesAgainstGonum(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	d.Actuators[0] = Actuator{Mass: 0.12, Along: 300, Across: -200}
	d.Point = [3]float64{0.01, -0.02, 0}
	pose, modes := NewPose(s.Model), d.NewModes()
	s.At(pose, 0.004, -0.003)
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	n := s.Model.Unknowns()
	e := newEigenMemory(s.Model, NumRows)
	d.inPlaneMatrices(pose, e.k, e.mass)
	full := make([]float64, n*n)
	sym := func(a []float64) *mat.SymDense {
		s.Model.Pattern.Expand(a, full)
		return mat.NewSymDense(n, append([]float64(nil), full...))
	}
	k, m := sym(e.k), sym(e.mass)
	var chol mat.Cholesky
	if !chol.Factorize(m) {
		t.Fatal("mass not definite")
	}
	var l mat.TriDense
	chol.LTo(&l)
	var inv, c mat.Dense
	if err := inv.Inverse(&l); err != nil {
		t.Fatal(err)
	}
	c.Product(&inv, k, inv.T())
	cs := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			cs.SetSym(i, j, c.At(i, j))
		}
	}
	var eig mat.EigenSym
	if !eig.Factorize(cs, true) {
		t.Fatal("no eigenvalues")
	}
	values := eig.Values(nil)
	var z, x mat.Dense
	eig.VectorsTo(&z)
	x.Mul(inv.T(), &z) // mass-normalised shapes
	d.inPlaneRows(pose, e.rows)
	for i := range n {
		if diff := math.Abs(modes.Omega[i]*modes.Omega[i] - values[i]); diff > 1e-13*values[n-1]+1e-8*values[i] {
			t.Errorf("mode %d: ω² %g, plain %g", i, modes.Omega[i]*modes.Omega[i], values[i])
		}
		for r := range NumRows {
			want := 0.0
			for j := range n {
				want += e.rows[j*NumRows+r] * x.At(j, i)
			}
			got := modes.Rows[i*NumRows+r]
			// the sign of a mode is free; neighbours 1e-3 apart mix by rounding over the gap
			if diff := math.Abs(math.Abs(got) - math.Abs(want)); diff > 1e-6*(1+math.Abs(want)) {
				t.Errorf("mode %d row %d: %g, plain %g", i, r, got, want)
			}
		}
	}
	// Static compliance of actuator 0 from all modes equals that of the tangent.
	sum := 0.0
	for i := range n {
		r := modes.Rows[i*NumRows+RowActuator]
		sum += r * r / (modes.Omega[i] * modes.Omega[i])
	}
	f := make([]float64, n)
	for j := range n {
		f[j] = e.rows[j*NumRows+RowActuator]
	}
	var u mat.VecDense
	if err := u.SolveVec(k, mat.NewVecDense(n, f)); err != nil {
		t.Fatal(err)
	}
	if want := mat.Dot(&u, mat.NewVecDense(n, f)); math.Abs(sum/want-1) > 1e-6 {
		t.Errorf("compliance at the actuator %g by modes, %g by the tangent", sum, want)
	}
}

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

// The closed forms of two parallel blades out of the plane (leaf-spring guide,
// the load at mid-length so that roll of the body is held): k_z = 24 EI_z/L³ for slender blades,
// and 6 EI_z/L³ with the load at the moving end and roll free; shear and the
// clamps change it by the blade's own factors, which are divided out. Sag of a mass on it.
func TestParallelGuideOutOfPlane(t *testing.T) {
	a := &assembly{t: 0.3e-3}
	a.addBody("ground", 0, 0)
	a.addBody("stage", testLength, 0)
	a.addBlade(0, 1, 0, -0.02, testLength, -0.02)
	a.addBlade(0, 1, 0, 0.02, testLength, 0.02)
	a.top.Stage = 1
	s, st := a.scratch()
	d, pose := dynamics(s)
	var k [9]float64
	if !d.Support(pose, 1, &k) {
		t.Fatal("no support")
	}
	eiz := testYoung * a.t * math.Pow(testWidth, 3) / 12
	g := testYoung / (2 * 1.33)
	slender := 12 * eiz / math.Pow(testLength, 3)
	shear := 1 + 12*eiz/(5.0/6*g*testWidth*a.t*testLength*testLength)
	// clamps stiffen by up to 1.1 % at b/L = 0.2 (plane-stress plate)
	if ratio := k[0] / (2 * slender / shear); ratio < 1 || ratio > 1.011 {
		t.Errorf("z stiffness with tilt held: %g of 24 EI/L³ with shear", ratio)
	}
	// load at the origin (the moving end), tilt free: two cantilevers, 6 EI/L³
	one := 1 / (math.Pow(testLength, 3)/(3*eiz) + testLength/(5.0/6*g*testWidth*a.t))
	carried := Carried{}
	d.Vertical(pose)
	if !d.factorVertical() {
		t.Fatal("unstable")
	}
	clear(d.column)
	d.column[0] = 1
	s.Model.Pattern.Solve(d.factor, d.column)
	carried.Stiffness = 1 / d.column[0]
	if ratio := carried.Stiffness / (2 * one); ratio < 1 || ratio > 1.011 {
		t.Errorf("z stiffness with tilt free: %g of 6 EI/L³ with shear", ratio)
	}
	q, ok := d.SagOf(pose, 1)
	blades := 2810 * testLength * testWidth * a.t // half of each of two
	if want := -gravity * (st.Mass[1] + blades) / carried.Stiffness; !ok || math.Abs(q[0]/want-1) > 1e-9 {
		t.Errorf("sag %g, want %g", q[0], want)
	}
}

// Standing with x up the weight of everything that moves is carried by the
// actuator along x; flat by none. Half of the blades on ground is ground's.
func TestStandingStage(t *testing.T) {
	top, st := readReference(t)
	m := NewModel(top)
	s := NewScratch(m)
	pose := NewPose(m)
	for up, want := range [][2]float64{{0, 0}, {1, 0}, {0, 1}} {
		st.Loads = AddWeight(m, st, Upright(up), nil)
		s.Prepare(st)
		total := 0.0
		for _, l := range st.Loads {
			if l.Axis != models.AxisYaw {
				total -= l.Value
			}
		}
		s.At(pose, 0, 0)
		if !pose.Verdict.OK() {
			t.Fatal(pose.Verdict.Reason())
		}
		mass := 0.0
		for i, b := range top.Bodies {
			if b.Held != models.HeldAll {
				mass += st.Mass[i]
			}
		}
		blade := 2810 * 0.048 * 0.5e-3 * 0.025
		mass += 32*blade - 8*blade/2 // eight blades stand on ground with half their mass
		if up > 0 && math.Abs(total/(mass*gravity)-1) > 1e-9 {
			t.Errorf("weight %g N, mass %g kg", total, mass)
		}
		// The guides carry their intermediate bodies: the share of arms and stage
		// is what the actuator holds. It lies between theirs alone and everything.
		for k := range 2 {
			f := pose.Force[k]
			if want[k] == 0 && math.Abs(f) > 1e-3*mass*gravity {
				t.Errorf("up %d: force %g N across", up, f)
			}
			if want[k] == 1 && (f < 0.8*(st.Mass[1+k]+st.Mass[3+k]+st.Mass[5])*gravity || f > mass*gravity) {
				t.Errorf("up %d: force %g N of %g N weight", up, f, mass*gravity)
			}
		}
	}
}

// Supports finds the lowest frequency by counting pivots: the same as solving
// every pose in full.
func TestSupportsAgainstAllPoses(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	for _, travel := range []float64{0.001, 0.004, 0.005} {
		s.Prepare(st)
		if v := s.Statics(travel); !v.OK() {
			t.Fatal(v.Reason())
		}
		d := NewDynamics(s)
		d.Prepare()
		got, pose, v := d.Supports()
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		least := math.Inf(1)
		for i := range s.Poses {
			out, _ := d.OutOfPlane(&s.Poses[i], nil)
			least = min(least, out[0])
			q, _ := d.SagOf(&s.Poses[i], top.Stage)
			if q != d.Carried[i].Sag {
				t.Errorf("pose %d: sag %g and %g", i, q, d.Carried[i].Sag)
			}
		}
		if math.Abs(got/least-1) > 1e-9 {
			t.Errorf("travel %g: lowest %g at pose %d, in full %g", travel, got, pose, least)
		}
	}
}

func TestDynamicsDoNotAllocate(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	d := NewDynamics(s)
	if n := testing.AllocsPerRun(5, func() {
		s.Prepare(st)
		s.Statics(0.005)
		d.Prepare()
		d.Frequencies()
		d.Supports()
		sink += d.WorstFirst() + d.Spread() + d.BladeMode() + d.AbbeError()
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

var sink float64

// What is computed from poisoned memory equals what fresh memory gives.
func TestDynamicsForget(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	d := NewDynamics(s)
	run := func(d *Dynamics) (sum [4]float64) {
		s.Prepare(st)
		s.Statics(0.003)
		d.Prepare()
		d.Frequencies()
		w, _, _ := d.Supports()
		u, _, _ := d.Unwanted()
		return [4]float64{w, u, d.StageSag(), d.Modes[7].Rows[5]}
	}
	first := run(d)
	for _, a := range [][]float64{d.half, d.rotary, d.k, d.mass, d.weight, d.factor, d.column, d.memory.k, d.memory.mass, d.memory.full, d.memory.rows, d.memory.values, d.Modes[3].Omega, d.Modes[3].Rows} {
		for i := range a {
			a[i] = math.NaN()
		}
	}
	d.Carried = [NumPoses]Carried{}
	if again, fresh := run(d), run(NewDynamics(s)); again != first || fresh != first {
		t.Errorf("first %v, after poison %v, fresh %v", first, again, fresh)
	}
}

func benchmarkStage(b *testing.B) *Dynamics {
	top, st := readReference(b)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	s.Statics(0.005)
	d := NewDynamics(s)
	d.Prepare()
	return d
}

// Nine poses each: the stages of one candidate's dynamics.
func BenchmarkFrequencies(b *testing.B) {
	d := benchmarkStage(b)
	for b.Loop() {
		d.Frequencies()
	}
}

func BenchmarkSupports(b *testing.B) {
	d := benchmarkStage(b)
	for b.Loop() {
		d.Supports()
	}
}
