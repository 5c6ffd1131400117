package models

import (
	"math"
	"reflect"
	"testing"
)

func builtFourArm(t *testing.T) *Stage {
	layout, _ := LayoutByName("four-arm")
	material, _ := MaterialByName("aluminium 7075-T6")
	d := &Design{Parameters: make([]float64, len(layout.Parameters())), Material: material}
	for i, p := range layout.Parameters() {
		d.Parameters[i] = p.Unit.ToSI(p.Default)
		if v, ok := map[string]float64{"travel": 4e-3, "blade_length": 60e-3, "blade_thickness": 0.5e-3, "blade_width": 20e-3,
			"stage_added_mass": 0.4, "arm_added_mass": 0.3}[p.Name]; ok {
			d.Parameters[i] = v
		}
	}
	s := NewStage(layout.Topology())
	if v := layout.Build(d, s); !v.OK() {
		t.Fatal(v.Reason())
	}
	return s
}

// A copy is equal and shares no numbers with its source, whatever fields a stage has.
func TestStageCopy(t *testing.T) {
	layout, _ := LayoutByName("four-arm")
	s, c := builtFourArm(t), NewStage(layout.Topology())
	c.CopyFrom(s)
	if !reflect.DeepEqual(s, c) {
		t.Error("the copy differs")
	}
	v, w := reflect.ValueOf(s).Elem(), reflect.ValueOf(c).Elem()
	slices := 0
	for i := range v.NumField() {
		a, b := v.Field(i), w.Field(i)
		if a.Kind() != reflect.Slice || v.Type().Field(i).Name == "Loads" {
			continue
		}
		slices++
		if a.Len() > 0 && a.UnsafePointer() == b.UnsafePointer() {
			t.Errorf("%s is shared", v.Type().Field(i).Name)
		}
	}
	if slices < 33 {
		t.Errorf("only %d slices seen", slices)
	}
}

// All that a body without mass of its own carries can be taken off, and put elsewhere.
func TestMountedOnNothing(t *testing.T) {
	s := NewStage(FourArm().Topology())
	s.X[1], s.Y[1], s.Mass[1], s.Ix[1], s.Iy[1], s.Iz[1] = 0.1, 0, 0, 0, 0, 0
	s.Mount(1, 0.3, 0.2, 0.1, 0)
	s.AddMass(1, -s.Mounted[1], s.MountedX[1], s.MountedY[1], s.MountedZ[1])
	s.AddMass(1, 0.31, 0.25, 0.1, 0)
	if s.Mass[1] != 0.31 || math.Abs(s.X[1]-0.25) > 1e-16 || s.Iz[1] != 0 {
		t.Errorf("%g kg at %g m, %g kg m²", s.Mass[1], s.X[1], s.Iz[1])
	}
}

// What is mounted can be taken off and put back: every body is itself again, and
// without it what is left is the plate alone, whose mass the layout's area gives.
func TestMountedMass(t *testing.T) {
	s := builtFourArm(t)
	bare := builtFourArm(t)
	if got := s.Mounted[faStage]; got != 0.4 {
		t.Fatalf("%g kg mounted on the stage", got)
	}
	s.Mount(faArm, 0.2, s.X[faArm]+0.01, s.Y[faArm]-0.02, 0.03)
	if math.Abs(s.Mounted[faArm]-0.5) > 1e-15 {
		t.Errorf("%g kg mounted on the arm", s.Mounted[faArm])
	}
	whole := builtFourArm(t)
	whole.CopyFrom(s)
	for body := range s.Mass {
		m := s.Mounted[body]
		s.AddMass(body, -m, s.MountedX[body], s.MountedY[body], s.MountedZ[body])
		if body != faGround && math.Abs(s.Mass[body]-(bare.Mass[body]-bare.Mounted[body])) > 1e-15 {
			t.Errorf("body %d: %g kg of plate, %g with nothing mounted", body, s.Mass[body], bare.Mass[body]-bare.Mounted[body])
		}
		if math.Abs(s.Z[body]) > 1e-15 {
			t.Errorf("body %d: the plate's centre is %g m above its middle", body, s.Z[body])
		}
		s.AddMass(body, m, s.MountedX[body], s.MountedY[body], s.MountedZ[body])
		for _, q := range [][2]float64{{s.Mass[body], whole.Mass[body]}, {s.X[body], whole.X[body]}, {s.Y[body], whole.Y[body]}, {s.Ix[body], whole.Ix[body]}, {s.Iy[body], whole.Iy[body]}, {s.Ixy[body], whole.Ixy[body]}} {
			if math.Abs(q[0]-q[1]) > 1e-12*math.Abs(q[1])+1e-17 {
				t.Errorf("body %d: %g after taking off and putting back, %g before", body, q[0], q[1])
			}
		}
	}
}
