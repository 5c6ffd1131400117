package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"

	"flexwright/configs"
	"flexwright/models"

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

// readInput reads a file, or standard input for "-".
func readInput(s streams, path string) (name string, data []byte, err error) {
	if path == "-" {
		data, err = io.ReadAll(s.in)
		return "standard input", data, err
	}
	data, err = os.ReadFile(path)
	if err != nil {
		return path, nil, refuse("cannot read: %w", err)
	}
	return path, data, nil
}

func loadBrief(name string, data []byte) (*configs.Brief, configs.Problems) {
	return configs.Load(name, data, models.Layouts(), models.Materials())
}

// openBrief reads a brief that has to be good.
func openBrief(s streams, path string) (*configs.Brief, []byte, error) {
	name, data, err := readInput(s, path)
	if err != nil {
		return nil, nil, err
	}
	brief, problems := loadBrief(name, data)
	if len(problems) > 0 {
		return nil, nil, &exitError{exitRefused, problems}
	}
	return brief, data, nil
}

// writeJSON writes v on one or more lines, numbers so that they read back bit
// for bit.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}
