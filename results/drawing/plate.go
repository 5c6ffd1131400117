package drawing

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"flexwright/models"
)

// Blade is a leaf between the ends of its fillets: the strip that is drawn
// straight. Its drawn length between the bodies is that plus two fillet radii.
type Blade struct {
	From, To       int     // bodies, by number
	X, Y           float64 // where the fillets of the root end, m
	EndX, EndY     float64 // where those of the tip begin, m
	Thickness      float64 // m
	Drawn, Bending float64 // length between the faces of the bodies, and length that bends, m
}

// Plate is the drawing of one design, in m, the middle of the plate at the origin.
type Plate struct {
	Topology *models.Topology
	Stage    *models.Stage
	Options  Options

	X0, X1, Y0, Y1 float64 // the plate's bounds, m
	Depth          float64 // its thickness, the width of its blades, m

	Contours []Contour   // the plate: its outer contour, then one cut per opening
	Wire     []Contour   // path of the wire's centre, in the order of Contours; nil unless asked for
	Bodies   []Contour   // by body: its outline with fillets; the inner edge of a ring first, see Rings
	Rings    []Contour   // further contours of bodies that are not one closed line: the frame's outer edge
	Pockets  [][]Contour // by body
	Metal    []float64   // by body: its area without the straight part of blades, its holes taken off, m²
	Blades   []Blade     // by blade

	StartHoles, MountingHoles, PayloadHoles []Circle

	outlines []models.Outline // without stops

	Wall, Gap Place // the thinnest wall and the narrowest gap at rest
	FullGap   Gap   // the narrowest gap between bodies or blades at full travel, nine positions
}

// Fault is one reason why a design is not drawn, and where: m.
type Fault struct {
	Message string
	X, Y    float64
}

// RefusalError lists all reasons why a design is not drawn.
type RefusalError struct{ Faults []Fault }

func (e *RefusalError) Error() string {
	lines := make([]string, len(e.Faults))
	for i, f := range e.Faults {
		lines[i] = fmt.Sprintf("%s, at (%.3f, %.3f) mm", f.Message, f.X*1e3, f.Y*1e3)
	}
	return "cannot draw: " + strings.Join(lines, "; ")
}

// add notes a fault, once: a body and the plate share their corners.
func (e *RefusalError) add(x, y float64, format string, args ...any) {
	if f := (Fault{fmt.Sprintf(format, args...), x, y}); !slices.Contains(e.Faults, f) {
		e.Faults = append(e.Faults, f)
	}
}

// New draws design d of layout l. The error is a [RefusalError] when the outline
// intersects itself, a wall or a gap is too narrow, or an inside corner too sharp
// for the kerf; it names the inequality when the design cannot be built.
func New(l models.Layout, d *models.Design, o Options) (*Plate, error) {
	l = models.Rigid(l)
	p, refusal, err := draft(l, d, o)
	if err != nil {
		return nil, err
	}
	if len(refusal.Faults) == 0 {
		p.inspect(refusal.add)
	}
	if len(refusal.Faults) == 0 {
		if p.FullGap = p.fullTravel(l); p.FullGap.Distance < same {
			refusal.add(p.FullGap.X, p.FullGap.Y, "at full travel %s and %s touch", p.FullGap.A, p.FullGap.B)
		}
		p.holes(refusal.add)
	}
	if len(refusal.Faults) > 0 {
		return nil, refusal
	}
	return p, nil
}

// draft draws contours and drills holes without checks beyond those on the way.
func draft(l models.Layout, d *models.Design, o Options) (*Plate, *RefusalError, error) {
	p := &Plate{Topology: l.Topology(), Stage: models.NewStage(l.Topology()), Options: o}
	drilled := *d
	drilled.Holes = o.Payload
	if v := l.Build(&drilled, p.Stage); !v.OK() {
		if h := &o.Payload; v.Format == models.NoRoomForHoles {
			return nil, nil, fmt.Errorf("cannot draw: stage too small for %d x %d holes of %.4g mm pitch: at least %.4g mm (it has %.4g mm)",
				h.Rows, h.Columns, h.Pitch*1e3, 2*v.Bound, 2*v.Value)
		}
		return nil, nil, fmt.Errorf("cannot build: %s", v.Reason())
	}
	outlines, _ := l.Outline(&drilled)
	p.outlines = append([]models.Outline(nil), outlines...)
	if o.Stops {
		s, ok := l.(models.Stopper)
		if !ok {
			return nil, nil, fmt.Errorf("layout %s has no stops", l.Name())
		}
		for _, stop := range s.Stops(&drilled, o.StopPlay) {
			outlines[stop.Body].Rectangles = append(outlines[stop.Body].Rectangles, stop.Rectangles...)
		}
	}
	refusal := &RefusalError{}
	if p.draw(outlines, refusal.add); len(refusal.Faults) == 0 {
		p.drill(refusal.add)
	}
	return p, refusal, nil
}

// draw makes the contours of the plate and of each body.
func (p *Plate) draw(outlines []models.Outline, refuse func(x, y float64, format string, args ...any)) {
	s, topo := p.Stage, p.Topology
	shaper := &shaper{corner: p.Options.CornerRadius, least: p.Options.Kerf / 2, refuse: refuse}
	var plate []models.Rectangle
	var slanted [][2]bladeEnd // blades parallel to neither side, and their numbers
	var numbers []int
	bodies := make([][]models.Rectangle, len(topo.Bodies))
	p.Pockets, p.Metal = make([][]Contour, len(topo.Bodies)), make([]float64, len(topo.Bodies))
	for _, o := range outlines {
		plate = append(plate, o.Rectangles...)
		bodies[o.Body] = append(bodies[o.Body], o.Rectangles...)
		for _, q := range o.Pockets {
			p.Pockets[o.Body] = append(p.Pockets[o.Body], shaper.pocket(q))
		}
	}
	p.Depth = s.Width[0]
	for e, spec := range topo.Blades {
		length := math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e])
		ux, uy := (s.TipX[e]-s.RootX[e])/length, (s.TipY[e]-s.RootY[e])/length
		if s.Width[e] != p.Depth {
			refuse(s.RootX[e], s.RootY[e], "%s is %.4g mm wide, others %.4g mm: one plate has one thickness", topo.BladeName(e), s.Width[e]*1e3, p.Depth*1e3)
			continue
		}
		// The body's face is set back; the fillets reach beyond where the blade begins.
		depth := 0.0
		if s.Fillet[e] > 0 {
			depth = models.FilletStiffening(s.Fillet[e]/s.Thickness[e]) * s.Fillet[e]
		}
		horn := s.Fillet[e] - depth
		if length < 2*horn {
			refuse(s.RootX[e], s.RootY[e], "%s of %.4g mm is shorter than its fillets", topo.BladeName(e), length*1e3)
			continue
		}
		half := s.Thickness[e] / 2
		strip := func(a, b float64) models.Rectangle {
			x0, y0 := s.RootX[e]+a*ux, s.RootY[e]+a*uy
			x1, y1 := s.RootX[e]+b*ux, s.RootY[e]+b*uy
			hx, hy := half*math.Abs(uy), half*math.Abs(ux)
			return models.Rectangle{X0: min(x0, x1) - hx, X1: max(x0, x1) + hx, Y0: min(y0, y1) - hy, Y1: max(y0, y1) + hy}
		}
		ends := [2]bladeEnd{
			{s.RootX[e] - depth*ux, s.RootY[e] - depth*uy, ux, uy, half, s.Fillet[e]},
			{s.TipX[e] + depth*ux, s.TipY[e] + depth*uy, -ux, -uy, half, s.Fillet[e]}}
		shaper.ends = append(shaper.ends, ends[:]...)
		if oblique := math.Abs(ux*uy) > 1e-9; oblique {
			slanted, numbers = append(slanted, ends), append(numbers, e)
		} else {
			plate = append(plate, strip(-depth, length+depth))
			bodies[spec.From] = append(bodies[spec.From], strip(-depth, horn))
			bodies[spec.To] = append(bodies[spec.To], strip(length-horn, length+depth))
			p.Metal[spec.From] -= horn * s.Thickness[e]
			p.Metal[spec.To] -= horn * s.Thickness[e]
		}
		p.Blades = append(p.Blades, Blade{
			From: spec.From, To: spec.To,
			X: s.RootX[e] + horn*ux, Y: s.RootY[e] + horn*uy, EndX: s.TipX[e] - horn*ux, EndY: s.TipY[e] - horn*uy,
			Thickness: s.Thickness[e], Drawn: length + 2*depth, Bending: length,
		})
	}
	if len(p.Blades) < len(topo.Blades) {
		return
	}

	var found []int
	p.Contours, found = shaper.trace(plate)
	const noFace = "%s does not end on a face of its body that has room for both fillets"
	for k, n := range found {
		if e := &shaper.ends[k]; n != 2 && len(p.Contours) > 0 && !slices.Contains(numbers, k/2) {
			refuse(e.x, e.y, noFace, topo.BladeName(k/2))
		}
	}
	if len(p.Contours) > 0 {
		var without int
		if p.Contours, without = span(p.Contours, slanted); without >= 0 {
			refuse(slanted[without][0].x, slanted[without][0].y, noFace, topo.BladeName(numbers[without]))
			return
		}
	}
	// The outer contour first; the cuts keep the order of tracing, from below.
	sort.SliceStable(p.Contours, func(i, j int) bool { return p.Contours[i].Area() > 0 && p.Contours[j].Area() < 0 })
	for i, c := range p.Contours {
		if i > 0 && c.Area() > 0 {
			refuse(c[0].X, c[0].Y, "a piece of the plate hangs on nothing")
		}
	}
	for i, rects := range bodies {
		loops, _ := shaper.trace(rects)
		// A ring's inner edge faces everything that moves.
		sort.SliceStable(loops, func(i, j int) bool { return loops[i].Area() < 0 && loops[j].Area() > 0 })
		if len(loops) == 0 {
			return // refused already
		}
		for k, e := range numbers {
			for end, body := range [2]int{topo.Blades[e].From, topo.Blades[e].To} {
				b := &p.Blades[e]
				at := &slanted[k][end]
				f, ok := at.foot(loops)
				if body != i || !ok {
					continue
				}
				at.stub(loops, &f)
				// without what is straight, and the strip by which the face is set back
				straight := f.end - (b.Drawn-b.Bending)/2
				p.Metal[i] -= straight * b.Thickness
				if x, y := at.x+f.end*at.ux, at.y+f.end*at.uy; end == 0 {
					b.X, b.Y = x, y
				} else {
					b.EndX, b.EndY = x, y
				}
			}
		}
		p.Bodies = append(p.Bodies, loops[0])
		p.Rings = append(p.Rings, loops[1:]...)
		for _, c := range append(loops, p.Pockets[i]...) {
			p.Metal[i] += c.Area()
		}
		p.Contours = append(p.Contours, p.Pockets[i]...)
	}
	p.X0, p.X1, p.Y0, p.Y1 = p.Contours[0].Bounds()
	if !p.Options.WirePath {
		return
	}
	for _, c := range p.Contours {
		path, ok := c.Offset(p.Options.Kerf / 2)
		if !ok {
			refuse(c[0].X, c[0].Y, "the wire of a kerf of %.4g mm does not fit into an inside corner", p.Options.Kerf*1e3)
		}
		p.Wire = append(p.Wire, path)
	}
}

// trace draws the boundary of a union of rectangles; see contour for found.
func (s *shaper) trace(rects []models.Rectangle) (out []Contour, found []int) {
	loops, touching := trace(rects)
	for _, t := range touching {
		s.refuse(t.x, t.y, "the outline touches itself in a point")
	}
	found = make([]int, len(s.ends))
	for _, l := range loops {
		out = append(out, s.contour(l, found))
	}
	return out, found
}

// pocket draws a pocket: clockwise, the metal on its left.
func (s *shaper) pocket(p models.Pocket) Contour {
	if p.Radius < s.least-same {
		s.refuse(p.X0, p.Y0, "an inside corner of radius %.4g mm is sharper than half the kerf, %.4g mm", p.Radius*1e3, s.least*1e3)
	}
	quarter := -math.Tan(math.Pi / 8)
	r := p.Radius
	c := Contour{
		{p.X0, p.Y0 + r, 0}, {p.X0, p.Y1 - r, quarter}, {p.X0 + r, p.Y1, 0}, {p.X1 - r, p.Y1, quarter},
		{p.X1, p.Y1 - r, 0}, {p.X1, p.Y0 + r, quarter}, {p.X1 - r, p.Y0, 0}, {p.X0 + r, p.Y0, quarter},
	}
	var out Contour
	for i, v := range c { // straight edges of a slot or a circle may have no length
		if w := c[(i+1)%len(c)]; v.Bulge != 0 || math.Hypot(w.X-v.X, w.Y-v.Y) > 2*same {
			out = append(out, v)
		}
	}
	return out
}

// inspect refuses what cannot be cut.
func (p *Plate) inspect(refuse func(x, y float64, format string, args ...any)) {
	m := newMesh(flattened(p.Contours))
	if at, crosses := m.crossing(); crosses {
		refuse(at.x, at.y, "the outline intersects itself")
		return
	}
	// 1 µm: chords in place of arcs and rounding, less than a wire can tell.
	const slack = 1e-6
	for _, most := range reach {
		if p.Wall = m.narrowest(true, most); !math.IsInf(p.Wall.Size, 1) {
			break
		}
	}
	for _, most := range reach {
		if p.Gap = m.narrowest(false, most); !math.IsInf(p.Gap.Size, 1) {
			break
		}
	}
	if p.Wall.Size < p.Options.MinimumWall-slack {
		refuse(p.Wall.X, p.Wall.Y, "a wall of %.4g mm is thinner than minimum_wall, %.4g mm", p.Wall.Size*1e3, p.Options.MinimumWall*1e3)
	}
	if p.Gap.Size < p.Options.Kerf-slack {
		refuse(p.Gap.X, p.Gap.Y, "a gap of %.4g mm is narrower than the kerf, %.4g mm", p.Gap.Size*1e3, p.Options.Kerf*1e3)
	}
}

// reach lists how far to look for the nearest thing, m: a search within a short
// distance is quick and mostly enough.
var reach = [...]float64{1e-3, 10e-3}

// chord is the angle of the chords that stand for arcs in checks: within 0.0013 of
// the radius.
const chord = 0.1

func flattened(contours []Contour) [][]pt {
	out := make([][]pt, len(contours))
	for i, c := range contours {
		out[i] = c.flatten(chord)
	}
	return out
}

// Area returns the area of metal, m², holes for mounting, payload and wire not
// subtracted.
func (p *Plate) Area() float64 {
	sum := 0.0
	for _, c := range p.Contours {
		sum += c.Area()
	}
	return sum
}

// Mass returns the mass of the plate as cut, holes subtracted, kg.
func (p *Plate) Mass() float64 {
	area := p.Area()
	for _, h := range append(append([]Circle(nil), p.MountingHoles...), p.PayloadHoles...) {
		area -= math.Pi * h.Radius * h.Radius
	}
	return area * p.Depth * p.Stage.Density[0]
}

// BodyMass returns the mass of a body as cut, holes subtracted, without what is
// mounted on it and without the length of its blades that bends, kg.
func (p *Plate) BodyMass(body int) float64 {
	return p.Metal[body] * p.Depth * p.Stage.Density[0]
}
