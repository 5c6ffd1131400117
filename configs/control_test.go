package configs

import (
	"fmt"
	"math"
	"os"
	"reflect"
	"testing"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/servo"
	"flexwright/objective"
)

func TestControlSections(t *testing.T) {
	b, problems := loadFile(t, "../testdata/briefs/control.good.yaml")
	if problems != nil {
		t.Fatal(problems)
	}
	s := b.Spec()
	want := servo.Settings{
		Sensor: servo.SensorSplit, SplitFrequency: 20, Damping: 0.001, Delay: models.Microsecond.ToSI(100),
		IntegratorRatio: 8, LeadRatio: 3.5, TamingRatio: 4, LowPassRatio: 12,
		Notches:          []servo.Notch{{Frequency: 870, Width: 0.2, Depth: 0}, {Frequency: 1100, Width: 0.3, Depth: 0.1}},
		SensitivityLimit: 1.8, Scales: []float64{1, 0.95, 1.05}, From: 8, Ceiling: 200, Step: 0.01,
	}
	if !reflect.DeepEqual(s.Loop.Settings, want) {
		t.Errorf("%+v\nwant %+v", s.Loop.Settings, want)
	}
	if s.Loop.Payload != [2]float64{0, 0.5} || s.Loop.RuleDivisor != 4 || s.Loop.ConverterBits != 18 {
		t.Errorf("%+v", s.Loop)
	}
	n := s.Loop.Noise
	close := func(name string, got, want float64) {
		t.Helper()
		if math.Abs(got-want) > 1e-12*math.Abs(want) { // units are converted by one product
			t.Errorf("%s %g, want %g", name, got, want)
		}
	}
	close("encoder", n.Encoder.Level, 20e-15)
	close("step", n.EncoderStep, 0.5e-9)
	close("floor", n.Floor.Value[1], 5e-5)
	close("gap", n.Gap.Level, 75e-12)
	close("rate", n.SampleRate, 20e3)
	a := s.Drive.Actuator
	close("inductance", a.Inductance, 1.2e-3)
	close("magnet", a.StiffnessAlong, -200)
	close("clearance", a.Clearance, 0.3e-3)
	close("loop length", s.Drive.LoopLength, 0.12)
	m := s.Drive.Motion.Motion
	if m.Kind != drive.Raster || m.Lines != 40 || m.Turn != 0.25 || m.Amplitude != 0.9 || s.Drive.Life != 20000 || s.Drive.Damping != 2 {
		t.Errorf("%+v, %g h", m, s.Drive.Life)
	}
	// the default limit on blades comes with the bandwidth, that on the ratio out of
	// the plane gives way to the brief's
	blades, plane := 0, 0
	for _, l := range s.Limits {
		switch l.Ref.Index {
		case int(objective.BladeModeRatio):
			blades++
		case int(objective.OutOfPlaneRatio):
			plane++
			if l.Default || l.AtLeast != 2.5 {
				t.Errorf("%+v", l)
			}
		}
	}
	if blades != 1 || plane != 1 {
		t.Errorf("%d limits on blades, %d on the ratio out of the plane", blades, plane)
	}
}

// A brief without a word on all this computes nothing of it, and its defaults are
// those of the code.
func TestControlDefaults(t *testing.T) {
	data, err := os.ReadFile("../testdata/briefs/least.good.yaml")
	if err != nil {
		t.Fatal(err)
	}
	b, problems := Load("least", data, Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	s := b.Spec()
	for _, m := range s.Measures {
		if step := objective.Table[m].Step; step == objective.StepLoop || step == objective.StepDrive {
			t.Errorf("%s is computed", objective.Table[m].Name)
		}
	}
	loop, drive := objective.DefaultLoop(), objective.DefaultDrive()
	if !reflect.DeepEqual(s.Loop.Settings, loop.Settings) || s.Loop.RuleDivisor != loop.RuleDivisor || s.Loop.ConverterBits != loop.ConverterBits {
		t.Errorf("%+v\nwant %+v", s.Loop, loop)
	}
	for _, c := range [][2]float64{
		{s.Loop.Current.Level, loop.Current.Level}, {s.Loop.Noise.Encoder.Level, loop.Noise.Encoder.Level}, {s.Loop.Noise.Gap.Level, loop.Noise.Gap.Level},
		{s.Loop.Noise.Floor.Level, loop.Noise.Floor.Level}, {s.Loop.Noise.Low, loop.Noise.Low}, {s.Loop.Noise.SampleRate, loop.Noise.SampleRate},
		{s.Drive.FrameResistance, drive.FrameResistance}, {s.Drive.Life, drive.Life},
	} {
		if math.Abs(c[0]-c[1]) > 1e-12*c[1] {
			t.Errorf("default %g, the code's %g", c[0], c[1])
		}
	}
	if s.Drive.Actuator != nil || !reflect.DeepEqual(s.Drive.Motion, drive.Motion) {
		t.Errorf("%+v", s.Drive)
	}
}

// sameControl compares what briefs say of loop and drive.
func sameControl(t *testing.T, a, b *objective.Spec) {
	t.Helper()
	// printed, because a payload that is absent is NaN
	if x, y := fmt.Sprintf("%+v", *a.Loop), fmt.Sprintf("%+v", *b.Loop); x != y {
		t.Errorf("loop\n%s\n%s", x, y)
	}
	if !reflect.DeepEqual(a.Drive, b.Drive) {
		t.Errorf("drive\n%+v\n%+v", a.Drive, b.Drive)
	}
}
