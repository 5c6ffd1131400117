package mechanics

import (
	"math"
	"slices"
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

// The whole problem against a plain solution: full matrices, gonum's Cholesky
// and symmetric eigenvalues. Rounding leaves eps times the largest eigenvalue in the
// plain ones, and eps times their ratio to the least in ours, 1e-8 at most.
func TestModesAgainstGonum(t *testing.T) {
	top, st := readReference(t)
	st.Mount(top.Actuators[0].Body, 0.12, st.ActX[0], st.ActY[0], 0)
	st.ActAlong[0], st.ActAcross[0] = 300, -200
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	d.Point = [3]float64{0.01, -0.02, 0}
	pose, modes := NewPose(s.Model), d.NewModes()
	s.At(pose, 0.004, -0.003)
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	n := s.Model.Unknowns()
	e := newEigenMemory(s.Model, nil, NumRows)
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
	// A cantilever under its own weight sinks as under 3/8 of it at its end where it
	// bends and under half of it where it shears (beam theory); the clamps change the
	// two differently, by up to 1.1 %.
	blades := 2 * 2810 * testLength * testWidth * a.t
	share := (math.Pow(testLength, 3)/(8*eiz) + testLength/(2*5.0/6*g*testWidth*a.t)) * one
	if own := -q[0]*carried.Stiffness/gravity - st.Mass[1]; !ok || math.Abs(own/(share*blades)-1) > 0.011 {
		t.Errorf("sag %g: the blades count for %g kg, want %g", q[0], own, share*blades)
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
// every pose in full; with rigid bodies and with bending ones, and with the same bits for one pose after the other as for
// all side by side. The sag is that of a solution over all unknowns but for rounding.
func TestSupportsAgainstAllPoses(t *testing.T) {
	top, st := readReference(t)
	rigid := NewScratch(NewModel(top))
	rigid.Prepare(st)
	elastic, bending := altered(t, nil)
	for _, c := range []struct {
		s *Scratch
		d *Dynamics
	}{{rigid, NewDynamics(rigid)}, {elastic, bending}} {
		for _, travel := range []float64{0.001, 0.003, 0.004} {
			s, d := c.s, c.d
			if v := s.Statics(travel); !v.OK() {
				t.Fatal(v.Reason())
			}
			d.Prepare()
			got, pose, v := d.Supports()
			if !v.OK() {
				t.Fatal(v.Reason())
			}
			carried, alone := slices.Clone(d.Carried), d.alone
			d.alone = true
			if again, same, _ := d.Supports(); again != got || same != pose || !slices.Equal(d.Carried, carried) {
				t.Errorf("travel %g: %x at pose %d side by side, %x at %d one by one", travel, got, pose, again, same)
			}
			d.alone = alone
			// what the modes in the plane have left is taken over, but not that of other equilibria
			d.Frequencies()
			if again, _, _ := d.Supports(); again != got {
				t.Errorf("travel %g: %x after the modes in the plane, %x before", travel, again, got)
			}
			s.Statics(0.9 * travel)
			d.Frequencies()
			s.Statics(travel)
			if again, _, _ := d.Supports(); again != got {
				t.Errorf("travel %g: %x after the modes of other equilibria, %x before", travel, again, got)
			}
			least := math.Inf(1)
			for i := range s.Poses {
				out, _ := d.OutOfPlane(&s.Poses[i], nil)
				least = min(least, out[0])
				q, _ := d.SagOf(&s.Poses[i], s.Model.Topology.Stage)
				for axis, x := range d.Carried[i].Sag {
					if math.Abs(q[axis]-x) > 1e-11*math.Abs(q[0]) {
						t.Errorf("pose %d: sag %g and %g", i, q, d.Carried[i].Sag)
					}
				}
			}
			if math.Abs(got/least-1) > 1e-9 {
				t.Errorf("travel %g: lowest %g at pose %d, in full %g", travel, got, pose, least)
			}
		}
	}
}

// All poses side by side, and two at the same time, have the modes of one after the other, bit for bit, and a pose that
// fails is named.
func TestFrequenciesAreOfEachPose(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	if v := s.Statics(0.004); !v.OK() {
		t.Fatal(v.Reason())
	}
	d := NewDynamics(s)
	d.Prepare()
	for range 2 {
		if v := d.Frequencies(); !v.OK() {
			t.Fatal(v.Reason())
		}
		alone := d.NewModes()
		for i := range s.Poses {
			d.InPlane(&s.Poses[i], alone)
			if m := &d.Modes[i]; !slices.Equal(m.Omega, alone.Omega) || !slices.Equal(m.Rows, alone.Rows) || m.GuidedX != alone.GuidedX || m.GuidedY != alone.GuidedY {
				t.Errorf("pose %d differs", i)
			}
		}
		for _, i := range []int{0, 3, 4, 8} {
			k := slices.Clone(s.Poses[i].K)
			s.Poses[i].K[0] = math.NaN()
			if v := d.Frequencies(); v.Status != models.Failed || v.Index != i {
				t.Errorf("pose %d without a stiffness: %v at %d", i, v.Status, v.Index)
			}
			s.Poses[i].K = k
		}
		d.alone = true
	}
}

// The same where heights couple the plane and what is out of it.
func TestTallFrequenciesAreOfEachPose(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	if v := s.Statics(0.004); !v.OK() {
		t.Fatal(v.Reason())
	}
	d := NewDynamics(s)
	d.Point[2] = 0.03
	d.Prepare()
	alone := d.NewModes()
	for range 2 {
		if v := d.Frequencies(); !v.OK() || !d.Coupled() {
			t.Fatal(v.Reason())
		}
		for i := range s.Poses {
			d.Natural(&s.Poses[i], alone)
			if m := &d.Modes[i]; !slices.Equal(m.Omega, alone.Omega) || !slices.Equal(m.Rows, alone.Rows) || !slices.Equal(m.Out, alone.Out) {
				t.Errorf("pose %d differs", i)
			}
		}
		d.alone = true
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
	clear(d.Carried)
	if again, fresh := run(d), run(NewDynamics(s)); again != first || fresh != first {
		t.Errorf("first %v, after poison %v, fresh %v", first, again, fresh)
	}
}

func benchmarkStage(b testing.TB) *Dynamics {
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

// The mass of the guided mode is the drive stiffness over ω² (k x = m ω² x, W. T. Thomson, Theory of
// Vibration), also where the two guided modes are one double mode, of which each takes a part.
func TestGuidedMassOfADoubleMode(t *testing.T) {
	d := benchmarkStage(t)
	if v := d.Frequencies(); !v.OK() {
		t.Fatal(v.Reason())
	}
	pose, modes := &d.s.Poses[0], &d.Modes[0]
	for axis := range 2 {
		mass := modes.GuidedMass(axis)
		w := modes.Omega[[2]int{modes.GuidedX, modes.GuidedY}[axis]]
		if want := pose.Drive[3*axis] / (w * w); math.Abs(mass/want-1) > 0.002 { // higher modes give, too
			t.Errorf("axis %d: %g kg, stiffness over w² %g", axis, mass, want)
		}
		turned := *modes // any two motions of a double mode are its shapes
		turned.Rows = slices.Clone(modes.Rows)
		x, y := turned.Rows[modes.GuidedX*NumRows:][:NumRows], turned.Rows[modes.GuidedY*NumRows:][:NumRows]
		for k := range x {
			x[k], y[k] = (x[k]+y[k])*math.Sqrt2/2, (y[k]-x[k])*math.Sqrt2/2
		}
		if other := turned.GuidedMass(axis); math.Abs(other/mass-1) > 1e-12 {
			t.Errorf("axis %d: %g kg, turned %g", axis, mass, other)
		}
	}
}
