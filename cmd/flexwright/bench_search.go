package main

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"flexwright/search/bench"

	"github.com/spf13/cobra"
)

func newBenchSearch(s streams) *cobra.Command {
	var (
		o           bench.Options
		evaluations = "5000,25000"
	)
	c := &cobra.Command{
		Use:   "bench-search",
		Short: "Measure the search on test problems",
		Long: `Measure the search on test problems with known fronts, or on a problem that
another program answers.

Each problem is searched with each number of evaluations and each seed from 1.
Printed are the median, least and greatest ratio of hypervolumes: that of at most
100 feasible points, thinned from all rows of the run, over that of the front, to
the reference point 1.1 in objectives scaled to 0 at the front's best and 1 at
its worst; and the median processor time spent outside the evaluation.

Built-in problems: ZDT1, ZDT3, DTLZ2, OSY, TNK, WELD.

A problem command is started once per run with sh -c. It reads one point a line,
a JSON array, and answers each with one line, in order:
  {"objectives": [..], "constraints": [..]}
Least is best, constraints at or below 0 hold. The end of its input ends it.
The file of bounds is JSON:
  {"lower": [..], "upper": [..], "objectives": 2, "constraints": 1,
   "step": [..], "ideal": [..], "nadir": [..], "hypervolume": x}
The last four are optional: step 0 means continuous; without what is known of
the front no ratio is given. The problem is called what --problem says, else as
the file.`,
		Example: `  flexwright bench-search --problem OSY --evaluations 1000 --seeds 1 --surrogate
  flexwright bench-search --problem-command 'sh truss.sh' --problem-bounds truss.json --seeds 2 --points fronts`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			o.Evaluations = nil
			for _, text := range strings.Split(evaluations, ",") {
				n, err := strconv.Atoi(strings.TrimSpace(text))
				if err != nil || n < 1 {
					return refuse("--evaluations %s: expected whole numbers from 1, such as 5000,25000", evaluations)
				}
				o.Evaluations = append(o.Evaluations, n)
			}
			if o.Seeds < 1 {
				return refuse("--seeds %d: expected a whole number from 1", o.Seeds)
			}
			ctx, signalled := stopOnSignal(c.Context(), s)
			err := bench.Run(ctx, o, s.out)
			if ctx.Err() != nil {
				return &exitError{status: signalled()}
			}
			var input *bench.InputError
			var write *bench.WriteError
			switch {
			case errors.As(err, &input):
				return refuse("%w\nsee flexwright bench-search --help", err)
			case errors.As(err, &write):
				return &exitError{exitNoWrite, fmt.Errorf("cannot write: %w", err)}
			}
			return err
		},
	}
	f := c.Flags()
	f.StringArrayVar(&o.Problems, "problem", nil, "a built-in problem, or the name of the command's problem (repeat; default all)")
	f.StringVar(&o.Command, "problem-command", "", "a command that answers points")
	f.StringVar(&o.Bounds, "problem-bounds", "", "JSON file with the command's ranges")
	f.StringVar(&evaluations, "evaluations", evaluations, "numbers of evaluations, separated by commas")
	f.IntVar(&o.Seeds, "seeds", 11, "runs of each, with seeds from 1")
	f.IntVar(&o.Islands, "islands", 1, "divide the population among so many islands that exchange members")
	f.BoolVar(&o.Surrogate, "surrogate", false, "switch the surrogate on")
	f.StringVar(&o.CSV, "csv", "", "write a `file` of CSV: problem, evaluations, seed, ratio, cpu_us_outside")
	f.StringVar(&o.Points, "points", "", "write the objectives of each front into this `folder`")
	f.BoolVar(&o.JSON, "json", false, "print JSON")
	return c
}
