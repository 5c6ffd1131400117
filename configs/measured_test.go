package configs

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"flexwright/objective"
	"flexwright/objective/fit"
)

// builtSpec is the design of the example.
func builtSpec(t *testing.T) *objective.Spec {
	t.Helper()
	brief, problems := loadFile(t, "examples/built_scanner.yaml")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	spec := brief.Spec()
	spec.Pin([]float64{0})
	return spec
}

// Bad files are refused with all problems at once, each in its place.
func TestBadMeasurements(t *testing.T) {
	spec := builtSpec(t)
	for _, path := range files(t, "../testdata/measured/*.bad.yaml", 3) {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			_, problems := LoadMeasured(filepath.Base(path), data, spec)
			golden(t, path, problems)
		})
	}
}

// Every quantity and every kind of unknown can be written, and is fitted.
func TestGoodMeasurements(t *testing.T) {
	spec := builtSpec(t)
	spec.Measures = append(spec.Measures, objective.LoopMeasures...)
	data, err := os.ReadFile("../testdata/measured/all.good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	m, problems := LoadMeasured("all.good.yaml", data, spec)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	seen := map[fit.Kind]bool{}
	for _, q := range m.List {
		seen[q.Kind] = true
	}
	if len(seen) != int(fit.NumKinds) || len(m.Unknowns) != 17 || len(m.Proposals) != 1 {
		t.Errorf("%d kinds of %d, %d unknowns, %d proposals", len(seen), fit.NumKinds, len(m.Unknowns), len(m.Proposals))
	}
	if p := m.Unknowns[1]; p.Name() != "thickness of guide-1" || p.Prior != 1e-6 || p.Source != "the file" {
		t.Errorf("%+v", p)
	}
	o, err := fit.Solve(&fit.Problem{Spec: spec, Unknowns: m.Unknowns, Measured: m.List, Proposals: m.Proposals, Starts: 1})
	if err != nil {
		t.Fatal(err)
	}
	if o.Contradicts() {
		t.Error(o.Quality())
	}
}

// What a fit writes is read back as it was, to six digits.
func TestCorrectionsReadBack(t *testing.T) {
	brief, problems := loadFile(t, "../testdata/briefs/corrections.good.yaml")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	list := brief.Spec().Corrections
	if len(list) != 10 {
		t.Fatalf("%d corrections", len(list))
	}
	plain, problems := loadFile(t, "examples/built_scanner.yaml")
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	text, problems := plain.Corrected("corrected.yaml", WriteCorrections(list, []string{"what was found"}))
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	again, problems := Load("again", text, Layouts(), nil)
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	got := again.Spec().Corrections
	for k := range list {
		if k >= len(got) || got[k] != list[k] {
			t.Errorf("%v became %v", list, got)
			break
		}
	}
	if strings.Contains(string(plain.Identity()), "corrections") || !strings.Contains(string(again.Identity()), "corrections") {
		t.Error("corrections and the identity of a run")
	}
	if _, problems := plain.Corrected("measured.yaml", []byte("measured: []\n")); len(problems) == 0 {
		t.Error("a file of measurements was taken for one of corrections")
	}
}
