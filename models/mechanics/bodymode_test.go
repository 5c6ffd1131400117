package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

// A prong by itself against a cantilever with a mass at its end. Exact, ω = β² √(EI/mL⁴) by
// the roots of the characteristic equation (S. Timoshenko, D. H. Young, Vibration Problems
// in Engineering): β 1.875104 bare, 1.247917 with a mass as large as the beam's. The
// consistent motion of a force at the end, shear left away by a slender beam, is 1.6 % above the bare one and
// 0.1 % above the loaded.
func TestBodyModeOfCantilever(t *testing.T) {
	for _, c := range []struct{ mass, beta, tolerance float64 }{{0, 1.875104, 0.016}, {1, 1.247917, 0.001}} {
		const length, h, b, young, density = 0.4, 4e-3, 20e-3, 71.7e9, 2810.0
		line := density * h * b
		top := &models.Topology{
			Bodies: []models.BodySpec{{Name: "ground", Held: models.HeldAll}, {Name: "end", Part: 1}},
			Links:  []models.LinkSpec{{From: 0, To: 1}}, Stage: 1,
		}
		st := models.NewStage(top)
		for i := range top.Bodies {
			st.X[i], st.Y[i], st.Mass[i], st.Ix[i], st.Iy[i], st.Iz[i] = 0, 0, 0, 0, 0, 0
		}
		st.X[1], st.Mass[1] = length, c.mass*line*length
		st.Links[0] = models.Link{N: 1, Beams: [models.MaxBeams]models.Beam{{X1: length, End: length, Height: h, Depth: b, Young: young, Poisson: 0.3, Density: density}}}
		s := NewScratch(NewModel(top))
		s.Prepare(st)
		d := NewDynamics(s)
		d.Prepare()
		want := c.beta * c.beta * math.Sqrt(young*b*h*h*h/12/(line*length*length*length*length))
		if got := d.BodyMode(); math.Abs(got/want-1) > c.tolerance {
			t.Errorf("mass %g: %.5g rad/s, exact %.5g (%+.2f %%)", c.mass, got, want, 100*(got/want-1))
		}
	}
}

// Whole plates as solids: what the reduced problem leaves to this bound, the prongs'
// swinging in modes 16 to 18, lies above it, by less than 10 %.
func TestBodyModeOfPlates(t *testing.T) {
	l := models.FourArm().(models.Elastic).Elastic()
	for name, p := range solidPlates {
		top, st := p.build(t, l)
		s := NewScratch(NewModel(top))
		s.Prepare(st)
		d := NewDynamics(s)
		d.Prepare()
		got := d.BodyMode() / (2 * math.Pi)
		if r := got / p.in[15]; r > 1 || r < 0.9 {
			t.Errorf("%s: %.1f Hz, the solid's prongs swing at %.1f Hz", name, got, p.in[15])
		}
	}
	rigid, st := func() (*models.Topology, *models.Stage) { p := solidPlates["p1"]; return p.build(t, models.FourArm()) }()
	s := NewScratch(NewModel(rigid))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	if w := d.BodyMode(); !math.IsInf(w, 1) {
		t.Errorf("rigid bodies: %g rad/s", w)
	}
}
