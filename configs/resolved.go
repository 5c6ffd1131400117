package configs

import (
	"bytes"
	"fmt"
	"math"
	"regexp"
	"strconv"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// Resolved returns the brief with every value written out, defaults and material
// properties included, in one order and one spelling. Comments, the order of
// keys and the spelling of units in the original do not change it; the order of
// goals and of choices does, because it means something. It is a brief itself,
// with the same Spec bit for bit.
func (b *Brief) Resolved() []byte {
	w := &writer{}
	sections := func(names ...string) {
		for _, name := range names {
			for i := range Sections {
				if Sections[i].Name == name {
					w.field(0, &Sections[i], b.settings, i)
				}
			}
		}
	}
	sections("title")
	layouts, digests := b.layoutReferences()
	w.line(0, "layout: %s%s", oneOf(layouts), digests)
	w.line(0, "material: %s", oneOf(b.materialNames()))
	w.line(0, "materials:")
	for i := range b.materials {
		w.material(&b.materials[i].Material)
	}
	b.writeFix(w)
	b.writeVary(w)
	sections("workspace")
	w.line(0, "goals:")
	for _, g := range b.goals {
		w.line(1, "%s: %s", b.name(g.Ref), g.Sense)
	}
	if limits := b.allLimits(); len(limits) > 0 {
		w.line(0, "limits:")
		for _, l := range mergeTails(limits) {
			b.writeLimit(w, l)
		}
	}
	if len(b.also) > 0 {
		w.line(0, "also: [%s]", strings.Join(b.alsoNames(), ", "))
	}
	for i := range Sections {
		if name := Sections[i].Name; name != "title" && name != "workspace" && name != "search" {
			sections(name)
		}
	}
	sections("search")
	b.writeStart(w)
	for _, note := range b.notes() {
		w.line(0, "# %s", note)
	}
	return w.Bytes()
}

// writer makes canonical YAML.
type writer struct{ bytes.Buffer }

func (w *writer) line(level int, format string, args ...any) {
	w.WriteString(strings.Repeat("  ", level))
	fmt.Fprintf(w, format, args...)
	w.WriteByte('\n')
}

func (b *Brief) materialNames() []string {
	names := make([]string, len(b.materials))
	for i := range b.materials {
		names[i] = b.materials[i].Name
	}
	return names
}

// oneOf writes a name, or a choice of several.
func oneOf(names []string) string {
	quoted := make([]string, len(names))
	for i, name := range names {
		quoted[i] = scalar(name)
	}
	if len(quoted) == 1 {
		return quoted[0]
	}
	return "{one_of: [" + strings.Join(quoted, ", ") + "]}"
}

func (w *writer) material(m *models.Material) {
	w.line(1, "%s:", scalar(m.Name))
	for _, p := range properties {
		if v := *p.at(m); !math.IsNaN(v) {
			w.line(2, "%s: %s", p.Name, p.write(v))
		}
	}
	w.line(2, "source: %s", scalar(m.Source))
}

// writeFix writes every parameter that is not varied; those that the layout's
// own rule decides as comments.
func (b *Brief) writeFix(w *writer) {
	var fixed writer
	for i, p := range b.parameters {
		value, isDefault := p.Default, true
		if b.fixed[i] != nil {
			value = b.fixed[i].Value
			isDefault = value == p.Default
		}
		switch {
		case b.varied[i] != nil || p.Name == "travel" || !b.has(p.Name):
		case math.IsNaN(value):
			fixed.line(1, "# %s: %s", p.Name, p.DefaultText)
		case isDefault:
			fixed.line(1, "%s: %s  # default", p.Name, FormatQuantity(value, p.Unit))
		default:
			fixed.line(1, "%s: %s", p.Name, FormatQuantity(value, p.Unit))
		}
	}
	if fixed.Len() > 0 {
		w.line(0, "fix:")
		w.Write(fixed.Bytes())
	}
}

func (b *Brief) writeVary(w *writer) {
	first := true
	for i, v := range b.varied {
		if v == nil {
			continue
		}
		if first {
			w.line(0, "vary:")
			first = false
		}
		u := b.parameters[i].Unit
		text := ""
		switch {
		case v.choices != nil:
			text = "one_of: " + list(v.choices, func(c float64) string { return FormatQuantity(c, u) })
		case v.step > 0:
			text = fmt.Sprintf("from: %s, to: %s, step: %s", FormatQuantity(v.from, u), FormatQuantity(v.to, u), FormatQuantity(v.step, u))
		case v.log:
			text = fmt.Sprintf("from: %s, to: %s, scale: log", FormatQuantity(v.from, u), FormatQuantity(v.to, u))
		default:
			text = fmt.Sprintf("from: %s, to: %s", FormatQuantity(v.from, u), FormatQuantity(v.to, u))
		}
		w.line(1, "%s: {%s}", b.parameters[i].Name, text)
	}
}

func (b *Brief) writeLimit(w *writer, l objective.Limit) {
	u := b.unit(l.Ref)
	least, most := !math.IsInf(l.AtLeast, -1), !math.IsInf(l.AtMost, 1)
	text := ""
	switch {
	case least && most:
		text = fmt.Sprintf("between: [%s, %s]", FormatQuantity(l.AtLeast, u), FormatQuantity(l.AtMost, u))
	case least:
		text = "at_least: " + FormatQuantity(l.AtLeast, u)
	default:
		text = "at_most: " + FormatQuantity(l.AtMost, u)
	}
	if l.Layouts != nil {
		text += ", layouts: [" + strings.Join(l.Layouts, ", ") + "]"
	}
	switch {
	case l.Default && l.Layouts != nil: // beside the brief's own, which is written for the others
		w.line(1, "# %s: {%s}  common practice", b.name(l.Ref), text)
	case l.Default:
		w.line(1, "%s: {%s}  # common practice", b.name(l.Ref), text)
	default:
		w.line(1, "%s: {%s}", b.name(l.Ref), text)
	}
}

// field writes one field of a section that has a value; a group with none is
// left out.
func (w *writer) field(level int, f *Field, s *Section, i int) {
	v := &s.values[i]
	if !v.there {
		return
	}
	switch f.Kind {
	case KindGroup:
		var inner writer
		inner.section(level+1, v.groups[0])
		if inner.Len() > 0 {
			w.line(level, "%s:", f.Name)
			w.Write(inner.Bytes())
		}
	case KindGroups:
		if len(v.groups) == 0 {
			w.line(level, "%s: []", f.Name)
			return
		}
		w.line(level, "%s:", f.Name)
		for _, group := range v.groups {
			var inner writer
			inner.section(level+2, group)
			text := inner.String()
			if text == "" {
				text = strings.Repeat("  ", level+2) + "{}\n"
			}
			indent := 2 * (level + 1)
			w.WriteString(text[:indent] + "- " + text[indent+2:])
		}
	default:
		text := f.text(v)
		note := ""
		if f.Default != "" {
			var plain value
			f.readDefault(&plain)
			if f.text(&plain) == text {
				note = "  # default"
			}
		}
		w.line(level, "%s: %s%s", f.Name, text, note)
	}
}

func (w *writer) section(level int, s *Section) {
	for i := range s.fields {
		w.field(level, &s.fields[i], s, i)
	}
}

// text writes a value of a single field.
func (f *Field) text(v *value) string {
	switch f.Kind {
	case KindQuantity:
		if v.text != "" {
			return v.text
		}
		return f.write(v.numbers[0])
	case KindRange:
		if v.numbers[0] == v.numbers[1] {
			return f.write(v.numbers[0])
		}
		return "{from: " + f.write(v.numbers[0]) + ", to: " + f.write(v.numbers[1]) + "}"
	case KindQuantities:
		return list(v.numbers, f.write)
	case KindInteger:
		return strconv.FormatInt(int64(v.numbers[0]), 10)
	case KindGrid:
		return strconv.Itoa(int(v.numbers[0])) + " x " + strconv.Itoa(int(v.numbers[1]))
	case KindText:
		return scalar(v.text)
	}
	return v.text
}

func list(values []float64, write func(float64) string) string {
	texts := make([]string, len(values))
	for i, v := range values {
		texts[i] = write(v)
	}
	return "[" + strings.Join(texts, ", ") + "]"
}

var (
	plainText = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9 _./()-]*[A-Za-z0-9)]$`)
	reserved  = regexp.MustCompile(`(?i)^(null|true|false|yes|no|on|off|y|n)$`)
)

// scalar writes a text so that YAML reads it back as this text.
func scalar(text string) string {
	if plainText.MatchString(text) && !reserved.MatchString(text) {
		return text
	}
	return quote(text)
}
