package mechanics

import (
	"encoding/json"
	"math"
	"os"
	"testing"
)

type expectedModes struct {
	X     float64   `json:"x_m"`
	Y     float64   `json:"y_m"`
	InHz  []float64 `json:"in_plane_hz"`
	OutHz []float64 `json:"out_of_plane_hz"`
}

func readExpectedModes(t testing.TB) []expectedModes {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/four_arm_expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct{ Positions []expectedModes }
	if err := json.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	return f.Positions
}

// The reference stage at its six positions. Tolerances: in plane the goals that
// the README beside the data states (0.2 % to the tenth mode, 0.7 % to the
// twelfth); out of plane 0.8 %, half of its acceptance of 1.6 %: its goal of 0.6 % is
// missed by 0.2 % at the corners (DYNAMICS.md says what is known of that).
func TestReferenceModes(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d := NewDynamics(s)
	d.Prepare()
	pose, modes := NewPose(s.Model), d.NewModes()
	for _, want := range readExpectedModes(t) {
		s.At(pose, want.X, want.Y)
		if v := d.InPlane(pose, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		for k, f := range want.InHz {
			got := modes.Omega[k] / (2 * math.Pi)
			tol := 0.002
			if k >= 10 {
				tol = 0.007
			}
			diff := got/f - 1
			t.Logf("(%g, %g) in plane %d: %.3f %.3f %+.3f %%", want.X, want.Y, k+1, got, f, 100*diff)
			if math.Abs(diff) > tol {
				t.Errorf("(%g, %g) in plane %d: %.3f Hz, want %.3f", want.X, want.Y, k+1, got, f)
			}
		}
		t.Logf("guided %d %d", modes.GuidedX, modes.GuidedY)
		hz, v := d.OutOfPlane(pose, nil)
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		for k, f := range want.OutHz {
			diff := hz[k]/(2*math.Pi)/f - 1
			t.Logf("(%g, %g) out of plane %d: %.3f %.3f %+.3f %%", want.X, want.Y, k+1, hz[k]/(2*math.Pi), f, 100*diff)
			if math.Abs(diff) > 0.008 {
				t.Errorf("(%g, %g) out of plane %d: %.3f Hz, want %.3f", want.X, want.Y, k+1, hz[k]/(2*math.Pi), f)
			}
		}
	}
}

// Of motions of which one has no mass the others all have a mode, however high: with μ = 1/ω² one at 1.6 kHz, one a thousand times as high.
func TestWithoutMass(t *testing.T) {
	values, rows := []float64{1e-30, 1e-14, 1e-8}, []float64{1, 1, 1}
	if n := fromFlexibility(values, rows, 1, false); n != 2 {
		t.Fatalf("%d modes", n)
	}
	if math.Abs(values[1]*1e-14-1) > 1e-15 || math.Abs(rows[1]*1e-7-1) > 1e-15 {
		t.Errorf("ω² = %g, φ = %g", values[1], rows[1])
	}
}
