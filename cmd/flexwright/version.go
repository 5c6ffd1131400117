package main

import (
	"encoding/json"
	"fmt"
	"runtime"

	"flexwright/results"

	"github.com/spf13/cobra"
)

// version of the program: part of what makes two runs the same.
const version = "0.6.0"

func newVersion(s streams) *cobra.Command {
	var asJSON bool
	c := &cobra.Command{
		Use:     "version",
		Short:   "Print version, Go version and platform",
		Long:    "Print version, Go version and platform. Runs are equal bit for bit for one version on one platform.",
		Example: "  flexwright version",
		Args:    exactly(),
		RunE: func(*cobra.Command, []string) error {
			if asJSON {
				return json.NewEncoder(s.out).Encode(map[string]string{"version": version, "go": runtime.Version(), "platform": results.Platform()})
			}
			_, err := fmt.Fprintf(s.out, "flexwright %s %s %s\n", version, runtime.Version(), results.Platform())
			return err
		},
	}
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON")
	return c
}
