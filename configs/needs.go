package configs

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// lack is something that a measure needs and a brief may not provide.
type lack struct {
	needs    objective.Needs
	missing  func(b *Brief, d *objective.DriveSpec) bool
	text     string // what the measure needs
	accepted string
}

// materialLacks returns a test for a property that none of the chosen materials has.
func materialLacks(all bool, property func(m *models.Material) float64) func(*Brief, *objective.DriveSpec) bool {
	return func(b *Brief, _ *objective.DriveSpec) bool {
		n := 0
		for i := range b.materials {
			if math.IsNaN(property(&b.materials[i].Material)) {
				n++
			}
		}
		return n == len(b.materials) || !all && n > 0
	}
}

func fatigueData(m *models.Material) float64 { return m.Fatigue + m.Ultimate }
func fatigueLife(m *models.Material) float64 { return m.FatigueCycle }
func expansion(m *models.Material) float64   { return m.Expansion }

// driven returns a test for a layout without so many driven axes.
func driven(axes int) func(*Brief, *objective.DriveSpec) bool {
	return func(b *Brief, _ *objective.DriveSpec) bool {
		return slices.ContainsFunc(b.layouts, func(l models.Layout) bool { return len(l.Topology().Actuators) != axes })
	}
}

var lacks = []lack{
	{objective.NeedsTwoAxes, driven(2), "a stage that is driven along two axes", "a layout with two actuators; or another measure"},
	{objective.NeedsOneAxis, driven(1), "a stage that is driven along one axis", "a layout with one actuator; or another measure"},
	{objective.NeedsActuator, func(_ *Brief, d *objective.DriveSpec) bool { return d.Actuator == nil },
		"an actuator", "actuator: {class: …} beside it"},
	{objective.NeedsFatigue, materialLacks(true, fatigueData),
		"fatigue_strength and ultimate_strength of the material", "a material that has them; flexwright materials lists them"},
	{objective.NeedsFatigueLife, materialLacks(true, fatigueLife),
		"fatigue_cycles of the material", "a material that has them; flexwright materials lists them"},
	{objective.NeedsExpansion, materialLacks(true, expansion),
		"the expansion of the material", "a material that has it; flexwright materials lists them"},
	{objective.NeedsCycles, func(_ *Brief, d *objective.DriveSpec) bool { return d.Motion != nil && d.Motion.Period == 0 },
		"a motion that moves; hold makes no cycles", "motion: {kind: circle, raster or steps}"},
}

// checkNeeds refuses a measure that no design of the brief can have a value of.
// only are the layouts that it is asked of, nil for all.
func (l *load) checkNeeds(ref objective.Ref, at place, d *objective.DriveSpec, only []string) {
	b := l.Brief
	if only != nil {
		b.layouts = slices.DeleteFunc(slices.Clone(b.layouts), func(layout models.Layout) bool { return !slices.Contains(only, layout.Name()) })
	}
	if ref.Parameter {
		l.checkCommon(ref, at, b.layouts)
		return
	}
	needs := objective.Table[ref.Index].Needs
	for _, k := range lacks {
		if needs&k.needs != 0 && k.missing(&b, d) {
			l.refuse(at, k.accepted, "%s needs %s", l.name(ref), k.text)
		}
	}
}

// checkActuator warns of what is easily counted twice or taken for its half.
func (l *load) checkActuator(d *objective.DriveSpec) {
	s := l.Section("actuator")
	if d.Actuator == nil {
		return
	}
	if s.Given("stroke") {
		at := s.value("stroke", KindQuantity).place
		l.warn(at, "stroke is total, from end to end: ± %s", FormatQuantity(models.Millimetre.FromSI(d.Actuator.Stroke)/2, models.Millimetre))
	}
	k := l.parameter("arm_added_mass")
	if k < 0 || d.Actuator.MovingMass == 0 || l.fixed[k] == nil && l.varied[k] == nil {
		return
	}
	l.warn(s.place, "the actuator's moving part, %s, is added to each driven body beside arm_added_mass: it must not contain the coil or magnet again",
		FormatQuantity(d.Actuator.MovingMass, models.Kilogram))
}

// defaultLimits are those of common practice that this brief calls for, with a note
// on each that lacks its data.
func (b *Brief) defaultLimits() (list []objective.Limit, notes []string) {
	list = append(list, objective.DefaultLimits...)
	if b.named(objective.Crossover) || b.named(objective.Bandwidth) || b.named(objective.ClosedLoopFrequency) {
		list = append(list, objective.LoopLimits...)
	}
	d, err := b.drive()
	if err != nil || d.Actuator == nil {
		return list, nil
	}
	for _, l := range d.Limits() {
		suits := func(layout models.Layout) bool { return objective.Measure(l.Ref.Index).Suits(layout.Topology()) }
		if !slices.ContainsFunc(b.layouts, func(layout models.Layout) bool { return !suits(layout) }) {
			list = append(list, l)
		}
	}
	if !b.HasMotion() {
		return list, nil
	}
	if materialLacks(false, fatigueData)(b, d) {
		notes = append(notes, "fatigue_margin: no default limit, a material lacks fatigue_strength or ultimate_strength")
		return list, notes
	}
	return append(list, objective.FatigueLimit), notes
}

// notes tell what a resolved brief adds without a key of its own.
func (b *Brief) notes() []string {
	_, notes := b.defaultLimits()
	if d, err := b.drive(); err == nil && d.Actuator != nil {
		if m := d.Actuator.MovingMass; m > 0 {
			beside := ""
			if b.parameter("arm_added_mass") >= 0 {
				beside = ", beside arm_added_mass"
			}
			notes = append(notes, fmt.Sprintf("actuator: its moving part, %s, is part of each driven body%s", FormatQuantity(m, models.Kilogram), beside))
		}
		half := models.Millimetre.FromSI(d.Actuator.Stroke) / 2
		notes = append(notes, fmt.Sprintf("actuator: stroke %s is total, ± %s", FormatQuantity(2*half, models.Millimetre), FormatQuantity(half, models.Millimetre)))
	}
	return notes
}

// Warnings tell of what a brief may mean otherwise than it was read, in the order of
// the file.
func (b *Brief) Warnings() []string { return b.warnings }

// warn notes something that is accepted and may surprise.
func (l *load) warn(at place, format string, args ...any) {
	l.warnings = append(l.warnings, fmt.Sprintf("%s:%d:%d: %s", l.file, at.line, at.column, strings.TrimSpace(fmt.Sprintf(format, args...))))
}
