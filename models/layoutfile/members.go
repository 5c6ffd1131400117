package layoutfile

import (
	"fmt"
	"math"

	"flexwright/models"
)

// Members are rectangles of a body that bend: each is a beam along the middle line of its
// rectangle, held at one side by its body or by the end of another member, with a part of the
// body at its end, where the last of what stands on it begins. Blades end on the part whose
// rectangle they grow from, and every root yields.

// Side of a rectangle, in the frame of its body.
type Side uint8

// The sides at which a member is held.
const (
	Left Side = iota + 1
	Right
	Bottom
	Top
)

// member is one copy of a rectangle that bends.
type member struct {
	box       *box
	frame     frame // of the copy on the plate
	thickness int   // register
	parent    int   // member that holds it; -1: its body
	core      *box  // rectangle of the body behind the side where it is held; nil: none
	coreFrame frame
	part      int    // body at its end
	ends      []root // of blades on it
	standing  []int  // members that it holds
	empty     string // format of the verdict when it has no length or height
}

// elastic is a layout with the bodies that bend.
type elastic struct {
	*Layout
	topology *models.Topology
	members  []member
}

// Elastic implements [models.Elastic]: nil without members.
func (l *Layout) Elastic() models.Layout {
	if l.bending == nil {
		return nil
	}
	return l.bending
}

// Topology of every candidate: bodies and blades of the rigid layout, then the parts.
func (l *elastic) Topology() *models.Topology { return l.topology }

// Elastic implements [models.Elastic].
func (l *elastic) Elastic() models.Layout { return l }

// Rigid is the layout without parts.
func (l *elastic) Rigid() models.Layout { return l.Layout }

// NominalMotion moves the parts with their bodies.
func (l *elastic) NominalMotion(st *models.Stage, x, y float64, motions []models.Motion) {
	l.Layout.NominalMotion(st, x, y, motions)
	for i := len(l.Layout.topology.Bodies); i < len(motions); i++ {
		motions[i] = motions[l.topology.Whole(i)]
	}
}

// standsOn checks what the members of a body are held by.
func (c *compiler) standsOn(b *body, boxes []box) {
	for k := range boxes {
		r := &b.Rectangles[k]
		boxes[k].on = -1
		switch {
		case r.Member == nil && (r.On != nil || r.Held != 0):
			t := r.On
			if t == nil {
				t = &r.X0
			}
			c.refuse(t, 0, "member: a name, beside it", fmt.Sprintf("rectangle %d of %s is held, but no member", k+1, b.Name.Value))
		case r.Member == nil:
			continue
		case r.Held == 0:
			c.refuse(r.Member, 0, "held: left, right, bottom or top", fmt.Sprintf("member %s of %s is not held", r.Member.Value, b.Name.Value))
		}
		if r.Member == nil {
			continue
		}
		boxes[k].side = r.Held
		var names []string
		for j := range k {
			other := b.Rectangles[j].Member
			if other == nil {
				continue
			}
			names = append(names, other.Value)
			if other.Value == r.Member.Value {
				c.refuse(r.Member, 0, "each name once", other.Value+" stands twice")
			}
			if r.On != nil && other.Value == r.On.Value {
				boxes[k].on = j
			}
		}
		if r.On == nil {
			continue
		}
		if boxes[k].on < 0 {
			c.refuse(r.On, 0, "a member that stands before"+list(names), fmt.Sprintf("%s has no member %s before %s", b.Name.Value, r.On.Value, r.Member.Value))
		} else if n := len(boxes[boxes[k].on].frames); n != 1 && n != len(boxes[k].frames) {
			c.refuse(r.On, 0, "members that are placed alike", fmt.Sprintf("%s has %d copies, %s has %d", r.On.Value, n, r.Member.Value, len(boxes[k].frames)))
		}
	}
}

// bend makes the parts and members of a layout that has any; r are the values at the
// middle of the ranges, where it is seen which blades grow from which rectangle.
func (c *compiler) bend(r *registers) {
	l := c.layout
	t := *l.topology
	t.Bodies = append([]models.BodySpec{}, t.Bodies...)
	t.Blades = append([]models.BladeSpec{}, t.Blades...)
	e := &elastic{Layout: l, topology: &t}
	for i := range l.shapes {
		s := &l.shapes[i]
		for k, whole := range s.bodies {
			c.bendBody(e, s, whole, s.frames[k], r)
		}
	}
	if len(e.members) == 0 {
		return
	}
	// Modes: the end of a chain across each of its members and in z; the rest follows.
	for i := range e.members {
		spec := &t.Bodies[e.members[i].part]
		spec.Follows = models.MoveAll
		if len(e.members[i].standing) > 0 {
			continue
		}
		spec.Follows &^= models.MoveZ
		for k := i; k >= 0; k = e.members[k].parent {
			m := &e.members[k]
			if (m.box.side == Bottom || m.box.side == Top) != m.frame.swaps() {
				spec.Follows &^= models.MoveX
			} else {
				spec.Follows &^= models.MoveY
			}
		}
	}
	l.bending = e
}

// bendBody adds the members of one body.
func (c *compiler) bendBody(e *elastic, s *shape, whole int, own frame, r *registers) {
	l, t := c.layout, e.topology
	rectangles := c.file.Bodies[s.drawn].Rectangles
	first := make([]int, len(s.boxes)) // number of each box's first member
	for j := range s.boxes {
		b := &s.boxes[j]
		first[j] = len(e.members)
		if b.side == 0 {
			continue
		}
		name := rectangles[j].Member.Value
		for n, f := range b.frames {
			m := member{box: b, frame: f.in(own), thickness: s.thickness, parent: -1, part: len(t.Bodies)}
			from := whole
			if b.on >= 0 {
				m.parent = first[b.on]
				if len(s.boxes[b.on].frames) > 1 {
					m.parent += n
				}
				from = e.members[m.parent].part
				e.members[m.parent].standing = append(e.members[m.parent].standing, len(e.members))
			}
			part := fmt.Sprintf("%s, %s", t.Bodies[whole].Name, name)
			if len(b.frames) > 1 {
				part = fmt.Sprintf("%s %d", part, n+1)
			}
			t.Bodies = append(t.Bodies, models.BodySpec{Name: part, Part: whole + 1})
			t.Links = append(t.Links, models.LinkSpec{From: from, To: m.part})
			m.core, m.coreFrame = s.behind(&m, own, r)
			m.empty = escape(part) + " has no length or height"
			e.members = append(e.members, m)
		}
	}
	for i := range l.blades {
		b := &l.blades[i]
		for n, number := range b.numbers {
			spec := &t.Blades[number]
			for _, tip := range [2]bool{false, true} {
				end, body := root{b, b.frames[n], tip}, &spec.From
				if tip {
					body = &spec.To
				}
				if *body != whole {
					continue
				}
				x, y := end.foothold(r)
				for k := first[0]; k < len(e.members); k++ {
					m := &e.members[k]
					ux, uy := m.frame.inverse().apply(x, y)
					if q := m.box; ux >= r[q.x0] && ux <= r[q.x1] && uy >= r[q.y0] && uy <= r[q.y1] {
						*body = m.part
						m.ends = append(m.ends, end)
						break
					}
				}
			}
		}
	}
}

// behind finds the rectangle that is no member behind the side where m is held.
func (s *shape) behind(m *member, own frame, r *registers) (*box, frame) {
	q := m.line(r)
	for i := range s.boxes {
		b := &s.boxes[i]
		for _, f := range b.frames {
			x, y := f.in(own).inverse().apply(q.x-sliver*q.dx, q.y-sliver*q.dy)
			if b.side == 0 && x >= r[b.x0]-sliver && x <= r[b.x1]+sliver && y >= r[b.y0]-sliver && y <= r[b.y1]+sliver {
				return b, f.in(own)
			}
		}
	}
	return nil, frame{}
}

// foothold is a point of the body just behind the face that an end of a blade grows from.
func (e *root) foothold(r *registers) (x, y float64) {
	const behind = 1e-6
	b := e.blade
	back := behind
	if b.fillet >= 0 && r[b.fillet] > 0 {
		back += models.FilletStiffening(r[b.fillet]/r[b.thickness]) * r[b.fillet]
	}
	dx, dy := b.direction(r)
	along := -back
	if e.tip {
		along = r[b.length] + back
	}
	return e.frame.apply(r[b.x]+along*dx, r[b.y]+along*dy)
}

// joint is how far a member's elastic length reaches into what holds it, of the width of
// that: of the member across it, or, in a body, of its own. As in the layouts in Go.
const joint = 0.25

// into is how far that is. One that goes on in the direction of the member that holds it
// begins at that one's end, where the last thing stands on it; two that are held by a
// narrow piece of a body meet in its middle.
func (l *elastic) into(m *member, q *line, r *registers, st *models.Stage) float64 {
	if m.parent >= 0 {
		p := &l.members[m.parent]
		o := p.line(r)
		if (o.dx == 0) == (q.dx == 0) {
			return max((q.x-st.X[p.part])*q.dx+(q.y-st.Y[p.part])*q.dy, 0)
		}
		return joint * o.height
	}
	into := joint * q.height
	if b := m.core; b != nil {
		x0, y0 := m.coreFrame.apply(r[b.x0], r[b.y0])
		x1, y1 := m.coreFrame.apply(r[b.x1], r[b.y1])
		into = min(into, math.Abs((x1-x0)*q.dx+(y1-y0)*q.dy)/2)
	}
	return into
}

// line of a member: where it is held, its direction, length and height in the plane.
type line struct{ x, y, dx, dy, length, height float64 }

func (m *member) line(r *registers) (q line) {
	x0, x1, y0, y1 := r[m.box.x0], r[m.box.x1], r[m.box.y0], r[m.box.y1]
	q = line{(x0 + x1) / 2, (y0 + y1) / 2, 0, 0, x1 - x0, y1 - y0}
	switch m.box.side {
	case Left:
		q.x, q.dx = x0, 1
	case Right:
		q.x, q.dx = x1, -1
	case Bottom:
		q.y, q.dy = y0, 1
	default:
		q.y, q.dy = y1, -1
	}
	if q.dy != 0 {
		q.length, q.height = q.height, q.length
	}
	q.x, q.y = m.frame.apply(q.x, q.y)
	q.dx, q.dy = m.frame.apply(q.dx, q.dy)
	return q
}

// reach is how far along the line the last thing stands that the member carries: a blade
// by its middle, a member across it by the nearer quarter of its height. One that goes on
// in its direction stands on its end.
func (l *elastic) reach(m *member, q *line, r *registers) float64 {
	far := 0.0
	for i := range m.ends {
		x, y := m.ends[i].foothold(r)
		far = max(far, (x-q.x)*q.dx+(y-q.y)*q.dy)
	}
	for _, k := range m.standing {
		if o := l.members[k].line(r); (o.dx == 0) == (q.dy == 0) { // across
			far = max(far, (o.x-q.x)*q.dx+(o.y-q.y)*q.dy-o.height/4)
		}
	}
	if far <= 0 || far > q.length {
		return q.length
	}
	return far
}

// Build implements [models.Layout].
func (l *elastic) Build(d *models.Design, st *models.Stage) models.Verdict {
	var r registers
	if v := l.run(d, 0, &r); !v.OK() {
		return v
	}
	l.fill(d, st, &r, true)
	for i := range l.shapes {
		if s := &l.shapes[i]; !(st.Mass[s.bodies[0]] > 0) {
			return models.Verdict{Status: models.CannotBuild, Format: s.empty}
		}
	}
	m := d.Material
	for i := range l.members {
		p := &l.members[i]
		q := p.line(&r)
		if min(q.length, q.height) < sliver {
			return models.Verdict{Status: models.CannotBuild, Format: p.empty}
		}
		end, into := l.reach(p, &q, &r), l.into(p, &q, &r, st)
		st.Links[i] = models.Link{N: 1, Beams: [models.MaxBeams]models.Beam{{
			X0: q.x - into*q.dx, Y0: q.y - into*q.dy, X1: q.x + end*q.dx, Y1: q.y + end*q.dy,
			Begin: into, End: into + q.length, Height: q.height, Depth: r[p.thickness],
			Young: m.Young, Poisson: m.Poisson, Density: m.Density, Held: p.parent >= 0,
		}}}
		b := p.part
		st.X[b], st.Y[b], st.Z[b] = q.x+end*q.dx, q.y+end*q.dy, 0
		st.Mass[b], st.Ix[b], st.Iy[b], st.Ixy[b], st.Iz[b] = 0, 0, 0, 0, 0
		st.Unmounted(b)
	}
	for e := range st.Yields {
		st.Yields[e] = true
	}
	return models.Verdict{}
}

// hasCore refuses a body that is nothing but members.
func (c *compiler) hasCore(b *body, boxes []box) {
	for k := range boxes {
		if boxes[k].side == 0 {
			return
		}
	}
	if len(boxes) > 0 {
		c.refuse(&b.Name, 0, "a rectangle that is no member, for what holds them", b.Name.Value+" has members only")
	}
}

var _ models.Elastic = (*Layout)(nil)
