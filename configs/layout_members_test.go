package configs

import (
	"math"
	"strings"
	"testing"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// elasticStage is a stage of a layout with bodies that bend, at rest.
func elasticStage(t *testing.T, l models.Layout, values map[string]float64) (*models.Stage, *mechanics.Dynamics, *mechanics.Pose) {
	t.Helper()
	_, s := stageOf(t, l, values)
	scratch := mechanics.NewScratch(mechanics.NewModel(l.Topology()))
	scratch.Prepare(s)
	pose := mechanics.NewPose(scratch.Model)
	scratch.At(pose, 0, 0)
	if !pose.Verdict.OK() {
		t.Fatal(pose.Verdict.Reason())
	}
	d := mechanics.NewDynamics(scratch)
	d.Prepare()
	return s, d, pose
}

// The members of the file four-arm against the layout in Go, whose bending bodies are held
// to plates as solids: the same mass, stiffness and modes, but that in Go the corner of
// back, prong and tongue is rigid, and the tongue with it.
func TestMembersAgainstFourArm(t *testing.T) {
	file, bends := models.Bending(layoutNamed(t, "four-arm"))
	if !bends {
		t.Fatal("no body of the file bends")
	}
	code, _ := models.Bending(models.FourArm())
	for _, values := range []map[string]float64{
		{"travel": 2, "blade_length": 50, "blade_thickness": 0.6, "blade_width": 20, "stage_added_mass": 0.3, "arm_added_mass": 0.2},
		{"travel": 4, "blade_length": 80, "blade_thickness": 0.8, "blade_width": 30, "prong_width": 10, "arm_back_width": 12, "stage_added_mass": 0.1},
	} {
		var in, out [2][]float64
		var mass, drive [2]float64
		for i, l := range []models.Layout{code, file} {
			s, d, pose := elasticStage(t, l, values)
			for b, body := range l.Topology().Bodies {
				if body.Part == 0 {
					mass[i] += s.BodyMass(l.Topology(), b)
				}
			}
			drive[i] = pose.Drive[0]
			var v models.Verdict
			if in[i], out[i], v = d.Lists(pose, d.NewModes()); !v.OK() {
				t.Fatal(v.Reason())
			}
		}
		if math.Abs(mass[1]/mass[0]-1) > 1e-12 {
			t.Errorf("mass %.15g kg, in Go %.15g", mass[1], mass[0])
		}
		if math.Abs(drive[1]/drive[0]-1) > 1e-3 {
			t.Errorf("drive stiffness %.6g N/m, in Go %.6g", drive[1], drive[0])
		}
		for k, bound := range map[int]float64{0: 1e-3, 1: 1e-3, 2: 2e-3, 3: 2e-3, 4: 2e-3, 9: 2e-3, 10: 0.05, 11: 0.05, 12: 0.05, 13: 0.05} {
			if got, want := in[1][k], in[0][k]; math.Abs(got/want-1) > bound {
				t.Errorf("mode %d in the plane at %.5g Hz, in Go %.5g Hz", k+1, got/(2*math.Pi), want/(2*math.Pi))
			}
		}
		for k := range 6 {
			if got, want := out[1][k], out[0][k]; math.Abs(got/want-1) > 0.02 {
				t.Errorf("mode %d out of the plane at %.5g Hz, in Go %.5g Hz", k+1, got/(2*math.Pi), want/(2*math.Pi))
			}
		}
	}
}

// A blade on the end of a cantilever, in the plane: along the blade the foot bends under
// the load of a drive at the stage, F l³/3EI and its shear 6/5 F l/GA, in series with
// the blades. The foot's elastic length reaches a quarter of its height into the ground.
func TestMemberIsCantilever(t *testing.T) {
	const text = `
layout: cantilever
meaning: a stage on two blades along x, whose roots stand on a foot each
parameters:
  travel: {unit: mm, from: 0.1 mm, to: 10 mm, meaning: half-range}
  blade_length: {unit: mm, from: 10 mm, to: 200 mm, meaning: length that bends}
  blade_thickness: {unit: mm, from: 0.1 mm, to: 3 mm, meaning: thickness of the blades}
  blade_width: {unit: mm, from: 2 mm, to: 100 mm, meaning: thickness of the plate}
places:
  pair: [{}, {mirror: x}]
defaults:
  bodies: {thickness: blade_width}
  blades: {thickness: blade_thickness, width: blade_width}
bodies:
  ground:
    fixed: true
    rectangles:
      - {placed: pair, x: [-40 mm, 0 mm], y: [60 mm, 70 mm]}
      - {placed: pair, x: [-6 mm, 0 mm], y: [19 mm, 60 mm], member: foot, held: top}
      - {x: [-50 mm, -40 mm], y: [-70 mm, 70 mm]}
  stage:
    rectangles:
      - {x: [blade_length, blade_length + 20 mm], y: [-30 mm, 30 mm]}
blades:
  - {placed: pair, from: ground, to: stage, root: [0 mm, 20 mm], along: x, length: blade_length}
stage: stage
actuators:
  - {body: stage, axis: x, at: [blade_length, 0 mm]}
`
	rigid, problems := LoadLayout("cantilever", []byte(text))
	if problems != nil {
		t.Fatal(problems)
	}
	l, _ := models.Bending(rigid)
	const width, height, thick = 20e-3, 6e-3, 0.4e-3
	const length = 40e-3 + height/4
	s, _, pose := elasticStage(t, l, map[string]float64{"travel": 0.1, "blade_length": 50, "blade_thickness": thick * 1e3, "blade_width": width * 1e3})
	for e := range s.Yields {
		if !s.Yields[e] {
			t.Error("the root of a blade does not yield")
		}
	}
	e, nu := s.Young[0], s.Poisson[0]
	foot := length*length*length/(3*e*width*height*height*height/12) + 1.2*length*2*(1+nu)/(e*width*height)
	blade := 50e-3/(e*width*thick) + 2*1.95/(e*width) // and its two roots, as the mechanics has them
	// 0.5 %: the end of the foot turns, and the blade with it a little
	if got, want := pose.Drive[0], 2/(foot+blade); math.Abs(got/want-1) > 5e-3 {
		t.Errorf("stiffness along the blades %.6g N/m, closed form %.6g", got, want)
	}
}

// A member that has no height in some design makes it one that cannot be built.
func TestMemberWithoutHeight(t *testing.T) {
	text := strings.Replace(string(layoutNamed(t, "four-arm").Source()), "y: [p1, sq], member: prong", "y: [p1 + if(travel > 3 mm, prong_width, 0 mm), sq], member: prong", 1)
	rigid, problems := LoadLayout("four-arm.layout.yaml", []byte(strings.Replace(text, "y: [p1 + if(travel > 3 mm, prong_width, 0 mm), sq]", "y: [\"p1 + if(travel > 3 mm, prong_width, 0 mm)\", sq]", 1)))
	if problems != nil {
		t.Fatal(problems)
	}
	l, _ := models.Bending(rigid)
	d, s := stageOf(t, l, map[string]float64{"travel": 2, "blade_length": 50, "blade_thickness": 0.6, "blade_width": 20})
	d.Parameters[0] = 4e-3
	d.Parameters[15] = math.NaN() // the stage's half size, by its rule again
	if v := l.Build(d, s); v.Status != models.CannotBuild || v.Reason() != "arm-1, prong has no length or height" {
		t.Errorf("%v %q", v.Status, v.Reason())
	}
}

// Building a layout with members allocates nothing.
func TestMembersBuildWithoutAllocation(t *testing.T) {
	l, _ := models.Bending(layoutNamed(t, "tied-guide"))
	d, s := stageOf(t, l, map[string]float64{"travel": 2, "blade_length": 60, "blade_thickness": 0.6, "blade_width": 20})
	if n := testing.AllocsPerRun(50, func() { l.Build(d, s) }); n != 0 {
		t.Errorf("%g allocations", n)
	}
	if n := len(l.Topology().Bodies); n < 100 || !strings.HasPrefix(l.Topology().Bodies[n-1].Name, "guide-") {
		t.Errorf("%d bodies and parts, the last %s", n, l.Topology().Bodies[n-1].Name)
	}
}
