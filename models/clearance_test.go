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
		{"above, shifted", box(1, 0.5, 4), Motion{0, -1}, 2, 0.75, 2},
		{"across the corner", box(1, 4, 5), Motion{}, 5, 2.5, 3},
		{"touching", box(1, 1, 0), Motion{}, 0, 1, 0.5},
		{"overlapping by 0.1", box(1, 3, 0.5), Motion{-2.1, 0}, -0.1, 0.95, 0.75},
	}
	for _, c := range cases {
		g := Clearance([]Outline{box(0, 0, 0), c.other}, []Motion{{}, c.motion})
		if math.Abs(g.Distance-c.want) > 1e-12 || math.Abs(g.X-c.x) > 1e-12 || math.Abs(g.Y-c.y) > 1e-12 || g.A != 0 || g.B != 1 {
			t.Errorf("%s: %+v, want %g at (%g, %g)", c.name, g, c.want, c.x, c.y)
		}
	}
	if g := Clearance([]Outline{box(0, 0, 0)}, []Motion{{}}); !math.IsInf(g.Distance, 1) {
		t.Errorf("one body: %+v", g)
	}
}
