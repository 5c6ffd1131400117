//go:build outside

package configs

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"flexwright/models/mechanics"
)

// TestLayoutsOutside has a corner of the workspace of layouts from files solved by the plain
// model testdata/reference/python/planar.py (Debian's python3-scipy), eight geometrically
// nonlinear segments a blade, on exported assemblies: forces within 1e-5 (8 against 16
// segments there: 2e-6; one element here: see STATICS.md), places within 5 nm, turns
// within 0.1 µrad, those of levers by 44 mrad too. Bending factors are 1 on both sides.
func TestLayoutsOutside(t *testing.T) {
	values := map[string]float64{"travel": 2, "blade_length": 60, "blade_thickness": 0.6, "blade_width": 20, "stage_added_mass": 0.3}
	for _, name := range []string{"four-arm-twin", "tied-guide", "folded-guide", "single-guide"} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			l := layoutNamed(t, name)
			_, s := stageOf(t, l, values)
			path := filepath.Join(t.TempDir(), "stage.json")
			if err := os.WriteFile(path, WriteAssembly(l.Topology(), s), 0o666); err != nil {
				t.Fatal(err)
			}
			x, y := 2e-3, -2e-3
			run := exec.Command("/usr/bin/python3", "../testdata/reference/python/pose.py", path, fmt.Sprint(x*1e3), fmt.Sprint(y*1e3), "8")
			run.Stderr = os.Stderr
			printed, err := run.Output()
			if err != nil {
				t.Fatalf("python3-scipy: %v", err)
			}
			var outside struct {
				Force  []float64             `json:"force_n"`
				Bodies map[string][3]float64 `json:"bodies"`
			}
			if err := json.Unmarshal(printed, &outside); err != nil {
				t.Fatal(err)
			}
			scratch := mechanics.NewScratch(mechanics.NewModel(l.Topology()))
			scratch.Prepare(s)
			pose := mechanics.NewPose(scratch.Model)
			scratch.At(pose, x, y)
			if !pose.Verdict.OK() {
				t.Fatal(pose.Verdict.Reason())
			}
			force, place, turn := 0.0, 0.0, 0.0
			for k, f := range outside.Force {
				force = max(force, math.Abs(pose.Force[k]/f-1))
				if math.Abs(pose.Force[k]/f-1) > 1e-5 {
					t.Errorf("force %d: %.8g N, outside %.8g", k+1, pose.Force[k], f)
				}
			}
			driven := map[int]int{}
			for k, a := range l.Topology().Actuators {
				driven[a.Body] = k
			}
			for i, b := range l.Topology().Bodies {
				got, want := pose.Q[3*i:3*i+3], outside.Bodies[b.Name]
				px, py := got[0], got[1]
				if k, ok := driven[i]; ok { // outside, the origin of a driven body is where it is pushed
					px, py = scratch.ActuatorMotion(pose, k)
				}
				d := math.Hypot(px-want[0]*1e-3, py-want[1]*1e-3)
				place, turn = max(place, d), max(turn, math.Abs(got[2]-want[2]))
				if d > 5e-9 {
					t.Errorf("%s is off by %.3g µm", b.Name, d*1e6)
				}
				if d := math.Abs(got[2] - want[2]); d > 0.1e-6 {
					t.Errorf("%s turns by %.6g µrad, outside %.6g", b.Name, got[2]*1e6, want[2]*1e6)
				}
			}
			t.Logf("force %.1e, places %.2g nm, turns %.2g µrad", force, place*1e9, turn*1e6)
		})
	}
}
