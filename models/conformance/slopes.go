package conformance

import (
	"math"

	"flexwright/models"
)

// A step of a parameter, of itself, and the largest change that it may make to a stage, of
// the plate's size or of a body's mass: a slope of 1,000 is as good as a jump.
const (
	smallStep   = 1e-7
	largeChange = 1e3 * smallStep
)

// slopes changes each parameter a little: everything that is placed moves a little, so that
// every number of the stage has a gradient. Steps across an inequality of the layout are
// left out.
func (c *checker) slopes(d *models.Design, s *models.Stage) {
	other := models.NewStage(c.layout.Topology())
	for i, p := range c.layout.Parameters() {
		v := d.Parameters[i]
		moved := *d
		moved.Parameters = append([]float64{}, d.Parameters...)
		moved.Parameters[i] = v * (1 + smallStep)
		if verdict := c.layout.Build(&moved, other); v == 0 || !verdict.OK() {
			continue
		}
		change := 0.0
		for _, f := range [][2][]float64{{s.X, other.X}, {s.Y, other.Y}, {s.RootX, other.RootX}, {s.RootY, other.RootY}, {s.TipX, other.TipX}, {s.TipY, other.TipY}} {
			for k, x := range f[0] {
				change = max(change, math.Abs(f[1][k]-x)/s.Frame)
			}
		}
		for k, m := range s.Mass {
			change = max(change, math.Abs(other.Mass[k]-m)/m)
		}
		if !(change <= largeChange) {
			c.fault("slopes", "when %s grows by %g of itself, a body or a blade changes by %.3g of the plate: the layout jumps there", p.Name, smallStep, change)
		}
	}
}
