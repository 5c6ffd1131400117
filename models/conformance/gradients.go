package conformance

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

const (
	differenced = 2    // the number of the design that is differenced, the first that is random
	firstStep   = 1e-3 // of a parameter's value
	halvings    = 4
	// Two steps agree within this share of the slope, and that of the number over the
	// parameter: the error of a central difference goes with the square of a step of
	// a thousandth.
	agreeing = 1e-2
	rounding = 1e-4
)

// numbers that a gradient is taken of.
var numbers = [...]string{"the mass", "the footprint", "the drive force of the first actuator", "that of the last one",
	"the lowest frequency in the plane", "that out of it", "the support stiffness"}

// gradients takes the slope of a few numbers by each parameter: from a step and from half of
// it, halved again where an inequality of the layout, or another rule, begins between. Both are
// finite and alike.
func (c *checker) gradients(d *models.Design, s *models.Stage) {
	m := &measured{layout: c.layout, stage: models.NewStage(c.layout.Topology()), travel: c.travel(s)}
	m.scratch = mechanics.NewScratch(mechanics.NewModel(c.layout.Topology()))
	m.dynamics = mechanics.NewDynamics(m.scratch)
	at, ok := m.of(d)
	if !ok {
		return // told of elsewhere
	}
	for i, p := range c.layout.Parameters() {
		v := d.Parameters[i]
		if v == 0 || p.Name == "travel" {
			continue
		}
		var before [len(numbers)]float64
		var settled [len(numbers)]bool
		had, whole := false, true
		for k := range halvings {
			h := firstStep * math.Abs(v) / float64(int(1)<<k)
			now, ok := m.slope(d, i, h)
			if !ok { // an inequality forbids it
				had, whole = false, false
				continue
			}
			done := true
			for j := range now {
				if had {
					scale := max(math.Abs(now[j]), math.Abs(before[j]))
					settled[j] = settled[j] || math.Abs(now[j]-before[j]) <= agreeing*scale+rounding*math.Abs(at[j]/v)
				}
				done = done && settled[j]
			}
			if before, had = now, true; done {
				break
			}
		}
		for j, name := range numbers {
			switch {
			case !had || settled[j]:
			case before[j]-before[j] != 0:
				c.fault("gradients", "%s has no finite slope by %s", name, p.Name)
			case whole:
				c.fault("gradients", "%s has no slope by %s: it is another with each step", name, p.Name)
			}
		}
	}
}

// measured computes the numbers of designs of one layout.
type measured struct {
	layout   models.Layout
	stage    *models.Stage
	scratch  *mechanics.Scratch
	dynamics *mechanics.Dynamics
	travel   float64
}

// slope is the central difference of each number by parameter i.
func (m *measured) slope(d *models.Design, i int, h float64) (out [len(numbers)]float64, ok bool) {
	var side [2][len(numbers)]float64
	for k, sign := range [2]float64{-1, 1} {
		moved := *d
		moved.Parameters = append([]float64{}, d.Parameters...)
		moved.Parameters[i] += sign * h
		if side[k], ok = m.of(&moved); !ok {
			return out, false
		}
	}
	for j := range out {
		out[j] = (side[1][j] - side[0][j]) / (2 * h)
	}
	return out, true
}

func (m *measured) of(d *models.Design) (out [len(numbers)]float64, ok bool) {
	s := m.stage
	if v := m.layout.Build(d, s); !v.OK() {
		return out, false
	}
	m.scratch.Prepare(s)
	if v := m.scratch.Statics(m.travel); !v.OK() {
		return out, false
	}
	m.dynamics.Prepare()
	if v := m.dynamics.Frequencies(); !v.OK() {
		return out, false
	}
	upright, _, v := m.dynamics.Supports()
	if !v.OK() {
		return out, false
	}
	for _, mass := range s.Mass {
		out[0] += mass
	}
	out[1] = s.Frame
	for k, pose := range []int{mechanics.PoseX, mechanics.PoseY}[:len(s.ActX)] { // at full travel along its axis
		out[2+k] = m.scratch.Poses[pose].Force[k]
	}
	out[4], out[5], out[6] = m.dynamics.WorstFirst(), upright, m.dynamics.LeastSupport()
	return out, true
}
