package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"

	"flexwright/configs"
	"flexwright/results"
	"flexwright/search"

	"github.com/spf13/cobra"
)

type joinOptions struct {
	out     string
	partial bool
}

func newJoin(s streams) *cobra.Command {
	var o joinOptions
	c := &cobra.Command{
		Use:   "join DIR...",
		Short: "Put shards or separate runs into one folder",
		Long: `Put runs into one new folder and make the front anew.

The shards of one run become that run: designs keep their numbers, and a joined
sweep is the folder that one machine would have written, fine check included. All
shards must have come to the end of their plans; others are named, with how far
they are. --partial joins what is there: the folder says which shards are missing, and cannot go on.

Separate runs get a column run, from 1 as given, and their designs are named RUN:ID; they
must have the same goals. A join that was interrupted is begun anew by the next.`,
		Example: `  flexwright join part-1.run part-2.run --out whole.run
  flexwright join monday.run tuesday.run --out week.run`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) == 0 {
				return refuse("join takes one DIR or more\nsee flexwright join --help")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error { return runJoin(s, args, o) },
	}
	c.Flags().StringVar(&o.out, "out", "", "new `folder`")
	c.Flags().BoolVar(&o.partial, "partial", false, "join shards although some are missing or not finished")
	return c
}

func runJoin(s streams, dirs []string, o joinOptions) error {
	if o.out == "" {
		return refuse("join needs --out DIR\nsee flexwright join --help")
	}
	for i, dir := range dirs {
		if slices.ContainsFunc(dirs[:i], func(d string) bool { return filepath.Clean(d) == filepath.Clean(dir) }) {
			return refuse("%s stands twice", dir)
		}
	}
	err := results.Join(dirs, o.out, results.JoinOptions{
		Version: version,
		Partial: o.partial,
		Refine:  func(f *results.Folder) (results.Refine, error) { return refineJoined(s, f) },
		Planned: plannedDesigns,
		Note:    func(text string) { say(s.err, "%s", plain(text)) },
	})
	if unfinished := (*results.UnfinishedError)(nil); errors.As(err, &unfinished) {
		return refuse("%w\nrun each to its end, or join what is there with --partial", err)
	} else if err != nil {
		return err
	}
	folder, err := results.Open(o.out)
	if err != nil {
		return err
	}
	m := folder.Manifest()
	_, err = fmt.Fprintf(s.out, "%s: %s, %d of them feasible\n", plain(o.out), counted(m.Rows, "design"), m.Feasible)
	return err
}

// refineJoined is the fine check of the run that shards are joined to.
func refineJoined(s streams, f *results.Folder) (results.Refine, error) {
	brief, err := folderBrief(f, 0)
	if err != nil {
		return nil, err
	}
	return fineCheck(s, brief.Spec(), func() int64 { return f.Manifest().Rows }), nil
}

// plannedDesigns is how many designs the plan of a run has in the end.
func plannedDesigns(f *results.Folder) int64 {
	brief, err := folderBrief(f, 0)
	if err != nil {
		return 0
	}
	plan, err := folderPlan(f, brief, nil)
	if err != nil {
		return 0
	}
	return plan.Designs()
}

// folderPlan is the plan of a run as far as it was asked to go.
func folderPlan(f *results.Folder, brief *configs.Brief, x search.Exchange) (search.Plan, error) {
	m := f.Manifest()
	shard, err := parseShard(string(m.Shard))
	if err != nil {
		return nil, err
	}
	plan, _ := goingOn(brief.Plan(), m.Plans)
	plan.Seed, plan.Exchange = m.Seed, x
	return plan.New(brief.Space(), shard)
}
