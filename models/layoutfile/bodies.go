package layoutfile

import (
	"fmt"
	"slices"
	"strings"

	"flexwright/models"
)

// numberBodies gives every copy of every body its number: runs of bodies that are
// placed alike, copy by copy.
func (c *compiler) numberBodies() {
	t := c.layout.topology
	var names []string
	taken := map[string]bool{}
	for i := range c.file.Bodies {
		b := &c.file.Bodies[i]
		c.bodies = append(c.bodies, body{Body: b, set: c.placed(b.Placed), shape: i})
		if taken[b.Name.Value] {
			c.refuse(&b.Name, 0, "each name once", b.Name.Value+" stands twice")
		}
		taken[b.Name.Value] = true
	}
	for from := 0; from < len(c.bodies); {
		to := from + 1
		for to < len(c.bodies) && c.bodies[to].set == c.bodies[from].set && c.bodies[from].set != nil {
			to++
		}
		for k := range c.bodies[from].set.size() {
			for i := from; i < to; i++ {
				b := &c.bodies[i]
				if len(t.Bodies) == mostBodies {
					c.refuse(&b.Name, 0, fmt.Sprintf("at most %d", mostBodies), "too many bodies")
					return
				}
				name := c.copyName(b, k)
				if slices.Contains(names, name.Value) {
					c.refuse(&name, 0, "each name once", "two bodies are called "+name.Value)
				}
				names = append(names, name.Value)
				spec := models.BodySpec{Name: name.Value}
				if b.Fixed {
					spec.Held = models.HeldAll
				}
				b.copies = append(b.copies, len(t.Bodies))
				t.Bodies = append(t.Bodies, spec)
				c.layout.bodyAt = append(c.layout.bodyAt, position{b.Name.Line, b.Name.Column})
			}
		}
		from = to
	}
	if len(c.bodies) > 0 && !slices.ContainsFunc(c.bodies, func(b body) bool { return b.Fixed }) {
		c.refuse(&c.file.Bodies[0].Name, 0, "fixed: true at one of the bodies", "no body is fixed")
	}
}

// copyName is the name of copy k of a body.
func (c *compiler) copyName(b *body, k int) Text {
	switch {
	case b.set == nil && len(b.Names) == 0:
		return b.Name
	case len(b.Names) == 0:
		name := b.Name
		name.Value = fmt.Sprintf("%s-%d", b.Name.Value, k+1)
		return name
	}
	if n := b.set.size(); len(b.Names) != n {
		if k == 0 {
			c.refuse(&b.Names[0], 0, fmt.Sprintf("%d names, one for each copy", n), fmt.Sprintf("%s has %d names", b.Name.Value, len(b.Names)))
		}
		name := b.Name
		name.Value = fmt.Sprintf("%s-%d", b.Name.Value, k+1)
		return name
	}
	return b.Names[k]
}

// find returns the number of a body that something placed at place k of s names:
// the copy at the same place, or one copy by its own name. The body itself and the
// number of the copy among its copies come with it.
func (c *compiler) find(t *Text, s *set, k int, report bool) (number int, owner *body, copied int) {
	fail := func(accepted, message string) (int, *body, int) {
		if report {
			c.refuse(t, 0, accepted, message)
		}
		return -1, nil, 0
	}
	for i := range c.bodies {
		b := &c.bodies[i]
		if b.Name.Value != t.Value || len(b.copies) == 0 {
			continue
		}
		if b.set == nil {
			return b.copies[0], b, 0
		}
		if s == nil || !s.within(b.set) {
			var names []string
			for _, n := range b.copies {
				names = append(names, c.layout.topology.Bodies[n].Name)
			}
			return fail(strings.Join(names, ", ")+"; or something placed at "+b.set.name, fmt.Sprintf("%s has %d copies", t.Value, len(b.copies)))
		}
		at := s.up(b.set, k)
		return b.copies[at], b, at
	}
	var names []string
	for i := range c.bodies {
		b := &c.bodies[i]
		names = append(names, b.Name.Value)
		for k, n := range b.copies {
			if c.layout.topology.Bodies[n].Name == t.Value {
				return n, b, k
			}
		}
	}
	if len(names) == 0 {
		names = []string{"the name of a body"}
	}
	return fail(strings.Join(names, ", "), "there is no body "+t.Value+c.suggest(t.Value, names))
}

// frameOf copy k of a body.
func (b *body) frameOf(k int) frame {
	if b.set == nil {
		return frame{}
	}
	return b.set.frames(nil)[k]
}

// drawBodies compiles rectangles and masses.
func (c *compiler) drawBodies() {
	l := c.layout
	l.shapes = make([]shape, len(c.bodies))
	for i := range c.bodies {
		b, s := &c.bodies[i], &l.shapes[i]
		name := b.Name.Value
		s.bodies, s.drawn, s.fixed = b.copies, i, b.Fixed
		for k := range b.copies {
			s.frames = append(s.frames, b.frameOf(k))
		}
		s.inverted = "rectangle %[1]d of " + escape(name) + " is turned inside out: an end lies before its beginning"
		s.empty = escape(name) + " has no area"
		if len(b.Rectangles) == 0 && !c.file.Incomplete {
			c.refuse(&b.Name, 0, "at least one rectangle", name+" has no rectangles")
		}
		s.boxes = make([]box, len(b.Rectangles))
		copies := 0
		for k := range b.Rectangles {
			c.box(&s.boxes[k], &b.Rectangles[k], b.set, fmt.Sprintf("rectangle %d of %s", k+1, name))
			copies += len(s.boxes[k].frames)
		}
		c.standsOn(b, s.boxes)
		c.hasCore(b, s.boxes)
		if copies > mostBoxes {
			c.refuse(&b.Name, 0, fmt.Sprintf("at most %d", mostBoxes), fmt.Sprintf("%s has %d rectangles", name, copies))
		}
		if b.Thickness == nil {
			c.refuse(&b.Name, 0, "thickness: a length, here or under defaults: bodies", name+" has no thickness")
		} else {
			c.formula(&s.thickness, b.Thickness, length, "thickness of "+name)
		}
		s.masses = make([]mass, len(b.Masses))
		for k := range b.Masses {
			c.mass(&s.masses[k], b, &b.Masses[k], k)
		}
	}
}

func (c *compiler) box(into *box, r *Rectangle, within *set, what string) {
	c.formula(&into.x0, &r.X0, length, what)
	c.formula(&into.x1, &r.X1, length, what)
	c.formula(&into.y0, &r.Y0, length, what)
	c.formula(&into.y1, &r.Y1, length, what)
	into.frames = []frame{{}}
	s := c.placed(r.Placed)
	switch {
	case s == nil:
	case !s.within(within):
		c.refuse(r.Placed, 0, "a set of "+within.name, fmt.Sprintf("%s: the body is placed at %s, its rectangle at %s", what, within.name, s.name))
	default:
		into.frames = s.frames(within)
	}
}

func (c *compiler) mass(into *mass, b *body, m *Mass, k int) {
	what := fmt.Sprintf("mass %d of %s", k+1, b.Name.Value)
	c.formula(&into.mass, &m.Mass, kilo, what)
	c.optional(&into.x, m.X, length, what)
	c.optional(&into.y, m.Y, length, what)
	c.optional(&into.height, m.Height, length, what)
	c.optional(&into.size, m.Size, length, what)
	into.payload = m.Payload
	if m.On == nil {
		return
	}
	into.on = make([]bool, len(b.copies))
	for _, n := range m.On {
		if n < 1 || n > len(b.copies) {
			c.refuse(&m.Mass, 0, fmt.Sprintf("numbers from 1 to %d", len(b.copies)), fmt.Sprintf("%s: there is no copy %d", what, n))
			continue
		}
		into.on[n-1] = true
	}
}
