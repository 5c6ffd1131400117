package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

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
