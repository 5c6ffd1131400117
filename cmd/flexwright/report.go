package main

import (
	"bufio"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"flexwright/configs"
	"flexwright/results"
	"flexwright/results/report"

	"github.com/spf13/cobra"
)

type reportOptions struct {
	designs []string
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
shown as far as it is. The file's name is printed.`,
		Example: `  flexwright report night.run
  flexwright report night.run --design 1234 --design 1301 --out night.html`,
		Args: exactly("DIR"),
		RunE: func(_ *cobra.Command, args []string) error { return runReport(s, args[0], o) },
	}
	f := c.Flags()
	f.StringSliceVar(&o.designs, "design", nil, "`ID` of a design to show in full, RUN:ID in a joined folder; repeat for more")
	f.StringVar(&o.out, "out", "", "`file` to write, - for standard output (default: report.html in DIR)")
	return c
}

func runReport(s streams, dir string, o reportOptions) error {
	folder, err := results.Open(dir)
	if err != nil {
		return err
	}
	in := report.Input{Folder: folder, Brief: func(run int64) *report.Brief { return reportBrief(folder.BriefPath(run)) }}
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
	if err := writeReport(o.out, in); err != nil {
		return err
	}
	_, err = fmt.Fprintln(s.out, o.out)
	return err
}

// writeReport puts the file in place whole, or not at all.
func writeReport(path string, in report.Input) (err error) {
	f, err := os.CreateTemp(filepath.Dir(path), ".report-*.html")
	if err != nil {
		return &exitError{exitNoWrite, fmt.Errorf("cannot write the report: %w (--out names another place)", err)}
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(f.Name())
		}
	}()
	w := bufio.NewWriterSize(f, 1<<16)
	if err := reportError(report.Write(w, in)); err != nil {
		return err
	}
	if err := errors.Join(w.Flush(), f.Chmod(0o644), f.Close()); err != nil {
		return &exitError{exitNoWrite, err}
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return &exitError{exitNoWrite, err}
	}
	return nil
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
func reportBrief(path string) *report.Brief {
	data, err := os.ReadFile(path)
	if err != nil {
		return &report.Brief{Problem: err.Error()}
	}
	brief, problems := loadBrief(filepath.Base(path), data)
	if len(problems) > 0 {
		return &report.Brief{Text: string(data), Problem: problems[0].Message}
	}
	t := brief.Section("tolerances")
	return &report.Brief{Title: brief.Title(), Text: string(data), Spec: brief.Spec(), Space: brief.Space(), Plan: planText(brief.Plan()),
		Sigma: t.SI("thickness"), Samples: t.Int("samples"), Seed: brief.Plan().Seed}
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
