package configs

import (
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// The measures and designs of a brief come back from its resolved text, and stand in
// the spec and the plan.
func TestAlsoAndStart(t *testing.T) {
	b, problems := loadFile(t, "../testdata/briefs/also_and_start.good.yaml")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	want := [][]float64{{1, 41.5, 1}, {0, 30, 2}} // material and thickness by number, length in mm
	if have := b.Plan().Start; !reflect.DeepEqual(have, want) {
		t.Errorf("start %v, not %v", have, want)
	}
	s := b.Spec()
	stored := map[objective.Measure]bool{}
	for _, m := range s.Measures {
		stored[m] = true
	}
	if !stored[objective.Bandwidth] || !stored[objective.CrossoverEnd] || !stored[objective.ModeRule] || stored[objective.PhaseMargin] {
		t.Errorf("measures %v", s.Measures)
	}
	if !s.NoScreening {
		t.Error("designs are screened although the brief says off")
	}
	again, problems := Load("again", b.Resolved(), models.Layouts(), models.Materials())
	if len(problems) > 0 || !reflect.DeepEqual(again.Plan(), b.Plan()) || !reflect.DeepEqual(again.Spec().Measures, s.Measures) {
		t.Errorf("the resolved brief differs: %v\n%s", problems, b.Resolved())
	}
}

// A design to start from has what its layout has, also in the resolved text; nothing else
// is taken.
func TestStartOfLayouts(t *testing.T) {
	brief := func(start string) string {
		return "layout: {one_of: [four-arm, tied-guide]}\nmaterial: aluminium 7075-T6\nfix: {travel: 2 mm, blade_width: 20 mm, blade_thickness: 0.5 mm}\n" +
			"vary: {blade_length: {from: 30 mm, to: 60 mm}, tie_blade_length: {one_of: [8 mm, 10 mm]}}\ngoals: {first_frequency: most}\nsearch: {method: evolve}\nstart:\n" + start
	}
	load := func(text string) (*Brief, Problems) {
		return Load("brief.yaml", []byte(text), Layouts(), models.Materials())
	}
	b, problems := load(brief("  - {layout: four-arm, blade_length: 40 mm}\n  - {layout: tied-guide, blade_length: 50 mm, tie_blade_length: 10 mm}\n"))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	want := [][]float64{{0, 40, math.NaN()}, {1, 50, 1}}
	again, problems := load(string(b.Resolved()))
	if len(problems) > 0 || !slices.EqualFunc(b.Plan().Start, want, search.SamePoint) || !slices.EqualFunc(again.Plan().Start, want, search.SamePoint) {
		t.Errorf("%v: starts with %v, resolved with %v\n%s", problems, b.Plan().Start, again.Plan().Start, b.Resolved())
	}
	if d := Differences(b, again); len(d) > 0 {
		t.Errorf("the resolved brief differs in %v", d)
	}
	for start, want := range map[string]string{
		"  - {layout: tied-guide, blade_length: 50 mm}\n":                         "lacks tie_blade_length",
		"  - {layout: four-arm, blade_length: 50 mm, tie_blade_length: 10 mm}\n":  "four-arm has no tie_blade_length",
		"  - {layout: four-arms, blade_length: 50 mm, tie_blade_length: 10 mm}\n": "four-arms is none of the layouts",
		"  - {blade_length: 50 mm, tie_blade_length: 10 mm}\n":                    "lacks layout",
	} {
		if _, problems := load(brief(start)); !strings.Contains(fmt.Sprint(problems), want) {
			t.Errorf("%s: %v, wanted %s", start, problems, want)
		}
	}
}

// Sweeps are not screened unless they ask for it, searches are.
func TestScreenByMethod(t *testing.T) {
	for search, want := range map[string]bool{"{method: evolve}": false, "{method: sobol}": true, "{method: latin}": true, "{method: grid}": true, "{method: sobol, screen: on}": false, "{method: evolve, screen: off}": true} {
		b, problems := Load("x", []byte("layout: four-arm\nmaterial: aluminium 7075-T6\nfix: {travel: 2 mm, blade_thickness: 0.5 mm, blade_width: 20 mm}\n"+
			"vary: {blade_length: {from: 30 mm, to: 60 mm}}\ngoals: {first_frequency: most}\nsearch: "+search+"\n"), models.Layouts(), models.Materials())
		if len(problems) > 0 || b.Spec().NoScreening != want {
			t.Errorf("%s: %v", search, problems)
		}
	}
}

// Limits take the place of a brief's own and of the default ones, one side at a time;
// with them comes a brief that can be read.
func TestLimited(t *testing.T) {
	b, problems := loadFile(t, "examples/fast_scanner.yaml")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	ref := func(m objective.Measure) objective.Ref { return objective.Ref{Index: int(m)} }
	limits := []objective.Limit{
		{Ref: ref(objective.PeakStress), AtLeast: math.Inf(-1), AtMost: 120},
		{Ref: ref(objective.BladeAspect), AtLeast: math.Inf(-1), AtMost: 40},
		{Ref: ref(objective.FirstFrequency), AtLeast: 30, AtMost: math.Inf(1)},
	}
	n := len(b.Space())
	x := make([]float64, n)
	for i, v := range b.Space() {
		x[i] = v.From
	}
	text := b.Limited(limits, [][]float64{x})
	limited, problems := Load("limited", text, models.Layouts(), models.Materials())
	if len(problems) > 0 {
		t.Fatalf("%v\n%s", problems, text)
	}
	have := map[string]objective.Limit{}
	for _, l := range limited.Spec().Limits {
		have[limited.Spec().Name(l.Ref)] = l
	}
	if have["peak_stress"].AtMost != 120 || have["blade_aspect"].AtMost != 40 || have["first_frequency"].AtLeast != 30 || have["lost_motion"].AtMost != 100 {
		t.Errorf("limits %v", have)
	}
	if !reflect.DeepEqual(limited.Plan().Start, [][]float64{x}) {
		t.Errorf("start %v", limited.Plan().Start)
	}
	text = b.Limited([]objective.Limit{{Ref: ref(objective.ForceMargin), AtLeast: 1, AtMost: math.Inf(1)}}, nil)
	if _, problems := Load("limited", text, models.Layouts(), models.Materials()); len(problems) == 0 {
		t.Error("a limit that needs an actuator is accepted without one")
	}
}
