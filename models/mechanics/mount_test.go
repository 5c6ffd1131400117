package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

// A plate on a mount against springs in series and a mass on a spring. Three mounts: with a
// soft one the plate is one mass on it; with any, what is pushed gives way by its own
// flexibility and the mount's; with a stiff one nothing changes.
func TestMount(t *testing.T) {
	plate := solidPlates["p1"]
	for _, layout := range []models.Layout{models.FourArm(), models.FourArm().(models.Elastic).Elastic()} {
		solve := func(l models.Layout, travel float64) (st *models.Stage, top *models.Topology, s *Scratch, d *Dynamics, out float64) {
			top, st = plate.build(t, l)
			s = NewScratch(NewModel(top))
			s.Prepare(st)
			if v := s.Statics(travel); !v.OK() {
				t.Fatal(v.Reason())
			}
			d = NewDynamics(s)
			d.Prepare()
			if v := d.Frequencies(); !v.OK() {
				t.Fatal(v.Reason())
			}
			w, _, v := d.Supports()
			if !v.OK() {
				t.Fatal(v.Reason())
			}
			return st, top, s, d, w
		}
		near := func(what string, got, want, tolerance float64) {
			t.Helper()
			if !(math.Abs(got/want-1) <= tolerance) {
				t.Errorf("%s: %.9g, want %.9g", what, got, want)
			}
		}
		st, top, s0, d0, out := solve(layout, 4e-3)
		total := 0.0 // of the whole plate
		for i := range top.Bodies {
			if top.Whole(i) == i {
				total += st.BodyMass(top, i)
			}
		}
		for i := range top.Blades {
			total += st.Density[i] * s0.Section[i].Length * st.Thickness[i] * st.Width[i]
		}

		m := models.Mount{Z: 3e6, XY: 2e6}
		st1, top1, s1, d1, _ := solve(models.OnMount(layout, m), 4e-3)
		near("mass of the frame", st1.BodyMass(top1, 0), st.BodyMass(top, 0), 1e-12)
		near("support in series", 1/d1.Carried[0].Stiffness, 1/d0.Carried[0].Stiffness+1/m.Z, 1e-9)
		near("sag", -d1.Carried[0].Sag[0], -d0.Carried[0].Sag[0]+total*9.80665/m.Z, 1e-9)
		near("drive in series", 1/s1.Poses[0].Drive[0], 1/s0.Poses[0].Drive[0]+1/m.XY, 1e-6)

		// a thousandth of what the plate has by itself: the frame, and all on it, swings
		soft := models.Mount{Z: 50, XY: 5}
		_, _, _, d2, w := solve(models.OnMount(layout, soft), 0) // what drives it pushes the frame away
		near("swings up and down", w, math.Sqrt(soft.Z/total), 2e-3)
		near("swings in the plane", d2.Modes[0].Omega[0], math.Sqrt(soft.XY/total), 2e-3)

		_, _, _, d3, stiff := solve(models.OnMount(layout, models.Mount{Z: math.Inf(1), XY: math.Inf(1)}), 4e-3)
		near("stiff out of the plane", stiff, out, 1e-4)
		for k := range 12 {
			near("stiff in the plane", d3.Modes[5].Omega[k], d0.Modes[5].Omega[k], 1e-4)
		}
	}
}

// The springs of a mount by hand: with h = 100 mm, Z h² about x and y, 2 XY h² about z.
func TestMountSprings(t *testing.T) {
	l := models.OnMount(models.FourArm(), models.Mount{Z: 4e6, XY: 1e6})
	plate := solidPlates["p1"]
	_, st := plate.build(t, l)
	h := st.Frame / 2
	for i, want := range [6]float64{1e6, 1e6, 2e6 * h * h, 4e6, 4e6 * h * h, 4e6 * h * h} {
		if got := st.Springs[0][i]; math.Abs(got/want-1) > 1e-12 {
			t.Errorf("spring %d: %g, by hand %g", i, got, want)
		}
	}
}
