package configs

import (
	"math"
	"slices"
	"strings"

	"flexwright/objective"
)

// mostStart is how many designs a search may start from.
const mostStart = 200

func isInf(v float64) bool { return math.IsInf(v, 0) }

// readStart reads the designs that a search starts from: a list of mappings with a
// value for everything that varies. What a design's layout lacks is left out, and NaN.
func (l *load) readStart(root *node) {
	n := root.get("start")
	if n == nil || n.kind == kindNull || l.assumed {
		return
	}
	var names []string
	variables := l.variables()
	for _, v := range variables {
		names = append(names, l.variableName(v))
	}
	accepted := "a list of designs, each with " + strings.Join(names, ", ")
	switch {
	case n.kind != kindSequence:
		l.refuse(n.place, accepted, "start is %s, not a list", kindNames[n.kind])
		return
	case len(n.items) > mostStart:
		l.refuse(n.place, accepted, "start has %d designs, more than %d", len(n.items), mostStart)
		return
	case len(n.items) > 0 && l.settings.Group("search").Text("method") != "evolve":
		l.refuse(n.place, "search: {method: evolve, …}", "only an evolution starts from designs")
		return
	}
	for i := range n.items {
		item := &n.items[i]
		if item.kind != kindMapping {
			l.refuse(item.place, accepted, "start holds %s, not a design", kindNames[item.kind])
			continue
		}
		l.keys(item, "a design to start from has no key", names, nil)
		x := make([]float64, len(variables))
		whole := true
		for k, v := range variables {
			value, ok := item.get(names[k]), false
			switch has := l.startHas(item, v); {
			case value != nil && has:
				x[k], ok = l.startValue(value, v)
			case value != nil:
				l.refuse(value.place, "what that layout has", "a design of %s has no %s", show(item.get("layout").text), names[k])
			case has:
				l.refuse(item.place, accepted, "a design to start from lacks %s", names[k])
			default:
				x[k], ok = math.NaN(), true
			}
			whole = whole && ok
		}
		if whole {
			l.start = append(l.start, x)
		}
	}
}

// startHas reports whether the layout of a design to start from has a variable.
func (l *load) startHas(item *node, v objective.Variable) bool {
	layout := item.get("layout")
	if v.Target != objective.TargetParameter || layout == nil {
		return true
	}
	of, k := l.having(v.Index), slices.Index(l.layoutNames(), layout.text)
	return of == nil || k < 0 || slices.Contains(of, k)
}

// variableName is what a brief calls a variable.
func (b *Brief) variableName(v objective.Variable) string {
	switch v.Target {
	case objective.TargetLayout:
		return "layout"
	case objective.TargetMaterial:
		return "material"
	}
	return b.parameters[v.Index].Name
}

// startValue reads one value as that of the design vector.
func (l *load) startValue(n *node, v objective.Variable) (float64, bool) {
	choice := func(names []string) (float64, bool) {
		k := slices.Index(names, n.text)
		if k < 0 && len(names) > 0 { // none: that there is none is a problem by itself
			l.refuse(n.place, strings.Join(names, ", "), "%s is none of the %ss that vary", show(n.text), l.variableName(v))
		}
		return float64(k), k >= 0
	}
	switch v.Target {
	case objective.TargetLayout:
		return choice(l.layoutNames())
	case objective.TargetMaterial:
		return choice(l.materialNames())
	}
	p, varied := &l.parameters[v.Index], l.varied[v.Index]
	q, ok := l.readQuantity(n, p.Name, p.Unit)
	if !ok {
		return 0, false
	}
	if varied.choices != nil {
		k := slices.Index(varied.choices, q.Value)
		if k < 0 {
			l.refuse(n.place, "one of "+list(varied.choices, func(c float64) string { return FormatQuantity(c, p.Unit) }), "%s of %s is none of its choices", p.Name, show(n.text))
		}
		return float64(k), k >= 0
	}
	if q.Value < varied.from || q.Value > varied.to {
		l.refuse(n.place, FormatQuantity(varied.from, p.Unit)+" to "+FormatQuantity(varied.to, p.Unit), "%s of %s is out of its range", p.Name, show(n.text))
		return 0, false
	}
	return q.Value, true
}

// writeStart writes the designs to start from.
func (b *Brief) writeStart(w *writer) {
	if len(b.start) == 0 {
		return
	}
	w.line(0, "start:")
	variables := b.variables()
	for _, x := range b.start {
		var parts []string
		for k, v := range variables {
			if math.IsNaN(x[k]) { // the layout lacks it
				continue
			}
			var text string
			switch {
			case v.Target == objective.TargetLayout:
				text = scalar(b.layoutNames()[int(x[k])])
			case v.Target == objective.TargetMaterial:
				text = scalar(b.materialNames()[int(x[k])])
			case v.Choices != nil:
				text = FormatQuantity(v.Choices[int(x[k])], b.parameters[v.Index].Unit)
			default:
				text = FormatQuantity(x[k], b.parameters[v.Index].Unit)
			}
			parts = append(parts, b.variableName(v)+": "+text)
		}
		w.line(1, "- {%s}", strings.Join(parts, ", "))
	}
}
