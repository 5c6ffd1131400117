package configs

import (
	"fmt"
	"maps"
	"math"
	"os"
	"slices"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/models/conformance"
	"flexwright/models/layoutfile"
	"flexwright/models/mechanics"
	"flexwright/objective"
)

func TestLayoutsConform(t *testing.T) {
	for _, path := range append(files(t, "layouts/*.layout.yaml", 7), files(t, "../testdata/layouts/*.good.yaml", 1)...) {
		t.Run(path, func(t *testing.T) {
			r := conformance.Check(readLayout(t, path), &models.Materials()[0], 200)
			for _, fault := range r.Faults {
				t.Error(fault)
			}
			if r.Built < 200 {
				t.Errorf("%d of %d designs were built: %v", r.Built, r.Tried, r.Refusals)
			}
		})
	}
}

// A file may be well formed and yet draw what cannot be: each fault is found, in
// words.
func TestLayoutFaults(t *testing.T) {
	data, err := os.ReadFile("../testdata/layouts/parallelogram.good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, want string }{
		{"- {x: [-reach, reach], y: [blade_length + back, top]}", "- {x: [-reach, reach], y: [blade_length + back, top]}\n      - {x: [0, reach], y: [blade_length, top]}", "rectangles of stage overlap by "},
		{"- {x: [-reach, reach], y: [blade_length + back, top]}", "- {x: [-reach, reach], y: [blade_length + back, top]}\n      - {x: [-reach, reach], y: [top + 1 mm, 2*top]}", "stage is in pieces"},
		{"root: [half_spacing, 0]", "root: [half_spacing, 1 mm]", "the root of blade 1, with its fillets and set back by them, is not on a face of ground"},
		{"root: [half_spacing, 0]", "root: [half_spacing + 1 mm, 0]", "the root of blade 1, with its fillets and set back by them, is not on a face of ground"},
		{"length: blade_length}", "length: blade_length - 1 mm}", "the tip of blade 1, with its fillets and set back by them, is not on a face of stage"},
		{"y: [-depth, -back]}", "y: [-depth, -back]}\n      - {x: [-2*reach, -reach], y: [-depth, top]}", "ground and stage come within -"},
		{"y: [-depth, -back]}", "y: [-depth, -back]}\n      - {x: [half_spacing - 1 mm, half_spacing + 1 mm], y: [0, blade_length/2]}", "comes within"},
		{"stage: stage", "symmetry: [mirror x]\nstage: stage", "after a mirror x ground is nowhere on the plate"},
		{"top: blade_length + depth", "top: blade_length + if(half_spacing > 30 mm, 1.1, 1)*depth", "when half_spacing grows by 1e-07 of itself, a body or a blade changes by "},
		{"that: half_spacing >= 2*blade_thickness", "that: half_spacing >= 1 m + 2*blade_thickness", "can be built: half_spacing is "},
	} {
		text := strings.Replace(string(data), c.old, c.new, 1)
		l, problems := LoadLayout("fault", []byte(text))
		if problems != nil || text == string(data) {
			t.Errorf("%s: refused: %v", c.new, problems)
			continue
		}
		r := conformance.Check(l, &models.Materials()[0], 40)
		if !strings.Contains(fmt.Sprint(r.Faults), c.want) {
			t.Errorf("%s: found %q, wanted %q", c.new, r.Faults, c.want)
		}
		// where the blade is written
		for _, f := range r.Faults {
			before, _, _ := strings.Cut(text, "half_spacing, 1 mm]")
			line, column := strings.Count(before, "\n")+1, len(before)-strings.LastIndex(before, "\n")
			if before != text && strings.HasPrefix(f.Text, "the root of blade") && (f.Line != line || f.Column != column) {
				t.Errorf("%s: at %d:%d, not %d:%d", c.new, f.Line, f.Column, line, column)
			}
		}
	}
}

// leaning is the parallelogram of the tests with blades that lean by an angle towards
// each other.
func leaning(t *testing.T) models.Layout {
	t.Helper()
	data, err := os.ReadFile("../testdata/layouts/parallelogram.good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	for _, c := range [][2]string{
		{"layout: parallelogram", "layout: trapezoid"},
		{"along: y,", "along: 90° + lean,"},
		{"derived:\n", "derived:\n  lean: 10°\n  top_face: (blade_length + back)*cos(lean)\n"},
		{"y: [-depth, -back]", "y: [-depth, -back*cos(lean)]"},
		{"y: [blade_length + back, top]", "y: [top_face, top]"},
		{"half_spacing >= 2*blade_thickness + fillet_radius", "half_spacing >= blade_length*sin(lean) + 3*blade_thickness + 3*fillet_radius"},
		{"reach: half_spacing + blade_thickness/2 + fillet_radius", "reach: half_spacing + 2*blade_thickness + 3*fillet_radius"},
	} {
		if !strings.Contains(text, c[0]) {
			t.Fatalf("the parallelogram has no %q", c[0])
		}
		text = strings.Replace(text, c[0], c[1], 1)
	}
	l, problems := LoadLayout("trapezoid", []byte(text))
	if problems != nil {
		t.Fatal(problems)
	}
	return l
}

// Fillets in the corners of a blade that leans on its face by the angle α add
// r² (2/sin α - π/2), by what a kite of two tangents holds beyond the circle's sector in corners
// of α and 180° - α; the body's mass has them, and the suite, which goes by the outline, finds
// no fault.
func TestFilletsOfLeaningBlades(t *testing.T) {
	l := leaning(t)
	r := conformance.Check(l, &models.Materials()[0], 40)
	if len(r.Faults) > 0 || r.Built < 40 {
		t.Errorf("%d built: %v", r.Built, r.Faults)
	}
	const length, thickness, width, radius, spacing, depth = 40e-3, 0.5e-3, 10e-3, 1e-3, 30e-3, 12e-3
	d, s := stageOf(t, l, map[string]float64{"travel": 1, "blade_length": length * 1e3, "blade_thickness": thickness * 1e3, "blade_width": width * 1e3,
		"fillet_radius": radius * 1e3, "half_spacing": spacing * 1e3, "depth": depth * 1e3})
	sin := math.Sin(80 * math.Pi / 180)
	back := models.FilletStiffening(radius/thickness) * radius
	face, reach := (length+back)*sin, spacing+2*thickness+3*radius
	area := 2*reach*(length+depth-face) + 2*(radius*radius*(2/sin-math.Pi/2)+back*thickness)
	if want := area * width * d.Material.Density; math.Abs(s.Mass[1]/want-1) > 1e-9 {
		t.Errorf("the stage has %.9g kg, by hand %.9g kg", s.Mass[1], want)
	}
}

// lame is a layout with a fault that its outline does not show.
type lame struct {
	*layoutfile.Layout
	spoil func(d *models.Design, s *models.Stage)
}

func (l lame) Build(d *models.Design, s *models.Stage) models.Verdict {
	v := l.Layout.Build(d, s)
	l.spoil(d, s)
	return v
}

// Statics that are not as symmetric as the plate, and numbers that jump as a parameter moves,
// are faults.
func TestHiddenFaults(t *testing.T) {
	l := readLayout(t, "layouts/folded-guide.layout.yaml")
	for _, c := range []struct {
		want  string
		spoil func(d *models.Design, s *models.Stage)
	}{
		{"the image of a force by a ", func(_ *models.Design, s *models.Stage) { s.Young[0] *= 1.01 }},
		{"has no slope by blade_length", func(d *models.Design, s *models.Stage) {
			for e := range s.Young { // a wave of a few picometres
				s.Young[e] *= 1 + 0.01*math.Sin(d.Parameters[1]*1e12)
			}
		}},
		{"kg, by its outline and what is mounted on it ", func(_ *models.Design, s *models.Stage) { s.Mass[2] *= 1.001 }},
	} {
		if r := conformance.Check(lame{l, c.spoil}, &models.Materials()[0], 10); !strings.Contains(fmt.Sprint(r.Faults), c.want) {
			t.Errorf("found %q, wanted %q", r.Faults, c.want)
		}
	}
}

// stageOf returns a design of a layout with the given parameters, in the parameter's
// unit, and its stage with blades of stiffness E I.
func stageOf(t *testing.T, l models.Layout, values map[string]float64) (*models.Design, *models.Stage) {
	t.Helper()
	d := &models.Design{Material: &models.Materials()[0]}
	for _, p := range l.Parameters() {
		v, ok := values[p.Name]
		if !ok {
			v = math.NaN()
		}
		d.Parameters = append(d.Parameters, p.Unit.ToSI(v))
	}
	s := models.NewStage(l.Topology())
	if v := l.Build(d, s); !v.OK() {
		t.Fatal(v.Reason())
	}
	for e := range s.BendingFactor {
		s.BendingFactor[e] = 1
	}
	return d, s
}

// pushed solves the equilibrium with the stage at x and the given loads.
func pushed(t *testing.T, l models.Layout, s *models.Stage, x float64, loads ...models.Load) *mechanics.Pose {
	t.Helper()
	s.Loads = loads
	m := mechanics.NewModel(l.Topology())
	scratch := mechanics.NewScratch(m)
	scratch.Prepare(s)
	pose := mechanics.NewPose(m)
	scratch.At(pose, x, 0)
	if !pose.Verdict.OK() {
		t.Fatalf("at %g mm: %s", x*1e3, pose.Verdict.Reason())
	}
	return pose
}

var guided = map[string]float64{"travel": 4, "blade_length": 80, "blade_thickness": 0.5, "blade_width": 20, "half_spacing": 40, "inner_half_spacing": 40}

func layoutNamed(t *testing.T, name string) *layoutfile.Layout {
	t.Helper()
	return readLayout(t, "layouts/"+name+".layout.yaml")
}

// The parallelogram of two blades against its closed forms: stiffness 24 E I/L³,
// no yaw when pushed half way up the blades and t²/(12 L²)·m/(2 W²) off it, arc
// 0.6 x²/L, axial stiffness over that at rest 1/(1 + (12/700)(x/t)²)
// (S. Awtar, A. H. Slocum, E. Sevincer, Characteristics of beam-based flexure
// modules, J. Mech. Des. 129 (2007) 625–639, section on the parallelogram; the
// coefficients 12/700 also as 3/175 in common formula collections).
func TestSingleGuidePublished(t *testing.T) {
	l := layoutNamed(t, "single-guide")
	_, s := stageOf(t, l, guided)
	const length, thick, width, spacing = 80e-3, 0.5e-3, 20e-3, 40e-3
	ei := s.Young[0] * width * thick * thick * thick / 12
	x := 1e-3
	stage := l.Topology().Stage
	pose := pushed(t, l, s, x)
	if got, want := pose.Force[0]/x, 24*ei/(length*length*length); math.Abs(got/want-1) > 1e-3 {
		t.Errorf("stiffness %.6g N/m, 24 EI/L³ = %.6g", got, want)
	}
	// Pushed at mid-length: next to what the drive's offset by 10 mm gives.
	still := math.Abs(pose.Q[3*stage+2])
	off := 10e-3
	_, high := stageOf(t, l, with(guided, "drive_height", 50))
	pose = pushed(t, l, high, x)
	// Moment m = F off about the mid-length, normalised m L/EI, W = w/L
	m := pose.Force[0] * off * length / ei
	w := spacing / length
	delta := x / length
	want := -m / (2 * w * w) * (thick*thick/(12*length*length) + delta*delta/700)
	if got := pose.Q[3*stage+2]; math.Abs(got/want-1) > 0.02 || still > 0.02*math.Abs(got) {
		t.Errorf("yaw %.4g rad with the drive off by 10 mm, closed form %.4g; %.4g at mid-length", got, want, still)
	}
	// The stage's origin is its centre of mass; it sinks by the blades' shortening.
	x = 4e-3
	pose = pushed(t, l, s, x)
	if got, want := pose.Q[3*stage+1], -0.6*x*x/length; math.Abs(got/want-1) > 5e-3 {
		t.Errorf("the stage sinks by %.6g mm, 0.6 x²/L = %.6g mm", got*1e3, want*1e3)
	}
	for _, ratio := range []float64{1, 2, 5} {
		if got, want := support(t, l, s, ratio*thick)/support(t, l, s, 0), 1/(1+12.0/700*ratio*ratio); math.Abs(got/want-1) > 0.01 {
			t.Errorf("axial stiffness at x = %g t falls to %.5f, closed form %.5f", ratio, got, want)
		}
	}
}

// support is the stiffness along the blades with the stage held at x.
func support(t *testing.T, l models.Layout, s *models.Stage, x float64) float64 {
	t.Helper()
	stage := l.Topology().Stage
	const force = 1.0
	up := pushed(t, l, s, x, models.Load{Body: stage, Axis: models.AxisY, Value: force})
	down := pushed(t, l, s, x, models.Load{Body: stage, Axis: models.AxisY, Value: -force})
	return 2 * force / (up.Q[3*stage+1] - down.Q[3*stage+1])
}

func with(values map[string]float64, name string, v float64) map[string]float64 {
	out := map[string]float64{name: v}
	for k, w := range values {
		if k != name {
			out[k] = w
		}
	}
	return out
}

// Two double parallelograms, one on each side: stiffness 2·12 E I/L³ (each half of
// 24 E I/L³ on twice the travel), no arc, no yaw.
func TestFoldedGuidePublished(t *testing.T) {
	l := layoutNamed(t, "folded-guide")
	values := with(guided, "inner_half_spacing", 20)
	_, s := stageOf(t, l, values)
	const length, thick, width = 80e-3, 0.5e-3, 20e-3
	ei := s.Young[0] * width * thick * thick * thick / 12
	x := 1e-3
	pose := pushed(t, l, s, x)
	stage := l.Topology().Stage
	// 1e-3: the axial force of the shortening, which the mirrored sides hold against each other
	if got, want := pose.Force[0]/x, 24*ei/(length*length*length); math.Abs(got/want-1) > 1e-3 {
		t.Errorf("stiffness %.6g N/m, 24 EI/L³ = %.6g", got, want)
	}
	if y, yaw := pose.Q[3*stage+1], pose.Q[3*stage+2]; math.Abs(y) > 1e-9 || math.Abs(yaw) > 1e-9 {
		t.Errorf("the stage leaves its line by %g m, %g rad", y, yaw)
	}
}

// One double parallelogram: stiffness 12 E I/L³, and its axial stiffness over that at rest
// 1/(1 + 0.36429 (x/t)²), of which 0.03 · 12 is the floating body's unequal share of the
// axial load and 12/2800 the rest (S. Awtar, A. H. Slocum, E. Sevincer, Characteristics of
// beam-based flexure modules, J. Mech. Des. 129 (2007) 625–639, section on the double
// parallelogram; derived again from the coefficients of the beam column).
func TestHalfFoldedGuidePublished(t *testing.T) {
	l := layoutNamed(t, "half-folded-guide")
	_, s := stageOf(t, l, with(guided, "inner_half_spacing", 40))
	const length, thick, width = 80e-3, 0.5e-3, 20e-3
	ei := s.Young[0] * width * thick * thick * thick / 12
	const x = 1e-3
	if got, want := pushed(t, l, s, x).Force[0]/x, 12*ei/(length*length*length); math.Abs(got/want-1) > 2e-3 {
		t.Errorf("stiffness %.6g N/m, 12 EI/L³ = %.6g", got, want)
	}
	for _, ratio := range []float64{1, 2, 4} {
		// 2 %: the stage turns a little, which the closed form leaves out
		if got, want := support(t, l, s, ratio*thick)/support(t, l, s, 0), 1/(1+0.36429*ratio*ratio); math.Abs(got/want-1) > 0.02 {
			t.Errorf("axial stiffness at x = %g t falls to %.5f, closed form %.5f", ratio, got, want)
		}
	}
}

// A candidate for which a formula has no value, or a rectangle ends before it
// begins, cannot be built, and the reason names it.
func TestLayoutCannotBuild(t *testing.T) {
	data, err := os.ReadFile("../testdata/layouts/parallelogram.good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ old, new, parameter, want string }{
		{"top: blade_length + depth", "top: sqrt(blade_length*(half_spacing - 20 mm)) + blade_length + depth", "half_spacing", "top is no number for these dimensions"},
		{"top: blade_length + depth", "top: blade_length + depth*depth/if(half_spacing > 20 mm, depth, 0 mm)", "half_spacing", "top is no number for these dimensions"},
		{"y: [-depth, -back]}", "y: [-depth + 1.5*(30 mm - half_spacing), -back]}", "half_spacing", "rectangle 1 of ground is turned inside out: an end lies before its beginning"},
		{"y: [-depth, -back]}", "y: [\"if(half_spacing > 20 mm, -depth, -back)\", -back]}", "half_spacing", "ground has no area"},
		{"length: blade_length}", "length: blade_length - 2*(30 mm - half_spacing)}", "half_spacing", "blade 1 (ground to stage) has no length, thickness or width"},
		{"half_spacing >= 2*blade_thickness", "half_spacing >= 20 mm + 2*blade_thickness", "half_spacing", "half_spacing is 10 mm, less than what two blades and their fillets take, 21.5 mm"},
	} {
		text := strings.Replace(string(data), c.old, c.new, 1)
		l, problems := LoadLayout("candidate", []byte(text))
		if problems != nil || text == string(data) {
			t.Errorf("%s: %v", c.new, problems)
			continue
		}
		d := &models.Design{Material: &models.Materials()[0]}
		for _, p := range l.Parameters() {
			v, ok := map[string]float64{"travel": 1, "blade_length": 35, "blade_thickness": 0.5, "blade_width": 10, c.parameter: 10}[p.Name]
			if !ok {
				v = math.NaN()
			}
			d.Parameters = append(d.Parameters, p.Unit.ToSI(v))
		}
		if v := l.Build(d, models.NewStage(l.Topology())); v.Status != models.CannotBuild || v.Reason() != c.want {
			t.Errorf("%s: %v %q, wanted %q", c.new, v.Status, v.Reason(), c.want)
		}
	}
}

// Building a candidate of any layout allocates nothing.
func TestLayoutsBuildWithoutAllocation(t *testing.T) {
	for _, l := range Layouts() {
		d, s := stageOf(t, l, guided)
		if n := testing.AllocsPerRun(50, func() { l.Build(d, s) }); n != 0 {
			t.Errorf("%s: %g allocations", l.Name(), n)
		}
	}
}

// Bodies that bend and rigid ones in one search are no fair race: the brief is
// accepted with a note.
func TestRigidBesideElasticIsNoted(t *testing.T) {
	for bodies, notes := range map[string]int{"": 1, "bodies: rigid": 0} {
		text := `layout: {one_of: [four-arm, parallelogram]}
material: aluminium 7075-T6
fix: {travel: 1 mm, blade_length: 40 mm, blade_thickness: 0.5 mm, blade_width: 10 mm}
goals: {first_frequency: most}
` + bodies
		layouts := append(Layouts(), readLayout(t, "../testdata/layouts/parallelogram.good.yaml"))
		b, problems := Load("brief.yaml", []byte(text), layouts, models.Materials())
		if problems != nil {
			t.Fatal(problems)
		}
		if w := b.Warnings(); len(w) != notes || notes > 0 && !strings.Contains(w[0], "brief.yaml:1:9: bodies of four-arm bend, those of parallelogram are rigid") {
			t.Errorf("%q: %q", bodies, w)
		}
	}
}

// A search over layouts searches each apart, in the parameters that it has; the row of a
// design without one gives the point back.
func TestSpaceOfLayouts(t *testing.T) {
	b, problems := Load("brief.yaml", []byte(`layout: {one_of: [four-arm, tied-guide]}
material: aluminium 7075-T6
fix: {travel: 1 mm, blade_thickness: 0.5 mm, blade_width: 10 mm}
vary:
  blade_length: {from: 30 mm, to: 50 mm}
  tie_blade_length: {one_of: [8 mm, 10 mm]}
goals: {first_frequency: most}
bodies: rigid
`), Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	s, spec := b.Space(), b.Spec()
	if len(s) != 3 || !s[0].Apart || s[1].Of != nil && len(s[1].Of) != 2 || !slices.Equal(s[2].Of, []int{1}) {
		t.Fatalf("%+v", s)
	}
	for _, want := range [][]float64{{0, 37.5, math.NaN()}, {1, 41, 1}} {
		r := objective.Row{Parameters: make([]float64, len(spec.Parameters()))}
		spec.Propose(want, &r)
		x := make([]float64, 3)
		if !spec.Point(&r, x) || x[0] != want[0] || x[1] != want[1] || x[2] != want[2] && !(math.IsNaN(x[2]) && math.IsNaN(want[2])) {
			t.Errorf("%v comes back as %v", want, x)
		}
	}
}

// A limit that names layouts takes the place of the default on the same number for
// these alone, and what is written of the brief reads back as the same.
func TestDefaultLimitsOfOtherLayouts(t *testing.T) {
	b, problems := Load("brief.yaml", []byte(`layout: {one_of: [single-guide, folded-guide, half-folded-guide]}
material: aluminium 7075-T6
fix: {travel: 1 mm, blade_length: 40 mm, blade_thickness: 0.4 mm, blade_width: 12 mm}
goals: {first_frequency: most}
limits:
  buckling_margin: {between: [2, 9], layouts: [single-guide]}
  peak_stress: {at_most: 160 MPa, layouts: [folded-guide, half-folded-guide]}
  blade_aspect: {at_most: 80, layouts: [folded-guide, single-guide, half-folded-guide]}
`), Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	spec := b.Spec()
	got := map[string]bool{}
	for i := range spec.Limits {
		l := &spec.Limits[i]
		got[fmt.Sprintf("%s from %g, default %v", spec.LimitName(l), l.AtLeast, l.Default)] = true
	}
	for _, want := range []string{
		"buckling_margin of single-guide from 2, default false", "buckling_margin of folded-guide, half-folded-guide from 1.5, default true",
		"peak_stress of folded-guide, half-folded-guide from -Inf, default false", "yield_margin of single-guide from 2, default true",
		"blade_aspect of folded-guide, single-guide, half-folded-guide from -Inf, default false",
	} {
		if !got[want] {
			t.Errorf("no limit %q among %q", want, slices.Sorted(maps.Keys(got)))
		}
		delete(got, want)
	}
	for name := range got {
		if strings.HasPrefix(name, "blade_aspect") || strings.HasPrefix(name, "peak_stress") {
			t.Errorf("%s beside it", name)
		}
	}
	again, problems := Load("brief.yaml", b.Resolved(), Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	if have, want := string(again.Resolved()), string(b.Resolved()); have != want {
		t.Errorf("%s\nreads back as\n%s", want, have)
	}
}
