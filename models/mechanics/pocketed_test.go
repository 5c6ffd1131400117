package mechanics

import (
	"encoding/json"
	"math"
	"os"
	"slices"
	"testing"

	"flexwright/models"
)

// TestPocketedPlates compares two plates with pockets with elastic solids of what is
// drawn of them (testdata/reference/elastic, with the script that made the numbers):
// in the plane 1.5 % in modes 1 to 10, 10 % in 11 to 14; out of it 4 % in mode 1; 6 % of
// the stiffness along z. With rigid bodies these are off by 1, 40 to 60, 12 and 27 %.
func TestPocketedPlates(t *testing.T) {
	for name, values := range map[string]map[string]float64{
		"small": {"travel": 1.5, "blade_thickness": 0.5, "blade_width": 16, "prong_width": 8, "arm_back_width": 8,
			"frame_width": 20, "pocket_wall": 2, "pocketing": 0.25},
		"large": {"travel": 4, "blade_thickness": 0.6, "blade_width": 25, "prong_width": 14, "arm_back_width": 14,
			"guide_body_depth": 14, "frame_width": 20, "pocket_wall": 3, "pocketing": 0.35},
	} {
		text, err := os.ReadFile("../../testdata/reference/elastic/pocketed_" + name + ".json")
		if err != nil {
			t.Fatal(err)
		}
		var solid struct {
			Kz  float64   `json:"kz_n_per_mm"`
			In  []float64 `json:"in_plane_hz"`
			Out []float64 `json:"out_of_plane_hz"`
		}
		if err := json.Unmarshal(text, &solid); err != nil {
			t.Fatal(err)
		}
		length := map[string]float64{"small": 40, "large": 60}[name] + 2*models.FilletStiffening(1)*values["blade_thickness"]
		p := solidPlate{values: values, drawn: [2]float64{length, length}, kz: solid.Kz, in: solid.In[:14], out: solid.Out[:4]}
		c := p.compare(t, models.FourArm().(models.Elastic).Elastic())
		t.Logf("%s, %%: in plane 1 to 10 %+.2f to %+.2f, 11 to 14 %+.2f to %+.2f; out of plane %+.2f; along z %+.2f", name,
			100*slices.Min(c.in[:10]), 100*slices.Max(c.in[:10]), 100*slices.Min(c.in[10:]), 100*slices.Max(c.in[10:]), 100*c.out[0], 100*c.kz)
		for i, limit := range []float64{0.015, 0.1} {
			for k, e := range [][]float64{c.in[:10], c.in[10:]}[i] {
				if math.Abs(e) > limit {
					t.Errorf("%s: in plane %d off by %+.2f %%", name, 10*i+k+1, 100*e)
				}
			}
		}
		if math.Abs(c.out[0]) > 0.04 || math.Abs(c.kz) > 0.06 {
			t.Errorf("%s: out of plane 1 off by %+.2f %%, stiffness along z by %+.2f %%", name, 100*c.out[0], 100*c.kz)
		}
	}
}
