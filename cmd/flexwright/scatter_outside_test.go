//go:build outside

package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// TestScatterOutside has parts of three designs made and measured by the plain script
// testdata/reference/python/scatter.py (Debian's python3-scipy) on exported assemblies of
// rigid bodies, thickness alone in error, with random numbers of its own. 4,000 parts of
// show stand for the whole distribution; of 60 of the script the mean lies within four
// standard errors of theirs, and as many lie beyond their tail as 5 % of 60 leave: 0 to 10
// (P = 0.9998 for each of the fifteen numbers).
func TestScatterOutside(t *testing.T) {
	for i, dimensions := range []string{
		"travel: 3 mm, blade_length: 55 mm, blade_thickness: 0.5 mm, blade_width: 20 mm",
		"travel: 5 mm, blade_length: 75 mm, blade_thickness: 0.7 mm, blade_width: 30 mm",
		"travel: 1 mm, blade_length: 35 mm, blade_thickness: 0.4 mm, blade_width: 12 mm",
	} {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			t.Parallel()
			dir := t.TempDir()
			brief, assembly := filepath.Join(dir, "stage.yaml"), filepath.Join(dir, "stage.json")
			text := "layout: four-arm\nbodies: rigid\nmaterial: aluminium 7075-T6\nfix: {stage_added_mass: 0.4 kg, " + dimensions +
				"}\ngoals: {first_frequency: most, footprint: least}\ntolerances: {thickness: 3 µm, samples: 4000}\n"
			if err := os.WriteFile(brief, []byte(text), 0o666); err != nil {
				t.Fatal(err)
			}
			code, out, messages := command(t, "show", brief, "--scatter", "--json", "--assembly", assembly)
			if code != exitDone {
				t.Fatalf("%d %s", code, messages)
			}
			var shown struct {
				Parameters map[string]float64 `json:"parameters"`
				Scatter    struct {
					Measures map[string]struct{ Mean, Tail float64 } `json:"measures"`
				} `json:"scatter"`
			}
			if err := json.Unmarshal([]byte(out), &shown); err != nil {
				t.Fatal(err)
			}
			run := exec.Command("/usr/bin/python3", "../../testdata/reference/python/scatter.py", assembly,
				fmt.Sprint(shown.Parameters["travel_mm"]), "3", "60", fmt.Sprint(i+1))
			run.Stderr = os.Stderr
			printed, err := run.Output()
			if err != nil {
				t.Fatalf("python3-scipy: %v", err)
			}
			var outside map[string]json.RawMessage
			if err := json.Unmarshal(printed, &outside); err != nil {
				t.Fatal(err)
			}
			if string(outside["unsolved"]) != "0" {
				t.Errorf("%s parts are not solved outside", outside["unsolved"])
			}
			delete(outside, "unsolved")
			if len(outside) != 5 {
				t.Errorf("%d measures", len(outside))
			}
			for column, raw := range outside {
				var values []float64
				if err := json.Unmarshal(raw, &values); err != nil {
					t.Fatal(err)
				}
				own, ok := shown.Scatter.Measures[column]
				if !ok {
					t.Fatalf("show has no %s", column)
				}
				n, mean, square, beyond := float64(len(values)), 0.0, 0.0, 0
				for _, v := range values {
					mean += v / n
					if v > own.Tail != (column == "first_frequency_hz") { // of a frequency the low ones are worse
						beyond++
					}
				}
				for _, v := range values {
					square += (v - mean) * (v - mean) / (n - 1)
				}
				t.Logf("%s: mean %.5g outside, %.5g here, deviation %.2g; %d of %g beyond the tail of %.5g", column, mean, own.Mean, math.Sqrt(square), beyond, n, own.Tail)
				if math.Abs(mean-own.Mean) > 4*math.Sqrt(square/n) || beyond > 10 {
					t.Errorf("%s: mean %g outside, %g here; %d of %g beyond the tail", column, mean, own.Mean, beyond, n)
				}
			}
		})
	}
}
