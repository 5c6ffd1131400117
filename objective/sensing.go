package objective

import (
	"math"

	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// sensorError is the largest difference between what the sensors of an axis read and the motion of the point of
// interest along it, over the poses, from the centre's, m.
func (b *Bench) sensorError() float64 {
	encoder := b.spec.loop().Settings.Sensor == servo.SensorArm
	worst := 0.0
	var centre [2]float64
	for i := range b.scratch.Poses {
		pose := &b.scratch.Poses[i]
		for axis := range b.axes() {
			e := b.readingError(pose, i, axis, encoder || b.saidAlone(axis))
			if i == 0 {
				centre[axis] = e
			}
			worst = max(worst, math.Abs(e-centre[axis]))
		}
	}
	return worst
}

// readingError is that of an axis at a pose; alone: of the encoder by itself.
func (b *Bench) readingError(pose *mechanics.Pose, i, axis int, alone bool) float64 {
	q := pose.Q[3*b.topology.Stage:]
	sin, cos := math.Sincos(q[2])
	versine := sin * sin / (1 + cos)
	p := &b.dynamics.Point
	motion := [2]float64{q[0] - versine*p[0] - sin*p[1], q[1] + sin*p[0] - versine*p[1]}[axis]
	reading := b.poses[i].Read[axis][axis]
	if alone {
		return reading - motion
	}
	x, y, ok := b.scratch.Gap(pose, axis)
	if !ok {
		return 0
	}
	return reading + [2]float64{x, y}[axis] - motion
}

// saidAlone reports whether the topology says that the encoder of an axis is read alone. Without sensors it says
// nothing, whatever [models.Topology.ReadAlone] comes to.
func (b *Bench) saidAlone(axis int) bool {
	return b.topology.Sensors != nil && b.topology.Sensors[axis].Alone
}
