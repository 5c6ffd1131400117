package configs

import (
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// Pinned returns the resolved text of the brief of one design: of its layouts and
// materials those of these numbers, and every parameter fixed at its value in its unit,
// NaN where the layout's rule decides. It measures what the brief measures and has its
// limits, but for those that no dimensions of the design can meet, which stand as notes: check
// would refuse them. Goals on parameters are left out, which one design has no choice in;
// where nothing else is left, it is the first frequency.
func (b *Brief) Pinned(layout, material int, values []float64) []byte {
	c := *b
	c.layouts, c.materials = b.layouts[layout:layout+1], b.materials[material:material+1]
	c.fixed, c.varied, c.start = make([]*Quantity, len(values)), make([]*variation, len(values)), nil
	for i, v := range values {
		if !math.IsNaN(v) {
			c.fixed[i] = &Quantity{Value: v}
		}
	}
	c.goals = slices.DeleteFunc(slices.Clone(b.goals), func(g objective.Goal) bool { return g.Ref.Parameter })
	if len(c.goals) == 0 {
		c.goals = []objective.Goal{{Ref: objective.Ref{Index: int(objective.FirstFrequency)}, Sense: objective.Most}}
	}
	travel := b.settings.Group("workspace").value("travel", KindQuantity)
	defer func(old value) { *travel = old }(*travel) // the settings are shared
	c.settleTravel()
	reach := load{Brief: c}
	c.limits = nil
	var lost writer
	for _, l := range b.limits {
		if !l.HoldsFor(c.layouts[0].Name()) {
			continue
		}
		l.Layouts = nil
		if _, ok := reach.reachable(l); ok {
			c.limits = append(c.limits, l)
		} else {
			lost.line(0, "# this design does not meet the limit of %s, %s", b.name(l.Ref), b.boundText(l))
		}
	}
	return append(withoutDefaults(c.Resolved()), lost.Bytes()...)
}

// withoutDefaults leaves out what holds unwritten, and the headings that nothing is left of.
func withoutDefaults(text []byte) []byte {
	var lines []string
	for line := range strings.Lines(string(text)) {
		if !strings.HasSuffix(line, "  # common practice\n") && !strings.HasSuffix(line, "  # default\n") {
			lines = append(lines, line)
		}
	}
	level := func(line string) int { return len(line) - len(strings.TrimLeft(line, " ")) }
	var out []string
	for i := len(lines) - 1; i >= 0; i-- {
		heading := strings.HasSuffix(lines[i], ":\n")
		if heading && (len(out) == 0 || level(out[len(out)-1]) <= level(lines[i])) {
			continue
		}
		out = append(out, lines[i])
	}
	slices.Reverse(out)
	return []byte(strings.Join(out, ""))
}

// has reports whether a layout of the brief has a parameter.
func (b *Brief) has(name string) bool {
	return slices.ContainsFunc(b.layouts, func(l models.Layout) bool {
		return slices.ContainsFunc(l.Parameters(), func(p models.Parameter) bool { return p.Name == name })
	})
}
