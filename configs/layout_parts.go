package configs

import (
	"strconv"

	"flexwright/models"
	"flexwright/models/layoutfile"
)

func (l *layoutReader) readDefaults(n *node) {
	if n == nil || !l.fields(n, "defaults", nil, []string{"bodies", "blades"}) {
		return
	}
	if b := n.get("bodies"); b != nil && l.fields(b, "defaults of bodies", nil, []string{"thickness"}) {
		l.bodyDefaults = b
	}
	if b := n.get("blades"); b != nil && l.fields(b, "defaults of blades", nil, []string{"thickness", "width", "fillet"}) {
		l.bladeDefaults = b
	}
}

// orDefault reads a formula of an entry, else that of the defaults.
func (l *layoutReader) orDefault(n, defaults *node, key, what string) *layoutfile.Text {
	given := n.get(key)
	if given == nil && defaults != nil {
		given = defaults.get(key)
	}
	return l.optional(given, what+": "+key)
}

func (l *layoutReader) readBody(p *pair) {
	n, what := &p.value, "body "+show(p.key.text)
	if !l.fields(n, what, []string{"rectangles"}, []string{"fixed", "placed", "names", "thickness", "masses", "moves"}) {
		return
	}
	b := layoutfile.Body{Name: text(&p.key)}
	if fixed := n.get("fixed"); fixed != nil {
		if b.Fixed = fixed.text == "true"; !b.Fixed && fixed.text != "false" {
			l.refuse(fixed.place, "true, false", "fixed is neither true nor false")
		}
	}
	b.Placed = l.optional(n.get("placed"), what+": placed")
	if names := n.get("names"); names != nil {
		b.Names = l.texts(names, what+": names")
	}
	b.Thickness = l.orDefault(n, l.bodyDefaults, "thickness", what)
	l.each(n.get("rectangles"), "rectangles", "x, y", []string{"x", "y"}, []string{"placed", "member", "held", "on"}, func(n *node, which string) {
		if r, ok := l.rectangle(n, which+" of "+show(p.key.text)); ok {
			b.Rectangles = append(b.Rectangles, r)
		}
	})
	l.each(n.get("masses"), "masses", "mass, at", []string{"mass"}, []string{"at", "height", "size", "on", "payload"}, func(n *node, which string) {
		if m, ok := l.readMass(n, which+" of "+show(p.key.text)); ok {
			b.Masses = append(b.Masses, m)
		}
	})
	if moves := n.get("moves"); moves != nil {
		b.Moves = l.shares(moves, what)
	}
	l.file.Bodies = append(l.file.Bodies, b)
}

// shares reads two plain numbers.
func (l *layoutReader) shares(n *node, what string) *[2]float64 {
	if n.kind != kindSequence || len(n.items) != 2 {
		l.refuse(n.place, "[share of the stage's motion along x, share along y]", "%s: moves is not a list of two", what)
		return nil
	}
	var out [2]float64
	for i := range n.items {
		q, ok := l.readQuantity(&n.items[i], "a share", models.One)
		if !ok {
			return nil
		}
		out[i] = q.Value
	}
	return &out
}

// two reads a list of two formulas.
func (l *layoutReader) two(n *node, what string) (a, b layoutfile.Text, ok bool) {
	if n == nil {
		return a, b, false
	}
	if n.kind != kindSequence || len(n.items) != 2 {
		hint := ""
		if n.kind == kindSequence && len(n.items) > 2 {
			hint = "; a formula with commas stands in quotes where it is in brackets"
		}
		l.refuse(n.place, "[formula, formula]", "%s is not a list of two%s", what, hint)
		return a, b, false
	}
	a, okA := l.formula(&n.items[0], what)
	b, okB := l.formula(&n.items[1], what)
	return a, b, okA && okB
}

// sides of a rectangle at which a member is held.
var sides = map[string]layoutfile.Side{"left": layoutfile.Left, "right": layoutfile.Right, "bottom": layoutfile.Bottom, "top": layoutfile.Top}

func (l *layoutReader) rectangle(n *node, what string) (r layoutfile.Rectangle, ok bool) {
	var okX, okY bool
	r.X0, r.X1, okX = l.two(n.get("x"), what+": x")
	r.Y0, r.Y1, okY = l.two(n.get("y"), what+": y")
	r.Placed = l.optional(n.get("placed"), what+": placed")
	r.Member = l.optional(n.get("member"), what+": member")
	r.On = l.optional(n.get("on"), what+": on")
	if held := n.get("held"); held != nil {
		if r.Held = sides[held.text]; r.Held == 0 {
			l.refuse(held.place, "left, right, bottom, top", "%s is held at no side", what)
			r.Held = layoutfile.Left
		}
	}
	return r, okX && okY
}

func (l *layoutReader) readMass(n *node, what string) (m layoutfile.Mass, ok bool) {
	m.Mass, ok = l.formula(n.get("mass"), what)
	if at := n.get("at"); at != nil {
		x, y, okay := l.two(at, what+": at")
		ok = ok && okay
		m.X, m.Y = &x, &y
	}
	m.Height = l.optional(n.get("height"), what+": height")
	m.Size = l.optional(n.get("size"), what+": size")
	if payload := n.get("payload"); payload != nil {
		if m.Payload = payload.text == "true"; !m.Payload && payload.text != "false" {
			l.refuse(payload.place, "true, false", "payload is neither true nor false")
		}
	}
	if on := n.get("on"); on != nil {
		m.On = []int{}
		for _, t := range l.texts(on, what+": on") {
			k, err := strconv.Atoi(t.Value)
			if err != nil {
				l.refuse(place{t.Line, t.Column}, "numbers of copies, from 1", "%s is no number of a copy", show(t.Value))
				continue
			}
			m.On = append(m.On, k)
		}
	}
	return m, ok
}

func (l *layoutReader) readBlade(n *node, what string) {
	var b layoutfile.Blade
	var ok [5]bool
	b.From, ok[0] = l.formula(n.get("from"), what+": from")
	b.To, ok[1] = l.formula(n.get("to"), what+": to")
	b.X, b.Y, ok[2] = l.two(n.get("root"), what+": root")
	b.Along, ok[3] = l.formula(n.get("along"), what+": along")
	b.Length, ok[4] = l.formula(n.get("length"), what+": length")
	b.Placed = l.optional(n.get("placed"), what+": placed")
	b.Thickness = l.orDefault(n, l.bladeDefaults, "thickness", what)
	b.Width = l.orDefault(n, l.bladeDefaults, "width", what)
	b.Fillet = l.orDefault(n, l.bladeDefaults, "fillet", what)
	if ok == [5]bool{true, true, true, true, true} {
		l.file.Blades = append(l.file.Blades, b)
	}
}

func (l *layoutReader) readActuator(n *node, what string) {
	var a layoutfile.Actuator
	body, ok := l.formula(n.get("body"), what+": body")
	x, y, okay := l.two(n.get("at"), what+": at")
	a.Body, a.X, a.Y = body, x, y
	a.From = l.optional(n.get("from"), what+": from")
	a.Height = l.optional(n.get("height"), what+": height")
	axis, okAxis := l.axis(n.get("axis"), what)
	a.Axis = axis
	if ok && okay && okAxis {
		l.file.Actuators = append(l.file.Actuators, a)
	}
}

// axis reads x or y.
func (l *layoutReader) axis(n *node, what string) (models.Axis, bool) {
	switch {
	case n == nil:
		return 0, false
	case n.text == "x":
		return models.AxisX, true
	case n.text == "y":
		return models.AxisY, true
	}
	l.refuse(n.place, "x, y", "%s: there is no axis %s", what, show(n.text))
	return 0, false
}

func (l *layoutReader) readSensor(n *node, what string) {
	var q layoutfile.Sensor
	var ok [4]bool
	q.Kind, ok[0] = l.formula(n.get("kind"), what+": kind")
	if ok[0] && q.Kind.Value != layoutfile.Encoder && q.Kind.Value != layoutfile.GapSensor {
		l.refuse(n.get("kind").place, "encoder, gap", "%s: there is no kind %s", what, show(q.Kind.Value))
		ok[0] = false
	}
	q.Axis, ok[1] = l.axis(n.get("axis"), what)
	q.Body, ok[2] = l.formula(n.get("body"), what+": body")
	q.X, q.Y, ok[3] = l.two(n.get("at"), what+": at")
	q.From = l.optional(n.get("from"), what+": from")
	q.Height = l.optional(n.get("height"), what+": height")
	if ok == [4]bool{true, true, true, true} {
		l.file.Sensors = append(l.file.Sensors, q)
	}
}
