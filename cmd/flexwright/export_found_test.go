package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"testing"
)

// Designs that a search picked, with pockets, bodies that bend, a payload that has a size and
// a frame on a mount: what show writes as an assembly, solve has the forces and frequencies
// of show for, within 1e-6, at the centre and at a corner.
func TestExportOfFoundDesigns(t *testing.T) {
	dir := t.TempDir()
	brief, run := filepath.Join(dir, "stage.yaml"), filepath.Join(dir, "stage.run")
	text := `layout: four-arm
material: aluminium 7075-T6
ground_mount: {stiffness_z: 20000 N/mm, stiffness_xy: 5000 N/mm}
fix: {stage_added_mass: 0.4 kg, stage_added_mass_height: 8 mm}
vary:
  travel: {from: 0.5 mm, to: 6 mm}
  blade_length: {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 0.9 mm}
  blade_width: {from: 8 mm, to: 30 mm}
  pocketing: {from: 0, to: 0.5}
  prong_width: {from: 6 mm, to: 14 mm}
goals: {first_frequency: most, travel: most, moving_mass: least}
search: {method: evolve, population: 40, generations: 10}
`
	if err := os.WriteFile(brief, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	if code, _, messages := command(t, "run", brief, "--out", run); code != exitDone {
		t.Fatalf("run: %d %s", code, messages)
	}
	code, out, messages := command(t, "front", run, "--json")
	if code != exitDone {
		t.Fatalf("front: %d %s", code, messages)
	}
	var front []map[string]any
	if err := json.Unmarshal([]byte(out), &front); err != nil {
		t.Fatal(err)
	}
	type position struct {
		X          float64   `json:"x_m"`
		Y          float64   `json:"y_m"`
		Force      []float64 `json:"force_n"`
		InPlane    []float64 `json:"in_plane_hz"`
		OutOfPlane []float64 `json:"out_of_plane_hz"`
	}
	worst, pocketed := 0.0, 0
	for i := 0; i < len(front); i += max(1, len(front)/8) {
		id, assembly := fmt.Sprint(front[i]["id"]), filepath.Join(dir, "design.json")
		if front[i]["pocketing"].(float64) > 0.1 {
			pocketed++
		}
		code, out, messages := command(t, "show", run, "--design", id, "--json", "--assembly", assembly)
		if code != exitDone {
			t.Fatalf("show: %d %s", code, messages)
		}
		var shown struct {
			Poses []position `json:"poses"`
		}
		if err := json.Unmarshal([]byte(out), &shown); err != nil {
			t.Fatal(err)
		}
		for _, p := range []int{0, 5} {
			want := shown.Poses[p]
			code, out, messages := command(t, "solve", assembly, "--json", "--modes", "12", fmt.Sprintf("--at=%.17g,%.17g", want.X, want.Y))
			if code != exitDone {
				t.Fatalf("solve: %d %s", code, messages)
			}
			var solved struct {
				Positions []position `json:"positions"`
			}
			if err := json.Unmarshal([]byte(out), &solved); err != nil {
				t.Fatal(err)
			}
			got := solved.Positions[0]
			compare := func(what string, a, b []float64, scale float64) {
				if len(a) == 0 || len(b) == 0 {
					t.Fatalf("design %s: no %s", id, what)
				}
				for k := range min(len(a), len(b)) {
					off := math.Abs(a[k]-b[k]) / max(math.Abs(b[k]), scale)
					worst = max(worst, off)
					if !(off <= 1e-6) {
						t.Errorf("design %s, position %d: %s %d is %v, show has %v", id, p, what, k+1, a[k], b[k])
					}
				}
			}
			compare("force", got.Force, want.Force, 1) // at the centre nothing but rounding
			compare("frequency in plane", got.InPlane, want.InPlane, 0)
			compare("frequency out of plane", got.OutOfPlane, want.OutOfPlane, 0)
		}
	}
	t.Logf("%d designs of the front, largest difference %.1e", len(front), worst)
	if pocketed == 0 {
		t.Error("no design has pockets: the comparison says little")
	}
}
