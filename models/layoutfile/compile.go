package layoutfile

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/models/expression"
)

// Names that formulas may use beside parameters and derived quantities.
const (
	upTo = "up_to" // largest half-range that clearances are drawn for; 0: the travel
	play = "play"  // of the travel stops, beyond that
)

// Travel is the parameter that every layout has: half of the range.
const Travel = "travel"

// Bounds on what a file may hold: far above any stage.
const (
	mostBodies = 64
	mostBlades = 256
	mostBoxes  = 64 // copies of one body's rectangles
)

var (
	number = expression.Powers{}
	length = expression.Powers{Metre: 1}
	kilo   = expression.Powers{Kilogram: 1}
	angle  = expression.Powers{Radian: 1}
)

// body of the file while names become numbers.
type body struct {
	*Body
	set    *set // nil: once
	shape  int
	copies []int
}

type compiler struct {
	*expression.Builder
	file    *File
	refuse  expression.Refuse
	suggest func(string, []string) string
	layout  *Layout
	sets    map[string]*set
	bodies  []body
	// registers become known only with the whole program
	later  []func()
	watch  []watch
	failed bool // something was refused
}

type watch struct {
	value expression.Value
	what  string
}

// Compile makes a layout of a description. Every problem goes to refuse, suggest
// ends the sentence about an unknown name; the layout is nil when there was one.
// source is kept as [Layout.Source].
func Compile(file *File, source []byte, refuse expression.Refuse, suggest func(text string, names []string) string) *Layout {
	c := &compiler{file: file, suggest: suggest, sets: map[string]*set{}}
	c.refuse = func(t *Text, offset int, accepted, message string) {
		c.failed = true
		refuse(t, offset, accepted, message)
	}
	c.Builder = expression.NewBuilder(len(file.Parameters)+2, c.refuse, suggest)
	c.layout = &Layout{name: file.Name, meaning: file.Meaning, source: source, topology: &models.Topology{}, symmetry: file.Symmetry}
	c.names()
	c.requirements()
	c.places()
	c.numberBodies()
	c.drawBodies()
	c.drawBlades()
	c.roles()
	c.drawStops()
	c.connected()
	if c.failed || file.Incomplete {
		return nil
	}
	c.layout.program = c.Program()
	for _, f := range c.later {
		f()
	}
	c.layout.roots()
	for _, w := range c.watch {
		c.layout.watched = append(c.layout.watched, watched{c.Register(w.value), escape(w.what) + " is no number for these dimensions"})
	}
	c.tryMiddle()
	if c.failed {
		return nil
	}
	return c.layout
}

// escape makes a text safe as a part of a format.
func escape(text string) string { return strings.ReplaceAll(text, "%", "%%") }

// set the register of a value once the program is there.
func (c *compiler) set(register *int, v expression.Value) {
	c.later = append(c.later, func() { *register = c.Register(v) })
}

// formula compiles a formula into a register; what names it in messages.
func (c *compiler) formula(register *int, t *Text, p expression.Powers, what string) {
	v := c.Formula(t, p, what)
	c.watch = append(c.watch, watch{v, what})
	c.set(register, v)
}

// optional is formula for what may be absent: the register is -1 then.
func (c *compiler) optional(register *int, t *Text, p expression.Powers, what string) {
	*register = -1
	if t != nil {
		c.formula(register, t, p, what)
	}
}

// names defines parameters and derived quantities.
func (c *compiler) names() {
	var missing []string
	for _, name := range []string{Travel, "blade_length", "blade_thickness", "blade_width"} {
		if !slices.ContainsFunc(c.file.Parameters, func(p Parameter) bool {
			return p.Name.Value == name && (p.Unit.Dimension == models.Length || !p.Known)
		}) {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		c.refuse(&c.file.Position, 0, "travel, blade_length, blade_thickness, blade_width, in a unit of length", "the layout lacks the parameters "+strings.Join(missing, ", "))
	}
	free := func(t *Text) bool {
		switch {
		case !isName(t.Value):
			c.refuse(t, 0, "letters, digits and _, a letter first", t.Value+" is no name that a formula can use")
		case expression.Reserved(t.Value) || t.Value == upTo || t.Value == play:
			c.refuse(t, 0, "another name", t.Value+" has a meaning in formulas")
		case c.Named(t.Value):
			c.refuse(t, 0, "each name once", t.Value+" stands twice")
		default:
			return true
		}
		return false
	}
	for i := range c.file.Parameters {
		p := &c.file.Parameters[i]
		if !free(&p.Name) {
			continue
		}
		if !p.Known {
			c.Refused(p.Name.Value)
			continue
		}
		powers, _ := expression.Of(p.Unit.Dimension)
		c.Input(p.Name.Value, i, powers, p.Rule)
	}
	n := len(c.file.Parameters)
	c.Input(upTo, n, length, nil)
	c.Input(play, n+1, length, nil)
	for i := range c.file.Derived {
		if d := &c.file.Derived[i]; free(&d.Name) {
			c.Define(d.Name.Value, &d.Formula)
		}
	}
	c.Settle()
	c.layout.settled = make([]int, n)
	for i := range c.file.Parameters {
		p := &c.file.Parameters[i]
		c.layout.parameters = append(c.layout.parameters, p.Parameter)
		if c.Named(p.Name.Value) {
			v := c.Value(p.Name.Value)
			c.set(&c.layout.settled[i], v)
			c.watch = append(c.watch, watch{v, p.Name.Value})
			if p.Name.Value == Travel {
				c.set(&c.layout.travel, v)
			}
		}
	}
	for i := range c.file.Derived {
		if d := &c.file.Derived[i]; c.Named(d.Name.Value) {
			c.watch = append(c.watch, watch{c.Value(d.Name.Value), d.Name.Value})
		}
	}
}

func isName(text string) bool {
	for i, r := range text {
		letter := r >= 'a' && r <= 'z' || r >= 'A' && r <= 'Z' || r == '_'
		if !letter && (i == 0 || r < '0' || r > '9') {
			return false
		}
	}
	return text != ""
}

// said is how a dimension is said: scale from SI and what follows the number.
func said(p expression.Powers) (scale float64, unit string) {
	switch p {
	case length:
		return 1e3, " mm"
	case angle:
		return 1 / models.Degree.SI, "°"
	case kilo:
		return 1, " kg"
	case number:
		return 1, ""
	}
	return 1, " (SI)"
}

func (c *compiler) requirements() {
	c.layout.demands = make([]demand, len(c.file.Requirements))
	for i := range c.file.Requirements {
		q, d := &c.file.Requirements[i], &c.layout.demands[i]
		if strings.ContainsRune(q.Sentence.Value, '%') {
			c.refuse(&q.Sentence, strings.IndexRune(q.Sentence.Value, '%'), "percent", "a sentence has no %")
		}
		condition, ok := c.Condition(&q.Condition)
		if !ok {
			continue
		}
		scale, unit := said(condition.Left.Powers)
		d.atLeast, d.scale = condition.AtLeast(), scale
		d.format = strings.NewReplacer("{left}", "%.4[2]g"+unit, "{right}", "%.4[3]g"+unit).Replace(q.Sentence.Value)
		c.set(&d.left, condition.Left)
		c.set(&d.right, condition.Right)
		c.watch = append(c.watch, watch{condition.Left, q.Condition.Value}, watch{condition.Right, q.Condition.Value})
	}
}

func (c *compiler) places() {
	var names []string
	for i := range c.file.Places {
		p := &c.file.Places[i]
		s := &set{name: p.Name.Value}
		for _, at := range p.At {
			s.own = append(s.own, frame{mirror: at.Mirror, turn: ((at.Turn % 4) + 4) % 4})
		}
		if len(p.At) == 0 {
			c.refuse(&p.Name, 0, "at least one place", p.Name.Value+" has no places")
			s.own = []frame{{}}
		}
		if p.Of != nil {
			if s.parent = c.sets[p.Of.Value]; s.parent == nil {
				c.refuse(p.Of, 0, "a set that stands before"+list(names), "there is no set of places "+p.Of.Value+c.suggest(p.Of.Value, names))
			}
		}
		if c.sets[s.name] != nil {
			c.refuse(&p.Name, 0, "each name once", s.name+" stands twice")
			continue
		}
		c.sets[s.name] = s
		names = append(names, s.name)
	}
}

// list ends a sentence in names, if there are any.
func list(names []string) string {
	if len(names) == 0 {
		return ""
	}
	return ": " + strings.Join(names, ", ")
}

// placed finds the set that something is placed in; nil where it stands once.
func (c *compiler) placed(t *Text) *set {
	if t == nil {
		return nil
	}
	s := c.sets[t.Value]
	if s == nil {
		var names []string
		for _, p := range c.file.Places {
			names = append(names, p.Name.Value)
		}
		c.refuse(t, 0, "a set of places"+list(names), "there is no set of places "+t.Value+c.suggest(t.Value, names))
	}
	return s
}

// middle is the value at which a file is tried: its default, else between the ends
// of the range, evenly in the logarithm where both are above 0; NaN where a rule
// has it.
func middle(p *models.Parameter) float64 {
	switch {
	case !math.IsNaN(p.Default):
		return p.Default
	case !p.Required:
		return math.NaN()
	case p.Min > 0:
		return math.Sqrt(p.Min * p.Max)
	}
	return (p.Min + p.Max) / 2
}

// tryMiddle computes everything at the middle of the ranges and finds the shares of
// motion that the file does not give.
func (c *compiler) tryMiddle() {
	l := c.layout
	d := &models.Design{Material: &models.Material{Young: 1, Density: 1, Poisson: 0.3}}
	var r registers
	for i := range l.parameters {
		p := &l.parameters[i]
		v := p.Unit.ToSI(middle(p))
		d.Parameters = append(d.Parameters, v)
		r[i] = v
	}
	l.program.Run(r[:])
	if t, offset, what := l.program.Undefined(r[:]); t != nil {
		c.refuse(t, offset, "a formula that has a value there", what+" at the middle of the ranges"+l.where(&r))
		return
	}
	st := models.NewStage(l.topology)
	l.fill(d, st, &r, false)
	c.motions(st)
	c.bend(&r)
}

// where says at which values of the required parameters a file was tried.
func (l *Layout) where(r *registers) string {
	var parts []string
	for i := range l.parameters {
		if p := &l.parameters[i]; p.Required {
			parts = append(parts, fmt.Sprintf("%s %.4g %s", p.Name, p.Unit.FromSI(r[i]), p.Unit.Symbol))
		}
	}
	return " (" + strings.Join(parts, ", ") + ")"
}
