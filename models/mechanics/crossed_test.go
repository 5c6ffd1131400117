package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
	"flexwright/models/blade"
)

// A pivot of two blades that cross at half their length, turned by a moment alone:
// each blade bends to an arc. Its stiffness is 2 E I/L, and its centre shifts along
// the bisector of the blades, turned by half the angle, by
//
//	d = L θ²/(12 cos α)
//
// with α between blade and bisector (J. A. Haringx, The cross-spring pivot as a
// constructional element, Appl. Sci. Res. A1 (1949); derived again here: bent to an
// arc a blade is shorter by L θ²/6 along its root's tangent, a turn about the crossing
// takes its tip L θ²/4 along it, and the difference, L θ²/12, is made up by the shift).
// The shift bends both blades across by d sin α, which adds θ² tan² α/6 to the moment.
func TestCrossedBlades(t *testing.T) {
	for _, degrees := range []float64{30, 45, 60} {
		sin, cos := math.Sincos(degrees * math.Pi / 180)
		build := func(moment, factor float64) (yaw, x, y float64, st *models.Stage) {
			a := &assembly{t: 0.3e-3}
			ground, pivot := a.addBody("ground", 0, 0), a.addBody("pivot", 0, 0)
			dx, dy := testLength/2*cos, testLength/2*sin
			a.addBlade(ground, pivot, -dx, -dy, dx, dy)
			a.addBlade(ground, pivot, -dx, dy, dx, -dy)
			s, st := a.scratch(models.Load{Body: pivot, Axis: models.AxisYaw, Value: moment})
			for e := range st.BendingFactor {
				st.BendingFactor[e] = factor
			}
			s.Prepare(st)
			pose := NewPose(s.Model)
			s.At(pose, 0, 0)
			if !pose.Verdict.OK() {
				t.Fatal(pose.Verdict.Reason())
			}
			return pose.Q[3*pivot+2], pose.Q[3*pivot], pose.Q[3*pivot+1], st
		}
		ei := testYoung * testWidth * math.Pow(0.3e-3, 3) / 12
		for _, theta := range []float64{0.02, 0.06, 0.1} {
			tan := sin / cos
			moment := 2 * ei / testLength * theta * (1 + theta*theta*tan*tan/6)
			yaw, x, y, _ := build(moment, 1)
			// 3e-4: terms of fourth order in the angle, and the blades' own stretch
			if math.Abs(yaw/theta-1) > 3e-4 {
				t.Errorf("%g°: turns by %.6g rad, M L/2EI = %.6g", degrees, yaw, theta)
			}
			if want := testLength * yaw * yaw / (12 * cos); math.Abs(math.Hypot(x, y)/want-1) > 0.01 || math.Abs(y/x-theta/2) > 1e-3 {
				t.Errorf("%g°, %g rad: centre shifts by (%.5g, %.5g) µm, closed form %.5g µm", degrees, theta, x*1e6, y*1e6, want*1e6)
			}
		}
		// With the plate's factors an arc is softer than the S shape of a guide.
		moment := 2 * ei / testLength * 0.02
		yaw, _, _, st := build(moment, 0)
		want := 0.02 / blade.ArcFactor(testLength, st.Thickness[0], st.Width[0], st.Poisson[0])
		if math.Abs(yaw/want-1) > 1e-3 {
			t.Errorf("%g°: turns by %.6g rad, M L/(2 f EI) with the arc's factor %.6g", degrees, yaw, want)
		}
	}
}
