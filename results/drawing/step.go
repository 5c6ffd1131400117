package drawing

import (
	"bufio"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
)

// WriteSTEP writes the plate as a solid for CAD: one ISO 10303-21 file of the
// schema AUTOMOTIVE_DESIGN (AP214, ISO 10303-214), in millimetres, with one closed
// shell. The solid reaches from -b/2 to b/2 along z. Its faces are two planes, one
// plane per straight edge of a contour, one cylinder per arc, and one cylinder per
// mounting or payload hole: [Plate.Faces] in all. Start holes lie in the cuts and
// are no part of it. name is what CAD calls the part. The same plate gives the
// same bytes; the time stamp is left empty for that.
func (p *Plate) WriteSTEP(w io.Writer, name string) error {
	s := &step{w: bufio.NewWriter(w), half: p.Depth / 2}
	s.print("ISO-10303-21;\nHEADER;\nFILE_DESCRIPTION(('flexure plate'),'2;1');\n")
	s.print("FILE_NAME(%s,'',(''),(''),'flexwright','flexwright','');\n", stepText(name))
	s.print("FILE_SCHEMA(('AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }'));\nENDSEC;\nDATA;\n")
	context := s.product(name)

	s.up = s.direction(0, 0, 1)
	s.down = s.direction(0, 0, -1)
	s.right = s.direction(1, 0, 0)
	var top, bottom []int
	for _, c := range p.Contours {
		a, b := s.wall(c)
		top, bottom = append(top, a), append(bottom, b)
	}
	for _, h := range append(append([]Circle(nil), p.MountingHoles...), p.PayloadHoles...) {
		a, b := s.bore(h)
		top, bottom = append(top, a), append(bottom, b)
	}
	s.lid(s.half, s.up, top)
	s.lid(-s.half, s.down, bottom)
	shell := s.add("CLOSED_SHELL('',(%s))", refs(s.faces))
	solid := s.add("MANIFOLD_SOLID_BREP(%s,#%d)", stepText(name), shell)
	origin := s.placement(s.point(0, 0, 0), s.up, s.right)
	shape := s.add("ADVANCED_BREP_SHAPE_REPRESENTATION(%s,(#%d,#%d),#%d)", stepText(name), origin, solid, context.geometry)
	s.add("SHAPE_DEFINITION_REPRESENTATION(#%d,#%d)", context.shape, shape)
	s.print("ENDSEC;\nEND-ISO-10303-21;\n")
	return s.w.Flush()
}

// Faces returns how many faces the solid has.
func (p *Plate) Faces() int {
	n := 2 + len(p.MountingHoles) + len(p.PayloadHoles)
	for _, c := range p.Contours {
		n += len(c)
	}
	return n
}

// step writes numbered entities. Errors stay in the buffered writer.
type step struct {
	w               *bufio.Writer
	n               int
	half            float64 // of the plate's thickness, m
	up, down, right int     // directions
	faces           []int
}

func (s *step) print(format string, args ...any) { fmt.Fprintf(s.w, format, args...) }

// add writes an entity and returns its number.
func (s *step) add(format string, args ...any) int {
	s.n++
	s.print("#%d="+format+";\n", append([]any{s.n}, args...)...)
	return s.n
}

// product writes what the shape is the shape of, and its units.
func (s *step) product(name string) (ids struct{ shape, geometry int }) {
	text := stepText(name)
	app := s.add("APPLICATION_CONTEXT('core data for automotive mechanical design processes')")
	s.add("APPLICATION_PROTOCOL_DEFINITION('international standard','automotive_design',2000,#%d)", app)
	part := s.add("PRODUCT(%s,%s,'',(#%d))", text, text, s.add("PRODUCT_CONTEXT('',#%d,'mechanical')", app))
	s.add("PRODUCT_RELATED_PRODUCT_CATEGORY('part',$,(#%d))", part)
	formation := s.add("PRODUCT_DEFINITION_FORMATION('','',#%d)", part)
	design := s.add("PRODUCT_DEFINITION_CONTEXT('part definition',#%d,'design')", app)
	definition := s.add("PRODUCT_DEFINITION('design','',#%d,#%d)", formation, design)
	ids.shape = s.add("PRODUCT_DEFINITION_SHAPE('','',#%d)", definition)
	length := s.add("(LENGTH_UNIT()NAMED_UNIT(*)SI_UNIT(.MILLI.,.METRE.))")
	angle := s.add("(NAMED_UNIT(*)PLANE_ANGLE_UNIT()SI_UNIT($,.RADIAN.))")
	solid := s.add("(NAMED_UNIT(*)SI_UNIT($,.STERADIAN.)SOLID_ANGLE_UNIT())")
	accuracy := s.add("UNCERTAINTY_MEASURE_WITH_UNIT(LENGTH_MEASURE(%s),#%d,'distance_accuracy_value','')", real(same*1e3), length)
	ids.geometry = s.add("(GEOMETRIC_REPRESENTATION_CONTEXT(3)GLOBAL_UNCERTAINTY_ASSIGNED_CONTEXT((#%d))"+
		"GLOBAL_UNIT_ASSIGNED_CONTEXT((#%d,#%d,#%d))REPRESENTATION_CONTEXT('','3D'))", accuracy, length, angle, solid)
	return ids
}

// point takes metres.
func (s *step) point(x, y, z float64) int {
	return s.add("CARTESIAN_POINT('',(%s,%s,%s))", real(x*1e3), real(y*1e3), real(z*1e3))
}

func (s *step) direction(x, y, z float64) int {
	return s.add("DIRECTION('',(%s,%s,%s))", real(x), real(y), real(z))
}

func (s *step) placement(origin, axis, reference int) int {
	return s.add("AXIS2_PLACEMENT_3D('',#%d,#%d,#%d)", origin, axis, reference)
}

func (s *step) line(from, direction int) int {
	return s.add("LINE('',#%d,#%d)", from, s.add("VECTOR('',#%d,1.)", direction))
}

func (s *step) edge(from, to, curve int) int {
	return s.add("EDGE_CURVE('',#%d,#%d,#%d,.T.)", from, to, curve)
}

// oriented uses an edge forwards or backwards.
func (s *step) oriented(edge int, forwards bool) int {
	return s.add("ORIENTED_EDGE('',*,*,#%d,.%s.)", edge, map[bool]string{true: "T", false: "F"}[forwards])
}

// circle is the curve of an arc at the height z that turns left about +z, or, with
// axis down, right.
func (s *step) circle(x, y, z, radius float64, axis int) int {
	return s.add("CIRCLE('',#%d,%s)", s.placement(s.point(x, y, z), axis, s.right), real(radius*1e3))
}

// wall writes the faces along a contour and returns the loops that it bounds top
// and bottom with. Seen from outside, metal behind it, a face has the contour's
// direction to the right.
func (s *step) wall(c Contour) (top, bottom int) {
	n := len(c)
	type rise struct{ low, high, lowPoint, highPoint, edge int }
	rises := make([]rise, n)
	for i, v := range c {
		r := &rises[i]
		r.lowPoint, r.highPoint = s.point(v.X, v.Y, -s.half), s.point(v.X, v.Y, s.half)
		r.low, r.high = s.add("VERTEX_POINT('',#%d)", r.lowPoint), s.add("VERTEX_POINT('',#%d)", r.highPoint)
		r.edge = s.edge(r.low, r.high, s.line(r.lowPoint, s.up))
	}
	var above, below []int
	for i, v := range c {
		a, b, w := rises[i], rises[(i+1)%n], c[(i+1)%n]
		var low, high, surface int
		outwards := true
		if v.Bulge == 0 {
			l := math.Hypot(w.X-v.X, w.Y-v.Y)
			dx, dy := (w.X-v.X)/l, (w.Y-v.Y)/l
			along := s.direction(dx, dy, 0)
			low, high = s.edge(a.low, b.low, s.line(a.lowPoint, along)), s.edge(a.high, b.high, s.line(a.highPoint, along))
			surface = s.add("PLANE('',#%d)", s.placement(a.lowPoint, s.direction(dy, -dx, 0), s.up))
		} else {
			x, y, radius, angle := arc(v, w)
			axis := s.up
			if angle < 0 {
				axis, outwards = s.down, false // the metal lies outside the cylinder
			}
			low, high = s.edge(a.low, b.low, s.circle(x, y, -s.half, radius, axis)), s.edge(a.high, b.high, s.circle(x, y, s.half, radius, axis))
			surface = s.cylinder(x, y, radius)
		}
		s.side(low, b.edge, high, a.edge, surface, outwards)
		above = append(above, s.oriented(high, true))
		below = append(below, s.oriented(low, false))
	}
	for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
		below[i], below[j] = below[j], below[i]
	}
	return s.loop(above), s.loop(below)
}

// bore is wall for a hole: one cylinder, closed by a seam.
func (s *step) bore(h Circle) (top, bottom int) {
	lowPoint, highPoint := s.point(h.X+h.Radius, h.Y, -s.half), s.point(h.X+h.Radius, h.Y, s.half)
	low, high := s.add("VERTEX_POINT('',#%d)", lowPoint), s.add("VERTEX_POINT('',#%d)", highPoint)
	seam := s.edge(low, high, s.line(lowPoint, s.up))
	under := s.edge(low, low, s.circle(h.X, h.Y, -s.half, h.Radius, s.down))
	over := s.edge(high, high, s.circle(h.X, h.Y, s.half, h.Radius, s.down))
	s.side(under, seam, over, seam, s.cylinder(h.X, h.Y, h.Radius), false)
	return s.loop([]int{s.oriented(over, true)}), s.loop([]int{s.oriented(under, false)})
}

func (s *step) cylinder(x, y, radius float64) int {
	return s.add("CYLINDRICAL_SURFACE('',#%d,%s)", s.placement(s.point(x, y, -s.half), s.up, s.right), real(radius*1e3))
}

// side writes one face between its four edges; outwards says whether the normal
// of the surface points out of the metal.
func (s *step) side(low, right, high, left, surface int, outwards bool) {
	loop := s.loop([]int{s.oriented(low, true), s.oriented(right, true), s.oriented(high, false), s.oriented(left, false)})
	sense := "T"
	if !outwards {
		sense = "F"
	}
	s.faces = append(s.faces, s.add("ADVANCED_FACE('',(#%d),#%d,.%s.)", s.add("FACE_OUTER_BOUND('',#%d,.T.)", loop), surface, sense))
}

func (s *step) loop(edges []int) int { return s.add("EDGE_LOOP('',(%s))", refs(edges)) }

// lid writes the face at the height z that all loops bound, the outer one first.
func (s *step) lid(z float64, normal int, loops []int) {
	bounds := make([]int, len(loops))
	for i, l := range loops {
		kind := "FACE_BOUND"
		if i == 0 {
			kind = "FACE_OUTER_BOUND"
		}
		bounds[i] = s.add(kind+"('',#%d,.T.)", l)
	}
	plane := s.add("PLANE('',#%d)", s.placement(s.point(0, 0, z), normal, s.right))
	s.faces = append(s.faces, s.add("ADVANCED_FACE('',(%s),#%d,.T.)", refs(bounds), plane))
}

func refs(ids []int) string {
	text := make([]string, len(ids))
	for i, id := range ids {
		text[i] = "#" + strconv.Itoa(id)
	}
	return strings.Join(text, ",")
}

// real writes a number as ISO 10303-21 has it: with a point, in full precision.
func real(v float64) string {
	if v == 0 {
		return "0." // no minus sign on nothing
	}
	digits, exponent, found := strings.Cut(strconv.FormatFloat(v, 'G', -1, 64), "E")
	if !strings.Contains(digits, ".") {
		digits += "."
	}
	if found {
		return digits + "E" + exponent
	}
	return digits
}

// stepText writes a string as ISO 10303-21 has it: quotes and backslashes
// doubled, what is not ASCII in hexadecimal.
func stepText(text string) string {
	var b strings.Builder
	b.WriteByte('\'')
	for _, r := range text {
		switch {
		case r == '\'' || r == '\\':
			b.WriteRune(r)
			b.WriteRune(r)
		case r >= ' ' && r <= '~':
			b.WriteRune(r)
		case r <= 0xffff:
			fmt.Fprintf(&b, `\X2\%04X\X0\`, r)
		default:
			fmt.Fprintf(&b, `\X4\%08X\X0\`, r)
		}
	}
	b.WriteByte('\'')
	return b.String()
}
