package main

import (
	"fmt"

	"flexwright/configs"

	"github.com/spf13/cobra"
)

func newCheck(s streams) *cobra.Command {
	var asJSON, resolved bool
	c := &cobra.Command{
		Use:   "check BRIEF",
		Short: "Read a brief and print every problem in it",
		Long: `Read a brief and print every problem in it, with its position, the line it
stands in and what would be accepted. Nothing is printed for a good brief.
BRIEF may be - for standard input.`,
		Example: `  flexwright check stage.yaml
  flexwright check stage.yaml --resolved`,
		Args: exactly("BRIEF"),
		RunE: func(_ *cobra.Command, args []string) error {
			name, data, err := readInput(s, args[0])
			if err != nil {
				return err
			}
			brief, problems := loadBrief(name, data)
			if asJSON {
				if problems == nil {
					problems = configs.Problems{}
				}
				if err := writeJSON(s.out, problems); err != nil {
					return err
				}
			} else {
				for _, p := range problems {
					fmt.Fprintln(s.out, p.String())
				}
			}
			if len(problems) > 0 {
				return &exitError{status: exitRefused}
			}
			if resolved && !asJSON {
				_, err = s.out.Write(brief.Resolved())
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the problems as JSON")
	c.Flags().BoolVar(&resolved, "resolved", false, "print all values, defaults included, as a brief")
	return c
}
