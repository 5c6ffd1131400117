package configs

import (
	"fmt"
	"math"
	"math/big"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// variation is what a brief says under vary of one parameter, in its unit.
type variation struct {
	place
	from, to, step float64 // step 0: continuous
	log            bool
	choices        []float64 // one_of; nil: a range
}

// readQuantity reads a quantity in u.
func (r *reader) readQuantity(n *node, what string, u models.Unit) (Quantity, bool) {
	if n.kind != kindText {
		_, _, accepted := parseQuantity("", u)
		r.refuse(n.place, accepted, "%s is %s, not %s", what, kindNames[n.kind], writable[u.Dimension].noun)
		return Quantity{}, false
	}
	q, message, accepted := parseQuantity(n.text, u)
	if message != "" {
		r.refuse(n.place, accepted, "%s: %s", what, message)
		return q, false
	}
	q.place = n.place
	return q, true
}

// readNatural reads a quantity within the natural range of a parameter.
func (l *load) readNatural(n *node, p *models.Parameter) (Quantity, bool) {
	q, ok := l.readQuantity(n, p.Name, p.Unit)
	if ok && (q.Value < p.Min || q.Value > p.Max) {
		l.refuse(n.place, fmt.Sprintf("%s from %s to %s", p.Name, FormatQuantity(p.Min, p.Unit), FormatQuantity(p.Max, p.Unit)),
			"%s of %s is out of range", p.Name, show(n.text))
		return q, false
	}
	return q, ok
}

// parameter finds a parameter, -1 when there is none of this name.
func (b *Brief) parameter(name string) int {
	for i := range b.parameters {
		if b.parameters[i].Name == name {
			return i
		}
	}
	return -1
}

func (b *Brief) parameterNames() []string {
	names := make([]string, len(b.parameters))
	for i := range b.parameters {
		names[i] = b.parameters[i].Name
	}
	return names
}

// readFix reads quantities of parameters.
func (l *load) readFix(root *node) {
	n := root.get("fix")
	if n == nil || !l.mapping(n, "fix", "a mapping of parameters to quantities") {
		return
	}
	l.keys(n, l.noParameter(), l.parameterNames(), notParameter)
	for i := range n.pairs {
		p := &n.pairs[i]
		if k := l.parameter(p.key.text); k >= 0 && l.fixed[k] == nil {
			l.fixed[k] = &Quantity{Value: math.NaN()} // until it is accepted
			if p.value.kind == kindMapping {
				l.refuse(p.value.place, "a quantity; ranges stand under vary", "%s is given a mapping under fix", p.key.text)
			} else if q, ok := l.readNatural(&p.value, &l.parameters[k]); ok {
				q.place = p.key.place
				l.fixed[k] = &q
			}
		}
	}
}

func (b *Brief) noParameter() string {
	if len(b.layouts) == 0 {
		return "no layout has a parameter"
	}
	return "layout " + strings.Join(b.layoutNames(), ", ") + " has no parameter"
}

// notParameter explains a measure, or a key of the brief, among parameters.
func notParameter(name string) string {
	if _, ok := objective.ByName(name); ok {
		return ": it is a measure, which goals and limits may name"
	}
	if contains(topKeys(), name) {
		return ": it is a key of the brief itself, outdent it"
	}
	return ""
}

const variationForms = "{from: a, to: b}, {from: a, to: b, step: c}, {from: a, to: b, scale: log} or {one_of: [a, b]}"

// readVary reads the ranges of parameters.
func (l *load) readVary(root *node) {
	n := root.get("vary")
	if n == nil || !l.mapping(n, "vary", "a mapping of parameters to "+variationForms) {
		return
	}
	l.keys(n, l.noParameter(), l.parameterNames(), notParameter)
	for i := range n.pairs {
		p := &n.pairs[i]
		k := l.parameter(p.key.text)
		if k < 0 || l.varied[k] != nil {
			continue
		}
		v := l.readVariation(&p.value, &l.parameters[k])
		if v == nil {
			v = &variation{} // refused, but it is varied
		}
		v.place = p.key.place
		l.varied[k] = v
		if fixed := root.get("fix"); fixed != nil && fixed.get(p.key.text) != nil {
			l.refuse(p.key.place, "a parameter under fix or under vary", "%s stands under fix too", p.key.text)
		}
	}
}

// readVariation reads one range or choice; nil when it is refused.
func (l *load) readVariation(n *node, p *models.Parameter) *variation {
	if n.kind != kindMapping {
		hint := ""
		if n.kind == kindText {
			hint = ": that stands under fix"
		}
		l.refuse(n.place, variationForms, "%s is given %s%s", p.Name, kindNames[n.kind], hint)
		return nil
	}
	before := len(l.problems)
	l.keys(n, p.Name+" has no key", []string{"from", "to", "step", "scale", "one_of"}, nil)
	v := &variation{}
	if list := n.get("one_of"); list != nil {
		if len(n.pairs) > 1 && len(l.problems) == before {
			l.refuse(n.place, variationForms, "%s has one_of and a range", p.Name)
		}
		l.readOneOf(list, p, v)
	} else {
		l.readRange(n, p, v)
	}
	if len(l.problems) > before {
		return nil
	}
	return v
}

func (l *load) readOneOf(list *node, p *models.Parameter, v *variation) {
	if list.kind != kindSequence {
		l.refuse(list.place, variationForms, "one_of is %s, not a list", kindNames[list.kind])
		return
	}
	for i := range list.items {
		q, ok := l.readNatural(&list.items[i], p)
		if !ok {
			continue
		}
		for _, other := range v.choices {
			if other == q.Value {
				l.refuse(list.items[i].place, "each value once", "%s stands twice", show(list.items[i].text))
			}
		}
		v.choices = append(v.choices, q.Value)
	}
	if len(list.items) < 2 {
		l.refuse(list.place, "at least two values; a single one stands under fix", "one_of of %s has fewer than two values", p.Name)
	}
}

func (l *load) readRange(n *node, p *models.Parameter, v *variation) {
	complete := true
	end := func(name string) (q Quantity) {
		given := n.get(name)
		if given == nil {
			complete = false
			if !n.meant(name, []string{"from", "to", "step", "scale", "one_of"}) {
				l.refuse(n.place, variationForms, "%s lacks %s", p.Name, name)
			}
			return
		}
		q, ok := l.readNatural(given, p)
		complete = complete && ok
		return q
	}
	from, to := end("from"), end("to")
	if complete && from.Value >= to.Value {
		l.refuse(n.place, "from below to", "the range of %s is empty: from %s to %s", p.Name, n.get("from").text, n.get("to").text)
		complete = false
	}
	v.from, v.to = from.Value, to.Value
	step, scale := n.get("step"), n.get("scale")
	if step != nil {
		q, ok := l.readQuantity(step, "step", p.Unit)
		switch {
		case !ok || !complete:
		case q.Value <= 0:
			l.refuse(step.place, "a step above 0", "the step of %s is %s", p.Name, show(step.text))
		default:
			v.step = q.Value
			l.checkSteps(step, p, from.exact, to.exact, q.exact)
		}
	}
	switch {
	case scale == nil:
	case scale.kind != kindText || scale.text != "log" && scale.text != "linear":
		l.refuse(scale.place, "log, linear", "there is no scale %s", show(scale.text))
	case scale.text == "log" && step != nil:
		l.refuse(scale.place, variationForms, "%s has a step and a logarithmic scale", p.Name)
	case scale.text == "log" && complete && v.from <= 0:
		l.refuse(scale.place, "a range above 0", "a logarithmic scale cannot begin at %s", n.get("from").text)
	default:
		v.log = scale.text == "log"
	}
}

// mostSteps of one variable.
const mostSteps = 1000000

// checkSteps demands a whole number of steps, in exact arithmetic.
func (l *load) checkSteps(n *node, p *models.Parameter, from, to, step *big.Rat) {
	span := new(big.Rat).Sub(to, from)
	steps := new(big.Rat).Quo(span, step)
	if steps.Cmp(big.NewRat(mostSteps, 1)) > 0 {
		l.refuse(n.place, fmt.Sprintf("at most %d steps", mostSteps), "the step of %s is too small", p.Name)
		return
	}
	if steps.IsInt() {
		return
	}
	whole := new(big.Int).Quo(steps.Num(), steps.Denom())
	accepted := "a step of at most the range"
	if whole.Sign() > 0 {
		below, above := stepEnd(from, step, whole), stepEnd(from, step, new(big.Int).Add(whole, big.NewInt(1)))
		accepted = fmt.Sprintf("to: %s or to: %s", FormatQuantity(below, p.Unit), FormatQuantity(above, p.Unit))
	}
	number, _ := steps.Float64()
	l.refuse(n.place, accepted, "from, to and step of %s make %.4g steps, not a whole number", p.Name, number)
}

func stepEnd(from, step *big.Rat, n *big.Int) float64 {
	end := new(big.Rat).Mul(step, new(big.Rat).SetInt(n))
	v, _ := end.Add(end, from).Float64()
	return v
}

// readTravel takes workspace.travel as the parameter travel.
func (l *load) readTravel(root *node) {
	k := l.parameter("travel")
	n := root.get("workspace")
	if n == nil || n.get("travel") == nil {
		return
	}
	n = n.get("travel")
	switch {
	case k < 0:
		l.refuse(n.place, "a layout with the parameter travel", "%s travel", l.noParameter())
	case l.varied[k] != nil:
		l.refuse(n.place, "travel under workspace, fix or vary", "travel stands under vary too")
	case l.fixed[k] != nil:
		l.refuse(n.place, "travel under workspace, fix or vary", "travel stands under fix too")
	case l.settings.Group("workspace").Has("travel"):
		if q, ok := l.readNatural(n, &l.parameters[k]); ok {
			l.fixed[k] = &q
		}
	}
}

// settleTravel lets workspace.travel hold a travel that stands under fix, so that
// it is found, and written, in one place.
func (b *Brief) settleTravel() {
	if k := b.parameter("travel"); k >= 0 && b.fixed[k] != nil {
		v := b.settings.Group("workspace").value("travel", KindQuantity)
		v.there, v.numbers = true, []float64{b.fixed[k].Value}
	}
}

// checkGiven demands the parameters that have no default.
func (l *load) checkGiven(root *node) {
	if l.assumed {
		return
	}
	for _, section := range []string{"fix", "vary"} {
		if n := root.get(section); n != nil && n.kind != kindMapping && n.kind != kindNull || root.meant(section, topKeys()) {
			return // what it would have held is unknown
		}
	}
	var missing []string
	for i, p := range l.parameters {
		stands := func(section string) bool {
			n := root.get(section)
			return n != nil && (n.get(p.Name) != nil || n.meant(p.Name, l.parameterNames()))
		}
		if p.Required && !stands("fix") && !stands("vary") && !(p.Name == "travel" && stands("workspace")) && l.fixed[i] == nil {
			missing = append(missing, p.Name)
		}
	}
	if len(missing) > 0 {
		l.refuse(l.layoutPlace, "each under fix or under vary", "layout %s needs %s", strings.Join(l.layoutNames(), ", "), strings.Join(missing, ", "))
	}
}
