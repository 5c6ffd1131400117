package report

import (
	"fmt"
	"html"
	"html/template"
	"math"

	"flexwright/models"
	"flexwright/objective"
)

// motionFrames is how many positions of the circle are solved; between them
// the picture is interpolated.
const motionFrames = 24

// picture is a stage drawn to scale, at rest and displaced.
type picture struct {
	Drawing      template.HTML
	Motion       template.JS // motion
	Radius       string      // of the circle
	Exaggeration string
	Size         string
	Unsolved     int // frames without a solution: the circle is not animated
}

// motion is what the script moves. Lengths in mm, angles in rad, times the
// exaggeration.
type motion struct {
	Bodies []int        `json:"bodies"` // numbers of the moving bodies
	Origin [][2]float64 `json:"origin"` // of each, at rest
	// Frames hold x, y and yaw of each moving body, per position of the circle.
	Frames [][]float64 `json:"frames"`
	// Blades: root and tip body as places in Bodies (-1: fixed), ends at rest.
	Blades []bladeMotion `json:"blades"`
}

type bladeMotion struct {
	Root int        `json:"root"`
	Tip  int        `json:"tip"`
	At   [4]float64 `json:"at"`
}

// drawStage draws a design. Displacements of millimetres show at true scale when
// they are at least a hundredth of the plate; smaller ones are exaggerated by a
// round factor, rotations with them.
func drawStage(d *objective.Detail, l models.Layout) *picture {
	design := d.Design
	design.Parameters = append([]float64{}, design.Parameters...)
	outlines, v := l.Outline(&design)
	if !v.OK() {
		return nil
	}
	t, st := d.Topology, d.Stage
	factor := exaggeration(st.Travel / st.Frame)
	p := &picture{Radius: quantity(st.Travel*1e3, "mm"), Size: quantity(st.Frame*1e3, "mm")}
	p.Exaggeration = "displacements to scale"
	if factor != 1 {
		p.Exaggeration = fmt.Sprintf("displacements and rotations × %s", number(factor))
	}

	var m motion
	place := make([]int, len(t.Bodies))
	for i, b := range t.Bodies {
		place[i] = -1
		if b.Held != models.HeldAll {
			place[i] = len(m.Bodies)
			m.Bodies = append(m.Bodies, i)
			m.Origin = append(m.Origin, [2]float64{round(st.X[i] * 1e3), round(-st.Y[i] * 1e3)})
		}
	}
	for i, b := range t.Blades {
		m.Blades = append(m.Blades, bladeMotion{place[b.From], place[b.To], [4]float64{round(st.RootX[i] * 1e3), round(-st.RootY[i] * 1e3), round(st.TipX[i] * 1e3), round(-st.TipY[i] * 1e3)}})
	}
	for k := range motionFrames {
		a := 2 * math.Pi * float64(k) / motionFrames
		pose := d.At(st.Travel*math.Cos(a), st.Travel*math.Sin(a))
		if !pose.Verdict.OK() {
			p.Unsolved++
			continue
		}
		m.Frames = append(m.Frames, frame(&m, pose.Q, factor))
	}
	if p.Unsolved > 0 {
		m.Frames = nil
	}
	p.Motion = asJSON(&m)

	margin := 0.02*st.Frame*1e3 + 1
	half := st.Frame*1e3/2 + margin
	var s svg
	s.put(`<svg class="stage" viewBox="%s %s %s %s" role="img" aria-label="%s">`, short(-half), short(-half), short(2*half), short(2*half+margin+6),
		html.EscapeString("The stage from above, at rest and displaced; plate "+p.Size+" wide, "+p.Exaggeration))
	s.put(`<g class="rest">`)
	for _, o := range outlines {
		s.put(`<path class="%s" d="`, bodyClass(t, o.Body))
		rectangles(&s, o.Rectangles)
		s.put(`"/>`)
	}
	for _, b := range m.Blades {
		s.put(`<path class="blade" d="M%s %sL%s %s"/>`, short(b.At[0]), short(b.At[1]), short(b.At[2]), short(b.At[3]))
	}
	s.put(`</g><g class="moved">`)
	// Without the script: at the first frame, x = T.
	var first []float64
	if len(m.Frames) > 0 {
		first = m.Frames[0]
	} else {
		first = make([]float64, 3*len(m.Bodies))
	}
	for _, o := range outlines {
		k := place[o.Body]
		if k < 0 {
			continue
		}
		s.put(`<path class="%s" data-body="%d" transform="translate(%s %s) rotate(%s %s %s)" d="`, bodyClass(t, o.Body), k,
			short(first[3*k]), short(first[3*k+1]), short(first[3*k+2]*180/math.Pi), short(m.Origin[k][0]), short(m.Origin[k][1]))
		rectangles(&s, o.Rectangles)
		s.put(`"/>`)
	}
	for _, b := range m.Blades {
		s.put(`<path class="blade" d="%s"/>`, bladePath(&m, &b, first))
	}
	s.put(`</g>`)
	scaleBar(&s, half, st.Frame*1e3)
	for _, q := range t.Stations(st) {
		class := "actuator"
		switch {
		case q.What != "actuator" && t.Sensors == nil:
			continue
		case q.What != "actuator":
			class = "sensor"
		case t.Sensors == nil:
			q.What = "actuator and encoder"
		}
		s.put(`<circle class="%s" cx="%s" cy="%s" r="%s"><title>%s</title></circle>`, class, short(q.X*1e3), short(-q.Y*1e3), short(st.Frame*1e3/90),
			html.EscapeString(q.What+" along "+q.Axis.String()))
	}
	s.put(`</svg>`)
	p.Drawing = s.html()
	return p
}

// layoutOf is the layout of a design of spec.
func layoutOf(spec *objective.Spec, d *objective.Detail) models.Layout {
	for _, l := range spec.Layouts {
		if l.Name() == d.Row.Layout {
			return l
		}
	}
	panic("report: a design of an unknown layout")
}

// exaggeration is 1, 2, 5, 10, ... such that a travel that is this share of the
// plate shows as at least a hundredth of it.
func exaggeration(share float64) float64 {
	if !(share > 0) {
		return 1
	}
	for power := 1.0; power < 1e6; power *= 10 {
		for _, f := range []float64{1, 2, 5} {
			if share*f*power >= 0.01 {
				return f * power
			}
		}
	}
	return 1
}

func round(v float64) float64 { return math.Round(v*1000) / 1000 }

// frame is the displacement of all bodies in the picture's units: y points down there.
func frame(m *motion, all []float64, factor float64) []float64 {
	f := make([]float64, 0, 3*len(m.Bodies))
	for _, b := range m.Bodies {
		q := all[3*b:]
		f = append(f, round(factor*q[0]*1e3), round(-factor*q[1]*1e3), math.Round(-factor*q[2]*1e7)/1e7)
	}
	return f
}

// bladePath is the cubic through the blade's ends along their tangents: as a
// Bézier curve its inner points are a third of the length along them.
func bladePath(m *motion, b *bladeMotion, f []float64) string {
	end := func(body int, x, y float64) (ex, ey, turn float64) {
		if body < 0 {
			return x, y, 0
		}
		o := m.Origin[body]
		turn = f[3*body+2]
		return x + f[3*body] - turn*(y-o[1]), y + f[3*body+1] + turn*(x-o[0]), turn
	}
	dx, dy := (b.At[2]-b.At[0])/3, (b.At[3]-b.At[1])/3
	x0, y0, r0 := end(b.Root, b.At[0], b.At[1])
	x1, y1, r1 := end(b.Tip, b.At[2], b.At[3])
	return fmt.Sprintf("M%s %sC%s %s %s %s %s %s", short(x0), short(y0),
		short(x0+dx-r0*dy), short(y0+dy+r0*dx), short(x1-dx+r1*dy), short(y1-dy-r1*dx), short(x1), short(y1))
}

func rectangles(s *svg, list []models.Rectangle) {
	for _, r := range list {
		s.put("M%s %sH%sV%sH%sZ", short(r.X0*1e3), short(-r.Y0*1e3), short(r.X1*1e3), short(-r.Y1*1e3), short(r.X0*1e3))
	}
}

func bodyClass(t *models.Topology, body int) string {
	switch {
	case t.Bodies[body].Held == models.HeldAll:
		return "ground"
	case body == t.Stage:
		return "platform"
	}
	for _, b := range t.Driven {
		if b == body {
			return "driven"
		}
	}
	for _, b := range t.Idle {
		if b == body {
			return "idle"
		}
	}
	return "guide"
}

// scaleBar draws a round length below the plate.
func scaleBar(s *svg, half, frame float64) {
	length := math.Pow(10, math.Floor(math.Log10(frame/4)))
	for _, f := range []float64{5, 2} {
		if f*length <= frame/3 {
			length *= f
			break
		}
	}
	y := half + frame*0.012
	s.put(`<path class="scale" d="M%s %sh%s"/>`, short(-half+frame*0.03), short(y), short(length))
	s.put(`<text class="scaletext" font-size="%s" x="%s" y="%s">%s</text>`, short(frame/36), short(-half+frame*0.04+length), short(y+frame/110), html.EscapeString(quantity(length, "mm")))
}
