package configs

import (
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/models/layoutfile"
)

const layoutOutline = "a layout: layout, meaning, parameters, bodies, blades, stage and actuators at least, then derived, require, places, defaults, sensors, idle, symmetry, stops"

// layoutUnits are the units that a parameter of a layout file may have.
var layoutUnits = []models.Unit{models.Millimetre, models.Micrometre, models.Degree, models.Kilogram, models.One}

// layoutReader is the state of reading one layout file.
type layoutReader struct {
	*reader
	file                        layoutfile.File
	bodyDefaults, bladeDefaults *node
}

// LoadLayout reads a layout file. It returns every problem that it finds, in the
// order of the file; the layout is nil when there is one.
func LoadLayout(name string, data []byte) (*layoutfile.Layout, Problems) {
	data = []byte(strings.TrimPrefix(string(data), "\ufeff"))
	l := &layoutReader{reader: newReader(name, data)}
	l.noun, l.outline = "layout", layoutOutline
	root := l.parseYAML(data)
	if root == nil {
		return nil, l.all()
	}
	if root.kind != kindMapping {
		l.refuse(root.place, layoutOutline, "the file holds %s, not a mapping", kindNames[root.kind])
		return nil, l.all()
	}
	l.readFile(root)
	l.file.Incomplete = len(l.problems) > 0
	layout := layoutfile.Compile(&l.file, data, func(t *layoutfile.Text, offset int, accepted, message string) {
		line, column := t.Place(offset)
		column = max(column, 1) // before the text: in what was put around it
		message += l.hint(t)
		// A default that several entries use is wrong once.
		if !slices.ContainsFunc(l.problems, func(p Problem) bool { return p.Line == line && p.Column == column && p.Message == message }) {
			l.refuse(place{line, column}, accepted, "%s", message)
		}
	}, DidYouMean)
	if problems := l.all(); len(problems) > 0 {
		return nil, problems
	}
	return layout, nil
}

// hint explains a formula that a bracketed list has cut at its comma.
func (l *layoutReader) hint(t *layoutfile.Text) string {
	if strings.Count(t.Value, "(") != strings.Count(t.Value, ")") {
		return "; a formula with commas stands in quotes where it is in brackets"
	}
	return ""
}

var layoutKeys = []string{"layout", "meaning", "parameters", "derived", "require", "places", "defaults", "bodies", "blades", "stage", "actuators", "sensors", "idle", "symmetry", "stops"}

func (l *layoutReader) readFile(root *node) {
	l.keys(root, "the layout has no key", layoutKeys, nil)
	for _, key := range []string{"layout", "meaning", "parameters", "bodies", "blades", "stage", "actuators"} {
		if root.get(key) == nil && !root.meant(key, layoutKeys) {
			l.refuse(root.place, layoutOutline, "the layout lacks %s", key)
		}
	}
	l.file.Position = layoutfile.Text{Line: root.line, Column: root.column}
	l.file.Name = l.plain(root, "layout")
	if n := root.get("layout"); n != nil && l.file.Name != "" && !isLayoutName(l.file.Name) {
		l.refuse(n.place, "small letters, digits and -, a letter first", "%s is no name of a layout", show(l.file.Name))
	}
	l.file.Meaning = l.plain(root, "meaning")
	if n := root.get("parameters"); n != nil {
		l.file.Position = layoutfile.Text{Line: n.line, Column: n.column}
		l.entries(n, "parameters", "parameters by name: {unit, from, to, default or rule, meaning}", l.readParameter)
	}
	if n := root.get("derived"); n != nil {
		l.entries(n, "derived", "formulas by name", func(p *pair) {
			if t, ok := l.formula(&p.value, p.key.text); ok {
				l.file.Derived = append(l.file.Derived, layoutfile.Derived{Name: text(&p.key), Formula: t})
			}
		})
	}
	l.each(root.get("require"), "require", "that, else", []string{"that", "else"}, nil, func(n *node, what string) {
		that, ok := l.formula(n.get("that"), what)
		sentence, okay := l.formula(n.get("else"), what+": else")
		if ok && okay {
			l.file.Requirements = append(l.file.Requirements, layoutfile.Requirement{Condition: that, Sentence: sentence})
		}
	})
	if n := root.get("places"); n != nil {
		l.entries(n, "places", "sets of places by name", l.readPlaces)
	}
	l.readDefaults(root.get("defaults"))
	if n := root.get("bodies"); n != nil {
		l.entries(n, "bodies", "bodies by name: {rectangles, fixed, placed, names, thickness, masses, moves}", l.readBody)
	}
	l.each(root.get("blades"), "blades", "from, to, root, along, length", []string{"from", "to", "root", "along", "length"},
		[]string{"placed", "thickness", "width", "fillet"}, l.readBlade)
	if n := root.get("stage"); n != nil {
		if t, ok := l.formula(n, "stage"); ok {
			l.file.Stage = &t
		}
	}
	actuators := root.get("actuators")
	l.each(actuators, "actuators", "body, axis, at", []string{"body", "axis", "at"}, []string{"from", "height"}, l.readActuator)
	if actuators != nil && actuators.kind == kindSequence && (len(actuators.items) == 0 || len(actuators.items) > mostActuators) {
		l.refuse(actuators.place, "one or two", "there are %d actuators", len(actuators.items))
	}
	l.each(root.get("sensors"), "sensors", "kind, axis, body, at", []string{"kind", "axis", "body", "at"}, []string{"from", "height"}, l.readSensor)
	if n := root.get("idle"); n != nil {
		l.file.Idle = l.texts(n, "idle")
	}
	if n := root.get("symmetry"); n != nil {
		for _, t := range l.texts(n, "symmetry") {
			s, ok := models.SymmetryByName(t.Value)
			if !ok {
				l.refuse(place{t.Line, t.Column}, strings.Join(models.SymmetryNames(), ", "), "there is no symmetry %s%s", show(t.Value), DidYouMean(t.Value, models.SymmetryNames()))
				continue
			}
			l.file.Symmetry = append(l.file.Symmetry, s)
		}
	}
	l.each(root.get("stops"), "stops", "body, x, y", []string{"body", "x", "y"}, []string{"placed"}, func(n *node, what string) {
		body, ok := l.formula(n.get("body"), what)
		r, okay := l.rectangle(n, what)
		if ok && okay {
			l.file.Stops = append(l.file.Stops, layoutfile.Stop{Body: body, Rectangle: r})
		}
	})
}

// isLayoutName: it becomes a file name, and stands in briefs and rows.
func isLayoutName(text string) bool {
	for i, r := range text {
		if !(r >= 'a' && r <= 'z' || i > 0 && (r >= '0' && r <= '9' || r == '-')) {
			return false
		}
	}
	return len(text) <= 60
}

// text of a scalar, with its position: that of its first character.
func text(n *node) layoutfile.Text {
	t := layoutfile.Text{Value: n.text, Line: n.line, Column: n.column}
	if n.quote {
		t.Column++
	}
	return t
}

// formula reads a text; false when it is absent or refused.
func (l *layoutReader) formula(n *node, what string) (layoutfile.Text, bool) {
	switch {
	case n == nil:
		return layoutfile.Text{}, false
	case n.kind != kindText:
		l.refuse(n.place, "one formula or name", "%s is %s", what, kindNames[n.kind])
		return layoutfile.Text{}, false
	}
	return text(n), true
}

func (l *layoutReader) optional(n *node, what string) *layoutfile.Text {
	if t, ok := l.formula(n, what); ok {
		return &t
	}
	return nil
}

// plain reads a text of the top level.
func (l *layoutReader) plain(root *node, key string) string {
	n := root.get(key)
	if n == nil {
		return ""
	}
	if n.kind != kindText || n.text == "" {
		l.refuse(n.place, "a text", "%s is no text", key)
		return ""
	}
	return n.text
}

// texts reads a list of names.
func (l *layoutReader) texts(n *node, what string) (list []layoutfile.Text) {
	if n.kind != kindSequence {
		l.refuse(n.place, "a list of names", "%s is %s, not a list", what, kindNames[n.kind])
		return nil
	}
	for i := range n.items {
		if t, ok := l.formula(&n.items[i], what); ok {
			list = append(list, t)
		}
	}
	return list
}

// entries hands on each entry of a mapping by name.
func (l *layoutReader) entries(n *node, what, accepted string, read func(*pair)) {
	if !l.mapping(n, what, accepted) {
		return
	}
	if len(n.pairs) == 0 {
		l.refuse(n.place, accepted, "there are no %s", what)
	}
	for i := range n.pairs {
		read(&n.pairs[i])
	}
}

// each hands on each mapping of a list, once its keys are right.
func (l *layoutReader) each(n *node, name, form string, required, optional []string, read func(n *node, what string)) {
	if n == nil || n.kind == kindNull {
		return
	}
	if n.kind != kindSequence {
		l.refuse(n.place, "a list of mappings: "+form, "%s is %s, not a list", name, kindNames[n.kind])
		return
	}
	if len(n.items) == 0 && name == "blades" {
		l.refuse(n.place, "a list of mappings: "+form, "there are no %s", name)
	}
	for i := range n.items {
		what := ordinal(name, i)
		if l.fields(&n.items[i], what, required, optional) {
			read(&n.items[i], what)
		}
	}
}

// ordinal names an entry of a list: "blade 3" of blades.
func ordinal(list string, i int) string {
	name := strings.TrimSuffix(list, "s")
	if list == "require" {
		name = "requirement"
	}
	return name + " " + decimal(float64(i+1))
}

// fields checks the keys of a mapping; false when it is none or lacks one.
func (l *layoutReader) fields(n *node, what string, required, optional []string) bool {
	all := append(append([]string{}, required...), optional...)
	if n.kind != kindMapping {
		l.refuse(n.place, "a mapping with the keys "+strings.Join(all, ", "), "%s is %s", what, kindNames[n.kind])
		return false
	}
	l.keys(n, what+" has no key", all, nil)
	var missing []string
	for _, key := range required {
		if n.get(key) == nil && !n.meant(key, all) {
			missing = append(missing, key)
		}
	}
	if len(missing) > 0 {
		l.refuse(n.place, "the keys "+strings.Join(required, ", "), "%s lacks %s", what, strings.Join(missing, ", "))
	}
	return true
}

func (l *layoutReader) readParameter(p *pair) {
	name, n := p.key.text, &p.value
	q := layoutfile.Parameter{Name: text(&p.key)}
	defer func() { l.file.Parameters = append(l.file.Parameters, q) }()
	if !l.fields(n, "parameter "+show(name), []string{"unit", "from", "to", "meaning"}, []string{"default", "rule"}) {
		return
	}
	q.Parameter = models.Parameter{Name: name, Default: math.NaN()}
	var symbols []string
	found := false
	for _, u := range layoutUnits {
		symbol := u.Symbol
		if symbol == "" {
			symbol = "1"
		}
		symbols = append(symbols, symbol)
		if unit := n.get("unit"); unit != nil && unit.kind == kindText && normal(unit.text) == normal(symbol) {
			q.Unit, found = u, true
		}
	}
	if unit := n.get("unit"); unit != nil && !found {
		l.refuse(unit.place, strings.Join(symbols, ", "), "a parameter in %s", show(unit.text))
	}
	if q.Known = found; !found {
		return
	}
	number := func(key string) (float64, bool) {
		given := n.get(key)
		if given == nil {
			return math.NaN(), false
		}
		v, ok := l.readQuantity(given, key, q.Unit)
		return v.Value, ok
	}
	from, ok := number("from")
	to, okay := number("to")
	q.Min, q.Max = from, to
	if ok && okay && !(from < to) {
		l.refuse(n.get("from").place, "from below to", "the range of %s is empty", show(name))
	}
	if v, has := number("default"); has {
		q.Default = v
		if ok && okay && (v < from || v > to) {
			l.refuse(n.get("default").place, "a value of the range", "the default of %s lies outside its range", show(name))
		}
	}
	q.Rule = l.optional(n.get("rule"), "rule of "+name)
	q.Required = n.get("default") == nil && n.get("rule") == nil
	switch {
	case q.Required:
		q.DefaultText = "must be given"
	case q.Rule != nil:
		q.DefaultText = q.Rule.Value
		if n.get("default") != nil {
			l.refuse(n.get("default").place, "default or rule", "%s has a default and a rule", show(name))
		}
	}
	if meaning := n.get("meaning"); meaning != nil && meaning.kind == kindText {
		q.Meaning = meaning.text
	}
	if q.Meaning == "" {
		l.refuse(n.place, "meaning: a text", "parameter %s has no meaning", show(name))
	}
}

func (l *layoutReader) readPlaces(p *pair) {
	s := layoutfile.Places{Name: text(&p.key)}
	n := &p.value
	if n.kind == kindMapping {
		if !l.fields(n, "set "+show(p.key.text), []string{"of", "at"}, nil) {
			return
		}
		s.Of = l.optional(n.get("of"), "of")
		if n = n.get("at"); n == nil {
			return
		}
	}
	if n.kind != kindSequence {
		l.refuse(n.place, "a list of places: {turn, mirror}; or {of: a set, at: a list}", "the places of %s are %s", show(p.key.text), kindNames[n.kind])
		return
	}
	for i := range n.items {
		item := &n.items[i]
		if item.kind == kindMapping && len(item.pairs) == 0 {
			s.At = append(s.At, layoutfile.Place{})
			continue
		}
		if !l.fields(item, ordinal("places", i), nil, []string{"turn", "mirror"}) {
			continue
		}
		var at layoutfile.Place
		if turn := item.get("turn"); turn != nil {
			q, ok := l.readQuantity(turn, "turn", models.Degree)
			quarters := q.Value / 90
			if ok && (quarters != math.Round(quarters) || math.Abs(quarters) > 4) {
				l.refuse(turn.place, "0°, 90°, 180°, 270°", "a turn of %s", show(turn.text))
			}
			at.Turn = int(math.Round(quarters))
		}
		if mirror := item.get("mirror"); mirror != nil {
			switch mirror.text {
			case "x":
				at.Mirror = true
			case "y": // about x, then half a turn
				at.Mirror = true
				at.Turn += 2
			default:
				l.refuse(mirror.place, "x (about the x axis), y", "a mirror about %s", show(mirror.text))
			}
		}
		s.At = append(s.At, at)
	}
	l.file.Places = append(l.file.Places, s)
}
