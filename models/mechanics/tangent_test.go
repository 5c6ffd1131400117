package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
)

// ring is a closed loop of three moving bodies, tied to ground twice: a graph
// that is no tree.
func ring() *assembly {
	a := &assembly{t: 0.4e-3}
	a.addBody("ground", 0, 0)
	p := [][2]float64{{0.06, 0.01}, {0.12, 0.05}, {0.05, 0.09}}
	for i, q := range p {
		a.addBody([]string{"a", "stage", "c"}[i], q[0], q[1])
	}
	a.addBlade(0, 1, 0.005, 0, 0.055, 0.008)
	a.addBlade(1, 2, 0.07, 0.012, 0.115, 0.045)
	a.addBlade(2, 3, 0.11, 0.06, 0.06, 0.085)
	a.addBlade(3, 1, 0.05, 0.08, 0.055, 0.02)
	a.addBlade(3, 0, 0.04, 0.085, 0.0, 0.07)
	a.top.Stage = 2
	a.top.Actuators = []models.ActuatorSpec{{Body: 1, Axis: models.AxisX}, {Body: 2, Axis: models.AxisY}}
	return a
}

// The assembled tangent, with the axial forces eliminated, against central
// differences of the assembled force, in a closed loop of bodies with large
// rotations and actuator forces on: this is the full geometric tangent, without
// which Newton's method would not converge quadratically. Steps of 1e-7 leave
// rounding of 1e-16 K L/1e-7 = 1e-9 of K and truncation of the same order times
// the curvature of the axial force, (L/t)² = 1e4: 1e-4 of the largest entry.
func TestAssembledTangentMatchesDifferences(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for trial := range 20 {
		a := ring()
		if trial%2 == 1 {
			a.top.Actuators[1].From = 1 + 3
		}
		s, st := a.scratch()
		for k := range st.ActX {
			st.ActX[k] += 0.01
			st.ActY[k] -= 0.02
		}
		s.Prepare(st)
		pose := NewPose(s.Model)
		base := make([]float64, len(s.q))
		common := 2 * (rng.Float64() - 0.5) // all bodies turn together about the origin, and a little apart
		for b := 1; b < len(a.body); b++ {
			x, y := a.body[b][0], a.body[b][1]
			sin, cos := math.Sincos(common)
			base[3*b] = cos*x - sin*y - x + 2e-4*rng.NormFloat64()
			base[3*b+1] = sin*x + cos*y - y + 2e-4*rng.NormFloat64()
			base[3*b+2] = common + 0.02*rng.NormFloat64()
		}
		// ground takes part in the turn, so that the blades are not wrung off
		base[2] = common
		s.force[0], s.force[1] = rng.NormFloat64(), rng.NormFloat64()
		force := func(q []float64) []float64 {
			copy(s.q, q)
			for range 40 { // the axial equations alone, at fixed bodies
				s.assemble(pose, 0)
				for i := range s.p {
					s.p[i] += s.link[i].residual / s.link[i].c
				}
			}
			s.assemble(pose, 0)
			return append([]float64(nil), s.residual...)
		}
		clear(s.p)
		force(base)
		n := s.Model.Unknowns()
		full := make([]float64, n*n)
		s.Model.Pattern.Expand(s.k, full)
		largest := 0.0
		for i := range n {
			largest = max(largest, math.Abs(full[i*n+i]))
		}
		const h = 1e-7
		for j := range n {
			up := append([]float64(nil), base...)
			down := append([]float64(nil), base...)
			at := 3*s.Model.Body[j/3] + j%3
			up[at] += h
			down[at] -= h
			fu, fd := force(up), force(down)
			for i := range n {
				want := (fu[i] - fd[i]) / (2 * h)
				scale := math.Sqrt(math.Abs(full[i*n+i] * full[j*n+j]))
				if d := math.Abs(want - full[i*n+j]); d > 1e-4*scale {
					t.Fatalf("K[%d][%d] = %g, difference %g (largest %g)", i, j, full[i*n+j], want, largest)
				}
			}
		}
	}
}

// A graph with a loop is solved like any other: the stage is where it was asked
// to be, and the forces on every body are in equilibrium.
func TestClosedLoopIsSolved(t *testing.T) {
	a := ring()
	s, _ := a.scratch()
	pose := NewPose(s.Model)
	s.At(pose, 2e-5, -1e-5)
	if !pose.Verdict.OK() {
		t.Fatal(pose.Verdict.Reason())
	}
	if x, y := pose.Q[3*2], pose.Q[3*2+1]; math.Abs(x-2e-5) > 1e-15 || math.Abs(y+1e-5) > 1e-15 {
		t.Errorf("stage at (%g, %g)", x, y)
	}
	scale, _ := s.assemble(pose, 1)
	for i, r := range s.residual {
		if math.Abs(r) > residualTolerance*scale*0.1 {
			t.Errorf("residual %d = %g N of %g N", i, r, scale)
		}
	}
}
