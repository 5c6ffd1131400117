package main

import (
	"fmt"
	"math"
	"path/filepath"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/objective/fit"
	"flexwright/results"

	"github.com/spf13/cobra"
)

type fitOptions struct {
	design   string
	measured string
	out      string
	json     bool
}

func newFit(s streams) *cobra.Command {
	var o fitOptions
	c := &cobra.Command{
		Use:   "fit DIR|BRIEF",
		Short: "Find what a built stage is from what was measured on it",
		Long: `Find how a built stage differs from its design (blade thickness, modulus, density,
mounted masses, roots, prongs, damping, actuators) from measurements with their
standard uncertainties, and how sure that is: least squares with a prior for each
unknown. DIR needs --design; of BRIEF the middle of its ranges was built.

It prints the unknowns, how well the measurements fit, which of them contradict the
others, what they cannot tell apart and which further one would tell most; then every
measure and limit with the built stage, as value and 95 % interval. --out writes the
corrections for the next search (run, show and front take them with --corrected); of
a folder, the designs of the front are computed with them too.`,
		Example: `  flexwright fit stage.yaml --measured measured.yaml
  flexwright fit night.run --design 1234 --measured measured.yaml --out corrected.yaml
  flexwright run stage.yaml --corrected corrected.yaml --out second.run`,
		Args: exactly("DIR|BRIEF"),
		RunE: func(_ *cobra.Command, args []string) error { return runFit(s, args[0], o) },
	}
	f := c.Flags()
	f.StringVar(&o.design, "design", "", "`ID` of the design of the folder that was built, RUN:ID in a joined one")
	f.StringVar(&o.measured, "measured", "", "`file` of measurements, YAML")
	f.StringVar(&o.out, "out", "", "write the corrections as a `file`")
	f.BoolVar(&o.json, "json", false, "print JSON")
	return c
}

func runFit(s streams, path string, o fitOptions) error {
	if o.measured == "" {
		return refuse("fit needs --measured FILE\nsee flexwright fit --help")
	}
	spec, brief, stored, err := pickStored(s, path, o.design)
	if err != nil {
		return err
	}
	if _, _, v := objective.Built(spec); !v.OK() {
		return refuse("the design cannot be built: %s", v.Reason())
	}
	name, data, err := readInput(s, o.measured)
	if err != nil {
		return err
	}
	measured, problems := configs.LoadMeasured(name, data, spec)
	if len(problems) > 0 {
		return &exitError{exitRefused, problems}
	}
	found, err := fit.Solve(&fit.Problem{Spec: spec, Unknowns: measured.Unknowns, Measured: measured.List, Proposals: measured.Proposals})
	if err != nil {
		return refuse("%s: %w", name, err)
	}
	found.Predict()
	var front *frontAgain
	if stored != nil {
		if front, err = frontCorrected(stored, brief, found); err != nil {
			return err
		}
	}
	var beyond configs.Problems
	if o.out != "" {
		text := configs.WriteCorrections(found.Corrections, []string{
			"How the stage of " + fitTitle(brief, path, o.design) + " was found to differ,",
			fmt.Sprintf("from %s of %s.", counted(len(measured.List), "measurement"), filepath.Base(name))})
		if _, beyond = brief.Corrected(filepath.Base(o.out), text); len(beyond) == 0 {
			if err := results.WriteFile(o.out, writes(text)); err != nil {
				return err
			}
		}
	}
	if o.json {
		err = writeJSON(s.out, fitJSON(found, front))
	} else {
		err = printFit(s, fitTitle(brief, path, o.design), found, front)
	}
	if err == nil && len(beyond) > 0 {
		return &exitError{exitNo, fmt.Errorf("%s is not written, what was found is more than a brief may correct:\n%w", o.out, beyond)}
	}
	if err == nil && found.Contradicts() {
		err = &exitError{status: exitNo}
	}
	return err
}

// fitTitle says which design was built.
func fitTitle(brief *configs.Brief, path, design string) string {
	return showTitle(brief, path, showOptions{design: design})
}

// frontAgain is what becomes of a run's front with the corrections.
type frontAgain struct {
	Designs  int    `json:"designs"`
	Feasible int    `json:"feasible"`
	Left     int    `json:"on_the_front"`
	Picked   bool   `json:"picked_is_on_it"`
	Better   string `json:"better"` // a design that is better in all goals, or the nearest feasible one; empty: none
	why      string // why the picked one is not on it
}

// frontCorrected computes the designs of a run's front with the corrections found, and
// looks where the one that was built is among them.
func frontCorrected(stored *storedDesign, brief *configs.Brief, found *fit.Outcome) (*frontAgain, error) {
	rows, err := stored.folder.Front(nil)
	if err != nil {
		return nil, err
	}
	spec := brief.Spec()
	spec.Correct(correctionsOf(found))
	at := -1
	for i := range rows {
		if rows[i].ID == stored.row.ID && rows[i].Run == stored.row.Run {
			at = i
		}
	}
	f := &frontAgain{Designs: len(rows)}
	if at < 0 {
		at = len(rows)
		rows = append(rows, stored.row)
	}
	a := evaluateAgain(spec, rows)
	f.Feasible, f.Left = a.feasible, len(a.front)
	picked := &a.rows[at]
	if !picked.Feasible {
		f.why = "it breaks " + results.NameOf(picked.FirstLimit)
		if picked.FirstLimit == "" {
			f.why = "it is " + picked.Status.String()
		}
	}
	mine, other := make([]float64, len(spec.Goals)), make([]float64, len(spec.Goals))
	spec.Objectives(picked, mine)
	for _, i := range a.front {
		if i == at {
			f.Picked = true
			return f, nil
		}
		spec.Objectives(&a.rows[i], other)
		better := true
		for k := range mine {
			better = better && (other[k] <= mine[k] || math.IsNaN(mine[k]))
		}
		if picked.Feasible && better {
			f.Better = designName(&a.rows[i])
			f.why = "design " + f.Better + " is at least as good in all goals"
			return f, nil
		}
	}
	if !picked.Feasible {
		f.Better = nearestDesign(spec, a, picked)
	}
	return f, nil
}

// correctionsOf are those of a fit alone, in full precision: the spec has its own
// already.
func correctionsOf(found *fit.Outcome) []objective.Correction {
	var list []objective.Correction
	for k, u := range found.Unknowns {
		c := u.Correction
		c.By = found.X[k]
		list = append(list, c)
	}
	return list
}

// nearestDesign of the corrected front is the one whose goals are nearest to those of
// a row, each as a share of its range; empty where there is none.
func nearestDesign(spec *objective.Spec, a *again, to *objective.Row) string {
	n := len(spec.Goals)
	mine, all := make([]float64, n), make([]float64, 0, n*len(a.front))
	spec.Objectives(to, mine)
	for _, i := range a.front {
		p := make([]float64, n)
		spec.Objectives(&a.rows[i], p)
		all = append(all, p...)
	}
	best, least := "", math.Inf(1)
	for k, i := range a.front {
		sum := 0.0
		for g := range n {
			low, high := math.Inf(1), math.Inf(-1)
			for j := range a.front {
				low, high = min(low, all[j*n+g]), max(high, all[j*n+g])
			}
			if d := (all[k*n+g] - mine[g]) / max(high-low, 1e-300); d-d == 0 {
				sum += d * d
			}
		}
		if sum < least {
			best, least = designName(&a.rows[i]), sum
		}
	}
	return best
}
