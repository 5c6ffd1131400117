package drawing

import (
	"fmt"
	"math"
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

	Contours []Contour // the plate: its outer contour, then one cut per opening
	Wire     []Contour // path of the wire's centre, in the order of Contours; nil unless asked for
	Bodies   []Contour // by body: its outline with fillets; the inner edge of a ring first, see Rings
	Rings    []Contour // further contours of bodies that are not one closed line: the frame's outer edge
	Blades   []Blade   // by blade

	StartHoles, MountingHoles, PayloadHoles []Circle

	Evaluated float64 // area of bodies and blades that the masses were computed from, m²

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

// New draws design d of layout l. The error is a [RefusalError] when the outline
// intersects itself, a wall or a gap is too narrow, or an inside corner too sharp
// for the kerf; it names the inequality when the design cannot be built.
func New(l models.Layout, d *models.Design, o Options) (*Plate, error) {
	p := &Plate{Topology: l.Topology(), Stage: models.NewStage(l.Topology()), Options: o}
	if v := l.Build(d, p.Stage); !v.OK() {
		return nil, fmt.Errorf("cannot build: %s", v.Reason())
	}
	outlines, _ := l.Outline(d)
	for _, body := range outlines {
		for _, r := range body.Rectangles {
			p.Evaluated += r.Area()
		}
	}
	if o.Stops {
		s, ok := l.(models.Stopper)
		if !ok {
			return nil, fmt.Errorf("layout %s has no stops", l.Name())
		}
		for _, stop := range s.Stops(d, o.StopPlay) {
			outlines[stop.Body].Rectangles = append(outlines[stop.Body].Rectangles, stop.Rectangles...)
		}
	}
	var faults []Fault
	refuse := func(x, y float64, format string, args ...any) {
		f := Fault{fmt.Sprintf(format, args...), x, y}
		for _, g := range faults {
			if g == f {
				return // a body and the plate share their corners
			}
		}
		faults = append(faults, f)
	}
	p.draw(outlines, refuse)
	if len(faults) == 0 {
		p.inspect(refuse)
	}
	if len(faults) == 0 {
		if p.FullGap = p.fullTravel(l); p.FullGap.Distance < same {
			refuse(p.FullGap.X, p.FullGap.Y, "at full travel %s and %s touch", p.FullGap.A, p.FullGap.B)
		}
		p.holes(refuse)
	}
	if len(faults) > 0 {
		return nil, &RefusalError{faults}
	}
	return p, nil
}

// draw makes the contours of the plate and of each body.
func (p *Plate) draw(outlines []models.Outline, refuse func(x, y float64, format string, args ...any)) {
	s, topo := p.Stage, p.Topology
	shaper := &shaper{corner: p.Options.CornerRadius, least: p.Options.Kerf / 2, refuse: refuse}
	var plate []models.Rectangle
	bodies := make([][]models.Rectangle, len(topo.Bodies))
	for _, o := range outlines {
		plate = append(plate, o.Rectangles...)
		bodies[o.Body] = append(bodies[o.Body], o.Rectangles...)
	}
	for e, spec := range topo.Blades {
		length := math.Hypot(s.TipX[e]-s.RootX[e], s.TipY[e]-s.RootY[e])
		ux, uy := (s.TipX[e]-s.RootX[e])/length, (s.TipY[e]-s.RootY[e])/length
		if math.Abs(ux*uy) > 1e-9 {
			panic("drawing: a blade is not parallel to an axis")
		}
		kappa := models.FilletStiffening(s.Fillet[e] / s.Thickness[e])
		depth := kappa * s.Fillet[e]
		horn := s.Fillet[e] - depth // of the fillets, beyond the model's face
		if length < 2*horn {
			refuse(s.RootX[e], s.RootY[e], "blade %d of %.4g mm is shorter than its fillets", e+1, length*1e3)
			return
		}
		p.Evaluated += length * s.Thickness[e]
		half := s.Thickness[e] / 2
		strip := func(a, b float64) models.Rectangle {
			x0, y0 := s.RootX[e]+a*ux, s.RootY[e]+a*uy
			x1, y1 := s.RootX[e]+b*ux, s.RootY[e]+b*uy
			hx, hy := half*math.Abs(uy), half*math.Abs(ux)
			return models.Rectangle{X0: min(x0, x1) - hx, X1: max(x0, x1) + hx, Y0: min(y0, y1) - hy, Y1: max(y0, y1) + hy}
		}
		plate = append(plate, strip(0, length))
		bodies[spec.From] = append(bodies[spec.From], strip(0, horn))
		bodies[spec.To] = append(bodies[spec.To], strip(length-horn, length))
		shaper.ends = append(shaper.ends,
			bladeEnd{e, false, s.RootX[e], s.RootY[e], ux, uy, half, s.Fillet[e], depth},
			bladeEnd{e, true, s.TipX[e], s.TipY[e], -ux, -uy, half, s.Fillet[e], depth})
		p.Blades = append(p.Blades, Blade{
			From: spec.From, To: spec.To,
			X: s.RootX[e] + horn*ux, Y: s.RootY[e] + horn*uy, EndX: s.TipX[e] - horn*ux, EndY: s.TipY[e] - horn*uy,
			Thickness: s.Thickness[e], Drawn: length + 2*depth, Bending: length,
		})
	}

	p.Contours = shaper.trace(plate)
	// The outer contour first; the cuts keep the order of tracing, from below.
	sort.SliceStable(p.Contours, func(i, j int) bool { return p.Contours[i].Area() > 0 && p.Contours[j].Area() < 0 })
	for i, c := range p.Contours {
		if i > 0 && c.Area() > 0 {
			refuse(c[0].X, c[0].Y, "a piece of the plate hangs on nothing")
		}
	}
	for _, rects := range bodies {
		loops := shaper.trace(rects)
		// A ring's inner edge faces everything that moves.
		sort.SliceStable(loops, func(i, j int) bool { return loops[i].Area() < 0 && loops[j].Area() > 0 })
		if len(loops) == 0 {
			return // refused already
		}
		p.Bodies = append(p.Bodies, loops[0])
		p.Rings = append(p.Rings, loops[1:]...)
	}
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

// trace draws the boundary of a union of rectangles.
func (s *shaper) trace(rects []models.Rectangle) []Contour {
	loops, touching := trace(rects)
	for _, t := range touching {
		s.refuse(t.x, t.y, "the outline touches itself in a point")
	}
	var out []Contour
	for _, l := range loops {
		out = append(out, s.contour(l))
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

// Excess returns by which part the drawn area exceeds the one that the masses were
// computed from: fillets and stops add, recesses take.
func (p *Plate) Excess() float64 { return p.Area()/p.Evaluated - 1 }
