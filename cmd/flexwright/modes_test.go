package main

import (
	"encoding/json"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/results"
)

const beamAssembly = `{"bodies": [
 {"name": "ground", "position_m": [0, 0], "fixed": true},
 {"name": "tip", "position_m": [0.06, 0], "mass_kg": 0, "inertia_kg_m2": [0, 0, 0], "held": HELD}],
 "blades": [{"from": "ground", "to": "tip", "root_m": [0, 0], "tip_m": [0.06, 0], "thickness_m": 0.0002, "width_m": 0.012,
  "youngs_modulus_pa": 71.7e9, "poisson_ratio": 0.33, "density_kg_m3": 2810, "bending_factor": 1}],
 "stage": "tip"}`

// A single blade in segments, as a user would check it: βL of the cantilever
// and the guided blade (R. D. Blevins, Formulas for Natural Frequency and Mode
// Shape, 1979). Twelve cubic elements leave (βL/12)⁴/2880 of βL.
func TestSolveModesOfABeam(t *testing.T) {
	for held, want := range map[string][3]float64{"[]": {1.875104, 4.694091, 7.854757}, `["yaw"]`: {2.365020, 5.497804, 8.639380}} {
		path := filepath.Join(t.TempDir(), "beam.json")
		if err := os.WriteFile(path, []byte(strings.Replace(beamAssembly, "HELD", held, 1)), 0o666); err != nil {
			t.Fatal(err)
		}
		code, out, messages := command(t, "solve", path, "--segments", "12", "--modes", "3", "--json")
		if code != exitDone {
			t.Fatal(code, messages)
		}
		var got struct {
			Positions []struct {
				In  []float64 `json:"in_plane_hz"`
				Out []float64 `json:"out_of_plane_hz"`
			}
		}
		if err := json.Unmarshal([]byte(out), &got); err != nil {
			t.Fatal(err)
		}
		p := got.Positions[0]
		if len(p.In) != 3 || len(p.Out) != 3 {
			t.Fatalf("%d and %d modes, want 3 and 3", len(p.In), len(p.Out))
		}
		unit := math.Sqrt(71.7e9*0.0002*0.0002/12/2810) / (0.06 * 0.06)
		for k, f := range p.In {
			if betaL := math.Sqrt(2 * math.Pi * f / unit); math.Abs(betaL/want[k]-1) > 1e-4 {
				t.Errorf("held %s mode %d: βL %.6f, published %.6f", held, k+1, betaL, want[k])
			}
		}
	}
}

func TestSolveModesAndShapes(t *testing.T) {
	const file = "../../testdata/reference/four_arm.json"
	for _, args := range [][]string{{"--modes", "0"}, {"--modes", "-2"}, {"--segments", "0"}, {"--segments", "33"}, {"--shapes"}, {"--shapes", "--modes", "2"}} {
		if code, out, _ := command(t, append([]string{"solve", file}, args...)...); code != exitRefused || out != "" {
			t.Errorf("%v: exit %d, %q", args, code, out)
		}
	}
	_, out, _ := command(t, "solve", file, "--json")
	if strings.Contains(out, "_hz") {
		t.Error("frequencies without --modes")
	}
	code, out, _ := command(t, "solve", file, "--at=0.005,0.005", "--segments=6", "--modes=12", "--json")
	var got struct {
		Positions []struct{ Fast fastDifference }
	}
	if err := json.Unmarshal([]byte(out), &got); err != nil || code != exitDone {
		t.Fatal(code, err)
	}
	// what one chord-frame element is asked for: 0.05 % of force, 0.05 % of 5 mm, 0.7 % in frequency
	if d := got.Positions[0].Fast; d.Force == nil || *d.Force == 0 || *d.Force > 5e-4 || d.Place == 0 || d.Place > 2.5e-6 || *d.InPlane > 7e-3 || *d.OutOfPlane > 7e-3 {
		t.Errorf("the fast model differs by %+v", d)
	}
	code, out, _ = command(t, "solve", file, "--at=0.003,0.001", "--modes", "1", "--shapes", "--json")
	if code != exitDone || strings.Count(out, `"hz"`) != 2 {
		t.Errorf("exit %d, %d shapes, want one in the plane and one out of it", code, strings.Count(out, `"hz"`))
	}
}

// run adds the fine check to the front: columns of every measure that the
// mechanics gives, filled for the chosen designs; show --fine has it for any design.
func TestFineCheckOfARun(t *testing.T) {
	dir := t.TempDir()
	run := filepath.Join(dir, "small.run")
	code, _, messages := command(t, "run", writeBrief(t, dir), "--out", run)
	if code != exitDone || !strings.Contains(messages, "fine check of") {
		t.Fatal(code, messages)
	}
	folder, err := results.Open(run)
	if err != nil {
		t.Fatal(err)
	}
	table, err := folder.FrontTable()
	if err != nil {
		t.Fatal(err)
	}
	at := map[string]int{}
	for i, c := range table.Columns {
		at[c.Name] = i
	}
	checked := 0
	for _, row := range table.Rows {
		if row[at["fine_difference"]].Null {
			continue
		}
		checked++
		fast, fine := row[at["drive_force_n"]].Float, row[at["fine_drive_force_n"]].Float
		// one element per blade is asked for 0.4 % of the force, and no segment agrees to the last digit
		if math.Abs(fast/fine-1) > 0.004 || fast == fine {
			t.Errorf("force %g, fine %g", fast, fine)
		}
		if row[at["fine_flagged"]].Bool != (row[at["fine_difference"]].Float > 0.02) {
			t.Errorf("difference %g flagged %v", row[at["fine_difference"]].Float, row[at["fine_flagged"]].Bool)
		}
	}
	if checked < 2 {
		t.Errorf("%d designs checked, want the ends at least", checked)
	}
	code, out, messages := command(t, "show", run, "--design", "1", "--fine", "--json")
	if code != exitDone {
		t.Fatal(code, messages)
	}
	var detail struct {
		Fine *struct {
			Segments int
			Measures map[string]float64
		}
		Poses []struct {
			In       []float64 `json:"in_plane_hz"`
			Supports map[string]map[string]float64
		}
	}
	if err := json.Unmarshal([]byte(out), &detail); err != nil {
		t.Fatal(err)
	}
	if detail.Fine == nil || detail.Fine.Segments != 6 || detail.Fine.Measures["first_frequency_hz"] == 0 {
		t.Errorf("fine check %+v", detail.Fine)
	}
	if len(detail.Poses) != 9 || len(detail.Poses[8].In) < 12 || detail.Poses[8].Supports["arm-2"]["z_n_per_m"] == 0 {
		t.Errorf("%d poses", len(detail.Poses))
	}
}
