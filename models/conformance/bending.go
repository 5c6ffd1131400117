package conformance

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// bending builds the design with bodies that bend: they have the mass of the rigid ones,
// and the stage is in equilibrium and has modes.
func (c *checker) bending(d *models.Design, rigid *models.Stage) {
	l, bends := models.Bending(c.layout)
	if !bends {
		return
	}
	t := l.Topology()
	s := models.NewStage(t)
	if v := l.Build(d, s); !v.OK() {
		c.fault("bending", "a design that is built with rigid bodies is not with bodies that bend: %s", v.Reason())
		return
	}
	for i, b := range t.Bodies {
		if b.Part != 0 {
			continue
		}
		if got, want := s.BodyMass(t, i), rigid.Mass[i]; math.Abs(got-want) > 1e-9*want {
			c.fault("bending mass", "%s has %.6g kg, with members that bend %.6g kg", b.Name, want, got)
		}
	}
	c.solve(l, s)
}

// travel is one that every blade can take.
func (c *checker) travel(s *models.Stage) float64 {
	shortest := math.Inf(1)
	for e := range s.RootX {
		shortest = min(shortest, math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e]))
	}
	return min(s.Travel, 0.02*shortest)
}

// solve finds the positions of a travel that every blade can take, and the modes at them.
func (c *checker) solve(l models.Layout, s *models.Stage) {
	travel := c.travel(s)
	scratch := mechanics.NewScratch(mechanics.NewModel(l.Topology()))
	scratch.Prepare(s)
	v := scratch.Statics(travel)
	for k := 0; k < halvings && v.Status == models.OutOfRange; k++ { // beyond what a blade can take: a smaller one
		travel /= 2
		v = scratch.Statics(travel)
	}
	if !v.OK() {
		c.fault("equilibrium", "at a travel of %.4g mm: %s", travel*1e3, v.Reason())
		return
	}
	for i := range scratch.Poses {
		for k, f := range scratch.Poses[i].Force {
			if f-f != 0 {
				c.fault("force", "the force of actuator %d is no number", k+1)
			}
		}
	}
	c.alone(scratch, s, travel)
	c.reading(scratch, travel)
	dynamics := mechanics.NewDynamics(scratch)
	dynamics.Prepare()
	if v := dynamics.Frequencies(); !v.OK() {
		c.fault("modes", "%s", v.Reason())
		return
	}
	if w := dynamics.WorstFirst(); !(w > 0) || math.IsInf(w, 0) {
		c.fault("modes", "the lowest frequency in the plane is %.4g rad/s", w)
	}
	if _, _, v := dynamics.Supports(); !v.OK() {
		c.fault("supports", "%s", v.Reason())
	}
}

// alone sees that poses found together, from the centre's tangent, are what each is found to be by itself, from rest.
func (c *checker) alone(scratch *mechanics.Scratch, s *models.Stage, travel float64) {
	const tolerance = 1e-7 // of the largest: the iteration leaves 1e-9
	other := mechanics.NewScratch(scratch.Model)
	other.Prepare(s)
	pose := mechanics.NewPose(scratch.Model)
	for i := range scratch.Poses {
		p := &scratch.Poses[i]
		other.At(pose, p.X, p.Y)
		for _, list := range [3][2][]float64{{p.Q, pose.Q}, {p.Force, pose.Force}, {p.Drive[:], pose.Drive[:]}} {
			largest, apart := 0.0, 0.0
			for k, v := range list[1] {
				largest, apart = max(largest, math.Abs(v)), max(apart, math.Abs(list[0][k]-v))
			}
			if !(apart <= tolerance*largest) {
				c.fault("equilibrium", "pose %d is %.3g of the largest number away from what it is by itself", i, apart/largest)
				return
			}
		}
	}
}

// leastRead is the least share of the travel that an encoder has to see.
const leastRead = 0.1

// reading sees that the encoder of each axis follows it.
func (c *checker) reading(scratch *mechanics.Scratch, travel float64) {
	for k, a := range scratch.Model.Topology.Actuators {
		x, y := scratch.Encoder(&scratch.Poses[[2]int{mechanics.PoseX, mechanics.PoseY}[a.Axis]], k)
		if share := [2]float64{x, y}[a.Axis] / travel; !(math.Abs(share) >= leastRead) {
			c.fault("encoder", "the encoder of %s sees %.2g of the travel", a.Axis, share)
		}
	}
}
