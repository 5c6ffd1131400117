package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

// A stage on a frame on ground, both guided along x with 12 E I/L³, k1 and k2. An
// actuator between ground and stage works against both in series, one between frame and
// stage against k2 alone and leaves the frame where it is, since what pushes the stage
// pushes the frame back. In modes the same: the compliance between its ends, the sum of
// (difference of the shapes)²/ω², is 1/k2, or 1/(k2 + ka) with a stiffness ka of its own.
func TestActuatorOnMovingBody(t *testing.T) {
	const ka = 321.0
	for _, from := range []int{0, 2} { // 1 + number of the frame
		a := &assembly{t: 0.2e-3}
		ground := a.addBody("ground", 0, 0)
		frame := a.addBody("frame", 0, testLength, models.AxisYaw)
		stage := a.addBody("stage", 0.03, 0, models.AxisYaw)
		a.addBlade(ground, frame, -0.01, 0, -0.01, testLength)
		a.addBlade(frame, stage, 0.02, testLength, 0.02, 0)
		a.top.Stage, a.top.Actuators = stage, []models.ActuatorSpec{{Body: stage, Axis: models.AxisX, From: from}}
		s, st := a.scratch()
		st.ActAlong[0] = ka
		pose := NewPose(s.Model)
		const x = 1e-5
		s.At(pose, x, 0)
		k := 12 * a.ei() / (testLength * testLength * testLength)
		force, still, motion := k/2, 0.5, 1.0 // per metre of the stage
		if from > 0 {
			force, still = k, 0
		}
		// 1e-5: the second order in x/L, and the blades' stretch
		if got := pose.Force[0] / x; math.Abs(got/force-1) > 1e-5 {
			t.Errorf("pushed from %d: %g N/m, closed form %g", from, got, force)
		}
		if got := pose.Q[3*frame] / x; math.Abs(got-still) > 1e-5 {
			t.Errorf("pushed from %d: the frame moves by %g of the stage's motion, closed form %g", from, got, still)
		}
		if u, _ := s.ActuatorMotion(pose, 0); math.Abs(u/x-motion) > 1e-5 {
			t.Errorf("pushed from %d: its ends move by %g of the stage's motion against each other", from, u/x)
		}
		s.At(pose, 0, 0)
		d := NewDynamics(s)
		d.Prepare()
		modes := d.NewModes()
		if v := d.InPlane(pose, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		sum := 0.0
		for i := range modes.Count {
			r := modes.Rows[i*NumRows+RowActuator]
			sum += r * r / (modes.Omega[i] * modes.Omega[i])
		}
		// 1e-6: the blades' consistent mass leaves statics alone; rounding of the eigenvalues
		if want := 1 / (force + ka); math.Abs(sum/want-1) > 1e-6 {
			t.Errorf("pushed from %d: compliance between its ends %g m/N, closed form %g", from, sum, want)
		}
	}
}
