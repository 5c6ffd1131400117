// Package configs reads what a user writes: the design brief (YAML) and the
// assembly file (JSON). Text, units and positions end here; what it hands on are
// numbers: an [objective.Spec], a [search.Space] and a [Plan], or a
// [models.Topology] with its [models.Stage].
//
// # What happens to a brief
//
//	bytes -> node (yaml.go)          positions kept, anything but plain mappings,
//	                                 lists and scalars refused
//	node -> Brief (brief.go,         layout, material; fix and vary against the
//	  parameter.go, goal.go)         layout's parameters; goals and limits against
//	                                 the measure table
//	node -> Section (section.go)     everything else, by the table [Sections]
//	Brief -> Spec, Space, Plan       (spec.go) numbers only
//	Brief -> resolved brief          (resolved.go) every value, one spelling
//
// All problems of a file are found at once; each [Problem] has a position, the
// source line, and what would be accepted. A key, measure or value that this
// version does not know is refused, never ignored.
//
// # Quantities
//
// A quantity is a decimal number and a unit. It is converted on decimals, from
// the unit written to the unit in which it is used, and rounded once: 5 µm,
// 0.005 mm and 5e-6 m are the same double, and what is written in the unit of its
// column is stored bit for bit. Numbers that YAML readers disagree about (010,
// 1_000, 0x10) are refused. The table of units is in unit.go; a dimension that
// is new to [models] gets a row there.
//
// # How to add a section
//
// Add a row to [Sections] in sections.go: a [Field] of [KindGroup] whose Fields
// say name, unit, range, default and meaning of each key. Reading, messages,
// defaults, the resolved brief and the JSON Schema follow from the row; run
//
//	go generate ./configs
//
// to write the schema again. Values are then read in [Brief.Spec], the one place
// where a brief becomes numbers:
//
//	loop := b.Section("loop")
//	spec.Loop.Delay = loop.SI("delay")          // seconds
//	spec.Loop.Sensor = loop.Text("sensor")      // one of Choices
//	if loop.Given("notches") { ... }            // stands in the brief itself
//
// A default is spelled as in a brief ("150 µs", "off", "[]"), and must be
// accepted like one: a test reads them all. A field that exists only for some
// values of a choice of the same group names it in When and Is, as those of
// search do. A field with neither default nor Required may be absent: Has tells,
// and Float is NaN. What depends on several keys at once (contradictions) is
// checked in [Load], beside checkLimits.
package configs
