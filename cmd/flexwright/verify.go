package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"strings"

	"flexwright/results"

	"github.com/spf13/cobra"
)

type verifyOptions struct {
	salvage string
	replay  bool
	json    bool
}

func newVerify(s streams) *cobra.Command {
	var o verifyOptions
	c := &cobra.Command{
		Use:   "verify DIR",
		Short: "Check every file, page and row of a run folder",
		Long: `Check every file, page and row of a run folder, and that nothing is missing. What
is damaged is named: file, row group, column, page or design. The folder is only
read; it may be of a run that is running.

--replay also asks the brief's plan for every stored design again and compares
the points bit for bit. --salvage copies what is whole into a new folder, from
which run goes on.`,
		Example: `  flexwright verify night.run
  flexwright verify night.run --replay
  flexwright verify night.run --salvage saved.run`,
		Args: exactly("DIR"),
		RunE: func(c *cobra.Command, args []string) error { return runVerify(c, s, args[0], o) },
	}
	f := c.Flags()
	f.StringVar(&o.salvage, "salvage", "", "copy what is whole into this new `folder`")
	f.BoolVar(&o.replay, "replay", false, "compare all designs with what the plan proposes")
	f.BoolVar(&o.json, "json", false, "print JSON")
	return c
}

// verified is what verify prints with --json.
type verified struct {
	Files    int64           `json:"files"`
	Pages    int64           `json:"pages"`
	Rows     int64           `json:"rows"`
	Problems []problemJSON   `json:"problems"`
	Notes    []string        `json:"notes"`
	Salvaged *salvagedCounts `json:"salvaged,omitempty"`
}

type problemJSON struct {
	Path     string `json:"path"`
	RowGroup *int   `json:"row_group"`
	Column   string `json:"column,omitempty"`
	Page     *int   `json:"page"`
	Design   int64  `json:"design,omitempty"`
	Message  string `json:"message"`
}

type salvagedCounts struct {
	Kept    int64 `json:"kept"`
	Rescued int64 `json:"rescued"`
}

func runVerify(c *cobra.Command, s streams, dir string, o verifyOptions) error {
	v, err := results.Verify(dir)
	if err != nil {
		return err
	}
	out := verified{Files: v.Files, Pages: v.Pages, Rows: v.Rows, Problems: []problemJSON{}, Notes: append([]string{}, v.Notes...)}
	known := func(n int) *int {
		if n < 0 {
			return nil
		}
		return &n
	}
	for _, p := range v.Problems {
		out.Problems = append(out.Problems, problemJSON{p.Path, known(p.RowGroup), p.Column, known(p.Page), p.ID, p.Error()})
	}
	var replayErr error
	if o.replay && len(v.Problems) == 0 {
		replayErr = replay(c.Context(), s, dir)
	}
	if o.salvage != "" {
		saved, err := results.Salvage(dir, o.salvage)
		if err != nil {
			return err
		}
		out.Salvaged = &salvagedCounts{saved.Kept, saved.Rescued}
		out.Notes = append(out.Notes, saved.Notes...)
	}
	if err := printVerified(s, &out, o); err != nil {
		return err
	}
	code := exitFault // the system could not read
	for _, p := range v.Problems {
		if !errors.As(p, new(*results.ReadError)) {
			code = exitDamaged
		}
	}
	switch n := len(v.Problems); {
	case n == 1:
		return &exitError{code, fmt.Errorf("%s: one problem", dir)}
	case n > 1:
		return &exitError{code, fmt.Errorf("%s: %d problems", dir, n)}
	}
	return replayErr
}

func printVerified(s streams, out *verified, o verifyOptions) error {
	if o.json {
		return writeJSON(s.out, out)
	}
	for _, p := range out.Problems {
		fmt.Fprintln(s.out, plain(p.Message))
	}
	for _, n := range out.Notes {
		fmt.Fprintln(s.out, "note:", plain(n))
	}
	if out.Salvaged != nil {
		fmt.Fprintf(s.out, "saved in %s: %d rows, from which run goes on; %d rows behind a gap, in rescued.parquet\n", o.salvage, out.Salvaged.Kept, out.Salvaged.Rescued)
	}
	_, err := fmt.Fprintf(s.out, "%d files, %d pages, %d rows: %d problems\n", out.Files, out.Pages, out.Rows, len(out.Problems))
	return err
}

// replay asks the plan of a run for all stored designs again.
func replay(ctx context.Context, s streams, dir string) error {
	folder, err := results.Open(dir)
	if err != nil {
		return err
	}
	m := folder.Manifest()
	if len(m.Runs) > 0 {
		return refuse("%s was joined from separate runs: --replay each of those", dir)
	}
	if strings.HasSuffix(string(m.Shard), "islands") {
		return refuse("%s was joined from islands: --replay each of those", dir)
	}
	if len(m.Missing) > 0 {
		return refuse("%s lacks shards: --replay those that it was joined from", dir)
	}
	if m.Format != results.Format {
		return refuse("%s is of an earlier format (%d): its designs are those of version %s, which can replay it", dir, m.Format, m.Version)
	}
	brief, err := folderBrief(folder, 0)
	if err != nil {
		return err
	}
	if sum := sha256.Sum256(brief.Identity()); hex.EncodeToString(sum[:]) != m.Resolved {
		return refuse("%s: this version (%s) reads the brief otherwise than the one that made the run (%s)", dir, version, m.Version)
	}
	spec := brief.Spec()
	recorder := folder.Replay(study(spec, runOptions{workers: 1}, nil))
	searchPlan, err := folderPlan(folder, brief, recorder.Exchange(results.ExchangeOptions{}))
	if err != nil {
		return err
	}
	_, err = recorder.Finish(searchPlan.Run(ctx, recorder.Batch))
	return err
}
