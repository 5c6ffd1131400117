package configs

import (
	"bytes"
	"math"
	"reflect"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// plate is a layout for tests: only its parameters matter here.
type plate struct{ models.Layout }

func (plate) Name() string { return "four-arm" }

func (plate) Parameters() []models.Parameter { return plateParameters }

var plateParameters = []models.Parameter{
	{Name: "travel", Unit: models.Millimetre, Min: 0.05, Max: 25, Default: math.NaN(), Required: true, DefaultText: "must be given"},
	{Name: "blade_length", Unit: models.Millimetre, Min: 5, Max: 300, Default: math.NaN(), Required: true, DefaultText: "must be given"},
	{Name: "blade_thickness", Unit: models.Millimetre, Min: 0.05, Max: 5, Default: math.NaN(), Required: true, DefaultText: "must be given"},
	{Name: "blade_width", Unit: models.Millimetre, Min: 1, Max: 200, Default: math.NaN(), Required: true, DefaultText: "must be given"},
	{Name: "fillet_radius", Unit: models.Millimetre, Min: 0.01, Max: 20, Default: math.NaN(), DefaultText: "as blade_thickness"},
	{Name: "free_gap", Unit: models.Millimetre, Min: 0.05, Max: 10, Default: 0.5},
	{Name: "pocketing", Unit: models.One, Min: 0, Max: 0.6, Default: 0},
	{Name: "stage_added_mass", Unit: models.Kilogram, Min: 0, Max: 100, Default: 0},
	{Name: "arm_added_mass", Unit: models.Kilogram, Min: 0, Max: 100, Default: 0},
}

func testLayouts() []models.Layout { return []models.Layout{plate{}} }

func testMaterials() []models.Material {
	return []models.Material{
		{Name: "aluminium 7075-T6", Young: 71.7e9, Poisson: 0.33, Density: 2810, Yield: 503e6, Ultimate: 572e6,
			Fatigue: 159e6, FatigueCycle: 5e8, Expansion: 23.4e-6, Conductivity: 130, Source: "a data sheet"},
		{Name: "titanium Ti-6Al-4V", Young: 114e9, Poisson: 0.33, Density: 4430, Yield: 830e6, Ultimate: 900e6,
			Fatigue: 510e6, FatigueCycle: 1e7, Expansion: 8.6e-6, Conductivity: 6.7, Source: "another one"},
	}
}

const fullBrief = `title: sample scanner for a table-top X-ray microscope
layout: four-arm
material: aluminium 7075-T6
fix:
  stage_added_mass: 0.4 kg
vary:
  travel:           {from: 1 mm, to: 6 mm}
  blade_length:     {from: 30 mm, to: 80 mm}
  blade_thickness:  {from: 0.3 mm, to: 1.0 mm, step: 0.05 mm}
  blade_width:      {from: 8 mm, to: 30 mm}
  arm_added_mass:   {from: 0.1 kg, to: 0.6 kg}
goals:
  travel: most
  first_frequency: most
limits:
  peak_stress:   {at_most: 160 MPa}
  parasitic_yaw: {at_most: 50 µrad}
  lost_motion:   {at_most: 100 µm}
search: {method: evolve, population: 200, generations: 100, seed: 7}
`

func mustLoad(t *testing.T, text string) *Brief {
	t.Helper()
	b, problems := Load("brief.yaml", []byte(text), testLayouts(), testMaterials())
	if problems != nil {
		t.Fatalf("refused:\n%v\n%s", problems, text)
	}
	return b
}

func TestSpec(t *testing.T) {
	b := mustLoad(t, fullBrief)
	s := b.Spec()
	inf := math.Inf(1)
	wantLimits := append([]objective.Limit{
		{Ref: objective.Ref{Index: int(objective.PeakStress)}, AtLeast: -inf, AtMost: 160},
		{Ref: objective.Ref{Index: int(objective.ParasiticYaw)}, AtLeast: -inf, AtMost: 50},
		{Ref: objective.Ref{Index: int(objective.LostMotion)}, AtLeast: -inf, AtMost: 100},
	}, objective.DefaultLimits[:3]...)
	// a limit on the stress takes the place of the yield margin's
	wantLimits = append(wantLimits, objective.DefaultLimits[4:]...)
	if !reflect.DeepEqual(s.Limits, wantLimits) {
		t.Errorf("limits %+v", s.Limits)
	}
	wantGoals := []objective.Goal{
		{Ref: objective.Ref{Parameter: true, Index: 0}, Sense: objective.Most},
		{Ref: objective.Ref{Index: int(objective.FirstFrequency)}, Sense: objective.Most},
	}
	if !reflect.DeepEqual(s.Goals, wantGoals) {
		t.Errorf("goals %+v", s.Goals)
	}
	nan := math.NaN()
	wantFixed := []float64{nan, nan, nan, nan, nan, 0.5, 0, 0.4, nan}
	for i, want := range wantFixed {
		if got := s.Fixed[i]; math.Float64bits(got) != math.Float64bits(want) && !(math.IsNaN(got) && math.IsNaN(want)) {
			t.Errorf("%s fixed at %g, want %g", plateParameters[i].Name, got, want)
		}
	}
	wantSpace := search.Space{
		{Name: "travel", From: 1, To: 6},
		{Name: "blade_length", From: 30, To: 80},
		{Name: "blade_thickness", Kind: search.Stepped, From: 0.3, To: 1, Step: 0.05},
		{Name: "blade_width", From: 8, To: 30},
		{Name: "arm_added_mass", From: 0.1, To: 0.6},
	}
	if space := b.Space(); !reflect.DeepEqual(space, wantSpace) {
		t.Errorf("space %+v", space)
	}
	// 20,000 designs: the surrogate is on by itself.
	if want := (Plan{Method: "evolve", Population: 200, Generations: 100, Seed: 7, Surrogate: true, Auto: true}); !reflect.DeepEqual(b.Plan(), want) {
		t.Errorf("plan %+v", b.Plan())
	}
	for _, m := range s.Measures {
		if m == objective.UsableTravel || m == objective.TravelEnd {
			t.Error("usable travel is computed without having been named")
		}
	}
}

// A resolved brief is a brief with the same meaning, bit for bit, and resolves
// to itself.
func TestResolved(t *testing.T) {
	briefs := []string{fullBrief,
		`{layout: four-arm, material: {one_of: [titanium Ti-6Al-4V, mine]}, workspace: {travel: 3.3 mm, up_to: 5 mm},
materials: {mine: {youngs_modulus: 0.1 GPa, poisson_ratio: 0.3, density: 7.85 g/cm3, yield_strength: 333.3 MPa}},
goals: {usable_travel: most, footprint: least}, limits: {yield_margin: {at_least: 2}, peak_stress: {between: [1 kPa, 0.3 GPa]}, blade_width: {at_most: 20 mm}},
vary: {blade_length: {one_of: [3 cm, 0.04 m]}, blade_thickness: {from: 299.9 µm, to: 1 mm, scale: log}, blade_width: {from: 5 mm, to: 25 mm}},
fix: {pocketing: 30 %, fillet_radius: 333 um}, search: {method: sobol, designs: 77}}`,
	}
	for i := range briefs {
		briefs[i] = strings.Replace(briefs[i], "0.1 GPa", "100 GPa", 1)
		b := mustLoad(t, briefs[i])
		text := b.Resolved()
		again := mustLoad(t, string(text))
		if !bytes.Equal(again.Resolved(), text) {
			t.Errorf("resolved twice:\n%s\n%s", text, again.Resolved())
		}
		sameSpec(t, b.Spec(), again.Spec())
		if !reflect.DeepEqual(b.Space(), again.Space()) || !reflect.DeepEqual(b.Plan(), again.Plan()) {
			t.Error("space or plan differ")
		}
		t.Logf("%s", text)
	}
}

func sameSpec(t *testing.T, a, b *objective.Spec) {
	t.Helper()
	sameControl(t, a, b)
	same := func(x, y float64) bool {
		return math.Float64bits(x) == math.Float64bits(y) || math.IsNaN(x) && math.IsNaN(y)
	}
	for i := range a.Fixed {
		if !same(a.Fixed[i], b.Fixed[i]) {
			t.Errorf("fixed %d: %g and %g", i, a.Fixed[i], b.Fixed[i])
		}
	}
	if len(a.Materials) != len(b.Materials) {
		t.Fatal("number of materials differs")
	}
	for i, m := range a.Materials {
		n := b.Materials[i]
		if m.Name != n.Name || m.Source != n.Source {
			t.Errorf("material %v and %v", m, n)
		}
		for _, p := range properties {
			if !same(*p.at(m), *p.at(n)) {
				t.Errorf("%s of %s: %g and %g", p.Name, m.Name, *p.at(m), *p.at(n))
			}
		}
	}
	if a.UpTo != b.UpTo || !reflect.DeepEqual(a.Variables, b.Variables) || !reflect.DeepEqual(a.Goals, b.Goals) ||
		!reflect.DeepEqual(a.Limits, b.Limits) || !reflect.DeepEqual(a.Measures, b.Measures) {
		t.Errorf("specs differ: %+v and %+v", a, b)
	}
}

// A run is its resolved brief: what does not change the meaning does not change
// it, and what does, does.
func TestResolvedIsTheIdentity(t *testing.T) {
	same := `
# the same in another order and other words
search: {seed: 7, generations: 100, population: 200, surrogate: auto, method: evolve}
limits:
  lost_motion:   {at_most: 0.1 mm}
  blade_aspect:  {at_most: 100}      # a default, written out
  peak_stress:   {at_most: 0.16 GPa}
  parasitic_yaw: {at_most: 0.05 mrad}
goals: {travel: most, first_frequency: most}
vary:
  arm_added_mass:   {to: 600 g, from: 100 g, scale: linear}
  blade_width:      {from: 0.8 cm, to: 3 cm}
  blade_thickness:  {from: 300 um, to: 1 mm, step: 50 µm}
  blade_length:     {from: 0.03 m, to: 0.08 m}
  travel:           {from: 1000 µm, to: 6000 µm}
fix: {free_gap: 0.5 mm, stage_added_mass: 400 g}
material: {one_of: [aluminium 7075-T6]}
layout: four-arm
title: "sample scanner for a table-top X-ray microscope"
`
	want := string(mustLoad(t, fullBrief).Resolved())
	if got := string(mustLoad(t, same).Resolved()); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	for _, change := range [][2]string{
		{"400 g", "401 g"}, {"seed: 7", "seed: 8"}, {"travel: most, first_frequency: most", "first_frequency: most, travel: most"},
		{"free_gap: 0.5 mm", "free_gap: 0.6 mm"}, {"blade_aspect:  {at_most: 100}", "blade_aspect:  {at_most: 90}"},
		{"[aluminium 7075-T6]", "[aluminium 7075-T6, titanium Ti-6Al-4V]"}, {"scale: linear", "scale: log"},
	} {
		text := strings.Replace(same, change[0], change[1], 1)
		if got := string(mustLoad(t, text).Resolved()); text == same || got == want {
			t.Errorf("%s for %s changes nothing", change[1], change[0])
		}
	}
}

// Goals and limits name measures and parameters alike, so no name may be both.
func TestNamesAreDistinct(t *testing.T) {
	for _, layout := range Layouts() {
		for _, p := range layout.Parameters() {
			if _, ok := objective.ByName(p.Name); ok {
				t.Errorf("%s is a measure and a parameter of %s", p.Name, layout.Name())
			}
		}
	}
}
