package main

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"strings"
	"testing"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/objective/fit"
)

const builtExample = "../../configs/examples/built_scanner.yaml"

// builtTruth is what the invented stage of the example is.
var builtTruth = []objective.Correction{
	{Kind: objective.CorrectThicknessCommon, By: 4e-6}, {Kind: objective.CorrectModulus, By: -0.012},
	{Kind: objective.CorrectDensity, By: 0.001}, {Kind: objective.CorrectMountedMass, Of: "stage", By: 0.002},
	{Kind: objective.CorrectRootStiffness, By: -0.04}, {Kind: objective.CorrectProngStiffness, By: 0.01}, {Kind: objective.CorrectDamping, By: 0.2},
}

// builtReadings are the readings of the example, as its file writes them, with the digits
// of their values.
var builtReadings = []struct {
	text   string
	digits int
}{
	{"force: x, at: [2 mm, 0 mm], value: N, sigma: 0.03 N", 3},
	{"force: x, at: [-2 mm, 0 mm], value: N, sigma: 0.03 N", 3},
	{"force: x, at: [1 mm, 0 mm], value: N, sigma: 0.03 N", 3},
	{"force: x, at: [2 mm, 2 mm], value: N, sigma: 0.03 N", 3},
	{"force: y, at: [0 mm, 2 mm], value: N, sigma: 0.03 N", 3},
	{"force: y, at: [0 mm, -2 mm], value: N, sigma: 0.03 N", 3},
	{"force: y, at: [0 mm, 1 mm], value: N, sigma: 0.03 N", 3},
	{"force: y, at: [-2 mm, 2 mm], value: N, sigma: 0.03 N", 3},
	{"stiffness: x, at: [0 mm, 0 mm], value: N/mm, sigma: 0.02 N/mm", 3},
	{"frequency: x, at: [0 mm, 0 mm], value: Hz, sigma: 0.02 Hz", 3},
	{"frequency: y, at: [0 mm, 0 mm], value: Hz, sigma: 0.02 Hz", 3},
	{"frequency: 3, at: [0 mm, 0 mm], value: Hz, sigma: 0.2 Hz", 2},
	{"out_of_plane_frequency: 1, at: [0 mm, 0 mm], value: Hz, sigma: 0.2 Hz", 2},
	{"out_of_plane_frequency: 2, at: [0 mm, 0 mm], value: Hz, sigma: 0.3 Hz", 2},
	{"lost_motion: x, at: [2 mm, 2 mm], value: µm, sigma: 0.3 µm", 2},
	{"lost_motion: y, at: [2 mm, -2 mm], value: µm, sigma: 0.3 µm", 2},
	{"motion: arm-1, along: x, at: [2 mm, -2 mm], value: mm, sigma: 0.5 µm", 5},
	{"sag: stage, at: [0 mm, 0 mm], value: µm, sigma: 0.1 µm", 2},
	{"damping: 1, at: [0 mm, 0 mm], value: , sigma: 0.0001", 5},
	{"mass: plate, value: kg, sigma: 0.0002 kg", 4},
	{`thickness: "guide-1, blade 2 of 4", value: mm, sigma: 1 µm`, 4},
	{`thickness: "guide-6, blade 1 of 4", value: mm, sigma: 1 µm`, 4},
}

// The readings of the example are what the model says of the invented stage, with errors
// drawn as their uncertainties say; go generate writes them anew where the model changes.
func TestBuiltExample(t *testing.T) {
	data, err := os.ReadFile(builtExample)
	if err != nil {
		t.Fatal(err)
	}
	brief, problems := loadBrief("built_scanner.yaml", data)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	spec := brief.Spec()
	spec.Pin([]float64{0})
	built := *spec
	built.Correct(builtTruth)
	rng := rand.New(rand.NewPCG(17, 4))
	var b bytes.Buffer
	b.WriteString(`# What was measured on the mirror scanner of built_scanner.yaml: an invented stage. The
# numbers were computed for blades 4 µm thicker than drawn, of metal 1.2 % softer and 0.1 %
# denser, with a mirror 2 g heavier, roots 4 % softer, prongs 1 % stiffer and a damping a
# fifth larger, and given errors as large as the uncertainties say (go generate).
measured:
`)
	for _, r := range builtReadings {
		entry := strings.Replace(r.text, "value: ", "value: 1 ", 1)
		m, problems := configs.LoadMeasured("entry", []byte("measured: [{"+entry+"}]"), spec)
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		model, err := fit.NewModel(&built, nil, []fit.Quantity{m.List[0].Quantity})
		if err != nil {
			t.Fatal(err)
		}
		var v [1]float64
		if !model.Predict(nil, v[:]) {
			t.Fatal(r.text)
		}
		u := fit.Table[m.List[0].Kind].Unit
		value := fmt.Sprintf("%.*f", r.digits, u.FromSI(v[0]+m.List[0].Sigma*rng.NormFloat64()))
		line := strings.Replace(r.text, "value: ", "value: "+value+" ", 1)
		fmt.Fprintf(&b, "  - {%s}\n", strings.Replace(line, value+" ,", value+",", 1))
	}
	path := "../../configs/examples/measured/built_scanner.yaml"
	if *update {
		if err := os.WriteFile(path, b.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if have, err := os.ReadFile(path); err != nil || !bytes.Equal(have, b.Bytes()) {
		t.Errorf("%s is not what the model says: go generate ./cmd/flexwright (%v)\n%s", path, err, b.Bytes())
	}
}

// Every quantity and every unknown has its place in the page.
func TestBuiltPage(t *testing.T) {
	page, err := os.ReadFile("docs/built.md")
	if err != nil {
		t.Fatal(err)
	}
	for k := range fit.Table {
		if !bytes.Contains(page, []byte("`"+fit.Table[k].Name+"`")) {
			t.Errorf("docs/built.md says nothing of %s", fit.Table[k].Name)
		}
	}
}
