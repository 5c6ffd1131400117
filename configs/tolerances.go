package configs

import (
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
)

// tolerancesSection is what a brief says of parts as they are made.
var tolerancesSection = func() Field {
	section := Field{Name: "tolerances", Kind: KindGroup,
		Meaning: "standard deviations of the errors of making, for conforming_parts and the measures of parts, M_tail; with this section, what it does not name is 0; without it, the defaults hold"}
	for i := range objective.Tolerances {
		t := &objective.Tolerances[i]
		f := Field{Name: t.Name, Kind: KindQuantity, Unit: t.Unit, Min: 0, Max: t.Most, Meaning: t.Meaning}
		if t.Unit.Dimension == models.Number {
			f.Written = "%"
		}
		f.Default = f.write(t.Default)
		section.Fields = append(section.Fields, f)
	}
	section.Fields = append(section.Fields,
		Field{Name: "share", Kind: KindQuantity, Written: "%", Min: 0.5, Max: 0.9999, Default: "95 %",
			Meaning: "of the parts that a tail is no worse than"},
		Field{Name: "samples", Kind: KindInteger, Min: 2, Max: 100000, Default: "100",
			Meaning: "parts per design; at least one has to lie beyond the share"},
		Field{Name: "seed", Kind: KindInteger, Min: 0, Max: 1<<53 - 1, Default: "1",
			Meaning: "of the parts' errors, which are the same for all designs"})
	return section
}()

// settleTolerances makes what a given section does not name 0.
func (l *load) settleTolerances() {
	if !l.settings.Given(tolerancesSection.Name) {
		return
	}
	s := l.Section(tolerancesSection.Name)
	for i := range objective.Tolerances {
		if v := s.value(objective.Tolerances[i].Name, KindQuantity); !v.given {
			v.numbers = []float64{0}
		}
	}
}

// HasTolerances reports whether the brief has a section tolerances of its own.
func (b *Brief) HasTolerances() bool { return b.settings.Given(tolerancesSection.Name) }

// tolerances returns parts as the brief has them made.
func (b *Brief) tolerances() *objective.ToleranceSpec {
	s := b.Section(tolerancesSection.Name)
	t := &objective.ToleranceSpec{Share: s.SI("share"), Samples: s.Int("samples"), Seed: uint64(s.Int("seed")), Always: b.Plan().Method != "evolve"}
	for i := range objective.Tolerances {
		t.Sigma[i] = s.SI(objective.Tolerances[i].Name)
	}
	return t
}

// checkTolerances refuses what so many parts cannot tell.
func (l *load) checkTolerances() {
	s := l.Section(tolerancesSection.Name)
	if !s.Has("share") || !s.Has("samples") {
		return // refused
	}
	t := objective.ToleranceSpec{Share: s.SI("share"), Samples: s.Int("samples")}
	if t.Answerable() {
		return
	}
	at := s.value("samples", KindInteger)
	if !at.given {
		at = s.value("share", KindQuantity)
	}
	enough := t
	for !enough.Answerable() {
		enough.Samples++
	}
	l.refuse(at.place, fmt.Sprintf("at least %d samples", enough.Samples), "%d samples cannot tell what %s of the parts are no worse than from the worst of them",
		t.Samples, scale(t.Share, models.One, "%"))
}

// tailLimits are the limits that a limit of the brief stands for: on a tail, a bound
// against the sense of its measure is on the other tail.
func tailLimits(limit objective.Limit) []objective.Limit {
	m := objective.Measure(limit.Ref.Index)
	if limit.Ref.Parameter || m.Plain() == m {
		return []objective.Limit{limit}
	}
	tail, other := limit, limit
	other.Ref.Index = int(m.Plain().OtherTail())
	if objective.Table[m].Sense == objective.Most {
		tail.AtMost, other.AtLeast = math.Inf(1), math.Inf(-1)
	} else {
		tail.AtLeast, other.AtMost = math.Inf(-1), math.Inf(1)
	}
	return slices.DeleteFunc([]objective.Limit{tail, other}, func(l objective.Limit) bool {
		return math.IsInf(l.AtLeast, -1) && math.IsInf(l.AtMost, 1)
	})
}

// mergeTails is the inverse of tailLimits: limits as a brief writes them.
func mergeTails(limits []objective.Limit) []objective.Limit {
	var list []objective.Limit
	for _, l := range limits {
		m := objective.Measure(l.Ref.Index)
		if l.Ref.Parameter || !m.IsOtherTail() {
			list = append(list, l)
			continue
		}
		ref := objective.Ref{Index: int(m.Plain().Tail())}
		if k := slices.IndexFunc(list, func(l objective.Limit) bool { return l.Ref == ref }); k >= 0 {
			list[k].AtLeast, list[k].AtMost = max(list[k].AtLeast, l.AtLeast), min(list[k].AtMost, l.AtMost)
			continue
		}
		l.Ref = ref
		list = append(list, l)
	}
	return list
}
