package configs

import (
	"fmt"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/objective"
)

const needsBrief = `
layout: four-arm
material: aluminium 7075-T6
fix: {blade_length: 55 mm, blade_thickness: 0.5 mm, blade_width: 20 mm, travel: 2 mm}
actuator: {class: vc-75}
tolerances: {thickness: 1 µm, samples: 2, share: 50 %%}
goals: {%s: %s}
`

// Every measure, named alone in a brief, has a value or is refused with its reason:
// none is accepted and then left empty.
func TestEveryMeasureAlone(t *testing.T) {
	refused, explaining := 0, 0
	for m := range objective.NumMeasures {
		info := &objective.Table[m]
		if m.IsOtherTail() {
			continue
		}
		if info.Explains() {
			explaining++
		}
		text := fmt.Sprintf(needsBrief, info.Name, info.Sense)
		if info.Needs&objective.NeedsOneAxis != 0 {
			text = strings.Replace(strings.Replace(text, "four-arm", "single-guide", 1), "actuator: {class: vc-75}\n", "", 1)
		}
		b, problems := Load("brief.yaml", []byte(text), Layouts(), models.Materials())
		if len(problems) > 0 {
			refused++
			if !info.Explains() || !strings.Contains(problems.Error(), "it is a text") && !strings.Contains(problems.Error(), "it only says") {
				t.Errorf("%s is refused: %v", info.Name, problems)
			}
			continue
		}
		s := b.Spec()
		s.NoScreening = true
		e := objective.NewEvaluation(s)
		e.Evaluate([]float64{0})
		if v, ok := e.Measures.Get(m); !ok {
			t.Errorf("%s: accepted, and not computed (%v, %s)", info.Name, e.Verdict.Status, e.Verdict.Reason())
		} else if v != v {
			t.Errorf("%s is NaN", info.Name)
		}
		if text := info.ExplainedBy; text != 0 {
			var r objective.Row
			e.Fill(&r)
			if r.Text(text) == "" {
				t.Errorf("%s: nothing explains it", info.Name)
			}
		}
	}
	if refused == 0 || refused != explaining {
		t.Errorf("%d measures refused, and %d explain others", refused, explaining)
	}
}

// What the brief already decides is refused where it stands: a measure that its
// actuator, its motion or its material cannot give.
func TestNeedsAreRefused(t *testing.T) {
	const bare = `
layout: four-arm
material: bare
materials:
  bare: {youngs_modulus: 70 GPa, poisson_ratio: 0.33, density: 2700 kg/m³, yield_strength: 300 MPa}
fix: {blade_length: 55 mm, blade_thickness: 0.5 mm, blade_width: 20 mm, travel: 2 mm}
motion: {kind: hold}
goals: {first_frequency: most}
limits:
  %s: {at_least: %s}
`
	for _, c := range []struct{ measure, bound, want string }{
		{"fatigue_margin", "1000", "fatigue_margin needs fatigue_strength and ultimate_strength of the material"},
		{"cycle_margin", "1", "cycle_margin needs a motion that moves"},
		{"cycle_margin", "1", "cycle_margin needs fatigue_cycles of the material"},
		{"thermal_drift", "1 µm", "thermal_drift needs the expansion of the material"},
		{"thermal_drift", "1 µm", "thermal_drift needs an actuator"},
		{"force_margin", "1", "force_margin needs an actuator"},
	} {
		_, problems := Load("brief.yaml", fmt.Appendf(nil, bare, c.measure, c.bound), models.Layouts(), models.Materials())
		found := false
		for _, p := range problems {
			found = found || strings.Contains(p.Message, c.want) && p.Line == 10 && p.Column == 3
		}
		if !found {
			t.Errorf("%s: %v, want %q at 10:3", c.measure, problems, c.want)
		}
	}
}

// An actuator brings limits on what would overload it, which the brief may replace; its
// mass and its stroke are told.
func TestActuatorLimits(t *testing.T) {
	const text = `
layout: four-arm
material: aluminium 7075-T6
fix: {blade_length: 55 mm, blade_thickness: 0.5 mm, blade_width: 20 mm, travel: 2 mm, arm_added_mass: 0.2 kg}
actuator: {class: own, motor_constant: 10 N/√W, force_constant: 20 N/A, peak_force: 50 N, stroke: 8 mm, thermal_resistance: 4 K/W%s}
motion: {kind: circle}
goals: {first_frequency: most}
limits: {voltage_margin: {at_least: 1.5}}
`
	bounds := func(b *Brief) map[string]objective.Limit {
		list := map[string]objective.Limit{}
		for _, l := range b.Spec().Limits {
			list[b.name(l.Ref)] = l
		}
		return list
	}
	b, problems := Load("brief.yaml", fmt.Appendf(nil, text, ""), models.Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	limits := bounds(b)
	for name, least := range map[string]float64{"force_margin": 1, "stroke_margin": 1, "voltage_margin": 1.5, "fatigue_margin": 1, "buckling_margin": 1.5} {
		if l := limits[name]; l.AtLeast != least || l.Default != (name != "voltage_margin") {
			t.Errorf("%s: %+v", name, l)
		}
	}
	if l := limits["coil_temperature_rise"]; l.AtMost != 100 || !l.Default { // 120 °C less 20 °C
		t.Errorf("coil_temperature_rise: %+v", l)
	}
	// an own actuator adds no mass that nobody typed
	if d := b.Spec().Drive; d.Actuator.MovingMass != 0 || d.Actuator.Stroke != 8e-3 {
		t.Errorf("%+v", d.Actuator)
	}
	if w := b.Warnings(); len(w) != 1 || !strings.Contains(w[0], "brief.yaml:5:") || !strings.Contains(w[0], "± 4 mm") {
		t.Errorf("warnings %q", w)
	}
	b, problems = Load("brief.yaml", fmt.Appendf(nil, text, ", moving_mass: 0.15 kg"), models.Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	if w := b.Warnings(); len(w) != 2 || !strings.Contains(w[1], "arm_added_mass") {
		t.Errorf("warnings %q", w)
	}
	if r := string(b.Resolved()); !strings.Contains(r, "\n# actuator: its moving part, 0.15 kg, is part of each driven body") {
		t.Errorf("the resolved brief does not tell of the added mass:\n%s", r)
	}
}

// What the model holds rigid is not left to a search in silence.
func TestWarnOfTheFrame(t *testing.T) {
	const text = `layout: four-arm
material: aluminium 7075-T6
fix: {travel: 2 mm, blade_width: 20 mm, blade_thickness: 0.5 mm, blade_length: 60 mm}
vary: {frame_width: {from: 5 mm, to: 30 mm}}
goals: {footprint: least}
`
	b, problems := Load("brief.yaml", []byte(text), models.Layouts(), models.Materials())
	if len(problems) > 0 {
		t.Fatal(problems)
	}
	if w := b.Warnings(); len(w) != 1 || !strings.HasPrefix(w[0], "brief.yaml:4:") || !strings.Contains(w[0], "rigid in the model") {
		t.Errorf("%q", w)
	}
	for _, c := range []struct {
		thickness, bodies string
		notes             int
	}{{"0.5 mm", "rigid", 0}, {"0.51 mm", "rigid", 1}, {"0.51 mm", "elastic", 0}} { // prongs from 1 mm on
		b, problems = Load("brief.yaml", []byte(strings.NewReplacer("frame_width: {from: 5 mm", "prong_width: {from: 1 mm", "blade_thickness: 0.5 mm", "blade_thickness: "+c.thickness).Replace(text)+
			"bodies: "+c.bodies+"\n"), models.Layouts(), models.Materials())
		if w := b.Warnings(); len(problems) > 0 || len(w) != c.notes || c.notes > 0 && !strings.Contains(w[0], "peak_stress looks at blades alone") {
			t.Errorf("%+v: %v %q", c, problems, w)
		}
	}
}

// A prong is bent by what its blade's end takes, however the two share the bending: the narrower, the nearer to yielding,
// down to where the limit of common practice stops it. Rigid bodies have no stress, and meet it.
func TestBodyYieldMargin(t *testing.T) {
	var margins []float64
	for _, c := range []string{"prong_width: 5 mm}", "prong_width: 2 mm}", "prong_width: 1 mm}", "prong_width: 1 mm}\nbodies: rigid"} {
		b, problems := Load("brief.yaml", []byte("layout: four-arm\nmaterial: aluminium 7075-T6\ngoals: {first_frequency: most}\nfix: {travel: 6 mm, blade_length: 70 mm, blade_thickness: 1.2 mm, blade_width: 20 mm, "+c),
			models.Layouts(), models.Materials())
		if problems != nil {
			t.Fatal(problems)
		}
		spec := b.Spec()
		spec.NoScreening = true
		e := objective.NewEvaluation(spec)
		e.Evaluate(make([]float64, len(spec.Variables)))
		if !e.Verdict.OK() {
			t.Fatal(len(spec.Variables), e.Verdict.Reason())
		}
		v, ok := e.Measures.Get(objective.BodyYieldMargin)
		if rigid := strings.Contains(c, "rigid"); ok == rigid {
			t.Errorf("%s: known %v", c, ok)
		}
		margins = append(margins, v)
	}
	if !(margins[0] > 1.5*margins[1] && margins[1] > 1.2*margins[2] && margins[2] > 0) {
		t.Errorf("%g", margins)
	}
}
