package main

import (
	"fmt"
	"slices"

	"flexwright/objective"
	"flexwright/results"

	"github.com/spf13/cobra"
)

type frontOptions struct {
	limits []string
	sort   string
	top    int
	thin   int
	box    float64
	knee   bool
	costs  bool
	csv    bool
	json   bool
}

func newFront(s streams) *cobra.Command {
	var o frontOptions
	c := &cobra.Command{
		Use:   "front DIR",
		Short: "Print the non-dominated feasible designs",
		Long: `Print the feasible designs that no other dominates, best first in the measure of
--sort (the first goal unless given). --limit tightens a limit of the run without
searching again; a looser one counts the designs that were evaluated in full. On a terminal the first 20 are printed; --csv and --json print
all columns.`,
		Example: `  flexwright front night.run
  flexwright front night.run --limit 'peak_stress at_most 120 MPa' --top 5
  flexwright front night.run --knee
  flexwright front night.run --csv > front.csv`,
		Args: exactly("DIR"),
		RunE: func(_ *cobra.Command, args []string) error { return runFront(s, args[0], o) },
	}
	f := c.Flags()
	f.StringArrayVar(&o.limits, "limit", nil, "`'MEASURE at_most QUANTITY'` or at_least; repeat for more")
	f.StringVar(&o.sort, "sort", "", "`measure` or parameter to sort by, best first")
	f.IntVar(&o.top, "top", 0, "print the first `N` only (0: all, or 20 on a terminal)")
	f.IntVar(&o.thin, "thin", 0, "keep at most `N` designs, those that hold most of the front's hypervolume")
	f.Float64Var(&o.box, "epsilon", 0, "keep one design in each box of this `share` of the front's range in every goal")
	f.BoolVar(&o.knee, "knee", false, "keep the knee only: the design nearest to the best of all goals, as shares of their ranges")
	f.BoolVar(&o.costs, "costs", false, "print what each limit costs: what the front would gain if it were relaxed")
	f.BoolVar(&o.csv, "csv", false, "print CSV, all columns")
	f.BoolVar(&o.json, "json", false, "print JSON, all columns")
	return c
}

func runFront(s streams, dir string, o frontOptions) error {
	if o.csv && o.json {
		return refuse("--csv and --json: one of them")
	}
	if o.costs && (o.csv || o.knee || o.thin != 0 || o.box != 0 || o.top != 0 || o.sort != "" || len(o.limits) > 0) {
		return refuse("--costs is of the run's own limits and front: it goes with --json only")
	}
	if o.top < 0 || o.thin < 0 || !(o.box >= 0 && o.box < 1) {
		return refuse("--top and --thin take numbers of designs, --epsilon a share below 1")
	}
	folder, err := results.Open(dir)
	if err != nil {
		return err
	}
	columns := folder.Columns()
	bounds, err := parseLimits(columns, o.limits)
	if err != nil {
		return err
	}
	goals := folder.Manifest().Goals
	by, descending := goals[0].Column, goals[0].Sense == objective.Most.String()
	if o.sort != "" {
		c, err := findColumn(columns, o.sort)
		if err != nil {
			return err
		}
		by, descending = c.Column.Name, c.Sense == objective.Most
		for _, g := range goals {
			if g.Column == by {
				descending = g.Sense == objective.Most.String()
			}
		}
	}
	spec, err := runSpec(folder)
	if err != nil {
		return err
	}
	if o.costs {
		return printCosts(s, folder, spec, o.json)
	}
	rows, err := limitedFront(s, folder, spec, bounds)
	if err != nil {
		return err
	}
	rows = thinFront(rows, columns, goals, o)
	sortRows(rows, results.ColumnNamed(columns, by), descending)
	total := len(rows)
	if o.top > 0 && len(rows) > o.top {
		rows = rows[:o.top]
	}
	switch {
	case o.csv:
		err = writeCSV(s, columns, rows)
	case o.json && total > 0:
		err = writeRowsJSON(s, columns, rows)
	case total == 0:
		err = printNone(s, folder, bounds, o.json)
	}
	switch {
	case err != nil || total > 0 && (o.csv || o.json):
		return err
	case total == 0:
		return &exitError{status: exitNo}
	}
	if o.top == 0 && isTerminal(s.out) && len(rows) > 20 {
		rows = rows[:20]
	}
	if err := printRows(s, folder, columns, rows); err != nil {
		return err
	}
	if len(rows) < total {
		_, err = fmt.Fprintf(s.out, "%d more\n", total-len(rows))
	}
	return err
}

// sortRows sorts by a number, best first, nulls last, equal ones by id.
func sortRows(rows []objective.Row, c *objective.Column, descending bool) {
	slices.SortStableFunc(rows, func(a, b objective.Row) int {
		x, y := c.Get(&a), c.Get(&b)
		switch {
		case x.Null || y.Null:
			return boolToInt(x.Null) - boolToInt(y.Null)
		case x.Float == y.Float:
			return 0
		case (x.Float < y.Float) != descending:
			return -1
		}
		return 1
	})
}

func boolToInt(b bool) int {
	if b {
		return 1
	}
	return 0
}

// printRows prints the goals and what was varied.
func printRows(s streams, folder *results.Folder, columns []objective.Column, rows []objective.Row) error {
	names := []string{}
	add := func(name string) {
		if results.ColumnNamed(columns, name) != nil && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	add("run")
	add("id")
	for _, g := range folder.Manifest().Goals {
		add(g.Column)
	}
	varied, err := variedColumns(folder)
	if err != nil {
		return err
	}
	for _, name := range varied {
		add(name)
	}
	marks, err := fineMarks(folder)
	if err != nil {
		return err
	}
	head := names
	if len(marks) > 0 {
		head = append(slices.Clone(names), "fine check")
	}
	t := newTextTable(head...)
	for i := range rows {
		var cells []string
		for _, name := range names {
			cells = append(cells, readable(results.ColumnNamed(columns, name).Get(&rows[i]), results.ColumnNamed(columns, name).Kind))
		}
		if len(marks) > 0 {
			cells = append(cells, marks[rows[i].ID])
		}
		t.row(cells...)
	}
	return t.write(s.out)
}

// variedColumns are the columns of what the run's brief varies.
func variedColumns(folder *results.Folder) ([]string, error) {
	spec, err := runSpec(folder)
	if err != nil || spec == nil {
		return nil, err
	}
	var names []string
	for _, v := range spec.Variables {
		switch v.Target {
		case objective.TargetMaterial:
			if len(spec.Materials) > 1 {
				names = append(names, "material")
			}
		case objective.TargetLayout:
			names = append(names, "layout")
		default:
			names = append(names, spec.Column(objective.Ref{Parameter: true, Index: v.Index}))
		}
	}
	return names, nil
}
