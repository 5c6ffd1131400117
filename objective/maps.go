package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// Map is one number over a square grid of stage positions.
type Map struct {
	Name   string
	Unit   models.Unit
	Values []float64 // in Unit; row after row, y ascending, in a row x ascending; NaN where the position is not solved
}

// Maps are the numbers of one design over its workspace, on a grid of its own:
// finer than the nine poses that a run judges.
type Maps struct {
	N        int       // positions along each axis, odd
	At       []float64 // N: the positions, m, from -travel to travel
	Maps     []Map
	Unsolved int // positions without a solution
}

// At solves the design at one position of the stage, m. The design must have
// been built.
func (d *Detail) At(x, y float64) *mechanics.Pose {
	if d.Row.Status == models.CannotBuild {
		panic("objective: a position of a design that cannot be built")
	}
	pose := mechanics.NewPose(d.bench.scratch.Model)
	d.bench.scratch.At(pose, x, y)
	return pose
}

// Maps evaluates the design at n by n positions of the stage over the square of
// ±travel. n is raised to the next odd number, at least 3, so that the axes are
// among them. The maps are: every static number of a pose as in [PoseDetail], the
// lowest frequency in the plane and out of it, and what one axis's travel does to
// the other's actuator, for which the position is compared with the one on the
// axis: the force (cross_force) and the motion along the stroke
// (isolation_along), the larger of the two axes. A stage with one driven axis has none.
func (d *Detail) Maps(n int) *Maps {
	n = max(n, 3) | 1
	if len(d.Topology.Actuators) == 1 {
		return &Maps{N: n}
	}
	b, t := d.bench, d.Stage.Travel
	m := &Maps{N: n, At: make([]float64, n)}
	for i := range m.At {
		m.At[i] = t * float64(2*i-(n-1)) / float64(n-1)
	}
	poses, statics := make([]*mechanics.Pose, n*n), make([]PoseStatics, n*n)
	dynamics := b.dynamics
	modes := dynamics.NewModes()
	for k := range poses {
		poses[k] = d.At(m.At[k%n], m.At[k/n])
		if !poses[k].Verdict.OK() {
			m.Unsolved++
			continue
		}
		statics[k] = b.statics(poses[k])
		for _, v := range b.poseValues(poses[k]) {
			m.put(v.Name, v.Unit, k, v.Value)
		}
		if in, out, v := dynamics.Lists(poses[k], modes); v.OK() {
			m.put("in_plane_frequency", models.Hertz, k, in[0]/(2*math.Pi))
			m.put("out_of_plane_frequency", models.Hertz, k, out[0]/(2*math.Pi))
		}
	}
	for k, p := range poses {
		if !p.Verdict.OK() {
			continue
		}
		onX, onY := k%n+n/2*n, k-k%n+n/2 // (x, 0) and (0, y)
		if !poses[onX].Verdict.OK() || !poses[onY].Verdict.OK() {
			continue
		}
		force := max(math.Abs(p.Force[0]-poses[onX].Force[0]), math.Abs(p.Force[1]-poses[onY].Force[1]))
		along := max(math.Abs(statics[k].U[0]-statics[onX].U[0]), math.Abs(statics[k].V[1]-statics[onY].V[1]))
		for _, v := range []struct {
			measure Measure
			si      float64
		}{{CrossForce, force}, {IsolationAlong, along}} {
			info := &Table[v.measure]
			m.put(info.Name, info.Unit, k, info.Unit.FromSI(v.si))
		}
	}
	return m
}

// put sets position k of the map called name, which it makes the first time.
func (m *Maps) put(name string, unit models.Unit, k int, v float64) {
	for i := range m.Maps {
		if m.Maps[i].Name == name {
			m.Maps[i].Values[k] = v
			return
		}
	}
	values := make([]float64, m.N*m.N)
	for j := range values {
		values[j] = math.NaN()
	}
	values[k] = v
	m.Maps = append(m.Maps, Map{name, unit, values})
}
