package main

import (
	"flexwright/configs"
	"flexwright/models"

	"github.com/spf13/cobra"
)

func newSchema(s streams) *cobra.Command {
	var assembly bool
	c := &cobra.Command{
		Use:   "schema",
		Short: "Print the JSON Schema of briefs or assemblies",
		Long: `Print the JSON Schema (draft 2020-12) of briefs, made from the tables that check
reads by: an editor with a YAML language server completes and checks with it.
--assembly prints that of assembly files.`,
		Example: `  flexwright schema > brief.schema.json
  flexwright schema --assembly > assembly.schema.json`,
		Args: exactly(),
		RunE: func(*cobra.Command, []string) error {
			text := configs.Schema(models.Layouts(), models.Materials())
			if assembly {
				text = configs.AssemblySchema()
			}
			_, err := s.out.Write(text)
			return err
		},
	}
	c.Flags().BoolVar(&assembly, "assembly", false, "the schema of assembly files")
	return c
}
