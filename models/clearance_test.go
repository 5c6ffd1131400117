package models

import (
	"math"
	"testing"
)

func TestClearance(t *testing.T) {
	box := func(body int, x, y float64) Outline {
		return Outline{Body: body, Rectangles: []Rectangle{{x, x + 1, y, y + 1}}}
	}
	cases := []struct {
		name   string
		other  Outline
		motion Motion // of the other
		want   float64
		x, y   float64
	}{
		{"beside", box(1, 3, 0), Motion{}, 2, 2, 0.5},
		{"above, shifted", box(1, 0.5, 4), Motion{Y: -1}, 2, 0.75, 2},
		{"across the corner", box(1, 4, 5), Motion{}, 5, 2.5, 3},
		{"touching", box(1, 1, 0), Motion{}, 0, 1, 0.5},
		{"overlapping by 0.1", box(1, 3, 0.5), Motion{X: -2.1}, -0.1, 0.95, 0.75},
	}
	for _, c := range cases {
		g := Clearance([]Outline{box(0, 0, 0), c.other}, []Motion{{}, c.motion})
		if math.Abs(g.Distance-c.want) > 1e-12 || math.Abs(g.X-c.x) > 1e-12 || math.Abs(g.Y-c.y) > 1e-12 || g.A != 0 || g.B != 1 {
			t.Errorf("%s: %+v, want %g at (%g, %g)", c.name, g, c.want, c.x, c.y)
		}
	}
	// A square turned a little about its lower left corner, whose upper left one is nearest.
	for _, c := range []struct{ dx, want float64 }{{3, 1.8}, {1.5, 0.3}, {0.5, -0.7 / math.Hypot(1, 0.2)}} {
		m := Turned(c.dx, 0, 0, 0, 0.2) // its lower left corner stays at (dx, 0), the upper left moves to the left
		if d := Distance(Rectangle{0, 1, 0, 1}, Motion{}, Rectangle{c.dx, c.dx + 1, 0, 1}, m); math.Abs(d-c.want) > 1e-12 {
			t.Errorf("turned by 0.2 at %g: %g, want %g", c.dx, d, c.want)
		}
	}
	if x, y := Turned(2, 3, 0.1, 0.2, 0.5).At(2, 3); math.Hypot(x-2.1, y-3.2) > 1e-15 {
		t.Errorf("the point that a body turns about goes to (%g, %g)", x, y)
	}
	if g := Clearance([]Outline{box(0, 0, 0)}, []Motion{{}}); !math.IsInf(g.Distance, 1) {
		t.Errorf("one body: %+v", g)
	}
}
