package main

import (
	"fmt"
	"math"
	"strings"

	"flexwright/configs"
	"flexwright/models"

	"github.com/spf13/cobra"
)

func newStarter(s streams) *cobra.Command {
	var layout string
	c := &cobra.Command{
		Use:   "starter",
		Short: "Print a commented brief to begin with",
		Long: `Print a commented brief that passes check and runs as it is: a search over the
main dimensions, and every other parameter of the layout as a comment with its
default, range and meaning.`,
		Example: `  flexwright starter > stage.yaml
  flexwright starter --layout four-arm > stage.yaml`,
		Args: exactly(),
		RunE: func(*cobra.Command, []string) error {
			l, ok := configs.LayoutByName(layout)
			if !ok {
				return refuse("--layout %s: there is no such layout%s\nflexwright layouts lists them", layout, configs.DidYouMean(layout, layoutNames()))
			}
			_, err := s.out.Write([]byte(starter(l)))
			return err
		},
	}
	c.Flags().StringVar(&layout, "layout", configs.NamedLayouts()[0].Name(), "`name` of a layout")
	return c
}

// starterRanges are the main dimensions, in mm: what every layout has.
var starterRanges = []struct {
	name     string
	from, to float64
}{{"travel", 1, 5}, {"blade_length", 25, 80}, {"blade_thickness", 0.3, 0.8}, {"blade_width", 8, 25}}

// starter writes a brief for a layout.
func starter(l models.Layout) string {
	var b strings.Builder
	put := func(format string, args ...any) { fmt.Fprintf(&b, format, args...) }
	put(`# A brief: what is fixed, what may vary, what is good and what must hold.
# Every number carries its unit. Check it, look at the middle of its ranges, run it:
#   flexwright check stage.yaml
#   flexwright show stage.yaml
#   flexwright run stage.yaml
title: a first stage
layout: %s
material: aluminium 7075-T6    # flexwright materials lists others

# What is known. Parameters neither here nor under vary have their default.
fix:
`, l.Name())
	varied := map[string]bool{}
	for _, r := range starterRanges {
		varied[r.name] = true
	}
	var rest []string
	for _, p := range l.Parameters() {
		if varied[p.Name] {
			continue
		}
		value := p.DefaultText
		if !math.IsNaN(p.Default) {
			value = configs.FormatQuantity(p.Default, p.Unit)
		}
		switch {
		case p.Name == "stage_added_mass":
			put("  %s: 0.3 kg    # %s\n", p.Name, p.Meaning)
		case p.Required:
			put("  %s: %s    # %s\n", p.Name, configs.FormatQuantity((p.Min+p.Max)/2, p.Unit), p.Meaning)
		default:
			rest = append(rest, fmt.Sprintf("  # %s: %s    # %s to %s: %s\n", p.Name, value,
				configs.FormatQuantity(p.Min, p.Unit), configs.FormatQuantity(p.Max, p.Unit), p.Meaning))
		}
	}
	put("%s\n# What the search may choose: a range, a range with step, or one_of a list.\nvary:\n", strings.Join(rest, ""))
	for _, r := range starterRanges {
		for _, p := range l.Parameters() {
			if p.Name == r.name {
				put("  %s: {from: %s, to: %s}    # %s\n", p.Name, configs.FormatQuantity(max(r.from, p.Min), p.Unit),
					configs.FormatQuantity(min(r.to, p.Max), p.Unit), p.Meaning)
			}
		}
	}
	positions := "at all nine positions of the square of ±travel"
	if len(l.Topology().Actuators) == 1 {
		positions = "in the middle and at both ends of ±travel"
	}
	put(`
# One to five numbers to make as large or as small as possible.
goals:
  travel: most
  first_frequency: most

# What every design must meet %s.
# flexwright measures lists what goals and limits may name.
limits:
  peak_stress:   {at_most: 160 MPa}
  parasitic_yaw: {at_most: 100 µrad}
  footprint:     {at_most: 400 mm}

# actuator: {class: vc-75}             # flexwright actuators; then also bandwidth, force_margin, …
# motion: {kind: circle, frequency: 1 Hz}

search: {method: evolve, population: 60, generations: 30, seed: 1}
`, positions)
	return b.String()
}
