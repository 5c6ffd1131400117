package main

import (
	"iter"
	"slices"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"

	"github.com/spf13/cobra"
)

type frontOptions struct {
	limits  []string
	where   []string
	sort    string
	top     int
	thin    int
	box     float64
	knee    bool
	costs   bool
	all     bool
	columns []string
	wide    bool
	csv     bool
	json    bool
	// file of corrections
	corrected string
	// run's list at its end: so many designs spread over the front
	spread int
}

func newFront(s streams) *cobra.Command {
	var o frontOptions
	c := &cobra.Command{
		Use:   "front DIR",
		Short: "Print the non-dominated feasible designs",
		Long: `Print the feasible designs that no other dominates, best first in the measure of
--sort (the first goal unless given). --all lists every design, by number.

--limit tightens a limit of the run without searching again: the designs that are
left are a lower bound of what a search under that limit finds, since this one did
not look there; the command that searches on is printed. A looser limit counts the
designs that were evaluated in full.

Columns of the table are chosen for 80 characters: goals, what is sorted or limited
by, the limit that is nearest, what was varied and differs. Designs equal in all
goals are one line with their number, the one with the largest least margin. --csv
and --json print all columns of all designs, the fine check included. On a terminal
the first 20 lines are printed.`,
		Example: `  flexwright front night.run
  flexwright front night.run --limit 'peak_stress at_most 120 MPa' --top 5
  flexwright front night.run --columns peak_stress,material --sort peak_stress
  flexwright front night.run --where 'material = aluminium 7075-T6' --knee
  flexwright front night.run --all --csv > designs.csv`,
		Args: exactly("DIR"),
		RunE: func(_ *cobra.Command, args []string) error { return runFront(s, args[0], o) },
	}
	f := c.Flags()
	f.StringArrayVar(&o.limits, "limit", nil, "`'MEASURE at_most QUANTITY'` or at_least; repeat for more")
	f.StringArrayVar(&o.where, "where", nil, "`'COLUMN = VALUE'` or !=: only designs of this material, layout, status, …; repeat for more")
	f.StringVar(&o.sort, "sort", "", "`measure` or parameter to sort by, best first")
	f.IntVar(&o.top, "top", 0, "print the first `N` only (0: all, or 20 on a terminal)")
	f.IntVar(&o.thin, "thin", 0, "keep at most `N` designs, those that hold most of the front's hypervolume")
	f.Float64Var(&o.box, "epsilon", 0, "keep one design in each box of this `share` of the front's range in every goal")
	f.BoolVar(&o.knee, "knee", false, "keep the knee only: the design nearest to the best of all goals, as shares of their ranges")
	f.BoolVar(&o.costs, "costs", false, "print what each limit costs: what the front would gain if it were relaxed")
	f.BoolVar(&o.all, "all", false, "list all designs, not the front only: infeasible and unbuilt ones too")
	f.StringSliceVar(&o.columns, "columns", nil, "`names` of measures, parameters or columns to print, with commas between")
	f.BoolVar(&o.wide, "wide", false, "print the numbers of all goals and limits and all that was varied, however wide")
	f.StringVar(&o.corrected, "corrected", "", correctedHelp)
	f.BoolVar(&o.csv, "csv", false, "print CSV, all columns")
	f.BoolVar(&o.json, "json", false, "print JSON, all columns")
	return c
}

func (o *frontOptions) check() error {
	switch {
	case o.csv && o.json:
		return refuse("--csv and --json: one of them")
	case (o.csv || o.json) && (o.wide || len(o.columns) > 0):
		return refuse("--csv and --json print all columns: --columns and --wide are of the table")
	case o.wide && len(o.columns) > 0:
		return refuse("--columns and --wide: one of them")
	case o.costs && (o.csv || o.knee || o.thin != 0 || o.box != 0 || o.top != 0 || o.sort != "" || o.all || len(o.limits)+len(o.where)+len(o.columns) > 0):
		return refuse("--costs is of the run's own limits and front: it goes with --json only")
	case o.corrected != "" && (o.all || o.costs):
		return refuse("--corrected computes the designs of the front again: not with --all or --costs")
	case o.all && (o.knee || o.thin != 0 || o.box != 0):
		return refuse("--all lists every design: --knee, --thin and --epsilon are of the front")
	case o.top < 0 || o.thin < 0 || !(o.box >= 0 && o.box < 1):
		return refuse("--top and --thin take numbers of designs, --epsilon a share below 1")
	}
	return nil
}

// frontView is what a list of designs is made from.
type frontView struct {
	folder  *results.Folder
	brief   *configs.Brief  // nil where there is none of one
	spec    *objective.Spec // the same
	limited *objective.Spec // with the bounds in the place of its limits
	columns []objective.Column
	solved  map[string]func(*objective.Row) (objective.Cell, bool) // of measures of parts, see objective.SolvedColumns
	goals   []results.Goal
	bounds  []bound
	where   []condition
	by      *objective.Column // sorted by; nil: by number
	most    bool              // the largest first
	options *frontOptions
	again   *again // the front computed with corrections; nil without
}

// openFront opens a folder and reads the options that name its columns.
func openFront(dir string, o *frontOptions) (*frontView, error) {
	if err := o.check(); err != nil {
		return nil, err
	}
	folder, err := results.Open(dir)
	if err != nil {
		return nil, err
	}
	v := &frontView{folder: folder, goals: folder.Manifest().Goals, options: o}
	if v.columns, err = withFine(folder); err != nil {
		return nil, err
	}
	if o.corrected != "" {
		v.columns = folder.Columns() // the fine check was of other numbers
	}
	v.solved = objective.SolvedColumns(v.columns)
	if v.bounds, err = parseLimits(v.columns, o.limits); err != nil {
		return nil, err
	}
	if v.where, err = parseConditions(v.columns, o.where); err != nil {
		return nil, err
	}
	if v.brief, err = runBrief(folder); err != nil {
		return nil, err
	}
	if v.brief != nil {
		v.spec = v.brief.Spec()
		v.limited = under(v.spec, v.bounds)
	}
	if !o.all {
		v.by, v.most = results.ColumnNamed(v.columns, v.goals[0].Column), v.goals[0].Sense == objective.Most.String()
	}
	if o.sort != "" {
		c, err := findColumn(v.columns, o.sort)
		if err != nil {
			return nil, err
		}
		v.by, v.most = results.ColumnNamed(v.columns, c.Column.Name), c.Sense == objective.Most
		for _, g := range v.goals {
			if g.Column == v.by.Name {
				v.most = g.Sense == objective.Most.String()
			}
		}
	}
	return v, nil
}

func runFront(s streams, dir string, o frontOptions) error {
	v, err := openFront(dir, &o)
	if err != nil {
		return err
	}
	if o.costs {
		return printCosts(s, v.folder, v.spec, o.json)
	}
	if o.all && o.csv && o.sort == "" && o.top == 0 {
		return writeCSV(s, v.columns, v.stream()) // as they are stored, however many
	}
	var rows []objective.Row
	if o.all {
		rows, err = gathered(v.stream())
	} else {
		rows, err = v.front(s)
	}
	if err != nil {
		return err
	}
	whole := rows
	rows = thinFront(rows, v.columns, v.goals, o)
	if v.by != nil {
		sortRows(rows, v.by, v.most)
	}
	if len(rows) == 0 && !o.csv {
		if err := v.printNone(s); err != nil {
			return err
		}
	}
	switch {
	case len(rows) == 0 && !o.csv:
	case o.csv:
		err = writeCSV(s, v.columns, listed(first(rows, o.top)))
	case o.json:
		err = writeRowsJSON(s, v.columns, listed(first(rows, o.top)))
	default:
		err = v.print(s, whole, rows)
	}
	if err == nil && len(rows) == 0 {
		err = &exitError{status: exitNo}
	}
	return err
}

// first n of rows; all where n is 0.
func first(rows []objective.Row, n int) []objective.Row {
	if n > 0 && n < len(rows) {
		return rows[:n]
	}
	return rows
}

// front is the front of the designs that the options leave.
func (v *frontView) front(s streams) ([]objective.Row, error) {
	rows, err := limitedFront(s, v.folder, v.spec, v.bounds, v.where)
	if err == nil && v.options.corrected != "" {
		return v.correctedFront(s, rows)
	}
	return rows, err
}

// stream gives all designs that the options leave, in stored order.
func (v *frontView) stream() iter.Seq2[*objective.Row, error] {
	keep := keeping(v.bounds, v.where)
	return func(yield func(*objective.Row, error) bool) {
		for row, err := range v.folder.Rows() {
			if err != nil {
				yield(nil, err)
				return
			}
			if keep(&row) && !yield(&row, nil) {
				return
			}
		}
	}
}

// listed gives rows one after the other.
func listed(rows []objective.Row) iter.Seq2[*objective.Row, error] {
	return func(yield func(*objective.Row, error) bool) {
		for i := range rows {
			if !yield(&rows[i], nil) {
				return
			}
		}
	}
}

func gathered(rows iter.Seq2[*objective.Row, error]) ([]objective.Row, error) {
	var list []objective.Row
	for row, err := range rows {
		if err != nil {
			return nil, err
		}
		r := *row
		r.Parameters = slices.Clone(row.Parameters)
		list = append(list, r)
	}
	return list, nil
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
