package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// A whole plate, pushed by 195 N, against the same plate as one elastic solid with large deflections
// (testdata/reference/elastic/displaced.py: CalculiX, quadratic prisms, one layer, 53,000
// nodes). The stage moves by 2 mm, 0.08 of a blade. The solid's mesh makes its blades 1.5 % stiffer,
// so that it moves less; what bending makes of its motion, beyond a thousand times that under a thousandth of
// the force, is 1.9 µm along the drive, 1.8 µm across and 3.4 µm at the idle arm across, here within
// 0.3 µm (what halving the mesh moved it by).
func TestDisplacedPlateAgainstSolid(t *testing.T) {
	const folder = "../../testdata/reference/elastic/"
	data, err := os.ReadFile(folder + "displaced.json")
	if err != nil {
		t.Fatal(err)
	}
	var solid struct {
		Force float64               `json:"force_n"`
		Set   []string              `json:"set"`
		Small map[string][2]float64 `json:"small"` // mm, times 1000
		Large map[string][2]float64 `json:"large"`
	}
	if err := json.Unmarshal(data, &solid); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "plate.json")
	if code, _, messages := command(t, "show", folder+"small.yaml", "--set", solid.Set[0], "--json", "--assembly", path); code != exitDone {
		t.Fatalf("%d %s", code, messages)
	}
	var plate map[string]any
	if data, err = os.ReadFile(path); err != nil || json.Unmarshal(data, &plate) != nil {
		t.Fatal(err)
	}
	at := map[string][2]float64{} // origins of the bodies, m
	for _, b := range plate["bodies"].([]any) {
		b := b.(map[string]any)
		p := b["position_m"].([]any)
		at[b["name"].(string)] = [2]float64{p[0].(float64), p[1].(float64)}
	}
	moved := func(force float64) map[string][2]float64 {
		// at the actuator's point, on the arm's axis
		plate["loads"] = []map[string]any{{"body": "arm-1", "axis": "x", "value": force}, {"body": "arm-1", "axis": "yaw", "value": force * at["arm-1"][1]}}
		text, err := json.Marshal(plate)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, text, 0o666); err != nil {
			t.Fatal(err)
		}
		code, out, messages := command(t, "solve", path, "--json")
		var answer struct {
			Positions []struct {
				Bodies map[string][3]float64 `json:"bodies"`
			} `json:"positions"`
		}
		if code != exitDone || json.Unmarshal([]byte(out), &answer) != nil {
			t.Fatalf("%d %s", code, messages)
		}
		q := answer.Positions[0].Bodies
		mm := map[string][2]float64{"stage": {1e3 * q["stage"][0], 1e3 * q["stage"][1]}}
		reach := math.Abs(at["arm-1"][0]) // all arms are alike
		for k, p := range [4][2]float64{{-reach, 0}, {0, -reach}, {reach, 0}, {0, reach}} {
			name := "arm-" + string(rune('1'+k))
			dx, dy, b := p[0]-at[name][0], p[1]-at[name][1], q[name]
			mm["arm"+string(rune('1'+k))] = [2]float64{1e3 * (b[0] - b[2]*dy - b[2]*b[2]/2*dx), 1e3 * (b[1] + b[2]*dx - b[2]*b[2]/2*dy)}
		}
		return mm
	}
	small, large := moved(solid.Force/1000), moved(solid.Force)
	x, want := large["stage"][0], solid.Large["stage"][0]
	t.Logf("stage %.4f mm, solid %.4f mm", x, want)
	if math.Abs(x/want-1) > 0.02 {
		t.Errorf("the stage moves by %.4f mm, the solid's by %.4f mm", x, want)
	}
	lost, lostSolid := large["arm1"][0]-x, solid.Large["arm1"][0]-want
	t.Logf("arm less stage %.5f mm, solid %.5f mm", lost, lostSolid)
	if math.Abs(lost/lostSolid-1) > 0.03 {
		t.Errorf("the arm moves by %.5f mm more than the stage, the solid's by %.5f mm", lost, lostSolid)
	}
	for name, s := range solid.Large {
		for axis := range 2 {
			got, want := 1e3*(large[name][axis]-1000*small[name][axis]), 1e3*(s[axis]-solid.Small[name][axis])
			t.Logf("%s %d beyond the straight line: %+.2f µm, solid %+.2f µm", name, axis, got, want)
			if math.Abs(got-want) > 0.3 {
				t.Errorf("%s %d bends away by %+.2f µm, the solid's by %+.2f µm", name, axis, got, want)
			}
		}
	}
}
