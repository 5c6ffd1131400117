package objective

import (
	"math"
	"slices"

	"flexwright/models/elementary"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// LoopCurves are the frequency responses of the axis that ends the crossover, at
// all poses over each other.
type LoopCurves struct {
	Axis      string  // x or y
	Alone     bool    // no other axis is driven
	Crossover float64 // Hz
	Limit     float64 // largest |S| allowed
	End       string  // what ends the crossover
	Poses     []servo.Curve
	Limiting  int // of the poses, the one that ends the crossover
}

// LoopCurves returns the responses from low to high (Hz), with extra points at
// the resonances. It reports false where there is no loop: none was asked for, or
// none holds.
func (d *Detail) LoopCurves(low, high float64, points int) (*LoopCurves, bool) {
	b := d.bench
	l := b.loop
	if l == nil || !b.reached(StepLoop) || l.result.Hz == 0 {
		return nil, false
	}
	c := &LoopCurves{Alone: b.axes() == 1, Axis: [2]string{"x", "y"}[l.result.Axis], Crossover: l.result.Hz, Limit: l.spec.Settings.SensitivityLimit, End: b.loopEnd(), Limiting: l.result.Pose}
	for pose := range l.plants[0].Poses {
		var at []float64
		for i := range points {
			at = append(at, low*elementary.Pow(high/low, float64(i)/float64(points-1)))
		}
		p := l.plants[0]
		for _, w := range p.Omega[pose*p.Modes : (pose+1)*p.Modes] {
			for _, k := range []float64{-6, -2, -0.5, 0, 0.5, 2, 6} {
				if f := w / (2 * math.Pi) * (1 + k*l.spec.Settings.Damping); f > low && f < high {
					at = append(at, f)
				}
			}
		}
		slices.Sort(at)
		curve, ok := l.loop.Curve(l.result.Hz, pose, l.result.Axis, at)
		if !ok {
			return nil, false
		}
		c.Poses = append(c.Poses, curve)
	}
	return c, true
}

// Shapes returns the natural modes at the centre, in the plane and out of it,
// ascending, with the motion of every body; false where they cannot be computed.
func (d *Detail) Shapes() ([]mechanics.Shape, bool) {
	if len(d.Poses) == 0 || !d.Poses[0].Pose.Verdict.OK() {
		return nil, false
	}
	list, v := d.bench.dynamics.Shapes(d.Poses[0].Pose)
	return list, v.OK()
}
