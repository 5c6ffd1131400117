package main

import (
	"encoding/json"
	"math"
	"testing"
)

// Assemblies of beams and of a wide blade, solved by the command, against Roark's Formulas
// for Stress and Strain: a cantilever with a force at its end, y = F L³/3EI (table 8.1, case
// 1a) plus shear 6 F L/5 G A (art. 8.10), and as the spring of a mass there, in both planes; the gap of a
// frame of two legs a on a back b that forces on their ends close, F (2 a³/3 + a² b)/EI (table 9.1, unit loads), plus
// shear of the legs and stretch of the back; the edge of a wide plate strip, clamped and guided, F L³/12 EI with
// E/(1-ν²) for E (art. 8.11). Loads are so small that nothing turns by more than 1e-4.
func TestClosedForms(t *testing.T) {
	const young, poisson = 71.7e9, 0.33
	const g = young / (2 * (1 + poisson))
	solve := func(name string) (bodies map[string][3]float64, in, out []float64) {
		code, text, messages := command(t, "solve", "../../testdata/assemblies/"+name+".good.json", "--json", "--modes", "3")
		if code != exitDone {
			t.Fatalf("%s: %d %s", name, code, messages)
		}
		var answer struct {
			Positions []struct {
				Status     string                `json:"status"`
				Bodies     map[string][3]float64 `json:"bodies"`
				InPlane    []float64             `json:"in_plane_hz"`
				OutOfPlane []float64             `json:"out_of_plane_hz"`
			} `json:"positions"`
		}
		if err := json.Unmarshal([]byte(text), &answer); err != nil || answer.Positions[0].Status != "solved" {
			t.Fatalf("%s: %v %s", name, err, text)
		}
		p := answer.Positions[0]
		return p.Bodies, p.InPlane, p.OutOfPlane
	}
	near := func(what string, got, want, tolerance float64) {
		t.Helper()
		if !(math.Abs(got/want-1) <= tolerance) {
			t.Errorf("%s: %.8g, closed form %.8g (%+.3f %%)", what, got, want, 100*(got/want-1))
		}
	}
	hertz := func(compliance float64) float64 { return 1 / (2 * math.Pi * math.Sqrt(compliance)) } // of 1 kg

	// 100 x 8 x 25 mm, 1 kg and 1 N at its end
	bodies, in, out := solve("prong")
	flexible := func(l, h, d float64) float64 { return l*l*l/(3*young*d*h*h*h/12) + 6*l/(5*g*h*d) }
	near("prong, deflection", bodies["end"][1], flexible(0.1, 0.008, 0.025), 1e-5)
	near("prong, frequency", in[0], hertz(flexible(0.1, 0.008, 0.025)), 1e-4)
	near("prong, frequency out of the plane", out[0], hertz(flexible(0.1, 0.025, 0.008)), 1e-4)

	// legs of 70 mm, back of 50 mm, 6 x 20 mm, 1 N
	bodies, _, _ = solve("u_frame")
	const a, b, area, ei = 0.07, 0.05, 0.006 * 0.02, young * 0.02 * 0.006 * 0.006 * 0.006 / 12
	near("frame, gap", bodies["left"][0]-bodies["right"][0], (2*a*a*a/3+a*a*b)/ei+2*6*a/(5*g*area)+b/(young*area), 1e-4)

	// 20 mm long, 400 mm wide, 0.2 mm thick, 0.1 N. At 20 times its length the fit of the
	// clamped strip is within 0.3 % of the limit.
	bodies, _, _ = solve("plate_strip")
	near("plate strip", bodies["edge"][1], 0.1*math.Pow(0.02, 3)*(1-poisson*poisson)/(young*0.4*math.Pow(2e-4, 3)), 3e-3)
}
