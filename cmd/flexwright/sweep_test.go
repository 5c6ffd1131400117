package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/objective"
	"flexwright/results"
)

// A sweep is not screened: of 2,000 designs each that is solved has every measure but
// those that nothing bounds in it, and each other one says why not.
func TestSweepHasNoHoles(t *testing.T) {
	dir := t.TempDir()
	brief := filepath.Join(dir, "sweep.yaml")
	text := `
layout: four-arm
material: aluminium 7075-T6
fix: {stage_added_mass: 0.4 kg}
vary:
  travel:          {from: 1 mm, to: 6 mm}
  blade_length:    {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 1.2 mm}
  blade_width:     {from: 8 mm, to: 30 mm}
goals: {travel: most, first_frequency: most}
limits: {peak_stress: {at_most: 160 MPa}, parasitic_yaw: {at_most: 50 µrad}}
search: {method: latin, designs: 2000, seed: 2}
`
	if err := os.WriteFile(brief, []byte(text), 0o666); err != nil {
		t.Fatal(err)
	}
	run := filepath.Join(dir, "sweep.run")
	if code, _, messages := command(t, "run", brief, "--out", run); code != exitDone {
		t.Fatal(code, messages)
	}
	_, out, _ := command(t, "front", run, "--all", "--csv")
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	if err != nil || len(rows) != 2001 {
		t.Fatal(err, len(rows))
	}
	solved := 0
	for _, row := range rows[1:] {
		cell := map[string]string{}
		for i, name := range rows[0] {
			cell[name] = row[i]
		}
		if cell["status"] != "solved" {
			if cell["reason"] == "" || cell["status"] == "screened" {
				t.Fatalf("design %s is %s, for %q", cell["id"], cell["status"], cell["reason"])
			}
			continue
		}
		solved++
		for name, value := range cell {
			m, isMeasure := results.MeasureOf(name)
			if value == "" && isMeasure && !objective.Table[m].Unbounded {
				t.Errorf("design %s: no %s", cell["id"], name)
			}
		}
	}
	if solved < 1000 {
		t.Errorf("%d of 2000 designs are solved", solved)
	}
}
