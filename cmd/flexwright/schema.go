package main

import (
	"flexwright/configs"
	"flexwright/models"

	"github.com/spf13/cobra"
)

func newSchema(s streams) *cobra.Command {
	var assembly bool
	var layout string
	c := &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of briefs or assemblies",
		Long: `Print the JSON Schema (draft 2020-12) of briefs, made from the tables that check
reads by: an editor with a YAML language server completes and checks with it.
--assembly prints that of assembly files.`,
		Example: `  flexwright schema > brief.schema.json
  flexwright schema --layout mine.layout.yaml > mine.schema.json
  flexwright schema --assembly > assembly.schema.json`,
		Args: exactly(),
		RunE: func(*cobra.Command, []string) error {
			layouts := configs.Layouts()
			if layout != "" {
				name, data, err := readInput(s, layout)
				if err != nil {
					return err
				}
				own, problems := configs.LoadLayout(name, data)
				if len(problems) > 0 {
					return &exitError{exitRefused, problems}
				}
				layouts = append(layouts, own)
			}
			text := configs.Schema(layouts, models.Materials())
			if assembly {
				text = configs.AssemblySchema()
			}
			_, err := s.out.Write(text)
			return err
		},
	}
	c.Flags().StringVar(&layout, "layout", "", "a layout `file` whose parameters the brief may name too")
	c.Flags().BoolVar(&assembly, "assembly", false, "the schema of assembly files")
	return c
}
