//go:build outside

package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestSolidOutside has a small plate meshed from the DXF file that draw writes (gmsh) and
// solved as one elastic solid (CalculiX), and compares frequencies and stiffness along z with
// those of show, as testdata/reference/elastic/README.md says how to repeat. The mesh is coarse, so that it
// takes a quarter of a minute: 29,000 nodes, blades of ten quadratic prisms. Elements half as
// long along blades and two over the depth lower modes of the blades by 1 %, the first out of the plane by
// 1 % and the stiffness along z by 2 %; the bounds are that and what bodies that bend are off on finer meshes.
func TestSolidOutside(t *testing.T) {
	const folder = "../../testdata/reference/elastic/"
	dir := t.TempDir()
	program, answer := filepath.Join(dir, "flexwright"), filepath.Join(dir, "solid.json")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	run := exec.Command("/usr/bin/python3", folder+"solid_plate.py", program, folder+"small.yaml", "--json", answer, "--blade", "3", "--layers", "1", "--body", "12", "--modes", "20")
	run.Env = append(os.Environ(), "OMP_NUM_THREADS=1")
	if out, err := run.CombinedOutput(); err != nil {
		t.Fatalf("python3-gmsh, python3-ezdxf, python3-numpy, calculix-ccx: %v\n%s", err, out)
	}
	data, err := os.ReadFile(answer)
	if err != nil {
		t.Fatal(err)
	}
	var solid struct {
		KZ         float64   `json:"kz_n_per_mm"`
		InPlane    []float64 `json:"in_plane_hz"`
		OutOfPlane []float64 `json:"out_of_plane_hz"`
	}
	if err := json.Unmarshal(data, &solid); err != nil {
		t.Fatal(err)
	}
	code, out, messages := command(t, "show", folder+"small.yaml", "--json")
	if code != exitDone {
		t.Fatalf("%d %s", code, messages)
	}
	var shown struct {
		Measures map[string]float64 `json:"measures"`
		Poses    []struct {
			InPlane    []float64 `json:"in_plane_hz"`
			OutOfPlane []float64 `json:"out_of_plane_hz"`
			Supports   map[string]map[string]float64
		} `json:"poses"`
	}
	if err := json.NewDecoder(strings.NewReader(out)).Decode(&shown); err != nil {
		t.Fatal(err)
	}
	rest := shown.Poses[0]
	within := func(what string, own, solid, bound float64) {
		t.Helper()
		off := own/solid - 1
		t.Logf("%s: %.2f, solid %.2f (%+.2f %%)", what, own, solid, 100*off)
		if !(off >= -bound && off <= bound) {
			t.Errorf("%s is off by more than %.0f %%", what, 100*bound)
		}
	}
	if len(solid.InPlane) < 14 || len(solid.OutOfPlane) < 6 {
		t.Fatalf("%d modes in plane, %d out of it", len(solid.InPlane), len(solid.OutOfPlane))
	}
	for i := range 14 {
		within("in plane", rest.InPlane[i], solid.InPlane[i], 0.03)
	}
	for i := range 6 {
		within("out of plane", rest.OutOfPlane[i], solid.OutOfPlane[i], 0.04)
	}
	within("stage along z, N/mm", rest.Supports["stage"]["z_n_per_m"]/1e3, solid.KZ, 0.05)
}
