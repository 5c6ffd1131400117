package drawing

import (
	"math"
	"testing"

	"flexwright/models"
)

// near compares with a relative tolerance for rounding.
func near(t *testing.T, what string, got, want float64) {
	t.Helper()
	if math.Abs(got-want) > 1e-12*max(1, math.Abs(want)) {
		t.Errorf("%s: %.15g, want %.15g", what, got, want)
	}
}

// A stadium: two straight edges of 2, two half circles of radius 1, to the left.
var stadium = Contour{{0, -1, 0}, {2, -1, 1}, {2, 1, 0}, {0, 1, 1}}

func TestContour(t *testing.T) {
	near(t, "area", stadium.Area(), 4+math.Pi)
	near(t, "length", stadium.Length(), 4+2*math.Pi)
	x0, x1, y0, y1 := stadium.Bounds()
	near(t, "left", x0, -1)
	near(t, "right", x1, 3)
	near(t, "bottom", y0, -1)
	near(t, "top", y1, 1)
	turned := stadium.Move(5, 0, math.Pi/2, 0, 0)
	near(t, "area, moved", turned.Area(), 4+math.Pi)
	x0, x1, y0, y1 = turned.Bounds()
	near(t, "left, moved", x0, 4)
	near(t, "right, moved", x1, 6)
	near(t, "bottom, moved", y0, -1)
	near(t, "top, moved", y1, 3)
	// Chords of a circle inside it: area r² n sin(2 pi/n)/2 for n chords.
	sum := 0.0
	points := stadium.flatten(math.Pi / 8)
	for i, p := range points {
		q := points[(i+1)%len(points)]
		sum += (p.x*q.y - q.x*p.y) / 2
	}
	near(t, "area in chords", sum, 4+8*math.Sin(math.Pi/8))
}

// TestOffset: for a convex outline the offset has the area A + P d + pi d², and
// inside a cut the signs change (Steiner's formula for parallel curves).
func TestOffset(t *testing.T) {
	const d = 0.1
	square := Contour{{0, 0, 0}, {1, 0, 0}, {1, 1, 0}, {0, 1, 0}}
	for name, c := range map[string]Contour{"square": square, "stadium": stadium} {
		out, ok := c.Offset(d)
		if !ok {
			t.Errorf("%s: refused", name)
		}
		near(t, name, out.Area(), c.Area()+c.Length()*d+math.Pi*d*d)
	}
	// The same stadium as a cut, walked the other way round: the path lies inside.
	cut := Contour{{0, 1, 0}, {2, 1, -1}, {2, -1, 0}, {0, -1, -1}}
	out, ok := cut.Offset(d)
	if !ok {
		t.Error("cut: refused")
	}
	near(t, "cut", -out.Area(), (4+math.Pi)-(4+2*math.Pi)*d+math.Pi*d*d)
	// A wire as wide as the stadium runs along a line; a wider one does not fit.
	if line, ok := cut.Offset(1); !ok || math.Abs(line.Area()) > 1e-12 {
		t.Errorf("wire of the full width: %v, area %g", ok, line.Area())
	}
	if _, ok := cut.Offset(1.01); ok {
		t.Error("a wire wider than the arcs was accepted")
	}
	// A sharp inside corner cannot be cut.
	if _, ok := (Contour{{0, 0, 0}, {0, 1, 0}, {1, 1, 0}, {1, 0, 0}}).Offset(d); ok {
		t.Error("sharp inside corners were accepted")
	}
}

func TestTrace(t *testing.T) {
	// A ring of four overlapping bars, with a bar in its middle that touches one side.
	ring := []models.Rectangle{{X0: 0, X1: 10, Y0: 0, Y1: 1}, {X0: 0, X1: 10, Y0: 9, Y1: 10}, {X0: 0, X1: 1, Y0: 0, Y1: 10},
		{X0: 9, X1: 10, Y0: 0, Y1: 10}, {X0: 4, X1: 5, Y0: 1, Y1: 6}}
	loops, touching := trace(ring)
	if len(loops) != 2 || len(touching) != 0 {
		t.Fatalf("%d loops, %d points", len(loops), len(touching))
	}
	for i, want := range []struct {
		area             float64
		corners, concave int
	}{{100, 4, 0}, {-(64 - 5), 8, 6}} {
		var c Contour
		concave := 0
		for _, k := range loops[i] {
			c = append(c, Vertex{k.x, k.y, 0})
			if k.concave {
				concave++
			}
		}
		near(t, "area", c.Area(), want.area)
		if len(c) != want.corners || concave != want.concave {
			t.Errorf("loop %d: %d corners, %d concave, want %d, %d", i, len(c), concave, want.corners, want.concave)
		}
	}
	// Two squares that meet in a corner are no outline.
	_, touching = trace([]models.Rectangle{{X0: 0, X1: 1, Y0: 0, Y1: 1}, {X0: 1, X1: 2, Y0: 1, Y1: 2}})
	if len(touching) != 1 || touching[0] != (pt{1, 1}) {
		t.Errorf("touching: %v", touching)
	}
}

// TestNarrowest: walls and gaps of outlines drawn by hand, in metres.
func TestNarrowest(t *testing.T) {
	box := func(x0, x1, y0, y1 float64, hole bool) []pt {
		if hole {
			return []pt{{x0, y0}, {x0, y1}, {x1, y1}, {x1, y0}}
		}
		return []pt{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}
	}
	const mm = 1e-3
	// A frame 20 x 20 with a hole off its middle: walls 4, 3, 2 and 5.
	frame := [][]pt{box(0, 20*mm, 0, 20*mm, false), box(4*mm, 15*mm, 3*mm, 18*mm, true)}
	wall := newMesh(frame).narrowest(true, 10*mm)
	near(t, "wall of a frame", wall.Size, 2*mm)
	if wall.Y < 18*mm || wall.Y > 20*mm {
		t.Errorf("wall found at (%g, %g)", wall.X, wall.Y)
	}
	near(t, "gap of a frame", newMesh(frame).narrowest(false, 20*mm).Size, 11*mm)
	// An island in it whose corner is the nearest to a corner of... nothing: to the
	// left side it keeps 1, and diagonally the corner of a second one keeps 0.5 √2.
	islands := append(frame, box(5*mm, 9*mm, 6*mm, 9*mm, false), box(9.5*mm, 12*mm, 9.5*mm, 12*mm, false))
	gap := newMesh(islands).narrowest(false, 10*mm)
	near(t, "gap across corners", gap.Size, 0.5*math.Sqrt2*mm)
	near(t, "its place", gap.X+gap.Y, 18.5*mm)
	// Only a reach beyond the nearest finds it.
	if g := newMesh(islands).narrowest(false, 0.5*mm); !math.IsInf(g.Size, 1) {
		t.Errorf("found %g within 0.5 mm", g.Size)
	}
	if _, crosses := newMesh(islands).crossing(); crosses {
		t.Error("separate outlines cross")
	}
	bow := [][]pt{{{0, 0}, {2 * mm, 2 * mm}, {2 * mm, 0}, {0, 2 * mm}}}
	if at, crosses := newMesh(bow).crossing(); !crosses || math.Hypot(at.x-mm, at.y-mm) > same {
		t.Errorf("a bow crosses at %v, %v", at, crosses)
	}
	over := append(islands, box(8*mm, 10*mm, 8*mm, 8.5*mm, false))
	if _, crosses := newMesh(over).crossing(); !crosses {
		t.Error("overlapping outlines do not cross")
	}
}
