package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"strings"
	"time"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"

	"github.com/spf13/cobra"
)

type runOptions struct {
	out        string
	workers    int
	seed       uint64
	seedGiven  bool
	shard      string
	forTime    time.Duration
	maxDesigns int64
	exchange   string
	patience   time.Duration
	json       bool
	limits     []string
	start      string
	corrected  string
}

func newRun(s streams) *cobra.Command {
	var o runOptions
	c := &cobra.Command{
		Use:   "run BRIEF",
		Short: "Search the designs of a brief",
		Long: `Search the designs of a brief and store every one of them. A folder that already
holds this run is continued, also by a longer plan; one that holds another run is refused. Workers,
time and interruptions never change a row, only how many there are.

--shard divides a sweep; the shards of an evolution are islands, which divide the
population and exchange members through a folder that all reach (--exchange).

--limit takes the place of a limit of the brief, or stands beside them; --start
begins an evolution with the front of another run. The folder keeps a brief with
both written out: what began from another run goes on without it. So it does with
--corrected.`,
		Example: `  flexwright run stage.yaml
  flexwright run stage.yaml --out night.run --for 8h
  flexwright run stage.yaml --shard 2/8
  flexwright run evolve.yaml --limit 'peak_stress at_most 200 MPa' --start night.run`,
		Args: exactly("BRIEF"),
		RunE: func(c *cobra.Command, args []string) error {
			o.seedGiven = c.Flags().Changed("seed")
			return runRun(c.Context(), s, args[0], o)
		},
	}
	f := c.Flags()
	f.StringVar(&o.out, "out", "", "run `folder` (default: the brief's name with the ending .run, in the current folder)")
	f.IntVar(&o.workers, "workers", runtime.GOMAXPROCS(0), "designs evaluated at the same time")
	f.Lookup("workers").DefValue = "one per processor"
	f.Uint64Var(&o.seed, "seed", 0, "start of the random sequence, in place of the brief's")
	f.StringVar(&o.shard, "shard", "", "`I/N`: the I-th of N parts of the plan; slurm: from the array job's environment; slurm/N: its task of N")
	f.StringVar(&o.exchange, "exchange", "", "`folder` through which the islands of an evolution (--shard) exchange members, the same for all; none: no exchange (default: beside the run, the brief's name with the ending .exchange)")
	o.patience = 10 * time.Minute
	f.Var((*duration)(&o.patience), "patience", "`time` that an island waits for another; then it goes on without it")
	f.Lookup("patience").DefValue = "10m"
	f.Var((*duration)(&o.forTime), "for", "stop after this `time`, such as 8h or 1d12h")
	f.StringArrayVar(&o.limits, "limit", nil, "`'MEASURE at_most QUANTITY'` or at_least, in the place of the brief's; repeat for more")
	f.StringVar(&o.start, "start", "", "begin with the front of another run's `folder`")
	f.StringVar(&o.corrected, "corrected", "", correctedHelp)
	f.BoolVar(&o.json, "json", false, "print the whole front as JSON, progress and messages as lines of JSON")
	f.Int64Var(&o.maxDesigns, "max-designs", 0, "end with this many rows in the folder")
	return c
}

func runRun(ctx context.Context, s streams, path string, o runOptions) error {
	if o.json {
		s.err = &jsonLines{w: s.err}
	}
	if o.workers < 1 {
		return refuse("--workers %d: at least 1", o.workers)
	}
	if o.forTime < 0 || o.maxDesigns < 0 || o.patience < 0 {
		return refuse("--for, --max-designs and --patience take no negative values")
	}
	brief, text, err := openBrief(s, path)
	if err != nil {
		return err
	}
	if o.corrected != "" {
		if brief, text, err = correctedBrief(s, brief, o.corrected, loadBrief); err != nil {
			return err
		}
	}
	if len(o.limits) > 0 || o.start != "" {
		if brief, text, err = searchOn(s, brief, &o); err != nil {
			return err
		}
	}
	shard, err := parseShard(o.shard)
	if err != nil {
		return err
	}
	dir := o.out
	if dir == "" {
		base := filepath.Base(path)
		if path == "-" {
			base = "brief"
		}
		dir = strings.TrimSuffix(base, filepath.Ext(base)) + ".run"
	}
	spec, space, plan := brief.Spec(), brief.Space(), brief.Plan()
	if o.seedGiven {
		plan.Seed = o.seed
	}
	asked, err := plan.New(space, shard)
	if err != nil {
		return refuse("%w", err)
	}
	description := describeRun(brief, text, spec, plan, shard)
	description.Note = func(text string) { say(s.err, "%s", plain(text)) }
	run, err := results.Start(dir, description)
	if err != nil {
		return otherRun(err, brief, dir)
	}
	defer run.Close()
	plan, shorter := goingOn(plan, run.Plans())
	if shorter && (o.maxDesigns == 0 || asked.Designs() < o.maxDesigns) {
		o.maxDesigns = asked.Designs() // a part of the run that is there
	}

	ctx, signalled := stopOnSignal(ctx, s)
	cause := run.Ended()
	if !run.Done() { // else the files answer
		progress := newProgress(s.err, spec, progressOptions{asked.Designs(), o.maxDesigns, o.forTime, o.json})
		watch := &unbuiltWatch{spec: spec, say: func(text string) { say(s.err, "%s", text) }}
		recorder := run.Recorder(study(spec, o, func(rows []objective.Row, replayed bool) {
			progress.observe(rows, replayed)
			watch.observe(rows)
		}))
		plan.Exchange = recorder.Exchange(exchangeOptions(s, o, path, dir, plan, shard))
		plan.Pool = search.NewPool(o.workers)
		searchPlan, newErr := plan.New(space, shard)
		if newErr != nil {
			panic("flexwright: a plan that was good before: " + newErr.Error())
		}
		ended, planErr := searchPlan.Run(ctx, recorder.Batch)
		cause, err = recorder.Finish(ended, planErr)
		progress.close()
	}
	if cause != "" {
		endErr := run.End(ctx, cause, fineCheck(s, spec, func() int64 { return stored(run) }))
		var stop *results.StopError
		if errors.As(endErr, &stop) { // while the files were put together
			cause, endErr = results.Cause(stop.By), nil
		}
		if err == nil {
			err = endErr
		}
	}
	if err != nil {
		return err
	}
	if cause == results.BySignal {
		fmt.Fprintf(s.err, "stopped with %s stored; go on with: %s\n", counted(stored(run), "design"), plain(goOn(path, dir, o, shard)))
		return &exitError{status: signalled()}
	}
	return printEnd(s, dir, run, o)
}

// stored is the number of rows of a run.
func stored(run *results.Run) int64 {
	rows, _ := run.Stored()
	return rows
}

// printEnd prints the front that a run came to.
func printEnd(s streams, dir string, run *results.Run, o runOptions) error {
	if err := runFront(s, dir, frontOptions{spread: 10, json: o.json}); err != nil {
		return err
	}
	if _, feasible := run.Stored(); feasible == 0 {
		return &exitError{status: exitNo}
	}
	return nil
}

// study joins the evaluation of a spec to the recording of a run.
func study(spec *objective.Spec, o runOptions, observe func([]objective.Row, bool)) results.Study {
	evaluations := make([]*objective.Evaluation, o.workers)
	return results.Study{
		Pool:    search.NewPool(o.workers),
		Goals:   len(spec.Goals),
		Propose: spec.Propose,
		Evaluate: func(worker int, x []float64, row *objective.Row) {
			if evaluations[worker] == nil {
				evaluations[worker] = objective.NewEvaluation(spec)
			}
			began := time.Now()
			evaluations[worker].Evaluate(x)
			row.SolveUS = float64(time.Since(began).Nanoseconds()) / 1e3
			evaluations[worker].Fill(row)
		},
		Outcome:    spec.Outcome,
		Observe:    observe,
		MaxDesigns: o.maxDesigns,
		For:        o.forTime,
	}
}
