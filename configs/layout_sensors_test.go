package configs

import (
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

// withSensors is a built-in layout whose file says more.
func withSensors(t *testing.T, name, more string) *layoutfile.Layout {
	t.Helper()
	data, err := os.ReadFile("layouts/" + name + ".layout.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, problems := LoadLayout(name, []byte(string(data)+"\nsensors:\n"+more))
	if problems != nil {
		t.Fatal(problems)
	}
	return l
}

// What sensors read is what the bodies do at their points: u - yaw y along x and v + yaw x along y, to first order in the
// yaw, which is below 1e-3 here.
func TestSensorsRead(t *testing.T) {
	l := withSensors(t, "four-arm", `  - {kind: encoder, axis: x, body: arm-1, at: [50 mm, 9 mm]}
  - {kind: gap, axis: x, body: stage, at: [-8 mm, 5 mm]}
  - {kind: encoder, axis: y, body: guide-1, at: [60 mm, 2 mm], from: arm-1}
`)
	_, st := stageOf(t, l, map[string]float64{"travel": 4, "blade_length": 60, "blade_thickness": 0.5, "blade_width": 20, "stage_added_mass": 0.4})
	top := l.Topology()
	body := func(name string) int {
		return slices.IndexFunc(top.Bodies, func(b models.BodySpec) bool { return b.Name == name })
	}
	// arm-1 is drawn once and placed at 180 degrees
	if math.Abs(st.EncX[0]+50e-3) > 1e-12 || math.Abs(st.EncY[0]+9e-3) > 1e-12 || st.GapX[0] != -8e-3 || st.GapY[0] != 5e-3 {
		t.Fatal(st.EncX, st.EncY, st.GapX, st.GapY)
	}
	scratch := mechanics.NewScratch(mechanics.NewModel(top))
	scratch.Prepare(st)
	pose := mechanics.NewPose(scratch.Model)
	scratch.At(pose, 4e-3, 3e-3)
	if !pose.Verdict.OK() {
		t.Fatal(pose.Verdict.Reason())
	}
	at := func(b int, x, y float64) (u, v float64) {
		q := pose.Q[3*b:]
		return q[0] - q[2]*(y-st.Y[b]), q[1] + q[2]*(x-st.X[b])
	}
	near := func(name string, got, want float64) {
		t.Helper()
		if !(math.Abs(got-want) < 1e-9) { // half the square of the yaw, times 0.1 m
			t.Errorf("%s: %.9g m, want %.9g", name, got, want)
		}
	}
	arm, stage, guide := body("arm-1"), body("stage"), body("guide-1")
	u, _ := at(arm, -50e-3, -9e-3)
	x, _ := scratch.Encoder(pose, 0)
	near("encoder of x", x, u)
	p, _ := at(stage, -8e-3, 5e-3)
	q, _ := at(arm, -8e-3, 5e-3)
	x, _, ok := scratch.Gap(pose, 0)
	near("gap of x", x, p-q)
	_, v := at(guide, -60e-3, -2e-3)
	_, w := at(arm, -60e-3, -2e-3)
	_, y := scratch.Encoder(pose, 1)
	near("encoder of y", y, v-w)
	if _, _, two := scratch.Gap(pose, 1); !ok || two {
		t.Error("a gap sensor of x, none of y")
	}
	if yaw := math.Abs(pose.Q[3*arm+2]); yaw < 1e-7 {
		t.Errorf("the arm turns by %g rad only: nothing is tried", yaw)
	}
}

// The modes as the sensors see them add up to what they read per force at low frequency, rigid, with bodies that bend,
// subdivided, and with sensors at a height, where all directions of motion are coupled.
func TestSensorsInPlant(t *testing.T) {
	for _, c := range []struct {
		name, height string
		segments     int
		bend         bool
	}{{"rigid", "", 1, false}, {"bodies that bend", "", 1, true}, {"subdivided", "", 3, false}, {"at a height", ", height: 4 mm", 1, false}, {"at a height, with bodies that bend", ", height: 4 mm", 1, true}} {
		var l models.Layout = withSensors(t, "four-arm", `  - {kind: encoder, axis: x, body: arm-1, at: [50 mm, 9 mm]`+c.height+`}
  - {kind: gap, axis: x, body: stage, at: [-8 mm, 5 mm]}
  - {kind: encoder, axis: y, body: arm-2, at: [40 mm, -7 mm]}
`)
		d, st := stageOf(t, l, map[string]float64{"travel": 4, "blade_length": 60, "blade_thickness": 0.5, "blade_width": 20, "stage_added_mass": 0.4, "ground_inner_half_spacing": 12})
		if c.bend {
			var ok bool
			if l, ok = models.Bending(l); !ok {
				t.Fatal("nothing bends")
			}
			st = models.NewStage(l.Topology())
			if v := l.Build(d, st); !v.OK() {
				t.Fatal(v.Reason())
			}
		}
		var scratch *mechanics.Scratch
		var dynamics *mechanics.Dynamics
		if c.segments > 1 {
			s := mechanics.NewSubdivision(l.Topology(), c.segments)
			scratch = mechanics.NewScratch(s.Fine)
			dynamics = mechanics.NewFineDynamics(scratch, s, true)
			st = s.Fill(st)
		} else {
			scratch = mechanics.NewScratch(mechanics.NewModel(l.Topology()))
			dynamics = mechanics.NewDynamics(scratch)
		}
		scratch.Prepare(st)
		dynamics.Prepare()
		centre, pose := mechanics.NewPose(scratch.Model), mechanics.NewPose(scratch.Model)
		const x = 1e-6
		scratch.At(pose, x, 0)
		scratch.At(centre, 0, 0)
		modes := dynamics.NewModes()
		if v := dynamics.Natural(centre, modes); !v.OK() {
			t.Fatal(v.Reason())
		}
		for axis := range 2 {
			var encoder, both float64
			for k := range modes.Count {
				row := modes.Rows[k*modes.Width:]
				push := (pose.Force[0]*row[mechanics.RowActuator] + pose.Force[1]*row[mechanics.RowActuator+1]) / (modes.Omega[k] * modes.Omega[k])
				encoder += modes.Encoder(k, axis) * push
				both += modes.Sensed(k, axis) * push
			}
			ex, ey := scratch.Encoder(pose, axis)
			gx, gy, ok := scratch.Gap(pose, axis)
			read := [2]float64{ex, ey}[axis]
			sum := read + [2]float64{gx, gy}[axis]
			if !ok { // the point of interest, the stage's origin
				sum = pose.Q[3*l.Topology().Stage+axis]
			}
			if math.Abs(encoder-read) > 1e-4*x || math.Abs(both-sum) > 1e-4*x {
				t.Errorf("%s, %s: modes give %.8g and %.8g m, sensors read %.8g and %.8g", c.name, models.Axis(axis), encoder, both, read, sum)
			}
		}
	}
}

// rowOf evaluates a brief of one layout.
func rowOf(t *testing.T, l models.Layout, brief string) *objective.Row {
	t.Helper()
	b, problems := Load("brief.yaml", []byte("layout: "+l.Name()+"\n"+brief), []models.Layout{l}, models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	spec := b.Spec()
	spec.Pin(make([]float64, len(spec.Variables)))
	spec.NoScreening = true
	e, row := objective.NewEvaluation(spec), &objective.Row{}
	e.Evaluate(nil)
	e.Fill(row)
	if row.Status != models.Solved {
		t.Fatal(row.Status, row.Reason)
	}
	return row
}

// Sensors that stand where axes are read anyway change nothing; one beside that line makes an error of the yaw times its
// distance, and its modes see the loop's frequencies otherwise.
func TestSensorsInLoop(t *testing.T) {
	const fixed = `material: aluminium 7075-T6
fix: {travel: 2 mm, blade_length: 60 mm, blade_thickness: 0.6 mm, blade_width: 20 mm, stage_added_mass: 0.4 kg}
goals: {bandwidth: most}
bodies: rigid
actuator: {class: vc-75, amplifier: voltage}
also: [position_noise, gap_travel, lost_motion, phase_margin, sensor_error, arm_yaw]
`
	plain, err := os.ReadFile("layouts/four-arm.layout.yaml")
	if err != nil {
		t.Fatal(err)
	}
	l, problems := LoadLayout("four-arm", plain)
	if problems != nil {
		t.Fatal(problems)
	}
	const here = "back + actuator_radial_offset, actuator_tangential_offset"
	same := withSensors(t, "four-arm", "  - {kind: encoder, axis: x, body: arm-1, at: ["+here+"]}\n  - {kind: encoder, axis: y, body: arm-2, at: ["+here+"]}\n")
	beside := withSensors(t, "four-arm", "  - {kind: encoder, axis: x, body: arm-1, at: [back, 30 mm]}\n  - {kind: gap, axis: x, body: stage, at: [0, 0]}\n")
	for _, sensor := range []string{"stage", "arm", "split"} {
		brief := fixed + "loop: {sensor: " + sensor + "}\n"
		a, b, c := rowOf(t, l, brief), rowOf(t, same, brief), rowOf(t, beside, brief)
		get := func(r *objective.Row, m objective.Measure) float64 {
			v, ok := r.Measures.Get(m)
			if !ok {
				t.Fatalf("%s: no %s", sensor, objective.Table[m].Name)
			}
			return v
		}
		for _, m := range []objective.Measure{objective.Bandwidth, objective.Crossover, objective.PhaseMargin, objective.PositionNoise, objective.GapTravel, objective.LostMotion} {
			if x, y := get(a, m), get(b, m); math.Abs(x-y) > 1e-4*math.Abs(x) { // crossovers are located to 1e-5
				t.Errorf("%s: %s is %g, with sensors in the same places %g", sensor, objective.Table[m].Name, x, y)
			}
		}
		if e := get(a, objective.SensorError); sensor == "stage" && e != 0 || sensor == "arm" && math.Abs(e-get(a, objective.LostMotion)) > 1e-9 {
			t.Errorf("%s: the sensors err by %g µm", sensor, e)
		}
		if sensor != "stage" {
			continue
		}
		// nominally both arms turn alike; µrad × m is µm
		if e, want := get(c, objective.SensorError), get(c, objective.ArmYaw)*30e-3; math.Abs(e/want-1) > 0.01 || want < 1e-3 {
			t.Errorf("beside the line the sensors err by %g µm, the arm's yaw makes %g", e, want)
		}
		if x, y := get(a, objective.Crossover), get(c, objective.Crossover); math.Abs(x/y-1) < 1e-6 {
			t.Errorf("crossover %g Hz wherever the encoder is", x)
		}
	}
}

// An encoder on a body that does not follow its axis is found by the suite that files are put through.
func TestSensorThatSeesNothing(t *testing.T) {
	report := conformance.Check(withSensors(t, "four-arm", "  - {kind: encoder, axis: x, body: arm-2, at: [0, 0]}\n"), &models.Materials()[0], 2)
	if len(report.Faults) != 1 || !strings.HasPrefix(report.Faults[0].Text, "the encoder of x sees ") {
		t.Errorf("%q", report.Faults)
	}
}

// Where sensors stand is said in the words of the layout.
func TestSensorStations(t *testing.T) {
	l := withSensors(t, "stacked", "  - {kind: encoder, axis: y, body: stage, at: [0, 12 mm]}\n")
	_, st := stageOf(t, l, map[string]float64{"travel": 2, "blade_length": 60, "blade_thickness": 0.5, "blade_width": 20})
	var words []string
	for _, s := range l.Topology().Stations(st) {
		words = append(words, strings.TrimSpace(s.Axis.String()+" "+s.What+" "+s.Body+" "+s.Against))
	}
	if got, want := strings.Join(words, "; "), "x actuator carrier; x encoder carrier; y actuator stage carrier; y encoder stage"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
}
