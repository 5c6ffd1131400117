package main

import (
	"fmt"
	"slices"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"

	"github.com/spf13/cobra"
)

func newMeasures(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "measures [NAME...]",
		Short: "List the measures: what goals and limits may name",
		Long: `List the measures that goals and limits of a brief may name: name, column,
unit, meaning, formula and source of each.`,
		Example: "  flexwright measures\n  flexwright measures bandwidth --json",
		Args:    known("measure", measureNames),
		RunE: func(_ *cobra.Command, args []string) error {
			type measure struct {
				Name    string `json:"name"`
				Column  string `json:"column"`
				Unit    string `json:"unit"`
				Sense   string `json:"sense"`
				Meaning string `json:"meaning"`
				Formula string `json:"formula"`
				Source  string `json:"source"`
			}
			var list []measure
			for i := range objective.Table {
				m, tail := &objective.Table[i], objective.Measure(i).Plain() != objective.Measure(i)
				if !named(args, m.Name) || objective.Measure(i).IsOtherTail() || tail && len(args) == 0 && !asJSON {
					continue
				}
				sense := m.Sense.String()
				if m.Explains() {
					sense = ""
				}
				list = append(list, measure{m.Name, m.Column(), m.Unit.Symbol, sense, m.Meaning, m.Formula, m.Source})
			}
			if asJSON {
				return writeJSON(s.out, list)
			}
			t := newTextTable("measure", "unit", "better", "meaning")
			for _, m := range list {
				t.row(m.Name, m.Unit, m.Sense, m.Meaning)
			}
			if len(args) == 0 {
				t.row("…_tail", "", "", "of every number above but conforming_parts: what a share of the parts is no worse than")
			}
			return t.write(s.out)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, with formulas and sources")
	return c
}

func newMaterials(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:   "materials [NAME...]",
		Short: "List the materials and where their properties come from",
		Long: `List the materials that a brief may name, their properties and sources. A brief
may define its own. Values are typical: design on those of your own certificate.`,
		Example: "  flexwright materials",
		Args:    known("material", materialNames),
		RunE: func(_ *cobra.Command, args []string) error {
			type material struct {
				Name         string  `json:"name"`
				Young        float64 `json:"youngs_modulus_pa"`
				Poisson      float64 `json:"poisson_ratio"`
				Density      float64 `json:"density_kg_m3"`
				Yield        float64 `json:"yield_strength_pa"`
				Ultimate     float64 `json:"ultimate_strength_pa"`
				Fatigue      float64 `json:"fatigue_strength_pa"`
				Cycles       float64 `json:"fatigue_cycles"`
				Expansion    float64 `json:"expansion_per_k"`
				Conductivity float64 `json:"conductivity_w_per_m_k"`
				Source       string  `json:"source"`
			}
			var list []material
			for _, m := range models.Materials() {
				if !named(args, m.Name) {
					continue
				}
				list = append(list, material{m.Name, m.Young, m.Poisson, m.Density, m.Yield, m.Ultimate, m.Fatigue, m.FatigueCycle, m.Expansion, m.Conductivity, m.Source})
			}
			if asJSON {
				return writeJSON(s.out, list)
			}
			t := newPageTable("material", "E GPa", "ν", "ρ kg/m³", "Rp0.2 MPa", "Rm MPa", "fatigue MPa", "α 1e-6/K", "k W/mK")
			for _, m := range list {
				t.row(m.Name, number(m.Young/1e9), number(m.Poisson), number(m.Density), number(m.Yield/1e6), number(m.Ultimate/1e6),
					number(m.Fatigue/1e6), number(m.Expansion*1e6), number(m.Conductivity))
			}
			if err := t.write(s.out); err != nil {
				return err
			}
			fmt.Fprintln(s.out)
			sources := newPageTable("material", "source of its values")
			for _, m := range list {
				sources.row(m.Name, m.Source)
			}
			return sources.write(s.out)
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, with sources")
	return c
}

// known demands that all arguments are names of a list; none stands for all.
func known(noun string, list func() []string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		for _, name := range args {
			if !slices.Contains(list(), name) {
				return refuse("there is no %s %s%s\nflexwright %s lists them", noun, name, configs.DidYouMean(name, list()), c.Name())
			}
		}
		return nil
	}
}

func named(args []string, name string) bool { return len(args) == 0 || slices.Contains(args, name) }
