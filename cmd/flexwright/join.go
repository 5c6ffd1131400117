package main

import (
	"fmt"

	"flexwright/results"

	"github.com/spf13/cobra"
)

func newJoin(s streams) *cobra.Command {
	var out string
	c := &cobra.Command{
		Use:   "join DIR...",
		Short: "Put shards or separate runs into one folder",
		Long: `Put runs into one new folder and make the front anew.

The shards of one run become that run: designs keep their numbers. All must have
ended; those that are missing are named. Separate runs get a column run, from 1
as given, and their designs are named RUN:ID; they must have the same goals.`,
		Example: `  flexwright join part-1.run part-2.run --out whole.run
  flexwright join monday.run tuesday.run --out week.run`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return refuse("join takes one DIR or more\nsee flexwright join --help")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return runJoin(s, args, out) },
	}
	c.Flags().StringVar(&out, "out", "", "new `folder`")
	return c
}

func runJoin(s streams, dirs []string, out string) error {
	if out == "" {
		return refuse("join needs --out DIR\nsee flexwright join --help")
	}
	if err := results.Join(dirs, out, version); err != nil {
		return err
	}
	folder, err := results.Open(out)
	if err != nil {
		return err
	}
	m := folder.Manifest()
	_, err = fmt.Fprintf(s.out, "%s: %s, %d of them feasible\n", plain(out), counted(m.Rows, "design"), m.Feasible)
	return err
}
