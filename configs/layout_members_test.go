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
		if math.Abs(drive[1]/drive[0]-1) > 5e-4 {
			t.Errorf("drive stiffness %.6g N/m, in Go %.6g", drive[1], drive[0])
		}
		for k, bound := range map[int]float64{0: 5e-4, 1: 5e-4, 2: 5e-4, 3: 5e-4, 4: 5e-4, 9: 5e-4, 10: 0.05, 11: 0.05, 12: 0.05, 13: 0.05} {
			if got, want := in[1][k], in[0][k]; math.Abs(got/want-1) > bound {
				t.Errorf("mode %d in the plane at %.5g Hz, in Go %.5g Hz", k+1, got/(2*math.Pi), want/(2*math.Pi))
			}
		}
		for k := range 6 {
			if got, want := out[1][k], out[0][k]; math.Abs(got/want-1) > 0.01 {
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

// compliance of the stage of a layout at rest along an axis, nothing driven, m/N.
func compliance(t *testing.T, l models.Layout, values map[string]float64, axis models.Axis) (float64, *models.Stage) {
	t.Helper()
	_, s := stageOf(t, l, values)
	topology := *l.Topology()
	topology.Actuators, topology.Driven = nil, nil
	const force = 1.0
	s.Loads = []models.Load{{Body: topology.Stage, Axis: axis, Value: force}}
	if axis == models.AxisX { // its line goes through the origin, which no member shifts
		s.Loads = append(s.Loads, models.Load{Body: topology.Stage, Axis: models.AxisYaw, Value: force * s.Y[topology.Stage]})
	}
	scratch := mechanics.NewScratch(mechanics.NewModel(&topology))
	scratch.Prepare(s)
	pose := mechanics.NewPose(scratch.Model)
	scratch.At(pose, 0, 0)
	if !pose.Verdict.OK() {
		t.Fatalf("%s along %v: %s", l.Name(), axis, pose.Verdict.Reason())
	}
	q := pose.Q[3*topology.Stage:]
	if axis == models.AxisX {
		return (q[0] + s.Y[topology.Stage]*q[2]) / force, s
	}
	return q[1] / force, s
}

// rootCompliance of a clamped blade's end along the blade, by 1/(E b): as the mechanics has it.
const rootCompliance = 1.95

// Where members are so short and high that they hardly bend, the layouts of one axis, and of
// one axis on the other, give way along x as the rigid ones do, and along y as these with
// roots that yield: two of each blade, as many blades beside each other as behind.
func TestStiffMembersAreRigid(t *testing.T) {
	for name, behind := range map[string]float64{"single-guide": 1, "folded-guide": 1, "half-folded-guide": 2, "stacked": 0} {
		rigid := layoutNamed(t, name)
		l, bends := models.Bending(rigid)
		if !bends {
			t.Errorf("no body of %s bends", name)
			continue
		}
		values := map[string]float64{"travel": 0.2, "blade_length": 100, "blade_thickness": 1, "blade_width": 15, "half_spacing": 12,
			"inner_half_spacing": 10, "stage_depth": 40, "guide_body_depth": 60, "foot_length": 50, "stage_half_depth": 80}
		for _, axis := range []models.Axis{models.AxisX, models.AxisY} {
			if axis == models.AxisY && behind == 0 {
				continue // it is driven there, too
			}
			stiff, s := compliance(t, rigid, values, axis)
			bending, _ := compliance(t, l, values, axis)
			bound := 1e-3
			if axis == models.AxisY {
				stiff += behind * rootCompliance / (s.Young[0] * s.Width[0])
				bound = 0.02
			}
			if math.Abs(bending/stiff-1) > bound {
				t.Errorf("%s along %v: %.6g m/N with high members, %.6g m/N rigid", name, axis, bending, stiff)
			}
		}
	}
}

// The guide body of a half folded guide that is pulled along its blades is a beam in
// four-point bending: F/2 at each inner blade, ± wi, and at each outer one, ± wo = ± (wi + a),
// By Castigliano's theorem it gives way by
//
//	(a² wi + a³/3)/(2 E I) + 6/5 a/(2 G A),
//
// and each foot of the ground, a cantilever of the length l, by half of l³/3EI + 6/5 l/GA.
func TestGuideBodyInFourPointBending(t *testing.T) {
	rigid := layoutNamed(t, "half-folded-guide")
	l, _ := models.Bending(rigid)
	const half, depth, foot, width = 20e-3, 8e-3, 6e-3, 15e-3
	values := map[string]float64{"travel": 8, "blade_length": 60, "blade_thickness": 0.3, "blade_width": width * 1e3, "fillet_radius": 0.3,
		"inner_half_spacing": half * 1e3, "guide_body_depth": depth * 1e3, "foot_length": foot * 1e3}
	stiff, s := compliance(t, rigid, values, models.AxisY)
	bending, _ := compliance(t, l, values, models.AxisY)
	e, g := s.Young[0], s.Young[0]/(2*(1+s.Poisson[0]))
	const fillet, thick, travel, gap = 0.3e-3, 0.3e-3, 8e-3, 0.5e-3
	set := models.FilletStiffening(fillet/thick) * fillet
	q := thick/2 + fillet
	a := 2*q + travel + gap
	beam := func(h float64) (flexural, shear float64) { return e * width * h * h * h / 12, g * width * h / 1.2 }
	h := depth - set
	ei, ga := beam(h)
	want := (a*a*half+a*a*a/3)/(2*ei) + a/(2*ga)
	h = foot - set
	ei, ga = beam(h)
	long := q + 0.6*travel + gap + h/4
	want += (long*long*long/(3*ei) + long/ga) / 2
	want += 2 * rootCompliance / (e * width)
	// 0.1 %: the blades hold the ends of the beam a little
	if got := bending - stiff; math.Abs(got/want-1) > 1e-3 {
		t.Errorf("gives way by %.5g m/N more than the rigid one, closed form %.5g", got, want)
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
