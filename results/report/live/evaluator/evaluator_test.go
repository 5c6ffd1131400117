package evaluator

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
)

const brief = `
layout: {one_of: [four-arm, single-guide]}
material: {one_of: [aluminium 7075-T6, titanium Ti-6Al-4V]}
fix: {stage_added_mass: 0.4 kg}
vary:
  travel:          {from: 1 mm, to: 4 mm}
  blade_length:    {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 1 mm, step: 0.05 mm}
  blade_width:     {one_of: [10 mm, 15 mm, 20 mm]}
goals: {travel: most, first_frequency: most}
limits: {peak_stress: {at_most: 160 MPa}, footprint: {at_most: 150 mm, layouts: [single-guide]}}
search: {method: sobol, designs: 50, seed: 7}
`

const loopBrief = `
layout: four-arm
material: aluminium 7075-T6
fix: {travel: 2 mm, blade_width: 20 mm, stage_added_mass: 0.4 kg}
vary:
  blade_length:    {from: 40 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 0.8 mm}
goals: {bandwidth: most, footprint: least}
limits: {peak_stress: {at_most: 250 MPa}}
search: {method: sobol, designs: 50, seed: 7}
`

func open(t *testing.T, text string) *Evaluator {
	t.Helper()
	s, err := Open(text, nil)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// ask sends a request and reads the answer.
func ask(t *testing.T, s *Evaluator, request, answer any) {
	t.Helper()
	text, err := json.Marshal(request)
	if err != nil {
		t.Fatal(err)
	}
	out := s.Handle(text)
	if strings.HasPrefix(string(out), `{"error"`) {
		t.Fatalf("%s: %s", text, out)
	}
	if err := json.Unmarshal(out, answer); err != nil {
		t.Fatalf("%s: %v", out, err)
	}
}

// random is a design of the brief, of which some fixed numbers are others.
func random(s *Evaluator, r *rand.Rand) Design {
	u, x := make([]float64, len(s.space)), make([]float64, len(s.space))
	for i := range u {
		u[i] = r.Float64()
	}
	s.space.Decode(u, x)
	var d Design
	for _, v := range s.spec.Fixed {
		d.Values = append(d.Values, Number(v))
	}
	for k, v := range s.own {
		switch {
		case v.Target == objective.TargetLayout:
			d.Layout = int(x[k])
		case v.Target == objective.TargetMaterial:
			d.Material = int(x[k])
		case v.Choices != nil:
			d.Values[v.Index] = Number(v.Choices[int(x[k])])
		default:
			d.Values[v.Index] = Number(x[k])
		}
	}
	for i, p := range s.spec.Parameters() {
		if p.Name == "stage_added_mass" {
			d.Values[i] = Number(0.1 + r.Float64())
		}
		if p.Name == "guide_body_depth" && r.IntN(4) == 0 {
			d.Values[i] = Number(p.Min) // often less than the blades ask for
		}
		if s.lacks(d.Layout, i) {
			d.Values[i] = Number(math.NaN())
		}
	}
	return d
}

type answered struct {
	Status, Reason string
	Feasible       bool
	Measures       map[string]any
}

// An evaluator says of a design what show says of it, bit for bit, and the brief that it
// writes of the design is good and says it too.
func TestSameAsShow(t *testing.T) {
	statuses := map[string]int{}
	for _, text := range []string{brief, loopBrief} {
		s, r := open(t, text), rand.New(rand.NewPCG(3, 4))
		for range 25 {
			d := random(s, r)
			var got answered
			ask(t, s, map[string]any{"op": "evaluate", "design": d}, &got)
			statuses[got.Status]++

			var written struct{ Text string }
			ask(t, s, map[string]any{"op": "brief", "design": d}, &written)
			b, problems := configs.Load("copied.yaml", []byte(written.Text), configs.Layouts(), models.Materials())
			if len(problems) > 0 {
				t.Fatalf("%v\n%s", problems, written.Text)
			}
			spec := b.Spec()
			spec.Pin(make([]float64, len(spec.Variables))) // one choice of a material, where nothing varies
			row := &objective.NewDetail(spec).Row
			if row.Status.String() != got.Status || row.Reason.Sentence() != got.Reason || row.Feasible != got.Feasible {
				t.Errorf("%+v: %s %q, as a brief %v %q", d, got.Status, got.Reason, row.Status, row.Reason.Sentence())
			}
			for _, m := range s.spec.Measures {
				v, ok := row.Measures.Get(m)
				have := got.Measures[objective.Table[m].Column()]
				switch {
				case objective.Table[m].IsText():
					if have == nil {
						have = ""
					}
					if have != row.Text(m) {
						t.Errorf("%s: %v and %q", objective.Table[m].Name, have, row.Text(m))
					}
				case ok != (have != nil) || ok && math.Abs(have.(float64)-v) > 1e-12*math.Abs(v):
					t.Errorf("%+v: %s is %v, as a brief %v %v", d, objective.Table[m].Name, have, v, ok)
				}
			}
		}
	}
	if statuses["solved"] < 20 || statuses["cannot_build"] == 0 {
		t.Errorf("too one-sided: %v", statuses)
	}
}

// What a push finds is better along its goal, no worse along the other and within the
// limits, the same for the same seed.
func TestPush(t *testing.T) {
	s := open(t, loopBrief)
	d := Design{Values: []Number{}}
	for _, v := range s.spec.Fixed {
		d.Values = append(d.Values, Number(v))
	}
	for i, p := range s.spec.Parameters() {
		switch p.Name {
		case "blade_length":
			d.Values[i] = 60
		case "blade_thickness":
			d.Values[i] = 0.4
		}
	}
	var before, after struct {
		Feasible bool
		Goals    []float64
	}
	ask(t, s, map[string]any{"op": "evaluate", "design": d}, &before)
	told := 0
	s.Progress = func([]byte) { told++ }
	var first, second struct {
		Done, Of int
		Design   Design
		Value    float64
	}
	request := map[string]any{"op": "push", "design": d, "goal": 0, "seed": 5, "designs": 96}
	ask(t, s, request, &first)
	ask(t, s, request, &second)
	ask(t, s, map[string]any{"op": "evaluate", "design": first.Design}, &after)
	if !before.Feasible || !after.Feasible || after.Goals[0] <= before.Goals[0] || after.Goals[1] > before.Goals[1]*(1+1e-9) || first.Value != after.Goals[0] {
		t.Errorf("from %+v to %+v, said %g", before, after, first.Value)
	}
	if !slices.Equal(first.Design.Values[:1], second.Design.Values[:1]) || first.Value != second.Value || first.Done != 96 || told != 8 {
		t.Errorf("%+v, then %+v; told %d times", first, second, told)
	}
}

// Requests that are none, and designs that are none of the brief's, are errors.
func TestRefused(t *testing.T) {
	s := open(t, loopBrief)
	for _, request := range []string{``, `{}`, `{"op": "rm"}`, `{"op": "evaluate"}`, `{"op": "evaluate", "design": {"layout": 7}}`, `{"op": "evaluate", "design": {"values": ["x"]}}`} {
		if out := string(s.Handle([]byte(request))); !strings.HasPrefix(out, `{"error"`) {
			t.Errorf("%q: %s", request, out)
		}
	}
	if _, err := Open("layout: [", nil); err == nil {
		t.Error("a brief that is none")
	}
	if _, err := Open(strings.Replace(loopBrief, "four-arm", "mine.layout.yaml", 1), nil); err == nil || !strings.Contains(err.Error(), "it is not in the page") {
		t.Error(err)
	}
}

// Picture, maps and loop of a design, and of one that cannot be built.
func TestDetails(t *testing.T) {
	s := open(t, loopBrief)
	d := random(s, rand.New(rand.NewPCG(1, 1)))
	for i, q := range s.spec.Parameters() {
		if q.Name == "guide_body_depth" {
			d.Values[i] = Number(math.NaN())
		}
	}
	var p picture
	ask(t, s, map[string]any{"op": "picture", "design": d, "x": 1, "y": -0.5}, &p)
	stage := 0
	for _, b := range p.Bodies {
		if b.Class == "platform" {
			stage = b.Number
		}
	}
	if p.Side < 100 || len(p.Blades) != 32 || len(p.Moved) == 0 || math.Abs(p.Moved[stage][0]-2) > 1e-6 || math.Abs(p.Moved[stage][1]+1) > 1e-6 {
		t.Errorf("side %g, %d blades, moved %v, %s", p.Side, len(p.Blades), p.Moved, p.Why)
	}
	var g grid
	ask(t, s, map[string]any{"op": "maps", "design": d}, &g)
	if len(g.Maps) != 3 || len(g.Maps[0].Values) != 49 || g.At[0] != -2 {
		t.Errorf("%d maps over %v", len(g.Maps), g.At)
	}
	var l loopSummary
	ask(t, s, map[string]any{"op": "loop", "design": d}, &l)
	if len(l.Curves) != 9 || !(l.Crossover > 0) {
		t.Errorf("%d curves, crossover %g Hz", len(l.Curves), l.Crossover)
	}
	for i, q := range s.spec.Parameters() {
		if q.Name == "guide_body_depth" {
			d.Values[i] = Number(q.Min)
		}
	}
	ask(t, s, map[string]any{"op": "picture", "design": d}, &p)
	if p.Why == "" {
		t.Error("a plate that cannot be built is drawn without a word")
	}
}
