package configs

import (
	"bytes"
	"strings"
	"testing"

	"flexwright/models"
)

func TestIdentity(t *testing.T) {
	const text = `title: one
layout: four-arm
material: aluminium 7075-T6
fix: {travel: 2 mm, blade_width: 15 mm}
vary:
  blade_thickness: {from: 0.3 mm, to: 0.8 mm}
  blade_length:    {from: 30 mm, to: 80 mm}
goals: {first_frequency: most, footprint: least}
limits: {peak_stress: {at_most: 200 MPa}}
search: {method: latin, designs: 31, seed: 3}
`
	load := func(pairs ...string) *Brief {
		t.Helper()
		b, problems := Load("b.yaml", []byte(strings.NewReplacer(pairs...).Replace(text)), models.Layouts(), models.Materials())
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		return b
	}
	a := load()
	for _, same := range []*Brief{load("title: one", "title: 'two: # of them'"), load("designs: 31", "designs: 62"), load("15 mm", "1.5 cm"), load("title: one\n", "")} {
		if !bytes.Equal(a.Identity(), same.Identity()) || len(Differences(a, same)) > 0 {
			t.Errorf("another run: %v", Differences(a, same))
		}
	}
	for _, c := range []struct {
		other *Brief
		want  Difference
	}{
		{load("15 mm", "16 mm"), Difference{"fix.blade_width", "15 mm", "16 mm"}},
		{load("15 mm}", "15 mm, guide_body_depth: 12 mm}"), Difference{"fix.guide_body_depth", "the largest of 8 mm, 10 blade_thickness and 10 ground_blade_thickness", "12 mm"}},
		{load("200 MPa", "210 MPa"), Difference{"limits.peak_stress", "{at_most: 200 MPa}", "{at_most: 210 MPa}"}},
		{load("footprint: least}", "stage_mass: least}"), Difference{"goals.footprint", "least", ""}},
		{load("first_frequency: most, footprint: least", "footprint: least, first_frequency: most"), Difference{"goals", "in another order", ""}},
		{load("seed: 3", "seed: 4"), Difference{"search.seed", "3", "4"}},
		{load("method: latin", "method: sobol"), Difference{"search.method", "latin", "sobol"}},
	} {
		have := Differences(a, c.other)
		if len(have) == 0 || have[0] != c.want || bytes.Equal(a.Identity(), c.other.Identity()) {
			t.Errorf("%v, want %v", have, c.want)
		}
	}
}
