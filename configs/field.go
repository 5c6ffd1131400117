package configs

import (
	"fmt"
	"math"
	"strings"

	"flexwright/models"
)

// Kind is what a field of a brief holds.
type Kind uint8

const (
	KindQuantity   Kind = iota // a number with its unit, or one of Choices
	KindQuantities             // a list of them
	KindRange                  // one, or {from, to}
	KindInteger                // a whole number
	KindText                   // any text
	KindChoice                 // one of Choices
	KindSwitch                 // on, off or one of Choices
	KindGrid                   // rows x columns, or one number for both
	KindGroup                  // a mapping of Fields
	KindGroups                 // a list of such mappings
)

// Field describes one key of a brief. Reading, messages, defaults, the resolved
// brief and the JSON Schema all come from it.
type Field struct {
	Name    string
	Meaning string
	Kind    Kind

	// Unit of quantities: the one that Float returns. A plain number where it is
	// the zero value.
	Unit models.Unit
	// Written is the symbol in which the resolved brief writes it; that of Unit
	// where it is empty.
	Written string
	// Min and Max bound quantities (in Unit) and integers, both included; no
	// bounds when both are 0.
	Min, Max float64

	Choices []string // of KindChoice; the words that KindSwitch takes beside on and off, and KindQuantity too
	Fields  []Field  // of KindGroup and KindGroups

	// Default is what an absent key stands for, spelled as a brief spells it
	// ("150 µs", "[]"); empty: the key may be absent, without a value.
	Default  string
	Required bool // there is no default

	// When names a choice of the same group that comes before this field, and Is
	// its values for which this field exists; empty: always.
	When string
	Is   []string
}

// unit of the field's quantities.
func (f *Field) unit() models.Unit {
	if f.Unit.SI == 0 {
		return models.One
	}
	return f.Unit
}

// bounded reports whether Min and Max hold.
func (f *Field) bounded() bool { return f.Min != 0 || f.Max != 0 }

// accepted describes what the field takes.
func (f *Field) accepted() string {
	switch f.Kind {
	case KindQuantity:
		return strings.Join(append([]string{f.quantity()}, f.Choices...), ", ")
	case KindRange:
		return "{from, to} or one value, " + f.quantity()
	case KindQuantities:
		return "a list, each " + f.quantity()
	case KindInteger:
		return fmt.Sprintf("a whole number from %.0f to %.0f", f.Min, f.Max)
	case KindText:
		return "a text"
	case KindGrid:
		return fmt.Sprintf("rows x columns as in 4 x 3, or one number for both, each from %.0f to %.0f", f.Min, f.Max)
	case KindChoice:
		return strings.Join(f.Choices, ", ")
	case KindSwitch:
		return strings.Join(append([]string{"on", "off"}, f.Choices...), ", ")
	case KindGroups:
		return "a list of mappings with the keys " + strings.Join(fieldNames(f.Fields), ", ")
	}
	return "a mapping with the keys " + strings.Join(fieldNames(f.Fields), ", ")
}

func (f *Field) quantity() string {
	u := f.unit()
	if f.bounded() {
		return fmt.Sprintf("%s from %s to %s", writable[u.Dimension].noun, f.write(f.Min), f.write(f.Max))
	}
	return writable[u.Dimension].noun
}

// write a value of the field, in Unit, as a brief does.
func (f *Field) write(v float64) string {
	if f.Written != "" {
		return scale(v, f.unit(), f.Written)
	}
	return FormatQuantity(v, f.unit())
}

func fieldNames(fields []Field) []string {
	names := make([]string, len(fields))
	for i := range fields {
		names[i] = fields[i].Name
	}
	return names
}

// Section holds the values of a group of fields. Asking for a name that the
// group does not have, or for another kind than the field's, is a programmer
// error and panics.
type Section struct {
	fields []Field
	values []value // by number of the field
	place          // of its key; of its parent when it is absent
}

// value of one field.
type value struct {
	place
	given   bool // it stands in the brief
	there   bool // given, or by default
	numbers []float64
	text    string
	groups  []*Section
}

func (s *Section) value(name string, kinds ...Kind) *value {
	for i := range s.fields {
		if s.fields[i].Name == name {
			for _, k := range kinds {
				if s.fields[i].Kind == k {
					return &s.values[i]
				}
			}
			panic("configs: field " + name + " is of another kind")
		}
	}
	panic("configs: no field " + name)
}

// Has reports whether a field has a value, from the brief or by default.
func (s *Section) Has(name string) bool {
	for i := range s.fields {
		if s.fields[i].Name == name {
			return s.values[i].there
		}
	}
	panic("configs: no field " + name)
}

// Given reports whether the brief itself gives a field.
func (s *Section) Given(name string) bool {
	for i := range s.fields {
		if s.fields[i].Name == name {
			return s.values[i].given
		}
	}
	panic("configs: no field " + name)
}

// Float returns a quantity in the field's unit, NaN when it has no value.
func (s *Section) Float(name string) float64 {
	if v := s.value(name, KindQuantity); v.there {
		return v.numbers[0]
	}
	return math.NaN()
}

// SI returns a quantity in SI, NaN when it has no value.
func (s *Section) SI(name string) float64 {
	for i := range s.fields {
		if s.fields[i].Name == name {
			u := s.fields[i].unit()
			return u.ToSI(s.Float(name))
		}
	}
	panic("configs: no field " + name)
}

// Range returns from and to of a range in the field's unit, which are the same of one value, and NaN where it has none.
func (s *Section) Range(name string) (from, to float64) {
	if v := s.value(name, KindRange); v.there {
		return v.numbers[0], v.numbers[1]
	}
	return math.NaN(), math.NaN()
}

// Word returns the word that stands in a quantity's place, empty when there is none.
func (s *Section) Word(name string) string { return s.value(name, KindQuantity).text }

// Floats returns a list of quantities in the field's unit.
func (s *Section) Floats(name string) []float64 { return s.value(name, KindQuantities).numbers }

// Int returns a whole number, 0 when it has no value.
func (s *Section) Int(name string) int {
	if v := s.value(name, KindInteger); v.there {
		return int(v.numbers[0])
	}
	return 0
}

// Grid returns the rows and columns of a grid.
func (s *Section) Grid(name string) (rows, columns int) {
	if v := s.value(name, KindGrid); v.there {
		return int(v.numbers[0]), int(v.numbers[1])
	}
	return 0, 0
}

// Text returns a text or a choice, empty when it has no value.
func (s *Section) Text(name string) string { return s.value(name, KindText, KindChoice).text }

// On returns a switch, off when it has no value.
func (s *Section) On(name string) bool { return s.value(name, KindSwitch).text == "on" }

// Switch of a field: on, off or one of its choices.
func (s *Section) Switch(name string) string { return s.value(name, KindSwitch).text }

// Group returns a group; an absent one holds its defaults.
func (s *Section) Group(name string) *Section { return s.value(name, KindGroup).groups[0] }

// Groups returns a list of groups.
func (s *Section) Groups(name string) []*Section { return s.value(name, KindGroups).groups }
