package configs

import (
	"math"
	"reflect"
	"strings"
	"testing"

	"flexwright/models"
)

// a table with a field of every kind.
var everyKind = []Field{
	{Name: "sensor", Kind: KindChoice, Choices: []string{"arm", "stage", "split"}, Default: "stage"},
	{Name: "split", Kind: KindQuantity, Unit: models.Hertz, Min: 1, Max: 1000, Default: "10 Hz", When: "sensor", Is: []string{"split"}},
	{Name: "delay", Kind: KindQuantity, Unit: models.Microsecond, Min: 0, Max: 1e4, Default: "0.15 ms"},
	{Name: "gain", Kind: KindQuantity, Required: true},
	{Name: "levels", Kind: KindQuantities, Unit: models.Micrometre, Default: "[]"},
	{Name: "count", Kind: KindInteger, Min: 0, Max: 9, Default: "0"},
	{Name: "note", Kind: KindText},
	{Name: "closed", Kind: KindSwitch, Default: "on"},
	{Name: "range", Kind: KindGroup, Fields: []Field{
		{Name: "low", Kind: KindQuantity, Unit: models.Kilogram, Default: "0 kg"},
		{Name: "high", Kind: KindQuantity, Unit: models.Kilogram},
	}},
	{Name: "holes", Kind: KindGroups, Fields: []Field{
		{Name: "x", Kind: KindQuantity, Unit: models.Millimetre, Required: true},
		{Name: "d", Kind: KindQuantity, Unit: models.Millimetre, Default: "3 mm"},
	}},
}

func readEveryKind(t *testing.T, text string) (*Section, Problems) {
	t.Helper()
	r := newReader("test", []byte(text))
	n := r.parseYAML([]byte(text))
	if n == nil {
		t.Fatal(r.problems)
	}
	return r.readSection(n, n.place, "test", everyKind), r.all()
}

func TestSection(t *testing.T) {
	s, problems := readEveryKind(t, `
sensor: split
split: 0.02 kHz
gain: 3
levels: [1 µm, 0.002 mm]
count: 7
note: "on: # off"
closed: off
range: {high: 500 g}
holes:
  - {x: 1 mm}
  - x: 2 cm
    d: 4 mm
`)
	if problems != nil {
		t.Fatal(problems)
	}
	check := func(s *Section, given bool) {
		t.Helper()
		if s.Text("sensor") != "split" || s.Float("split") != 20 || s.Float("gain") != 3 || s.Int("count") != 7 || s.On("closed") || s.Text("note") != "on: # off" {
			t.Errorf("%+v", s.values)
		}
		if s.Float("delay") != 150 || s.SI("delay") != 150e-6 || s.Given("delay") == given || !s.Has("delay") {
			t.Errorf("delay %g µs, %g s", s.Float("delay"), s.SI("delay"))
		}
		if !reflect.DeepEqual(s.Floats("levels"), []float64{1, 2}) {
			t.Errorf("levels %v", s.Floats("levels"))
		}
		if g := s.Group("range"); g.Float("low") != 0 || g.Float("high") != 0.5 {
			t.Errorf("range %v", g.values)
		}
		holes := s.Groups("holes")
		if len(holes) != 2 || holes[0].Float("x") != 1 || holes[0].Float("d") != 3 || holes[1].Float("x") != 20 || holes[1].Float("d") != 4 {
			t.Errorf("holes %v", holes)
		}
	}
	check(s, true)
	var w writer
	w.section(0, s)
	again, problems := readEveryKind(t, w.String())
	if problems != nil {
		t.Fatalf("%v\n%s", problems, w.String())
	}
	check(again, false)
	var w2 writer
	w2.section(0, again)
	if w.String() != w2.String() {
		t.Errorf("written twice:\n%s\n%s", w.String(), w2.String())
	}
}

func TestSectionDefaults(t *testing.T) {
	s, problems := readEveryKind(t, "gain: 1\n")
	if problems != nil {
		t.Fatal(problems)
	}
	if s.Text("sensor") != "stage" || s.Has("split") || !s.On("closed") || s.Has("note") || s.Text("note") != "" {
		t.Error("defaults of single values")
	}
	if g := s.Group("range"); g.Float("low") != 0 || g.Has("high") || !math.IsNaN(g.Float("high")) || s.Given("range") {
		t.Error("defaults of a group")
	}
	if len(s.Groups("holes")) != 0 || len(s.Floats("levels")) != 0 {
		t.Error("defaults of lists")
	}
}

func TestSectionRefuses(t *testing.T) {
	_, problems := readEveryKind(t, `
sensor: stage
split: 20 Hz
delay: 1 s
levels: [1 µm, 2 kg, 3]
count: 10
note: [a]
closed: 1
range: {middle: 1 kg}
holes:
  - {d: 4 mm}
  - 5 mm
`)
	wanted := []string{"lacks gain", "no key split with sensor: stage (it belongs to split)", "delay of 1 s is out of range", "2 kg is a mass, not a length",
		"3 has no unit", "count of 10 is out of range", "note is a list", "1 is neither on nor off", "range has no key middle", "holes lacks x", "holes is a single value"}
	text := problems.Error()
	for _, w := range wanted {
		if !strings.Contains(text, w) {
			t.Errorf("%q is missing in\n%s", w, text)
		}
	}
	if len(problems) != len(wanted)+1 { // "holes lacks x" twice: the second one is no mapping
		t.Errorf("%d problems:\n%s", len(problems), text)
	}
	_, problems = readEveryKind(t, "gain: 1\nsensor: spilt\nsplit: 20 Hz\n")
	if len(problems) != 1 || !strings.Contains(problems[0].Message, "did you mean split?") {
		t.Errorf("a refused choice is held against the fields: %v", problems)
	}
}

// Every default of the tables is spelled as a brief would, fields that hang on a
// choice come after it, and names do not clash with those of the core keys.
func TestSectionTables(t *testing.T) {
	var walk func(fields []Field)
	walk = func(fields []Field) {
		for i := range fields {
			f := &fields[i]
			if f.Meaning == "" {
				t.Errorf("%s has no meaning", f.Name)
			}
			if f.Default != "" {
				var v value
				f.readDefault(&v) // panics where it is not accepted
			}
			if f.When != "" {
				found := false
				for _, before := range fields[:i] {
					found = found || before.Name == f.When && before.Kind == KindChoice
				}
				if !found {
					t.Errorf("%s hangs on %s, which is no choice before it", f.Name, f.When)
				}
			}
			walk(f.Fields)
		}
	}
	walk(Sections)
	walk(materialFields)
	seen := map[string]bool{}
	for _, name := range topKeys() {
		if seen[name] {
			t.Errorf("%s stands twice", name)
		}
		seen[name] = true
	}
}
