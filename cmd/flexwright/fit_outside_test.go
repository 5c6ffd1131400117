//go:build outside

package main

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"testing"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/objective/fit"
)

// TestFitOutside has SciPy's least_squares (Debian's python3-scipy) find the same stage from
// the same readings by solve on the exported assembly, changed by the script itself. Estimates
// agree to 1e-6 of the priors, standard deviations and chi-square to 1e-6.
func TestFitOutside(t *testing.T) {
	dir := t.TempDir()
	program, assembly := filepath.Join(dir, "flexwright"), filepath.Join(dir, "stage.json")
	if out, err := exec.Command("go", "build", "-o", program, ".").CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	text := `layout: four-arm
bodies: rigid
material: aluminium 7075-T6
fix: {travel: 3 mm, blade_length: 50 mm, blade_thickness: 0.5 mm, blade_width: 20 mm, stage_added_mass: 0.3 kg, stage_added_mass_size: 40 mm, arm_added_mass: 0.1 kg}
goals: {first_frequency: most}
search: {method: latin, designs: 1}
`
	path := filepath.Join(dir, "stage.yaml")
	if err := os.WriteFile(path, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	if code, _, messages := command(t, "show", path, "--json", "--assembly", assembly); code != exitDone {
		t.Fatal(code, messages)
	}
	brief, problems := loadBrief(path, []byte(text))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	spec := brief.Spec()
	spec.Pin([]float64{0})
	unknowns := []fit.Unknown{
		fit.NewUnknown(spec, objective.CorrectThicknessCommon, ""), fit.NewUnknown(spec, objective.CorrectModulus, ""),
		fit.NewUnknown(spec, objective.CorrectMountedMass, "stage"), fit.NewUnknown(spec, objective.CorrectThickness, "guide-3"),
	}
	type reading struct {
		Kind  string      `json:"kind"`
		At    *[2]float64 `json:"at,omitempty"`
		Axis  int         `json:"axis"`
		Rank  int         `json:"rank"`
		Value float64     `json:"value"`
		Sigma float64     `json:"sigma"`
	}
	var measured []fit.Measurement
	var readings []reading
	add := func(kind string, sigma float64, q fit.Quantity) {
		measured = append(measured, fit.Measurement{Quantity: q, Sigma: sigma})
		r := reading{Kind: kind, Axis: int(q.Axis), Rank: q.Rank, Sigma: sigma}
		if kind != "mass" {
			r.At = &q.At
		}
		readings = append(readings, r)
	}
	for _, at := range [][2]float64{{3e-3, 0}, {0, 3e-3}, {3e-3, 3e-3}, {-3e-3, 3e-3}} {
		add("force", 0.05, fit.Quantity{Kind: fit.Force, Axis: models.AxisX, At: at})
		add("force", 0.05, fit.Quantity{Kind: fit.Force, Axis: models.AxisY, At: at})
		add("yaw", 1e-6, fit.Quantity{Kind: fit.Yaw, Body: slices.IndexFunc(spec.Layouts[0].Topology().Bodies, func(b models.BodySpec) bool { return b.Name == "stage" }), At: at})
	}
	for rank := 1; rank <= 3; rank++ {
		add("frequency", 0.03, fit.Quantity{Kind: fit.Frequency, Rank: rank, At: [2]float64{3e-3, 0}})
	}
	add("out", 0.3, fit.Quantity{Kind: fit.OutOfPlaneFrequency, Rank: 1, At: [2]float64{3e-3, 0}})
	add("mass", 0.002, fit.Quantity{Kind: fit.Mass, Body: measured[2].Body})
	corrections, quantities := make([]objective.Correction, len(unknowns)), make([]fit.Quantity, len(measured))
	for k := range unknowns {
		corrections[k] = unknowns[k].Correction
	}
	for i := range measured {
		quantities[i] = measured[i].Quantity
	}
	model, err := fit.NewModel(spec, corrections, quantities)
	if err != nil {
		t.Fatal(err)
	}
	truth, out := []float64{4e-6, -0.012, 0.004, -2e-6}, make([]float64, len(measured))
	if !model.Predict(truth, out) {
		t.Fatal("the true stage has no answer")
	}
	rng := rand.New(rand.NewPCG(2, 3))
	for i := range measured {
		measured[i].Value = out[i] + measured[i].Sigma*rng.NormFloat64()
		readings[i].Value = measured[i].Value
	}
	o, err := fit.Solve(&fit.Problem{Spec: spec, Unknowns: unknowns, Measured: measured})
	if err != nil {
		t.Fatal(err)
	}
	prior := make([]float64, len(unknowns))
	for k := range unknowns {
		prior[k] = unknowns[k].Prior
	}
	data, err := json.Marshal(map[string]any{"prior": prior, "guide": "guide-3", "size": 0.04, "readings": readings})
	if err != nil {
		t.Fatal(err)
	}
	given := filepath.Join(dir, "problem.json")
	if err := os.WriteFile(given, data, 0o666); err != nil {
		t.Fatal(err)
	}
	run := exec.Command("/usr/bin/python3", "testdata/fit_check.py", program, assembly, given)
	run.Stderr = os.Stderr
	printed, err := run.Output()
	if err != nil {
		t.Fatalf("python3-scipy: %v", err)
	}
	var outside struct {
		X, Sigma  []float64
		ChiSquare float64 `json:"chi_square"`
	}
	if err := json.Unmarshal(printed, &outside); err != nil {
		t.Fatal(err)
	}
	for k := range unknowns {
		t.Logf("%s: %.9g ± %.9g, outside %.9g ± %.9g", unknowns[k].Name(), o.X[k], o.Sigma(k), outside.X[k], outside.Sigma[k])
		if d := math.Abs(o.X[k]-outside.X[k]) / prior[k]; !(d < 1e-6) {
			t.Errorf("%s: %.12g, outside %.12g: %.1e of the prior apart", unknowns[k].Name(), o.X[k], outside.X[k], d)
		}
		if d := math.Abs(o.Sigma(k)/outside.Sigma[k] - 1); !(d < 1e-6) {
			t.Errorf("standard deviation of %s: %.9g, outside %.9g", unknowns[k].Name(), o.Sigma(k), outside.Sigma[k])
		}
	}
	if !(math.Abs(o.ChiSquare/outside.ChiSquare-1) < 1e-6) {
		t.Errorf("chi-square %.9g, outside %.9g", o.ChiSquare, outside.ChiSquare)
	}
}
