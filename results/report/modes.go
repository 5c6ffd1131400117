package report

import (
	"fmt"
	"html"
	"html/template"
	"math"

	"flexwright/models"
	"flexwright/objective"
)

// How many mode shapes are drawn, from the lowest: in the plane and out of it.
const (
	shownInPlane    = 5
	shownOutOfPlane = 3
)

// modeFigure is a mode shape.
type modeFigure struct {
	Caption string
	Drawing template.HTML
}

// drawModes draws the lowest natural modes at the centre: those in the plane as
// displaced bodies, those out of it as the height that each part of a body moves
// to, in colours.
func drawModes(d *objective.Detail, l models.Layout) []modeFigure {
	shapes, ok := d.Shapes()
	if !ok {
		return nil
	}
	design := d.Design
	design.Parameters = append([]float64{}, design.Parameters...)
	outlines, v := l.Outline(&design)
	if !v.OK() {
		return nil
	}
	t, st := d.Topology, d.Stage
	half := st.Frame*1e3/2 + 1
	var list []modeFigure
	inPlane, outOfPlane := 0, 0
	for k := range shapes {
		shape := &shapes[k]
		out := shape.Out > 0.5
		if out {
			outOfPlane++
		} else {
			inPlane++
		}
		if out && outOfPlane > shownOutOfPlane || !out && inPlane > shownInPlane {
			continue
		}
		largest, most := 0.0, 0
		for _, o := range outlines {
			for _, r := range o.Rectangles {
				for _, c := range [4][2]float64{{r.X0, r.Y0}, {r.X0, r.Y1}, {r.X1, r.Y0}, {r.X1, r.Y1}} {
					if m := moved(shape.Bodies[o.Body], c[0]-st.X[o.Body], c[1]-st.Y[o.Body], out); m > largest*(1+1e-6) {
						largest, most = m, o.Body
					}
				}
			}
		}
		if largest == 0 {
			continue
		}
		caption := fmt.Sprintf("%d. %s Hz: %s", k+1, number(shape.Omega/(2*math.Pi)), motionOf(d, shape.Bodies, most, out))
		var s svg
		s.put(`<svg class="stage mode" viewBox="%s %s %s %s" role="img" aria-label="%s">`, short(-half), short(-half), short(2*half), short(2*half), html.EscapeString("mode "+caption))
		factor := 0.05 * st.Frame / largest
		for _, o := range outlines {
			b := shape.Bodies[o.Body]
			switch {
			case t.Bodies[o.Body].Held == models.HeldAll:
				s.put(`<g class="rest"><path class="ground" d="`)
				rectangles(&s, o.Rectangles)
				s.put(`"/></g>`)
			case out:
				for _, r := range o.Rectangles {
					z := height(b, (r.X0+r.X1)/2-st.X[o.Body], (r.Y0+r.Y1)/2-st.Y[o.Body]) / largest
					level := min(mapLevels-1, max(0, int(mapLevels*(z+1)/2)))
					s.put(`<path class="lift m%d" d="`, level)
					rectangles(&s, []models.Rectangle{r})
					s.put(`"/>`)
				}
			default:
				s.put(`<g class="moved"><path class="%s" transform="translate(%s %s) rotate(%s %s %s)" d="`, bodyClass(t, o.Body),
					short(b[0]*factor*1e3), short(-b[1]*factor*1e3), short(-b[2]*factor*180/math.Pi), short(st.X[o.Body]*1e3), short(-st.Y[o.Body]*1e3))
				rectangles(&s, o.Rectangles)
				s.put(`"/></g>`)
			}
		}
		s.put(`</svg>`)
		list = append(list, modeFigure{caption, s.html()})
	}
	return list
}

// motionOf names a mode by what moves: the bodies that move at least half as far as
// the one that moves most, and how that one moves.
func motionOf(d *objective.Detail, bodies [][6]float64, most int, out bool) string {
	t, st := d.Topology, d.Stage
	b := bodies[most]
	radius := 0.0 // at which rotations count
	if st.Mass[most] > 0 {
		radius = math.Sqrt(st.Iz[most] / st.Mass[most])
	}
	how, largest := "", 0.0
	part := func(name string, v float64) {
		if math.Abs(v) > largest {
			how, largest = name, math.Abs(v)
		}
	}
	if out {
		part("up and down", b[3])
		part("rolling", b[4]*radius)
		part("pitching", b[5]*radius)
	} else {
		part("along x", b[0])
		part("along y", b[1])
		part("yawing", b[2]*radius)
	}
	size := func(b [6]float64, i int) float64 {
		r := 0.0
		if st.Mass[i] > 0 {
			r = math.Sqrt(st.Iz[i] / st.Mass[i])
		}
		if out {
			return math.Abs(b[3]) + r*math.Hypot(b[4], b[5])
		}
		return math.Hypot(b[0], b[1]) + r*math.Abs(b[2])
	}
	names := []string{t.Bodies[most].Name}
	for i, q := range bodies {
		if i != most && size(q, i) >= 0.5*size(b, most) {
			names = append(names, t.Bodies[i].Name)
		}
	}
	const named = 3
	if n := len(names) - named; n > 1 {
		names = append(names[:named], fmt.Sprintf("%d others", n))
	}
	return list(names) + " " + how
}

// height that a point of a body moves to, at (x, y) from its origin.
func height(b [6]float64, x, y float64) float64 { return b[3] + b[4]*y - b[5]*x }

// moved is how far a point of a body moves: out of the plane or in it.
func moved(b [6]float64, x, y float64, out bool) float64 {
	if out {
		return math.Abs(height(b, x, y))
	}
	return math.Hypot(b[0]-b[2]*y, b[1]+b[2]*x)
}
