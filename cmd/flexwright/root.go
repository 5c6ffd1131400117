package main

import (
	"strings"

	"flexwright/configs"

	"github.com/spf13/cobra"
)

func newRoot(s streams) *cobra.Command {
	root := &cobra.Command{
		Use:   "flexwright",
		Short: "Search dimensions of large-range XY flexure stages",
		Long: `flexwright searches dimensions of large-range XY flexure stages.

It reads a design brief, evaluates every candidate with a nonlinear model of
bodies and leaf springs, and stores all candidates and the non-dominated
feasible ones as Parquet.`,
		Example: `  flexwright check stage.yaml
  flexwright run stage.yaml --out night.run
  flexwright front night.run --limit 'peak_stress at_most 120 MPa'`,
		Args: cobra.ArbitraryArgs,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 0 {
				return c.Help()
			}
			var verbs []string
			for _, verb := range c.Commands() {
				verbs = append(verbs, verb.Name())
			}
			return refuse("there is no verb %s%s\nsee flexwright --help", args[0], configs.DidYouMean(args[0], verbs))
		},
		SilenceErrors: true,
		SilenceUsage:  true,
	}
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return refuse("%w\nsee %s --help", err, c.CommandPath())
	})
	root.AddCommand(
		newCheck(s), newRun(s), newFront(s), newShow(s), newCompare(s), newFit(s), newSolve(s),
		newReport(s), newVerify(s), newJoin(s), newCluster(s), newBenchSearch(s),
		newDraw(s), newLayouts(s), newMeasures(s), newMaterials(s), newActuators(s),
		newStarter(s), newSchema(s), newVersion(s),
	)
	addCompletions(root)
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages", ".FlagUsagesWrapped 80"))
	for _, c := range root.Commands() {
		c.Long = reflow(c.Long) + "\n\n" + exitMeanings
	}
	return root
}

// exactly demands n arguments, named in the message.
func exactly(names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) != len(names) {
			return refuse("%s takes %s, not %d arguments\nsee flexwright %s --help", c.Name(), describe(names), len(args), c.Name())
		}
		return nil
	}
}

func describe(names []string) string {
	if len(names) == 0 {
		return "no arguments"
	}
	return strings.Join(names, " ")
}

// reflow breaks the paragraphs of a help text for 80 columns; one with indented
// lines stays as it is.
func reflow(text string) string {
	paragraphs := strings.Split(strings.TrimSpace(text), "\n\n")
	for i, p := range paragraphs {
		if !strings.Contains(p, "\n ") {
			paragraphs[i] = strings.Join(wrap(p, 80), "\n")
		}
	}
	return strings.Join(paragraphs, "\n\n")
}
