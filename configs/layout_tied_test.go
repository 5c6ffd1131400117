package configs

import (
	"math"
	"testing"

	"flexwright/models/mechanics"
)

// The layout tied-guide with bending factors of 1, against closed forms:
//
//   - along x four double parallelograms deform, 12 E I/L³ each, and with each a lever,
//     turned by x/2e on three tie blades that its turn bends to arcs, E It/lt each
//     (their middles lie on one line, about which it turns): 3 E It/(lt (2e)²) more;
//   - a guide body on its four blades alone, 48 E I/L³, would have a mode of its own; its
//     mass is that of the body and 13/35 of each blade's (fixed-guided; R. D. Blevins,
//     Formulas for Natural Frequency and Mode Shape, 1979). Eight modes near there
//     without ties, none with them.
func TestTiedGuideRules(t *testing.T) {
	l := layoutNamed(t, "tied-guide")
	topo := l.Topology()
	const length, thick, width, tie, tieThick = 60e-3, 0.6e-3, 20e-3, 12e-3, 0.3e-3
	_, s := stageOf(t, l, map[string]float64{"travel": 2, "blade_length": length * 1e3, "blade_thickness": thick * 1e3, "blade_width": width * 1e3,
		"tie_blade_length": tie * 1e3, "tie_blade_thickness": tieThick * 1e3})
	const perGuide = 7 // blades of a guide with its lever, in the order of the file: 4 guide blades twice, 3 tie blades twice
	e := s.Young[0]
	guides := 4 * 12 * e * width * thick * thick * thick / 12 / (length * length * length)
	first, last := 8, 10 // tie blades of the lever of arm 1's stage guide at 0 and 2e
	lever := math.Hypot(s.RootX[last]-s.RootX[first], s.RootY[last]-s.RootY[first])
	ties := 4 * 3 * e * width * tieThick * tieThick * tieThick / 12 / tie / (lever * lever)

	soften := func(factor float64) {
		for i := range s.Young {
			if i%(2*perGuide) >= 8 {
				s.Young[i] = e * factor
			}
		}
	}
	stiffness := func() float64 {
		const x = 0.05e-3
		return pushed(t, l, s, x).Force[0] / x
	}
	// 0.2 %: blades stretch and arms turn, which the closed forms leave out
	if got, want := stiffness(), guides+ties; math.Abs(got/want-1) > 2e-3 {
		t.Errorf("drive stiffness %.6g N/m, closed form %.6g", got, want)
	}
	soften(1e-7)
	if got := stiffness(); math.Abs(got/guides-1) > 2e-3 {
		t.Errorf("with soft ties the drive stiffness is %.6g N/m, 48 EI/L³ = %.6g", got, guides)
	}

	guide := 0
	for i, b := range topo.Bodies {
		if b.Name == "guide-1" {
			guide = i
		}
	}
	blade := s.Density[0] * length * thick * width
	omega := math.Sqrt(guides / (s.Mass[guide] + 4*13.0/35*blade))
	near := func() (n int) {
		pose := pushed(t, l, s, 0)
		scratch := mechanics.NewScratch(mechanics.NewModel(topo))
		scratch.Prepare(s)
		d := mechanics.NewDynamics(scratch)
		d.Prepare()
		modes := d.NewModes()
		if v := d.InPlane(pose, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		for _, w := range modes.Omega[:modes.Count] {
			// two of the motions, along x and y of everything, lie far below
			if w > 0.7*omega && w < 1.3*omega {
				n++
			}
		}
		return n
	}
	// levers on soft blades have modes near 0
	if n := near(); n != 8 {
		t.Errorf("with soft ties %d modes within 30 %% of the guide body's own, %.4g Hz", n, omega/(2*math.Pi))
	}
	soften(1)
	if n := near(); n != 0 {
		t.Errorf("tied, %d modes lie within 30 %% of the guide body's own, %.4g Hz", n, omega/(2*math.Pi))
	}
}
