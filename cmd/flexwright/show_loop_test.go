package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/models/servo"
	"flexwright/objective"
)

// What show says of a loop in words and as JSON is of one loop: half and twice the damping, notches found for the design, which the
// exported controllers have, too, and what a feedforward's model misses by.
func TestShowLoop(t *testing.T) {
	dir := t.TempDir()
	brief := func(loop string) string {
		file := filepath.Join(dir, "brief.yaml")
		text := `layout: four-arm
material: aluminium 7075-T6
fix: {travel: 4 mm, blade_length: 80 mm, blade_thickness: 0.5 mm, blade_width: 20 mm}
vary: {arm_added_mass: {from: 0.1 kg, to: 0.3 kg}}
goals: {bandwidth: most}
also: [tracking_error_feedforward, position_noise, thermal_drift]
actuator: {class: vc-75}
motion: {kind: circle, frequency: 21 Hz}
noise: {floor: 0.1 µm/s²/√Hz}
loop: {` + loop + "}\n"
		if err := os.WriteFile(file, []byte(text), 0o666); err != nil {
			t.Fatal(err)
		}
		return file
	}
	type page struct {
		Damping []struct {
			Factor    float64
			Crossover float64 `json:"crossover_hz"`
			Bandwidth float64 `json:"bandwidth_hz"`
		}
		Measures struct {
			Crossover   float64 `json:"crossover_hz"`
			Bandwidth   float64 `json:"bandwidth_hz"`
			Notches     string  `json:"notches_found"`
			Tracking    float64 `json:"tracking_error_um"`
			Feedforward float64 `json:"tracking_error_feedforward_um"`
		}
	}
	show := func(loop string, more ...string) (p page) {
		_, text, messages := command(t, append([]string{"show", brief(loop), "--json"}, more...)...)
		if err := json.Unmarshal([]byte(text), &p); err != nil {
			t.Fatal(err, messages)
		}
		return p
	}
	plain := show("")
	if d := plain.Damping; len(d) != 2 || d[0].Factor != 0.5 || d[1].Factor != 2 || !(d[0].Bandwidth > 0) || !(d[0].Crossover < d[1].Crossover) {
		t.Errorf("damping %+v at a crossover of %g Hz", plain.Damping, plain.Measures.Crossover)
	}
	if half := show("damping: 0.001"); half.Measures.Crossover != plain.Damping[0].Crossover || half.Measures.Bandwidth != plain.Damping[0].Bandwidth {
		t.Errorf("with half the damping %+v, said to be %+v", half.Measures, plain.Damping[0])
	}

	file := filepath.Join(dir, "plant.json")
	notched := show("auto_notch: 2", "--plant", file)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var x servo.Export
	if err := json.Unmarshal(text, &x); err != nil {
		t.Fatal(err)
	}
	for _, c := range x.Controllers {
		var hz []float64
		for _, n := range c.Notches {
			hz = append(hz, n.Hz)
		}
		if len(hz) == 0 || objective.NotchText(hz) != notched.Measures.Notches {
			t.Errorf("notches at %v Hz in the controller of %s, %q found", hz, c.Axis, notched.Measures.Notches)
		}
	}
	if !(notched.Measures.Bandwidth > 1.1*plain.Measures.Bandwidth) {
		t.Errorf("bandwidth %g Hz with notches, %g Hz without", notched.Measures.Bandwidth, plain.Measures.Bandwidth)
	}

	_, words, _ := command(t, "show", brief("auto_notch: 2"))
	words = strings.Join(strings.Fields(words), " ")
	for _, sentence := range []string{"Notches at " + notched.Measures.Notches + " Hz", "With half the damping of every mode the crossover is", "Without feedforward the motion program (circle, 21 Hz) is missed by", "times the position noise"} {
		if !strings.Contains(words, sentence) {
			t.Errorf("show does not say %q", sentence)
		}
	}
	if worse := show("feedforward_stiffness_error: 10 %, feedforward_mass_error: 10 %"); worse.Measures.Tracking != plain.Measures.Tracking || !(worse.Measures.Feedforward > 4*plain.Measures.Feedforward) {
		t.Errorf("with a worse model %+v, %+v", worse.Measures, plain.Measures)
	}
}
