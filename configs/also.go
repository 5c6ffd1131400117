package configs

import (
	"slices"

	"flexwright/objective"
)

// readAlso reads the measures that are stored beside those of goals and limits.
func (l *load) readAlso(root *node) {
	const accepted = "a list of measures: [peak_force, position_noise]"
	n := root.get("also")
	if n == nil || n.kind == kindNull {
		return
	}
	if n.kind != kindSequence {
		l.refuse(n.place, accepted, "also is %s, not a list", kindNames[n.kind])
		return
	}
	var names []string
	for i := range objective.Table {
		if !objective.Measure(i).IsOtherTail() {
			names = append(names, objective.Table[i].Name)
		}
	}
	for i := range n.items {
		item := &n.items[i]
		if item.kind != kindText {
			l.refuse(item.place, accepted, "also holds %s, not a name", kindNames[item.kind])
			continue
		}
		m, ok := objective.ByName(item.text)
		switch {
		case !ok || m.IsOtherTail():
			hint := DidYouMean(item.text, names)
			if l.parameter(item.text) >= 0 {
				hint = ": it is a parameter, which every row has"
			}
			l.refuse(item.place, "a name that `flexwright measures` lists", "there is no measure %s%s", show(item.text), hint)
		case slices.Contains(l.also, m):
			l.refuse(item.place, "each name once", "%s stands twice", item.text)
		default:
			l.also = append(l.also, m)
			l.alsoPlaces = append(l.alsoPlaces, item.place)
		}
	}
}

// settleScreen writes out whether designs are screened: in a search, so that cheap
// limits spare time, and not in a sweep, whose sensitivities it would censor.
func (b *Brief) settleScreen() {
	s := b.settings.Group("search")
	v := s.value("screen", KindSwitch)
	if v.there {
		return
	}
	v.there, v.text = true, "off"
	if s.Text("method") == "evolve" {
		v.text = "on"
	}
}

// alsoNames in the order of the table: what is stored has no other.
func (b *Brief) alsoNames() []string {
	list := slices.Sorted(slices.Values(b.also))
	names := make([]string, len(list))
	for i, m := range list {
		names[i] = objective.Table[m].Name
	}
	return names
}

// Limited returns the resolved text of the brief with limits in the place of its own
// on the same numbers, of which the other side stands, or beside them, and with
// designs to start from, one value for each variable of [Brief.Space] (nil: its own).
// What does not fit is a problem of that text.
func (b *Brief) Limited(limits []objective.Limit, start [][]float64) []byte {
	c := *b
	c.limits = slices.Clone(b.limits)
	for _, l := range limits {
		at := slices.IndexFunc(c.limits, func(own objective.Limit) bool { return own.Ref == l.Ref })
		if at < 0 {
			at = len(c.limits)
			c.limits = append(c.limits, objective.Limit{Ref: l.Ref, AtLeast: l.AtLeast, AtMost: l.AtMost})
			if k := slices.IndexFunc(b.allLimits(), func(own objective.Limit) bool { return own.Ref == l.Ref }); k >= 0 {
				c.limits[at] = b.allLimits()[k] // a default one
				c.limits[at].Default, c.limits[at].Layouts = false, nil
			}
		}
		own := &c.limits[at]
		if !l.Ref.Parameter {
			own.Layouts = nil // one that is asked for holds for all
		}
		if !isInf(l.AtMost) {
			own.AtMost = l.AtMost
		}
		if !isInf(l.AtLeast) {
			own.AtLeast = l.AtLeast
		}
	}
	if start != nil {
		c.start = start
	}
	return c.Resolved()
}
