package configs

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"flexwright/models"
)

// What the reference assembly holds, as its file says.
func TestLoadAssembly(t *testing.T) {
	data, err := os.ReadFile("../testdata/reference/four_arm.json")
	if err != nil {
		t.Fatal(err)
	}
	topology, s, problems := LoadAssembly("four_arm.json", data)
	if problems != nil {
		t.Fatal(problems)
	}
	if len(topology.Bodies) != 14 || len(topology.Blades) != 32 || topology.Bodies[topology.Stage].Name != "stage" {
		t.Errorf("%d bodies, %d blades, stage %d", len(topology.Bodies), len(topology.Blades), topology.Stage)
	}
	if topology.Bodies[0].Held != models.HeldAll || topology.Bodies[1].Held != 0 {
		t.Error("ground is not fixed, or arm-1 is")
	}
	want := []models.ActuatorSpec{{Body: 1, Axis: models.AxisX}, {Body: 2, Axis: models.AxisY}}
	if !reflect.DeepEqual(topology.Actuators, want) {
		t.Errorf("actuators %v", topology.Actuators)
	}
	if s.X[1] != -0.077 || s.Y[1] != 9.429780353434619e-18 || s.Mass[1] != 0.65 || s.Ix[1] != 0.00022885416666666668 || s.Iz[1] != 0.00039 {
		t.Errorf("arm-1: %g %g %g %g %g", s.X[1], s.Y[1], s.Mass[1], s.Ix[1], s.Iz[1])
	}
	if s.RootX[0] != -0.025 || s.TipX[0] != -0.073 || s.Thickness[0] != 0.0005 || s.Width[0] != 0.025 || s.Young[0] != 7.17e10 ||
		s.Poisson[0] != 0.33 || s.Density[0] != 2810 || s.BendingFactor[0] != 1.08491 || s.Fillet[0] != 0 {
		t.Error("blade 1 is not as in the file")
	}
	if s.ActX[0] != s.X[1] || s.ActY[1] != s.Y[2] {
		t.Error("actuators do not stand at their bodies")
	}
}

// A written assembly reads back bit for bit.
func TestWriteAssembly(t *testing.T) {
	paths := append(files(t, "../testdata/assemblies/*.good.json", 3), "../testdata/reference/four_arm.json")
	for _, path := range paths {
		t.Run(filepath.Base(path), func(t *testing.T) {
			data, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			topology, stage, problems := LoadAssembly(path, data)
			if problems != nil {
				t.Fatalf("refused:\n%v", problems)
			}
			roundTrip(t, topology, stage)
		})
	}
}

func roundTrip(t *testing.T, topology *models.Topology, stage *models.Stage) {
	t.Helper()
	written := WriteAssembly(topology, stage)
	topology2, stage2, problems := LoadAssembly("written", written)
	if problems != nil {
		t.Fatalf("refused:\n%v\n%s", problems, written)
	}
	if !reflect.DeepEqual(topology, topology2) {
		t.Errorf("topology %v and %v", topology, topology2)
	}
	sameStage(t, topology, stage, stage2)
	if again := WriteAssembly(topology2, stage2); !bytes.Equal(again, written) {
		t.Errorf("written twice:\n%s\n%s", written, again)
	}
}

// sameStage compares all slices of two stages bit for bit. What is not known of a
// fixed body (NaN) is 0 once it was written.
func sameStage(t *testing.T, topology *models.Topology, a, b *models.Stage) {
	t.Helper()
	v, w := reflect.ValueOf(a).Elem(), reflect.ValueOf(b).Elem()
	for f := range v.NumField() {
		x, ok := v.Field(f).Interface().([]float64)
		if !ok || strings.HasPrefix(v.Type().Field(f).Name, "Mounted") {
			continue // an assembly file does not tell what of a body is mounted
		}
		y := w.Field(f).Interface().([]float64)
		if len(x) != len(y) {
			t.Fatalf("%s: %d and %d values", v.Type().Field(f).Name, len(x), len(y))
		}
		for i := range x {
			if math.IsNaN(x[i]) && y[i] == 0 && topology.Bodies[i].Held == models.HeldAll {
				continue
			}
			if math.Float64bits(x[i]) != math.Float64bits(y[i]) {
				t.Errorf("%s %d: %g and %g", v.Type().Field(f).Name, i, x[i], y[i])
			}
		}
	}
	for what, pair := range map[string][2]any{"links": {a.Links, b.Links}, "springs": {a.Springs, b.Springs}, "root bars": {a.RootBar, b.RootBar}, "tip bars": {a.TipBar, b.TipBar}, "yielding roots": {a.Yields, b.Yields}} {
		if fmt.Sprint(pair[0]) != fmt.Sprint(pair[1]) {
			t.Errorf("%s: %v and %v", what, pair[0], pair[1])
		}
	}
	if a.RootStiffness != b.RootStiffness {
		t.Errorf("stiffness of roots: %g and %g", a.RootStiffness, b.RootStiffness)
	}
	if !reflect.DeepEqual(a.Loads, b.Loads) {
		t.Errorf("loads %v and %v", a.Loads, b.Loads)
	}
}

// A design of the layout goes through an assembly file unchanged, so that an
// outside program computes the same stage.
func TestWriteAssemblyOfLayout(t *testing.T) {
	plain, _ := models.LayoutByName("four-arm")
	elastic := plain.(models.Elastic).Elastic()
	for _, layout := range []models.Layout{plain, elastic, models.OnMount(plain, models.Mount{Z: 1e7, XY: math.Inf(1)}), models.OnMount(elastic, models.Mount{Z: 1e7, XY: 1e6})} {
		writeAssemblyOfLayout(t, layout)
	}
}

func writeAssemblyOfLayout(t *testing.T, layout models.Layout) {
	material, _ := models.MaterialByName("aluminium 7075-T6")
	parameters := layout.Parameters()
	design := models.Design{Parameters: make([]float64, len(parameters)), Material: material}
	given := map[string]float64{"travel": 0.003, "blade_length": 0.048, "blade_thickness": 0.0005, "blade_width": 0.0213,
		"stage_added_mass": 0.37, "pocketing": 0.2, "arm_added_mass_height": 0.0123, "arm_added_mass": 0.1}
	for i, p := range parameters {
		design.Parameters[i] = p.Unit.ToSI(p.Default)
		if v, ok := given[p.Name]; ok {
			design.Parameters[i] = v
		}
	}
	stage := models.NewStage(layout.Topology())
	if verdict := layout.Build(&design, stage); !verdict.OK() {
		t.Fatal(verdict.Reason())
	}
	topology := *layout.Topology()
	topology.Driven, topology.Idle = nil, nil // an assembly file does not say which bodies are arms
	roundTrip(t, &topology, stage)
	stage.RootStiffness = 0.9 // of a built stage
	roundTrip(t, &topology, stage)
}
