package layoutfile

import (
	"fmt"
	"slices"
	"strings"

	"flexwright/models"
)

// drawBlades compiles the blades: runs that are placed alike, copy by copy.
func (c *compiler) drawBlades() {
	l := c.layout
	l.blades = make([]blade, len(c.file.Blades))
	sets := make([]*set, len(c.file.Blades))
	for i := range c.file.Blades {
		sets[i] = c.placed(c.file.Blades[i].Placed)
		c.blade(i)
	}
	for from := 0; from < len(sets); {
		to := from + 1
		for to < len(sets) && sets[to] == sets[from] && sets[from] != nil {
			to++
		}
		frames := sets[from].frames(nil)
		for k := range sets[from].size() {
			for i := from; i < to; i++ {
				q, b := &c.file.Blades[i], &l.blades[i]
				root, _, _ := c.find(&q.From, sets[i], k, k == 0)
				tip, _, _ := c.find(&q.To, sets[i], k, k == 0)
				if len(l.topology.Blades) == mostBlades {
					c.refuse(&q.From, 0, fmt.Sprintf("at most %d", mostBlades), "too many blades")
					return
				}
				if root >= 0 && tip >= 0 && k == 0 {
					c.ends(q, root, tip)
				}
				b.numbers = append(b.numbers, len(l.topology.Blades))
				b.frames = append(b.frames, frames[k])
				l.bladeAt = append(l.bladeAt, position{q.X.Line, q.X.Column})
				l.topology.Blades = append(l.topology.Blades, models.BladeSpec{From: max(root, 0), To: max(tip, 0)})
			}
		}
		from = to
	}
}

// ends refuses a blade between bodies that it cannot bend between.
func (c *compiler) ends(q *Blade, root, tip int) {
	bodies := c.layout.topology.Bodies
	switch {
	case root == tip:
		c.refuse(&q.To, 0, "two bodies", "a blade joins "+bodies[root].Name+" to itself")
	case bodies[root].Held == models.HeldAll && bodies[tip].Held == models.HeldAll:
		c.refuse(&q.To, 0, "at least one body that moves", "a blade joins two fixed bodies")
	}
}

var directions = map[string][2]float64{"x": {1, 0}, "-x": {-1, 0}, "y": {0, 1}, "-y": {0, -1}}

func (c *compiler) blade(i int) {
	q, b := &c.file.Blades[i], &c.layout.blades[i]
	what := fmt.Sprintf("blade %d (%s to %s)", i+1, q.From.Value, q.To.Value)
	b.format = escape(what) + " has no length, thickness or width"
	c.formula(&b.x, &q.X, length, "root of "+what)
	c.formula(&b.y, &q.Y, length, "root of "+what)
	c.formula(&b.length, &q.Length, length, "length of "+what)
	for _, p := range []struct {
		register *int
		text     *Text
		name     string
	}{{&b.thickness, q.Thickness, "thickness"}, {&b.width, q.Width, "width"}} {
		if p.text == nil {
			c.refuse(&q.From, 0, p.name+": a length, here or under defaults: blades", what+" has no "+p.name)
			continue
		}
		c.formula(p.register, p.text, length, p.name+" of "+what)
	}
	c.optional(&b.fillet, q.Fillet, length, "fillet of "+what)
	b.cos, b.sin = -1, -1
	if d, ok := directions[q.Along.Value]; ok {
		b.dx, b.dy = d[0], d[1]
		return
	}
	if isName(q.Along.Value) && !c.Named(q.Along.Value) {
		c.refuse(&q.Along, 0, "x, -x, y, -y or an angle", "there is no direction "+q.Along.Value)
		return
	}
	c.formula(&b.cos, c.turned("cos", &q.Along), number, "direction of "+what)
	c.formula(&b.sin, c.turned("sin", &q.Along), number, "direction of "+what)
}

// turned is a function of a formula that keeps the formula's position.
func (c *compiler) turned(function string, t *Text) *Text {
	return &Text{Value: function + "(" + t.Value + ")", Line: t.Line, Column: t.Column - len(function) - 1}
}

// roles finds the stage, the actuators and the idle bodies.
func (c *compiler) roles() {
	t := c.layout.topology
	movable := func(name *Text, what string) (int, *body, int) {
		n, b, k := c.find(name, nil, 0, true)
		if b != nil && b.Fixed {
			c.refuse(name, 0, "a body that moves", what+", "+name.Value+", is fixed")
			return -1, nil, 0
		}
		return n, b, k
	}
	stage := -1
	if c.file.Stage != nil {
		stage, _, _ = movable(c.file.Stage, "the stage")
		t.Stage = max(stage, 0)
	}
	c.layout.actuators = make([]actuator, len(c.file.Actuators))
	for i := range c.file.Actuators {
		q, a := &c.file.Actuators[i], &c.layout.actuators[i]
		what := fmt.Sprintf("actuator %d", i+1)
		n, b, k := movable(&q.Body, what)
		if b != nil {
			a.frame = b.frameOf(k)
		}
		c.formula(&a.x, &q.X, length, what)
		c.formula(&a.y, &q.Y, length, what)
		c.optional(&a.height, q.Height, length, what)
		spec := models.ActuatorSpec{Body: max(n, 0), Axis: q.Axis}
		if q.From != nil {
			from, _, _ := c.find(q.From, nil, 0, true)
			switch {
			case from < 0:
			case from == n:
				c.refuse(q.From, 0, "another body", what+" pushes "+q.Body.Value+" from itself")
			case t.Bodies[from].Held != models.HeldAll:
				spec.From = 1 + from
			}
		}
		t.Actuators = append(t.Actuators, spec)
		t.Driven = append(t.Driven, max(n, 0))
		if len(c.file.Actuators) == 1 && q.Axis != models.AxisX {
			c.refuse(&q.Body, 0, "axis: x", "the one actuator of a stage pushes along "+q.Axis.String())
		}
		if i > 0 && t.Actuators[0].Axis == q.Axis {
			c.refuse(&q.Body, 0, "one actuator along x, one along y", "two actuators push along "+q.Axis.String())
		}
	}
	c.sensors(movable)
	for i := range c.file.Idle {
		if n, _, _ := movable(&c.file.Idle[i], "an idle arm"); n >= 0 {
			t.Idle = append(t.Idle, n)
		}
	}
	for i := range c.bodies {
		if c.file.Stage == nil || stage < 0 {
			break
		}
		for k := range c.bodies[i].Masses {
			m := &c.bodies[i].Masses[k]
			if m.Payload && !slices.Equal(c.bodies[i].copies, []int{t.Stage}) {
				c.refuse(&m.Mass, 0, "payload at masses of the stage", "a payload that is not on the stage")
			}
		}
	}
}

func (c *compiler) drawStops() {
	c.layout.stops = make([]stop, len(c.file.Stops))
	for i := range c.file.Stops {
		q, s := &c.file.Stops[i], &c.layout.stops[i]
		n, b, _ := c.find(&q.Body, nil, 0, true)
		s.body = max(n, 0)
		var within *set
		if b != nil {
			within = b.set
		}
		c.stopBox(&s.box, &q.Rectangle, within, fmt.Sprintf("stop %d", i+1))
	}
}

// stopBox is box for a rectangle that may be empty or inside out: no stop then.
func (c *compiler) stopBox(into *box, r *Rectangle, within *set, what string) {
	before := len(c.watch)
	c.box(into, r, within, what)
	c.watch = c.watch[:before]
}

// connected refuses bodies that hang on nothing, once all bodies and blades are
// known.
func (c *compiler) connected() {
	if c.file.Incomplete || c.failed {
		return
	}
	t := c.layout.topology
	joined := make([]bool, len(t.Bodies))
	for i, b := range t.Bodies {
		joined[i] = b.Held == models.HeldAll
	}
	for range t.Bodies {
		for _, e := range t.Blades {
			if joined[e.From] || joined[e.To] {
				joined[e.From], joined[e.To] = true, true
			}
		}
	}
	for i := range c.bodies {
		b := &c.bodies[i]
		var loose []string
		for _, n := range b.copies {
			if !joined[n] {
				loose = append(loose, t.Bodies[n].Name)
			}
		}
		if len(loose) > 0 {
			c.refuse(&b.Name, 0, "blades from it that lead to a fixed body", strings.Join(loose, ", ")+" hangs on nothing")
		}
	}
}
