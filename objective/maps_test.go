package objective

import (
	"math"
	"strings"
	"testing"

	"flexwright/models/mechanics"
)

// The nine poses of a run are positions of the grid: there the maps must show
// the numbers of the poses. Both are solved to the same tolerance from other
// starting points, so they agree to about 1e-7 of the largest value.
func TestMapsMeetThePoses(t *testing.T) {
	d := NewDetail(pinnedSpec(t))
	if !d.Row.Status.OK() {
		t.Fatalf("the design is %v: %s", d.Row.Status, d.Row.Reason.Sentence())
	}
	m := d.Maps(5)
	if m.N != 5 || m.Unsolved != 0 || m.At[0] != -d.Stage.Travel || m.At[4] != d.Stage.Travel || m.At[2] != 0 {
		t.Fatalf("grid of %d at %v with %d unsolved", m.N, m.At, m.Unsolved)
	}
	cell := func(s [2]float64) int { return (int(s[1])*2+2)*5 + int(s[0])*2 + 2 }
	values := func(name string) []float64 {
		for _, one := range m.Maps {
			if one.Name == name {
				return one.Values
			}
		}
		t.Fatalf("no map of %s", name)
		return nil
	}
	for i, p := range d.Poses {
		// the same eigenproblems at the same equilibria, as above
		c := cell(mechanics.PoseSigns[i])
		if got, want := values("in_plane_frequency")[c], p.InPlane[0]; math.Abs(got-want) > 1e-6*want {
			t.Errorf("lowest frequency in the plane at pose %d: map %g, pose %g", i, got, want)
		}
		if got, want := values("out_of_plane_frequency")[c], p.OutOfPlane[0]; math.Abs(got-want) > 1e-6*want {
			t.Errorf("lowest frequency out of the plane at pose %d: map %g, pose %g", i, got, want)
		}
		for k, v := range p.Values {
			if strings.HasPrefix(v.Name, "guided") {
				continue // of the modes
			}
			largest := 0.0
			for _, q := range d.Poses {
				largest = max(largest, math.Abs(q.Values[k].Value))
			}
			if got := values(v.Name)[c]; math.Abs(got-v.Value) > 1e-6*largest+1e-6 {
				t.Errorf("%s at pose %d: map %g, pose %g", v.Name, i, got, v.Value)
			}
		}
	}
	// over the nine poses, the largest values of the derived maps are the measures
	for _, c := range []struct {
		measure Measure
		name    string
	}{{CrossForce, "cross_force"}, {IsolationAlong, "isolation_along"}} {
		want, _ := d.Row.Measures.Get(c.measure)
		got := 0.0
		for _, sign := range mechanics.PoseSigns {
			got = max(got, values(c.name)[cell(sign)])
		}
		if math.Abs(got-want) > 1e-5*want+1e-6 {
			t.Errorf("%s: map %g, measure %g", c.name, got, want)
		}
	}
	if again := d.Maps(4); again.N != 5 {
		t.Errorf("an even grid became %d", again.N)
	}
}

func pinnedSpec(t *testing.T) *Spec {
	s := testSpec(t)
	s.Pin([]float64{60, 0.5, 15, 3})
	return s
}
