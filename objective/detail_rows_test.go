package objective

import "testing"

// A value that some poses lack shifts no other: buckling is of compressed blades only.
func TestPoseRowsByName(t *testing.T) {
	poses := []PoseDetail{{Values: []PoseValue{{Name: "stress", Value: 1}, {Name: "guided_x", Value: 55}}},
		{Values: []PoseValue{{Name: "stress", Value: 2}, {Name: "buckling_margin", Value: 7}, {Name: "guided_x", Value: 54}}}}
	rows := PoseRows(poses)
	if len(rows) != 3 {
		t.Fatalf("%v", rows)
	}
	if v, ok := poses[1].Of("guided_x"); !ok || v != 54 {
		t.Error(v, ok)
	}
	if _, ok := poses[0].Of("buckling_margin"); ok {
		t.Error("a pose has what it lacks")
	}
}
