package main

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"flexwright/configs"
	"flexwright/results"
	"flexwright/results/report"
	"flexwright/results/report/live"

	"github.com/spf13/cobra"
)

type reportOptions struct {
	designs []string
	live    bool
	out     string
}

func newReport(s streams) *cobra.Command {
	var o reportOptions
	c := &cobra.Command{
		Use:   "report DIR",
		Short: "Write a run as one HTML file",
		Long: `Write a run as one HTML file that needs nothing else, not even a network: what was
asked, the front with what is behind it, how the search went, what ends the front,
and in full the knee, the ends of the front and every --design: drawing, maps over
the workspace, budgets, limits with their margins. A run that is still going is
shown as far as it is. The file's name is printed.

--live puts the evaluation into the page, which grows by some 4 MB: sliders for every
number, all measures at once, the plate, a search around a design, without a network.`,
		Example: `  flexwright report night.run
  flexwright report night.run --design 1234 --design 1301 --out night.html
  flexwright report night.run --live --out live.html`,
		Args: exactly("DIR"),
		RunE: func(_ *cobra.Command, args []string) error { return runReport(s, args[0], o) },
	}
	f := c.Flags()
	f.StringSliceVar(&o.designs, "design", nil, "`ID` of a design to show in full, RUN:ID in a joined folder; repeat for more")
	f.BoolVar(&o.live, "live", false, "let the page evaluate designs itself")
	f.StringVar(&o.out, "out", "", "`file` to write, - for standard output (default: report.html in DIR)")
	return c
}

func runReport(s streams, dir string, o reportOptions) error {
	folder, err := results.Open(dir)
	if err != nil {
		return err
	}
	briefs := make([]*report.Brief, max(1, len(folder.Manifest().Runs)))
	for i := range briefs {
		if briefs[i], err = reportBrief(folder, int64(i+1)); err != nil {
			return err
		}
	}
	in := report.Input{Folder: folder, Brief: func(run int64) *report.Brief { return briefs[max(run-1, 0)] }}
	if o.live {
		if in.Live, err = liveEvaluator(folder); err != nil {
			return err
		}
	}
	for _, text := range o.designs {
		run, id, err := parseDesign(text)
		if err != nil {
			return err
		}
		in.Designs = append(in.Designs, report.Design{Run: run, ID: id})
	}
	if o.out == "-" {
		w := bufio.NewWriter(s.out)
		if err := reportError(report.Write(w, in)); err != nil {
			return err
		}
		return w.Flush()
	}
	if o.out == "" {
		o.out = filepath.Join(dir, "report.html")
	}
	err = results.WriteFile(o.out, func(w io.Writer) error { return reportError(report.Write(w, in)) })
	if errors.As(err, new(*results.WriteError)) {
		return &exitError{exitNoWrite, fmt.Errorf("the report: %w (--out names another place)", err)}
	} else if err != nil {
		return err
	}
	return printPath(s, o.out)
}

// liveEvaluator is what a live page needs: the module that this program holds, and the
// layout files of the folder.
func liveEvaluator(folder *results.Folder) (*report.Live, error) {
	module, digest, ok := live.Module()
	if !ok {
		return nil, refuse("--live: this program was built without the evaluator of live pages\nfrom its source: go generate ./results/report/live, and build it again")
	}
	l := &report.Live{Module: module, Digest: digest, Version: version, Layouts: map[string]string{}}
	for _, info := range folder.Manifest().Layouts {
		text, err := folder.Layout(info.Name)
		if err != nil {
			return nil, err
		}
		l.Layouts[info.Name] = string(text)
	}
	return l, nil
}

// reportError gives the errors of report.Write their exit status: what it does
// not name itself comes from writing.
func reportError(err error) error {
	var missing *report.MissingError
	var path *os.PathError
	switch {
	case errors.As(err, &missing):
		return refuse("--design %v: %w", missing.Design, err)
	case errors.As(err, &path):
		return &exitError{exitNoWrite, err}
	}
	return err
}

// reportBrief reads a brief of a run for its report. A brief that this version
// refuses leaves the report without what depends on it.
func reportBrief(folder *results.Folder, run int64) (*report.Brief, error) {
	data, path, err := folder.Brief(run)
	if err != nil {
		return nil, err
	}
	brief, problems := loadStored(folder, filepath.Base(path), data)
	if len(problems) > 0 {
		return &report.Brief{Text: string(data), Problem: problems[0].Message}, nil
	}
	return &report.Brief{Title: brief.Title(), Text: string(data), Spec: brief.Spec(), Space: brief.Space(), Plan: planText(brief.Plan())}, nil
}

func planText(p configs.Plan) string {
	switch p.Method {
	case "evolve":
		return fmt.Sprintf("evolve, population %d, %d generations, seed %d", p.Population, p.Generations, p.Seed)
	case "grid":
		return fmt.Sprintf("grid, %d per variable without steps", p.PerVariable)
	}
	return fmt.Sprintf("%s, %s, seed %d", p.Method, counted(p.Designs, "design"), p.Seed)
}
