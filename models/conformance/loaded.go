package conformance

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// loaded pushes the stage of the undriven plate with a force and a moment about the origin,
// and, for each symmetry that is claimed, with their image: the stage goes to the image of
// where it went.
func (c *checker) loaded(d *models.Design, s *models.Stage) {
	claims, ok := c.layout.(models.Symmetric)
	if !ok || len(claims.Symmetries()) == 0 {
		return
	}
	t := *c.layout.Topology()
	t.Actuators, t.Driven, t.Idle = nil, nil, nil
	scratch := mechanics.NewScratch(mechanics.NewModel(&t))
	pose := mechanics.NewPose(scratch.Model)
	travel := c.travel(s)
	// where the stage's origin goes under a force and a moment at it
	push := func(fx, fy, moment float64) (x, y, yaw float64, ok bool) {
		own := *s
		cx, cy := s.X[t.Stage], s.Y[t.Stage]
		own.Loads = []models.Load{{Body: t.Stage, Axis: models.AxisX, Value: fx}, {Body: t.Stage, Axis: models.AxisY, Value: fy},
			{Body: t.Stage, Axis: models.AxisYaw, Value: moment + cy*fx - cx*fy}}
		scratch.Prepare(&own)
		if scratch.At(pose, 0, 0); !pose.Verdict.OK() {
			return 0, 0, 0, false
		}
		q := pose.Q[3*t.Stage:]
		sin, cos := math.Sincos(q[2])
		return q[0] + cx - (cos*cx - sin*cy), q[1] + cy - (sin*cx + cos*cy), q[2], true
	}
	const small = 1e-3 // N, to learn what force takes it to the travel
	x, y, _, ok := push(small*0.8, small*0.6, 0)
	if !ok || !(math.Hypot(x, y) > 0) {
		return // told of elsewhere
	}
	force := small * travel / math.Hypot(x, y) / 2
	fx, fy, moment := 0.8*force, 0.6*force, 0.05*force*travel
	x, y, yaw, ok := push(fx, fy, moment)
	if !ok {
		return
	}
	size := math.Hypot(x, y)
	for _, claim := range claims.Symmetries() {
		sign := 1.0
		if claim.Mirrors() {
			sign = -1
		}
		gx, gy := claim.Apply(fx, fy)
		ax, ay, turn, ok := push(gx, gy, sign*moment)
		bx, by := claim.Apply(x, y)
		if !ok || math.Hypot(ax-bx, ay-by) > alikeMotion*size || math.Abs(turn-sign*yaw) > alikeMotion*math.Abs(yaw)+alikeMotion*size/s.Frame {
			c.fault("loaded", "the image of a force by a %s moves the stage by (%.6g, %.6g) µm, the image of the motion by that force is (%.6g, %.6g) µm", claim, ax*1e6, ay*1e6, bx*1e6, by*1e6)
		}
	}
}

// alikeMotion is to what share two solutions of one problem agree.
const alikeMotion = 1e-6
