package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

// With everything in the mid-plane the six-degree-of-freedom problem is the two
// problems side by side: the same frequencies, no energy in the other part, the
// same shapes. A point of interest above the plane asks for it.
func TestSixDofWithoutHeights(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	pose, plane, six := NewPose(s.Model), d.NewModes(), d.NewModes()
	s.At(pose, 0.004, -0.002)
	if v := d.Natural(pose, plane); !v.OK() || plane.Count != s.Model.Unknowns() {
		t.Fatal(v.Reason(), plane.Count)
	}
	out, _ := d.OutOfPlane(pose, nil)
	d.Point[2] = 1e-12
	d.Prepare()
	if v := d.Natural(pose, six); !v.OK() || six.Count != 2*s.Model.Unknowns() {
		t.Fatal(v.Reason(), six.Count)
	}
	in, o := 0, 0
	for k := range six.Count {
		w := six.Omega[k]
		switch {
		case six.Out[k] < 1e-6:
			if math.Abs(w/plane.Omega[in]-1) > 1e-5 {
				t.Errorf("mode %d: %g, in the plane %g", k, w, plane.Omega[in])
			}
			for r := range NumRows {
				a, b := six.Rows[k*NumRows+r], plane.Rows[in*NumRows+r]
				if math.Abs(math.Abs(a)-math.Abs(b)) > 1e-4*(1+math.Abs(b)) {
					t.Errorf("mode %d row %d: %g, in the plane %g", k, r, a, b)
				}
			}
			in++
		case six.Out[k] > 1-1e-6:
			if math.Abs(w/out[o]-1) > 1e-5 {
				t.Errorf("mode %d: %g, out of the plane %g", k, w, out[o])
			}
			o++
		default:
			t.Errorf("mode %d: %g of its energy is out of the plane", k, six.Out[k])
		}
	}
	if six.GuidedX != plane.GuidedX || six.GuidedY != plane.GuidedY {
		t.Errorf("guided modes %d, %d; in the plane %d, %d", six.GuidedX, six.GuidedY, plane.GuidedX, plane.GuidedY)
	}
}

// The shapes with all bodies give the rows of the same modes, their own frequencies,
// and in the guided mode the stage and its arm move together along x.
func TestShapes(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	pose, modes := NewPose(s.Model), d.NewModes()
	s.At(pose, 0.003, 0)
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	out, _ := d.OutOfPlane(pose, nil)
	shapes, v := d.Shapes(pose)
	if !v.OK() || len(shapes) != modes.Count+len(out) {
		t.Fatal(v.Reason(), len(shapes))
	}
	in := 0
	for _, shape := range shapes {
		if shape.Out > 0.5 {
			continue
		}
		if math.Abs(shape.Omega/modes.Omega[in]-1) > 1e-5 {
			t.Errorf("mode %d at %g, want %g", in, shape.Omega, modes.Omega[in])
		}
		row, stage := modes.Rows[in*NumRows:], shape.Bodies[top.Stage]
		if math.Abs(math.Abs(stage[0])-math.Abs(row[RowStageX])) > 1e-4 || math.Abs(math.Abs(stage[1])-math.Abs(row[RowStageY])) > 1e-4 {
			t.Errorf("mode %d: stage %g, rows %g %g", in, stage, row[RowStageX], row[RowStageY])
		}
		if in == modes.GuidedX {
			arm := shape.Bodies[top.Actuators[0].Body]
			if math.Abs(arm[0]/stage[0]-1) > 0.01 || math.Abs(stage[0]) < 0.5 || shape.Bodies[0] != [6]float64{} {
				t.Errorf("guided along x: stage %g, arm %g", stage, arm)
			}
		}
		in++
	}
}

// A body at a height h on a guide along y, its other motions out of the plane far stiffer than roll:
// sway and roll about the mid-plane are two coupled oscillators with the mass
// matrix [m, -m h; -m h, I + m h²] and stiffness diag(ky, kr), whose frequencies
// are the roots of a quadratic (any text on vibrations). Light blades, so that only the body's
// mass counts; x, yaw, z and pitch hardly move.
func TestMassAtHeight(t *testing.T) {
	a := &assembly{t: 0.3e-3}
	a.addBody("ground", 0, 0)
	a.addBody("stage", testLength/2, 0, models.AxisX, models.AxisYaw)
	// two blades in line, one to each side, meet at the body
	a.addBlade(0, 1, 0, 0, testLength/2, 0)
	a.addBlade(0, 1, testLength, 0, testLength/2, 0)
	a.top.Stage = 1
	s, st := a.scratch()
	for i := range st.Density {
		st.Density[i] = 1e-3
	}
	const h = 0.02
	st.Mass[1], st.Ix[1], st.Iy[1], st.Z[1] = 0.1, 3e-5, 3e-5, h
	s.Prepare(st)
	d, pose := dynamics(s)
	if !d.Coupled() {
		t.Fatal("not coupled")
	}
	modes := d.NewModes()
	if v := d.Natural(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	if _, ok := d.Vertical(pose); !ok {
		t.Fatal("no tangent")
	}
	ky, kr, m, i := pose.K[4], d.k[4], 0.1, 3e-5
	// (ky - m w)(kr - (i + m h²) w) - (m h w)² = 0
	qa, qb, qc := m*i, -(ky*(i+m*h*h) + kr*m), ky*kr
	root := math.Sqrt(qb*qb - 4*qa*qc)
	for _, w2 := range []float64{(-qb - root) / (2 * qa), (-qb + root) / (2 * qa)} {
		found := false
		for k := range modes.Count {
			found = found || math.Abs(modes.Omega[k]*modes.Omega[k]/w2-1) < 1e-6
		}
		if !found {
			t.Errorf("no mode at %g rad/s among %g", math.Sqrt(w2), modes.Omega[:modes.Count])
		}
	}
	if w := math.Sqrt(ky / m); modes.Omega[0] > 0.999*w {
		t.Errorf("the height does not lower the sway mode: %g of %g", modes.Omega[0], w)
	}
}

// An actuator above the mid-plane tilts the stage it pushes: moment over the
// roll stiffness of the body that it acts on.
func TestForceAtHeight(t *testing.T) {
	a := guided(0.3e-3, models.ActuatorSpec{Body: 1, Axis: models.AxisY})
	s, st := a.scratch()
	st.ActZ[0] = 0.01
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	pose := NewPose(s.Model)
	s.At(pose, 0, 0.001)
	var k [9]float64
	q, ok := d.SagOf(pose, 1)
	if !ok || !d.Support(pose, 1, &k) {
		t.Fatal("no support")
	}
	// k q = weight: the moment about x is -h F beside the end moment of the blade's
	// own weight, W L/12 across the chord, of which the chord's tilt w/L turns a part to x
	moment := k[3]*q[0] + k[4]*q[1] + k[5]*q[2]
	half := 0.5 * 2810 * testLength * testWidth * a.t
	want := -0.01*pose.Force[0] + gravity*half*0.001/6
	if math.Abs(moment/want-1) > 1e-9 {
		t.Errorf("moment %g, want %g", moment, want)
	}
}

// A joint without mass between two blades without mass leaves the motions that
// have one: the frequency of the guided tip mass is √(12 EI/(m L³)).
func TestMasslessJoint(t *testing.T) {
	s, _ := chain(2, 1, models.AxisYaw)
	st := s.Stage
	for i := range st.Density {
		st.Density[i] = 0
	}
	st.Mass[2] = 0.1
	s.Prepare(st)
	d, pose := dynamics(s)
	modes := d.NewModes()
	if v := d.InPlane(pose, modes); !v.OK() {
		t.Fatal(v.Reason())
	}
	if modes.Count != 2 { // along and across
		t.Errorf("%d modes, want 2", modes.Count)
	}
	ei := s.Section[0].EI
	want := math.Sqrt(12 * ei / (0.1 * math.Pow(testLength, 3)))
	if math.Abs(modes.Omega[0]/want-1) > 1e-9 {
		t.Errorf("%g rad/s, want %g", modes.Omega[0], want)
	}
	if r := modes.Rows[RowStageY]; math.Abs(r*r*0.1-1) > 1e-9 {
		t.Errorf("m φ² = %g, want 1", r*r*0.1)
	}
}
