package models

import "testing"

// A blade is named after the body that it ends on, or, where that is fixed, the one that
// it begins on; segments have the name of the whole.
func TestBladeNames(t *testing.T) {
	top := &Topology{
		Bodies: []BodySpec{{Name: "ground", Held: HeldAll}, {Name: "stage"}, {Name: "guide-1"}},
		Blades: []BladeSpec{{1, 2}, {0, 2}, {1, 0}, {1, 2}},
	}
	for e, want := range []string{"guide-1, blade 1 of 3", "guide-1, blade 2 of 3", "stage, blade 1 of 1", "guide-1, blade 3 of 3"} {
		if got := top.BladeName(e); got != want {
			t.Errorf("blade %d: %q, want %q", e, got, want)
		}
	}
	v := Verdict{Status: OutOfRange, Format: "deflection of %[1]s: %.2[2]g", Index: 1, Blades: top, Value: 0.2}
	if got, want := v.Reason(), "deflection of guide-1, blade 2 of 3: 0.2"; got != want {
		t.Errorf("%q, want %q", got, want)
	}
	halves := &Topology{
		Bodies:   []BodySpec{{Name: "ground", Held: HeldAll}, {Name: "stage"}, {Name: "inner"}},
		Blades:   []BladeSpec{{0, 2}, {2, 1}},
		Segments: 2,
	}
	for e := range 2 {
		if got, want := halves.BladeName(e), "stage, blade 1 of 1"; got != want {
			t.Errorf("segment %d: %q, want %q", e, got, want)
		}
	}
}
