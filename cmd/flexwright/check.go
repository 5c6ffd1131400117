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
stands in and what would be accepted. Nothing is printed for a good brief but, on
the messages' stream, what in it is easily taken for something else.
BRIEF may be - for standard input.`,
		Example: `  flexwright check stage.yaml
  flexwright check stage.yaml --resolved
  flexwright check stage.yaml --resolved --json`,
		Args: exactly("BRIEF"),
		RunE: func(_ *cobra.Command, args []string) error {
			name, data, err := readInput(s, args[0])
			if err != nil {
				return err
			}
			brief, problems := loadBrief(name, data)
			switch {
			case asJSON && !(resolved && len(problems) == 0):
				if problems == nil {
					problems = configs.Problems{}
				}
				err = writeJSON(s.out, problems)
			case asJSON:
				_, err = s.out.Write(brief.ResolvedJSON())
			case len(problems) > 0:
				for _, p := range problems {
					fmt.Fprintln(s.out, p.String())
				}
			case resolved:
				err = printResolved(s, brief)
			}
			if err == nil && len(problems) > 0 {
				err = &exitError{status: exitRefused}
			} else if err == nil {
				warn(s, brief)
			}
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print the problems as JSON; with --resolved and none, the values")
	c.Flags().BoolVar(&resolved, "resolved", false, "print all values, defaults included, as a brief")
	return c
}

// printResolved prints the resolved brief, and what the actuator's class stands for.
func printResolved(s streams, brief *configs.Brief) error {
	text := brief.Resolved()
	if data := brief.ActuatorData(); data != nil {
		text = fmt.Appendf(text, "# actuator.class stands for\n")
		for _, d := range data {
			text = fmt.Appendf(text, "#   %s: %s\n", d[0], d[1])
		}
	}
	_, err := s.out.Write(text)
	return err
}
