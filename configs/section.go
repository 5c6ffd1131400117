package configs

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// readSection reads a mapping by a table of fields. n may be nil (an absent
// section: its defaults); parent is where its key stands, or would stand.
func (r *reader) readSection(n *node, parent place, what string, fields []Field) *Section {
	s := &Section{fields: fields, values: make([]value, len(fields)), place: parent}
	if n == nil {
		n = &node{place: parent}
	}
	if !r.mapping(n, what, "a mapping with the keys "+strings.Join(fieldNames(fields), ", ")) {
		n = &node{place: n.place}
	}
	// Which fields exist may hang on a choice that comes before them.
	var names, others []string
	for i := range fields {
		f := &fields[i]
		v := &s.values[i]
		if !s.exists(f) {
			others = append(others, f.Name)
			continue
		}
		names = append(names, f.Name)
		var given *node
		key := parent
		if p := n.find(f.Name); p != nil {
			given, key = &p.value, p.key.place
		}
		switch {
		case given != nil && (given.kind != kindNull || f.Kind == KindGroup):
			v.place, v.given = given.place, true
			v.there = r.readField(given, key, f, v)
		case given != nil:
			r.refuse(given.place, f.accepted(), "%s has no value", f.Name)
		case f.Kind == KindGroup:
			v.place, v.there = n.place, true
			v.groups = []*Section{r.readSection(nil, parent, f.Name, f.Fields)}
		case f.Required && (s.unsettled(f) || n.meant(f.Name, fieldNames(fields))):
		case f.Required:
			r.refuse(parent, f.Name+": "+f.accepted(), "%s lacks %s", what, f.Name)
		case f.Default != "":
			v.place, v.there = n.place, true
			f.readDefault(v)
		}
	}
	r.keys(n, what+" has no key", names, func(name string) string {
		for i := range fields {
			if fields[i].Name == name && contains(others, name) {
				return fmt.Sprintf(" with %s: %s (it belongs to %s)", fields[i].When, s.Text(fields[i].When), strings.Join(fields[i].Is, ", "))
			}
		}
		return ""
	})
	return s
}

// exists reports whether a field exists, given the choices before it. Where the
// choice itself was refused, nothing is held against the fields.
func (s *Section) exists(f *Field) bool {
	return f.When == "" || slices.Contains(f.Is, s.Text(f.When)) || s.unsettled(f)
}

// unsettled reports whether the choice that a field hangs on was refused.
func (s *Section) unsettled(f *Field) bool { return f.When != "" && !s.Has(f.When) }

// readDefault fills v from the field's own default.
func (f *Field) readDefault(v *value) {
	r := newReader("default", []byte(f.Default))
	n := r.parseYAML([]byte(f.Default))
	if n == nil || !r.readField(n, n.place, f, v) || len(r.problems) > 0 {
		panic("configs: the default of " + f.Name + " is not accepted: " + r.problems.Error())
	}
}

// readField reads one value; it reports false when that was refused.
func (r *reader) readField(n *node, key place, f *Field, v *value) bool {
	switch f.Kind {
	case KindGroup:
		v.groups = []*Section{r.readSection(n, key, f.Name, f.Fields)}
		return true
	case KindGroups, KindQuantities:
		if n.kind != kindSequence {
			r.refuse(n.place, f.accepted(), "%s is %s, not a list", f.Name, kindNames[n.kind])
			return false
		}
		before := len(r.problems)
		for i := range n.items {
			item := &n.items[i]
			if f.Kind == KindGroups {
				v.groups = append(v.groups, r.readSection(item, item.place, f.Name, f.Fields))
			} else if q, ok := r.readBounded(item, f); ok {
				v.numbers = append(v.numbers, q)
			}
		}
		return len(r.problems) == before
	}
	if f.Kind == KindRange {
		return r.readRange(n, key, f, v)
	}
	if n.kind != kindText {
		r.refuse(n.place, f.accepted(), "%s is %s", f.Name, kindNames[n.kind])
		return false
	}
	switch f.Kind {
	case KindQuantity:
		if contains(f.Choices, n.text) {
			v.text, v.numbers = n.text, []float64{math.NaN()}
			return true
		}
		q, ok := r.readBounded(n, f)
		v.numbers = []float64{q}
		return ok
	case KindInteger:
		whole, ok := r.readInteger(n, f)
		v.numbers = []float64{whole}
		return ok
	case KindGrid:
		rows, columns, both := strings.Cut(strings.ReplaceAll(n.text, "×", "x"), "x")
		if !both {
			columns = rows
		}
		for _, text := range []string{rows, columns} {
			count, err := strconv.ParseUint(strings.TrimSpace(text), 10, 16)
			if err != nil || float64(count) < f.Min || float64(count) > f.Max {
				r.refuse(n.place, f.accepted(), "%s: %s is no grid", f.Name, show(n.text))
				return false
			}
			v.numbers = append(v.numbers, float64(count))
		}
		return true
	case KindText:
		v.text = strings.TrimSpace(n.text)
		return true
	case KindSwitch:
		// YAML 1.1 and 1.2 disagree on which of these are booleans.
		switch strings.ToLower(n.text) {
		case "on", "true", "yes":
			v.text = "on"
			return true
		case "off", "false", "no":
			v.text = "off"
			return true
		}
		if contains(f.Choices, n.text) {
			v.text = n.text
			return true
		}
		r.refuse(n.place, f.accepted(), "%s is neither on nor off", show(n.text))
		return false
	}
	if !contains(f.Choices, n.text) {
		r.refuse(n.place, f.accepted(), "there is no %s %s%s", f.Name, show(n.text), DidYouMean(n.text, f.Choices))
		return false
	}
	v.text = n.text
	return true
}

// readRange reads one value, or a mapping of two.
func (r *reader) readRange(n *node, key place, f *Field, v *value) bool {
	if n.kind != kindMapping {
		if n.kind != kindText {
			r.refuse(n.place, f.accepted(), "%s is %s", f.Name, kindNames[n.kind])
			return false
		}
		q, ok := r.readBounded(n, f)
		v.numbers = []float64{q, q}
		return ok
	}
	end := Field{Name: "from", Kind: KindQuantity, Unit: f.Unit, Written: f.Written, Min: f.Min, Max: f.Max, Required: true}
	other := end
	other.Name = "to"
	before := len(r.problems)
	s := r.readSection(n, key, f.Name, []Field{end, other})
	if len(r.problems) > before {
		return false
	}
	v.numbers = []float64{s.Float("from"), s.Float("to")}
	if v.numbers[0] > v.numbers[1] {
		r.refuse(n.place, "from below to", "the range of %s is empty", f.Name)
		return false
	}
	return true
}

// readBounded reads a quantity within the bounds of its field.
func (r *reader) readBounded(n *node, f *Field) (float64, bool) {
	q, ok := r.readQuantity(n, f.Name, f.unit())
	if ok && f.bounded() && (q.Value < f.Min || q.Value > f.Max) {
		r.refuse(n.place, f.quantity(), "%s of %s is out of range", f.Name, show(n.text))
		return 0, false
	}
	return q.Value, ok
}

// readInteger reads a whole number within the bounds of its field. A double
// holds them all.
func (r *reader) readInteger(n *node, f *Field) (float64, bool) {
	whole, err := strconv.ParseInt(n.text, 10, 64)
	if err != nil || len(n.text) > 1 && strings.HasPrefix(strings.TrimLeft(n.text, "+-"), "0") {
		r.refuse(n.place, f.accepted()+", in plain digits", "%s: %s is no plain whole number", f.Name, show(n.text))
		return 0, false
	}
	if v := float64(whole); v >= f.Min && v <= f.Max && math.Abs(v) < 1<<53 {
		return v, true
	}
	r.refuse(n.place, f.accepted(), "%s of %s is out of range", f.Name, show(n.text))
	return 0, false
}
