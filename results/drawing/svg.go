package drawing

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"flexwright/models"
)

// Sheet is what is written around the drawing.
type Sheet struct {
	Title     string   // of the brief; may be empty
	Design    string   // its name: id, and run where there are several
	Layout    string   // name of the layout
	Material  string   // name of the material
	Facts     []string // further lines for the title block: measures, source of the numbers
	Displaced []Pose   // one per body: drawn over the plate; nil: at rest
	Position  string   // says which position Displaced is

	ThicknessTolerance float64 // of the blades: ± m; 0: not known
}

// Style of the picture: dark lines on light metal, blades in one strong colour.
const style = `
text{font-family:"DejaVu Sans",Arial,Helvetica,sans-serif;fill:#1c2733}
.metal{fill:#dfe5eb;stroke:#1c2733;stroke-width:.25;fill-rule:evenodd}
.faint{fill:#eef1f4;stroke:#a9b4bf;stroke-width:.2;fill-rule:evenodd}
.blade{fill:#c2410c;stroke:none}
.body{fill:#3b82c4;fill-opacity:.35;stroke:#1d4e7e;stroke-width:.25}
.bent{fill:#c2410c;stroke:none}
.wire{fill:none;stroke:#be185d;stroke-width:.15;stroke-dasharray:1.2 .6}
.hole{fill:#fff;stroke:#1c2733;stroke-width:.25}
.start{fill:none;stroke:#15803d;stroke-width:.2}
.dim{stroke:#44546a;stroke-width:.18;fill:none}
.tip{fill:#44546a;stroke:none}
.name{fill:#44546a;paint-order:stroke;stroke:#fff;stroke-width:.9;stroke-linejoin:round}
.halo{paint-order:stroke;stroke:#fff;stroke-width:1.1;stroke-linejoin:round}
.frame{fill:none;stroke:#1c2733;stroke-width:.35}
.rule{stroke:#9aa7b4;stroke-width:.2}
.head{font-weight:bold}
.quiet{fill:#5b6875}
`

// onScreen fills the window with a sheet that stands alone; paper keeps its size.
const onScreen = "@media screen{svg:root{width:100%;height:100%}}"

// svg writes elements in millimetres, y downwards. k scales everything that is
// not the plate, so that small and large plates get the same picture.
type svg struct {
	w     *bufio.Writer
	k     float64
	taken []box // by texts of the picture
}

// box is what a text covers: its middle and half its sides, mm.
type box struct{ x, y, w, h float64 }

// boxOf is the box of a text in the middle of (x, y).
func (s *svg) boxOf(x, y, size float64, upright bool, text string) box {
	b := box{x, y, 0.32 * size * s.k * float64(len([]rune(text))), 0.4 * size * s.k}
	if upright {
		b.w, b.h = b.h, b.w
	}
	return b
}

func (b box) overlaps(o box) bool {
	return math.Abs(b.x-o.x) < b.w+o.w && math.Abs(b.y-o.y) < b.h+o.h
}

// free returns the first of places where a text covers no other, the first of all where it does in each.
func (s *svg) free(places []box) int {
	for i, b := range places {
		if !slices.ContainsFunc(s.taken, b.overlaps) {
			s.taken = append(s.taken, b)
			return i
		}
	}
	s.taken = append(s.taken, places[0])
	return 0
}

// style returns the style sheet with line widths scaled.
func (s *svg) style() string {
	widths := regexp.MustCompile(`stroke-width:[0-9.]+`)
	return onScreen + widths.ReplaceAllStringFunc(strings.ReplaceAll(style, "\n", ""), func(m string) string {
		v, err := strconv.ParseFloat(strings.TrimPrefix(m, "stroke-width:"), 64)
		if err != nil {
			panic("drawing: a line width is no number")
		}
		return "stroke-width:" + trim(v*s.k, 3)
	})
}

func (s *svg) print(format string, args ...any) { fmt.Fprintf(s.w, format, args...) }

// mm formats metres in millimetres for coordinates: to 0.1 µm.
func mm(v float64) string {
	return strconv.FormatFloat(math.Round(v*1e7)/1e4+0, 'f', -1, 64)
}

// path formats contours as one path; y points up in the drawing and down in SVG.
func path(contours ...Contour) string {
	var b strings.Builder
	for _, c := range contours {
		for i, v := range c {
			if i == 0 {
				fmt.Fprintf(&b, "M%s %s", mm(v.X), mm(-v.Y))
			}
			w := c[(i+1)%len(c)]
			switch {
			case v.Bulge != 0:
				_, _, r, angle := arc(v, w)
				large, sweep := 0, 1
				if math.Abs(angle) > math.Pi {
					large = 1
				}
				if angle > 0 {
					sweep = 0
				}
				fmt.Fprintf(&b, "A%s %s 0 %d %d %s %s", mm(r), mm(r), large, sweep, mm(w.X), mm(-w.Y))
			case i < len(c)-1:
				fmt.Fprintf(&b, "L%s %s", mm(w.X), mm(-w.Y))
			}
		}
		b.WriteString("Z")
	}
	return b.String()
}

func (s *svg) shape(class string, contours ...Contour) {
	s.print("<path class=\"%s\" d=\"%s\"/>\n", class, path(contours...))
}

func (s *svg) circle(class string, h Circle) {
	s.print("<circle class=\"%s\" cx=\"%s\" cy=\"%s\" r=\"%s\"/>\n", class, mm(h.X), mm(-h.Y), mm(h.Radius))
}

// text writes at (x, y) in millimetres, y downwards; anchor is start, middle or end.
func (s *svg) text(x, y, size float64, anchor, class, text string) {
	s.print("<text x=\"%.2f\" y=\"%.2f\" font-size=\"%.2f\" text-anchor=\"%s\" class=\"%s\">%s</text>\n",
		x, y, size*s.k, anchor, class, escape(text))
}

// upright writes along a vertical line, read from the right.
func (s *svg) upright(x, y, size float64, class, text string) {
	s.print("<text transform=\"translate(%.2f %.2f) rotate(-90)\" font-size=\"%.2f\" text-anchor=\"middle\" class=\"%s\">%s</text>\n",
		x, y, size*s.k, class, escape(text))
}

var escaper = strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;")

func escape(text string) string { return escaper.Replace(text) }

// dimension draws a line with arrow heads between two points, in millimetres and y
// downwards, horizontal or vertical, with its text in the middle. Where there is no
// room for the text the arrows come from outside, and the text stands at the far end. Where
// another text is, it stands elsewhere along the line.
func (s *svg) dimension(x0, y0, x1, y1 float64, text string) {
	l := math.Hypot(x1-x0, y1-y0)
	ux, uy := (x1-x0)/l, (y1-y0)/l
	inside, a := 1.0, min(2.4*s.k, l/3)
	var along []float64 // from the first point, where the text may be
	if l < 11*s.k {
		inside, a = -1, 1.8*s.k
		tail := 4 * s.k
		s.print("<path class=\"dim\" d=\"M%.3f %.3fL%.3f %.3fM%.3f %.3fL%.3f %.3f\"/>\n",
			x0-tail*ux, y0-tail*uy, x0, y0, x1, y1, x1+tail*ux, y1+tail*uy)
		reach := tail + (1.5+float64(len(text)))*s.k
		along = []float64{l + reach, -reach, l + 2*reach, -2 * reach}
	} else {
		along = []float64{l / 2, l / 3, 2 * l / 3, l / 5, 4 * l / 5}
		s.print("<path class=\"dim\" d=\"M%.3f %.3fL%.3f %.3f\"/>\n", x0, y0, x1, y1)
	}
	for _, e := range []struct{ x, y, d float64 }{{x0, y0, inside}, {x1, y1, -inside}} {
		s.print("<path class=\"tip\" d=\"M%.3f %.3fL%.3f %.3fL%.3f %.3fZ\"/>\n", e.x, e.y,
			e.x+e.d*a*ux-a/5*uy, e.y+e.d*a*uy+a/5*ux, e.x+e.d*a*ux+a/5*uy, e.y+e.d*a*uy-a/5*ux)
	}
	offset := s.k
	if inside < 0 {
		offset = -1.1 * s.k // on the line
	}
	const height = 3.2
	lies := math.Abs(ux) > math.Abs(uy)
	var places []box
	for _, t := range along {
		x, y := x0+t*ux, y0+t*uy
		if up := offset + 0.35*height*s.k; lies {
			y -= up
		} else {
			x -= up
		}
		places = append(places, s.boxOf(x, y, height, !lies, text))
	}
	t := along[s.free(places)]
	if x, y := x0+t*ux, y0+t*uy; lies {
		s.text(x, y-offset, height, "middle", "halo", text)
	} else {
		s.upright(x-offset, y, height, "halo", text)
	}
}

// WriteSVG writes the drawing with dimensions, title block, tolerance notes and
// cautions: 1:1 in millimetres on paper, as large as its window on a screen.
func (p *Plate) WriteSVG(w io.Writer, sheet Sheet) error {
	k := p.size() * 1e3 / 260
	s := &svg{w: bufio.NewWriter(w), k: k}
	left, right, top, bottom := p.X0*1e3, p.X1*1e3, -p.Y1*1e3, -p.Y0*1e3
	margin, panel, notes := 22*k, 190*k, 58*k
	x0, y0 := left-margin, top-margin
	width := right - left + 2*margin + panel
	height := max(bottom-top+2*margin, 304*k) + notes
	s.print("<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%.2fmm\" height=\"%.2fmm\" viewBox=\"%.2f %.2f %.2f %.2f\">\n",
		width, height, x0, y0, width, height)
	s.print("<title>%s</title>\n", escape(strings.TrimSpace(sheet.Title+" design "+sheet.Design)))
	s.print("<style>%s</style>\n", s.style())
	s.print("<rect x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\" fill=\"#fff\"/>\n", x0, y0, width, height)
	s.print("<rect class=\"frame\" x=\"%.2f\" y=\"%.2f\" width=\"%.2f\" height=\"%.2f\"/>\n", x0+4*k, y0+4*k, width-8*k, height-8*k)

	p.picture(s, sheet.Displaced)
	if sheet.Displaced == nil {
		p.dimensions(s)
	} else {
		s.text((left+right)/2, bottom+14*k, 3.6, "middle", "", "Displaced "+sheet.Position+"; at rest in grey. Not for cutting.")
	}
	s.dimension(left, top-8*k, right, top-8*k, size(right-left))
	s.dimension(left-8*k, bottom, left-8*k, top, size(bottom-top))
	p.panel(s, sheet, right+margin, y0+4*k, height-notes-8*k)
	p.notes(s, sheet, x0+4*k, y0+height-notes-4*k, width-8*k, notes)
	s.print("</svg>\n")
	return s.w.Flush()
}

// size returns the longer side of the plate, m.
func (p *Plate) size() float64 { return max(p.X1-p.X0, p.Y1-p.Y0) }

// size formats millimetres as on a drawing: three decimals where they say something.
func size(v float64) string { return trim(v, 3) }

func trim(v float64, decimals int) string {
	scale := math.Pow(10, float64(decimals))
	return strconv.FormatFloat(math.Round(v*scale)/scale+0, 'f', -1, 64)
}

// picture draws the plate, at rest or displaced.
func (p *Plate) picture(s *svg, displaced []Pose) {
	if displaced == nil {
		s.shape("metal", p.Contours...)
		for e := range p.Blades {
			s.shape("blade", p.BladeAt(e, make([]Pose, len(p.Bodies))))
		}
	} else {
		s.shape("faint", p.Contours...)
		bodies := p.BodiesAt(displaced)
		for i := range p.Bodies {
			if i != p.ground() {
				q := displaced[i]
				parts := []Contour{bodies[i]}
				for _, c := range p.Pockets[i] {
					parts = append(parts, c.Move(q.X, q.Y, q.Yaw, p.Stage.X[i], p.Stage.Y[i]))
				}
				s.shape("body", parts...)
			}
		}
		s.shape("metal", append([]Contour{p.Bodies[p.ground()]}, p.Rings...)...)
		for e := range p.Blades {
			s.shape("bent", p.BladeAt(e, displaced))
		}
	}
	for _, h := range p.MountingHoles {
		s.circle("hole", h)
	}
	for _, h := range p.PayloadHoles {
		if displaced != nil {
			q := displaced[p.Topology.Stage]
			c := Contour{{X: h.X, Y: h.Y}}.Move(q.X, q.Y, q.Yaw, p.Stage.X[p.Topology.Stage], p.Stage.Y[p.Topology.Stage])
			h.X, h.Y = c[0].X, c[0].Y
		}
		s.circle("hole", h)
	}
	if displaced != nil {
		return
	}
	for _, c := range p.Wire {
		s.shape("wire", c)
	}
	for _, h := range p.StartHoles {
		s.circle("start", h)
		r := h.Radius * 1e3 * 1.8
		s.print("<path class=\"start\" d=\"M%.3f %.3fh%.3fM%.3f %.3fv%.3f\"/>\n", h.X*1e3-r, -h.Y*1e3, 2*r, h.X*1e3, -h.Y*1e3-r, 2*r)
	}
	write := func(x, y, height float64, upright bool, class, text string) {
		x, y = x*1e3, -y*1e3
		s.taken = append(s.taken, s.boxOf(x, y, height, upright, text))
		if upright {
			s.upright(x+0.35*height*s.k, y, height, class, text)
		} else {
			s.text(x, y+0.35*height*s.k, height, "middle", class, text)
		}
	}
	for i, b := range p.Topology.Bodies {
		x, y, upright := p.label(i)
		write(x, y, 3.2, upright, "name", b.Name)
	}
	for e := range p.Blades {
		x, y, upright := p.bladeLabel(e)
		place, _ := p.Topology.BladePlace(e)
		write(x, y, 2.2, upright, "name", strconv.Itoa(place))
	}
}

// label returns where the name of a body goes: the middle of its largest rectangle,
// beside a hole that is there; upright on one that is.
func (p *Plate) label(body int) (x, y float64, upright bool) {
	var r models.Rectangle
	for _, q := range p.outlines[body].Rectangles {
		// The first of equals, and one that lies before one that stands.
		if a, b := q.Area(), r.Area(); a > b*(1+1e-9) || a > b*(1-1e-9) && q.X1-q.X0 > r.X1-r.X0+same {
			r = q
		}
	}
	x, y = (r.X0+r.X1)/2, (r.Y0+r.Y1)/2
	for _, h := range p.PayloadHoles {
		if math.Hypot(x-h.X, y-h.Y) < h.Radius+p.size()/100 {
			y += p.Options.Payload.Pitch / 2
			break
		}
	}
	for _, h := range p.MountingHoles {
		if math.Hypot(x-h.X, y-h.Y) < h.Radius+p.size()/20 {
			x += (r.X1 - r.X0) / 6
			break
		}
	}
	return x, y, r.Y1-r.Y0 > r.X1-r.X0+same
}

// bladeLabel returns where the number of a blade goes: on its middle; upright on
// one that stands.
func (p *Plate) bladeLabel(e int) (x, y float64, upright bool) {
	b := &p.Blades[e]
	return (b.X + b.EndX) / 2, (b.Y + b.EndY) / 2, math.Abs(b.EndY-b.Y) > math.Abs(b.EndX-b.X)
}

// pair is two parallel blades between the same bodies.
type pair struct{ a, b int }

// pairs returns one pair per kind: of those alike in thickness, length and
// spacing the first.
func (p *Plate) pairs() []pair {
	var out []pair
	type kind struct{ thickness, length, spacing float64 }
	seen := map[kind]bool{}
	for a := range p.Blades {
		for b := a + 1; b < len(p.Blades); b++ {
			if p.Blades[a].From != p.Blades[b].From || p.Blades[a].To != p.Blades[b].To || !parallel(&p.Blades[a], &p.Blades[b]) {
				continue
			}
			round := func(v float64) float64 { return math.Round(v * 1e9) }
			k := kind{round(p.Blades[a].Thickness), round(p.Blades[a].Bending), round(p.spacing(pair{a, b}))}
			// Stage and ground guides may be alike; each is shown.
			if first := p.Blades[a].From; p.Topology.Bodies[first].Held == models.HeldAll || first == p.Topology.Stage {
				k.spacing += 0.5
			}
			if !seen[k] {
				seen[k] = true
				out = append(out, pair{a, b})
			}
			break
		}
	}
	return out
}

func parallel(a, b *Blade) bool {
	cross := (a.EndX-a.X)*(b.EndY-b.Y) - (a.EndY-a.Y)*(b.EndX-b.X)
	return math.Abs(cross) < 1e-9*a.Bending*b.Bending
}

// spacing returns the distance between the centre lines of two parallel blades, m.
func (p *Plate) spacing(q pair) float64 {
	a, b := &p.Blades[q.a], &p.Blades[q.b]
	ux, uy := a.EndX-a.X, a.EndY-a.Y
	l := math.Hypot(ux, uy)
	return math.Abs((b.X-a.X)*uy-(b.Y-a.Y)*ux) / l
}

// dimensions draws spacings across pairs of blades, and the drawn length of the
// first of each.
func (p *Plate) dimensions(s *svg) {
	p.members(s)
	p.holePattern(s)
	for n, q := range p.pairs() {
		a, b := &p.Blades[q.a], &p.Blades[q.b]
		at := []float64{0.72, 0.28}[n%2] // side by side where pairs lie inside each other
		x0, y0 := a.X+at*(a.EndX-a.X), a.Y+at*(a.EndY-a.Y)
		x1, y1 := b.X+at*(b.EndX-b.X), b.Y+at*(b.EndY-b.Y)
		if x1 < x0 || y1 > y0+same {
			x0, y0, x1, y1 = x1, y1, x0, y0
		}
		s.dimension(x0*1e3, -y0*1e3, x1*1e3, -y1*1e3, size(p.spacing(q)*1e3))
		if n%2 == 1 {
			continue // an outer pair, of the same length
		}
		// The length from face to face, near the right or the lower blade: its text
		// stands to the left or above.
		near := 0.8
		if b.X-a.X < -same || b.Y-a.Y > same {
			near = 0.2
		}
		ux, uy := (a.EndX-a.X)/p.straight(a), (a.EndY-a.Y)/p.straight(a)
		over := (a.Drawn - p.straight(a)) / 2
		cx, cy := (b.X-a.X)*near, (b.Y-a.Y)*near
		x0, y0 = a.X+cx-over*ux, a.Y+cy-over*uy
		x1, y1 = a.EndX+cx+over*ux, a.EndY+cy+over*uy
		if x1 < x0 || y1 > y0+same {
			x0, y0, x1, y1 = x1, y1, x0, y0
		}
		s.dimension(x0*1e3, -y0*1e3, x1*1e3, -y1*1e3, size(a.Drawn*1e3))
	}
}

// members draws the width of one slender rectangle of each kind that bodies are
// made of: prongs, backs, feet, guide bodies, the sides of the frame.
func (p *Plate) members(s *svg) {
	for _, k := range p.kinds() {
		for _, q := range k.parts {
			r := q.first
			w, h := r.X1-r.X0, r.Y1-r.Y0
			if max(w, h) < 3*min(w, h) || max(w, h) < p.size()/8 {
				continue // crowded; the table has it
			}
			const at = 0.8 // beside names, which stand in the middle
			if w < h {
				y := -(r.Y0 + at*h) * 1e3
				s.dimension(r.X0*1e3, y, r.X1*1e3, y, size(w*1e3))
			} else {
				x := (r.X0 + at*w) * 1e3
				s.dimension(x, -r.Y0*1e3, x, -r.Y1*1e3, size(h*1e3))
			}
		}
	}
}

// straight returns the length between the fillets of a blade, m.
func (p *Plate) straight(b *Blade) float64 { return math.Hypot(b.EndX-b.X, b.EndY-b.Y) }
