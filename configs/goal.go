package configs

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// mostGoals is how many goals a brief may have.
const mostGoals = 5

// number finds what goals and limits may name: a measure or a parameter.
func (l *load) number(name string) (objective.Ref, bool) {
	if m, ok := objective.ByName(name); ok {
		return objective.Ref{Index: int(m)}, !objective.Table[m].Explains() && !m.IsOtherTail()
	}
	if k := l.parameter(name); k >= 0 {
		return objective.Ref{Parameter: true, Index: k}, true
	}
	return objective.Ref{}, false
}

// unit and name of a number.
func (b *Brief) unit(ref objective.Ref) models.Unit {
	if ref.Parameter {
		return b.parameters[ref.Index].Unit
	}
	return objective.Table[ref.Index].Unit
}

func (b *Brief) name(ref objective.Ref) string {
	if ref.Parameter {
		return b.parameters[ref.Index].Name
	}
	m := objective.Measure(ref.Index)
	if m.IsOtherTail() { // a limit on the tail, against its sense
		m = m.Plain().Tail()
	}
	return objective.Table[m].Name
}

// numberNames lists what goals and limits may name.
func (b *Brief) numberNames() []string {
	var names []string
	for i := range objective.Table {
		if !objective.Table[i].Explains() && !objective.Measure(i).IsOtherTail() {
			names = append(names, objective.Table[i].Name)
		}
	}
	return append(names, b.parameterNames()...)
}

// notNumber explains a name that is no number.
func notNumber(name string) string {
	if m, ok := objective.ByName(name); ok && objective.Table[m].IsText() {
		return ": it is a text, not a number"
	} else if ok && objective.Table[m].Detail {
		return ": it only says what decides another measure"
	} else if ok && m.IsOtherTail() {
		return fmt.Sprintf(": a limit on %s against its sense is on it", objective.Table[m.Plain().Tail()].Name)
	}
	if contains(topKeys(), name) {
		return ": it is a key of the brief itself, outdent it"
	}
	return ""
}

// readNumbers walks a mapping whose keys are measures or parameters.
func (l *load) readNumbers(n *node, each func(p *pair, ref objective.Ref)) {
	l.keys(n, "there is no measure or parameter", l.numberNames(), notNumber)
	done := map[objective.Ref]bool{}
	for i := range n.pairs {
		if ref, ok := l.number(n.pairs[i].key.text); ok && !done[ref] {
			done[ref] = true
			each(&n.pairs[i], ref)
		}
	}
}

func (l *load) readGoals(root *node) {
	const accepted = "one to five of `measure: most` or `measure: least`"
	n := root.get("goals")
	if n == nil {
		if root.meant("goals", topKeys()) {
			return
		}
		l.refuse(root.place, "goals: "+accepted, "the brief lacks goals")
		return
	}
	if !l.mapping(n, "goals", accepted) {
		return
	}
	if len(n.pairs) == 0 {
		l.refuse(n.place, accepted, "there is no goal")
	}
	if len(n.pairs) > mostGoals {
		l.refuse(n.pairs[mostGoals].key.place, accepted, "there are %d goals", len(n.pairs))
	}
	l.readNumbers(n, func(p *pair, ref objective.Ref) {
		sense := objective.Least
		switch {
		case p.value.kind != kindText:
			l.refuse(p.value.place, "most, least", "the goal of %s is %s", p.key.text, kindNames[p.value.kind])
			return
		case p.value.text == "most":
			sense = objective.Most
		case p.value.text != "least":
			l.refuse(p.value.place, "most, least", "there is no goal %s%s", show(p.value.text), DidYouMean(p.value.text, []string{"most", "least"}))
			return
		}
		if sense == objective.Least && conforming(ref) {
			l.refuse(p.value.place, "most", "the goal of %s is least: parts that do not conform are no use", p.key.text)
			return
		}
		l.goals = append(l.goals, objective.Goal{Ref: ref, Sense: sense})
		l.goalPlaces = append(l.goalPlaces, p.key.place)
	})
}

// conforming reports whether a number is the share of parts that conform, of which more is
// never worse.
func conforming(ref objective.Ref) bool {
	return ref == objective.Ref{Index: int(objective.ConformingParts)}
}

const limitForms = "one of {at_most: q}, {at_least: q}, {between: [q, q]}"

func (l *load) readLimits(root *node) {
	n := root.get("limits")
	if n == nil || !l.mapping(n, "limits", "a mapping of measures to "+limitForms) {
		return
	}
	l.readNumbers(n, func(p *pair, ref objective.Ref) {
		limit := objective.Limit{Ref: ref, AtLeast: math.Inf(-1), AtMost: math.Inf(1)}
		if l.readLimit(p, ref, &limit) {
			for _, limit := range tailLimits(limit) {
				l.limits = append(l.limits, limit)
				l.limitPlaces = append(l.limitPlaces, p.key.place)
			}
		}
	})
}

func (l *load) readLimit(p *pair, ref objective.Ref, limit *objective.Limit) bool {
	what, n := p.key.text, &p.value
	if n.kind != kindMapping || len(n.pairs) == 0 {
		l.refuse(n.place, limitForms, "the limit of %s is %s", what, kindNames[n.kind])
		return false
	}
	before := len(l.problems)
	l.keys(n, "the limit of "+what+" has no key", []string{"at_most", "at_least", "between", "layouts"}, nil)
	if len(l.problems) > before {
		return false
	}
	forms := len(n.pairs)
	if only := n.get("layouts"); only != nil {
		forms--
		l.readLimitLayouts(what, only, limit)
	}
	if forms != 1 {
		accepted := limitForms
		if n.get("between") == nil && n.get("at_least") != nil && n.get("at_most") != nil {
			accepted = fmt.Sprintf("{between: [%s, %s]}", n.get("at_least").text, n.get("at_most").text)
		}
		l.refuse(n.place, accepted, "the limit of %s has %s", what, map[bool]string{true: "no bound", false: "several forms"}[forms == 0])
	}
	bound := func(n *node) (float64, bool) {
		q, ok := l.readQuantity(n, what, l.unit(ref))
		return q.Value, ok
	}
	for i := range n.pairs {
		value := &n.pairs[i].value
		ok := true
		switch n.pairs[i].key.text {
		case "at_most":
			limit.AtMost, ok = bound(value)
		case "at_least":
			limit.AtLeast, ok = bound(value)
		case "layouts":
		default:
			if value.kind != kindSequence || len(value.items) != 2 {
				l.refuse(value.place, "{between: [least, most]}", "between of %s is not a list of two quantities", what)
				return false
			}
			var first, second bool
			limit.AtLeast, first = bound(&value.items[0])
			limit.AtMost, second = bound(&value.items[1])
			if first && second && limit.AtLeast >= limit.AtMost {
				l.refuse(value.place, "the smaller one first", "between of %s is empty: %s to %s", what, value.items[0].text, value.items[1].text)
			}
		}
		if !ok {
			break
		}
	}
	if conforming(ref) && !math.IsInf(limit.AtMost, 1) && len(l.problems) == before {
		l.refuse(n.place, "{at_least: 95 %}", "the limit of %s holds it down: parts that do not conform are no use", what)
	}
	return len(l.problems) == before
}

// readLimitLayouts reads which layouts a limit holds for.
func (l *load) readLimitLayouts(what string, only *node, limit *objective.Limit) {
	names := l.layoutNames()
	accepted := "a list of the brief's layouts: " + strings.Join(names, ", ")
	if only.kind != kindSequence || len(only.items) == 0 {
		l.refuse(only.place, accepted, "the layouts of the limit of %s are %s", what, kindNames[only.kind])
		return
	}
	for i := range only.items {
		name := only.items[i].text
		if !slices.Contains(names, name) {
			l.refuse(only.items[i].place, accepted, "the brief has no layout %s%s", show(name), DidYouMean(name, names))
			continue
		}
		limit.Layouts = append(limit.Layouts, name)
	}
}

// values is the range of what a parameter takes over the whole brief, and
// whether that is known: a layout's rule decides otherwise.
func (b *Brief) values(k int) (from, to float64, known bool) {
	switch v := b.varied[k]; {
	case v != nil && v.choices != nil:
		from, to = v.choices[0], v.choices[0]
		for _, c := range v.choices {
			from, to = min(from, c), max(to, c)
		}
		return from, to, true
	case v != nil:
		return v.from, v.to, v.from < v.to
	case b.fixed[k] != nil:
		v := b.fixed[k].Value
		return v, v, !math.IsNaN(v)
	}
	d := b.parameters[k].Default
	return d, d, !math.IsNaN(d) && !b.parameters[k].Required
}

// checkGoals refuses a goal on a number that is the same in every design.
func (l *load) checkGoals() {
	for i, g := range l.goals {
		if !g.Ref.Parameter || l.varied[g.Ref.Index] != nil {
			continue
		}
		if value, _, known := l.values(g.Ref.Index); known {
			p := &l.parameters[g.Ref.Index]
			l.refuse(l.goalPlaces[i], "a measure, or a parameter that stands under vary", "%s is %s in every design", p.Name, FormatQuantity(value, p.Unit))
		}
	}
}

// largest half-range that usable_travel can reach, mm; 0 when it is unknown.
func (b *Brief) largest() float64 {
	if up := b.settings.Group("workspace").Float("up_to"); !math.IsNaN(up) {
		return up
	}
	if k := b.parameter("travel"); k >= 0 {
		if _, to, known := b.values(k); known {
			return to
		}
	}
	return 0
}

// checkWorkspace holds up_to against the range of the travel, and against the
// travel itself.
func (l *load) checkWorkspace() {
	w := l.settings.Group("workspace")
	k := l.parameter("travel")
	if k < 0 || !w.Has("up_to") {
		return
	}
	up, at, p := w.Float("up_to"), w.value("up_to", KindQuantity).place, &l.parameters[k]
	if up < p.Min || up > p.Max {
		l.refuse(at, fmt.Sprintf("up_to from %s to %s", FormatQuantity(p.Min, p.Unit), FormatQuantity(p.Max, p.Unit)),
			"up_to of %s is out of range", FormatQuantity(up, p.Unit))
		return
	}
	if from, _, known := l.values(k); known && up < from {
		l.refuse(at, "up_to of at least the travel, "+FormatQuantity(from, p.Unit),
			"up_to of %s is below the travel", FormatQuantity(up, p.Unit))
	}
}
