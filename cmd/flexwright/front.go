package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"

	"github.com/spf13/cobra"
)

type frontOptions struct {
	limits []string
	sort   string
	top    int
	csv    bool
	json   bool
}

func newFront(s streams) *cobra.Command {
	var o frontOptions
	c := &cobra.Command{
		Use:   "front DIR",
		Short: "Print the non-dominated feasible designs",
		Long: `Print the feasible designs that no other dominates, best first in the measure of
--sort (the first goal unless given). --limit tightens the run's limits without
searching again. On a terminal the first 20 are printed; --csv and --json print
all columns.`,
		Example: `  flexwright front night.run
  flexwright front night.run --limit 'peak_stress at_most 120 MPa' --top 5
  flexwright front night.run --csv > front.csv`,
		Args: exactly("DIR"),
		RunE: func(_ *cobra.Command, args []string) error { return runFront(s, args[0], o) },
	}
	f := c.Flags()
	f.StringArrayVar(&o.limits, "limit", nil, "`'MEASURE at_most QUANTITY'` or at_least; repeat for more")
	f.StringVar(&o.sort, "sort", "", "`measure` or parameter to sort by, best first")
	f.IntVar(&o.top, "top", 0, "print the first `N` only (0: all, or 20 on a terminal)")
	f.BoolVar(&o.csv, "csv", false, "print CSV, all columns")
	f.BoolVar(&o.json, "json", false, "print JSON, all columns")
	c.MarkFlagsMutuallyExclusive("csv", "json")
	return c
}

// storedColumn is a column that --limit and --sort may name.
type storedColumn struct {
	objective.Column
	unit  models.Unit
	sense objective.Sense
}

// findColumn finds a stored number by the name of its measure or parameter, or
// of its column.
func findColumn(columns []objective.Column, name string) (storedColumn, error) {
	var known []string
	for _, c := range columns {
		if c.Kind != objective.Float || c.Name == "solve_us" || c.Name == "violation" {
			continue
		}
		found := storedColumn{Column: c, unit: models.One}
		plain := c.Name
		for i := range objective.Table {
			if m := &objective.Table[i]; m.Column() == c.Name {
				found.unit, found.sense, plain = m.Unit, m.Sense, m.Name
			}
		}
		for _, l := range models.Layouts() {
			for _, p := range l.Parameters() {
				if p.Unit.Column(p.Name) == c.Name {
					found.unit, plain = p.Unit, p.Name
				}
			}
		}
		if name == plain || name == c.Name {
			return found, nil
		}
		known = append(known, plain)
	}
	return storedColumn{}, refuse("%s is not stored in this run; it has %s", name, strings.Join(known, ", "))
}

// parseLimits reads the values of --limit into a test of rows.
func parseLimits(columns []objective.Column, texts []string) (func(*objective.Row) bool, error) {
	type bound struct {
		column storedColumn
		limit  objective.Limit
	}
	var bounds []bound
	for _, text := range texts {
		words := strings.Fields(text)
		if len(words) < 3 || words[1] != "at_most" && words[1] != "at_least" {
			return nil, refuse("--limit '%s': expected 'MEASURE at_most QUANTITY' or 'MEASURE at_least QUANTITY', such as 'peak_stress at_most 120 MPa'", text)
		}
		c, err := findColumn(columns, words[0])
		if err != nil {
			return nil, err
		}
		v, err := configs.ParseQuantity(strings.Join(words[2:], " "), c.unit)
		if err != nil {
			return nil, refuse("--limit '%s': %w", text, err)
		}
		l := objective.Limit{AtLeast: math.Inf(-1), AtMost: v}
		if words[1] == "at_least" {
			l = objective.Limit{AtLeast: v, AtMost: math.Inf(1)}
		}
		bounds = append(bounds, bound{c, l})
	}
	if bounds == nil {
		return nil, nil
	}
	return func(r *objective.Row) bool {
		for i := range bounds {
			c := bounds[i].column.Get(r)
			if c.Null || bounds[i].limit.Excess(c.Float) > 0 {
				return false
			}
		}
		return true
	}, nil
}

func runFront(s streams, dir string, o frontOptions) error {
	if o.top < 0 {
		return refuse("--top %d: not negative", o.top)
	}
	folder, err := results.Open(dir)
	if err != nil {
		return err
	}
	columns := folder.Columns()
	keep, err := parseLimits(columns, o.limits)
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
		by, descending = c.Name, c.sense == objective.Most
		for _, g := range goals {
			if g.Column == by {
				descending = g.Sense == objective.Most.String()
			}
		}
	}
	rows, err := folder.Front(keep)
	if err != nil {
		return err
	}
	sortRows(rows, column(columns, by), descending)
	total := len(rows)
	if o.top > 0 && len(rows) > o.top {
		rows = rows[:o.top]
	}
	switch {
	case o.csv:
		return writeCSV(s, columns, rows)
	case o.json:
		return writeRowsJSON(s, columns, rows)
	}
	if total == 0 {
		_, err := fmt.Fprintln(s.out, "no feasible design")
		return err
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

func column(columns []objective.Column, name string) *objective.Column {
	for i := range columns {
		if columns[i].Name == name {
			return &columns[i]
		}
	}
	return nil
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
		if column(columns, name) != nil && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	add("run")
	add("id")
	for _, g := range folder.Manifest().Goals {
		add(g.Column)
	}
	for _, name := range variedColumns(folder) {
		add(name)
	}
	marks := fineMarks(folder)
	head := names
	if len(marks) > 0 {
		head = append(slices.Clone(names), "fine check")
	}
	t := newTextTable(head...)
	for i := range rows {
		var cells []string
		for _, name := range names {
			cells = append(cells, readable(column(columns, name).Get(&rows[i]), column(columns, name).Kind))
		}
		if len(marks) > 0 {
			cells = append(cells, marks[rows[i].ID])
		}
		t.row(cells...)
	}
	return t.write(s.out)
}

// variedColumns are the columns of what the run's brief varies.
func variedColumns(folder *results.Folder) []string {
	data, err := os.ReadFile(folder.BriefPath(0))
	if err != nil {
		return nil
	}
	brief, problems := loadBrief("brief.yaml", data)
	if len(problems) > 0 {
		return nil
	}
	var names []string
	spec := brief.Spec()
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
	return names
}

// readable is a cell for people: five significant digits.
func readable(c objective.Cell, kind objective.Kind) string {
	switch {
	case c.Null:
		return "-"
	case kind == objective.Float:
		return strconv.FormatFloat(c.Float, 'g', 5, 64)
	}
	return exact(c, kind)
}

// exact is a cell that reads back bit for bit.
func exact(c objective.Cell, kind objective.Kind) string {
	if c.Null {
		return ""
	}
	switch kind {
	case objective.Int:
		return strconv.FormatInt(c.Int, 10)
	case objective.Float:
		return strconv.FormatFloat(c.Float, 'g', -1, 64)
	case objective.Bool:
		return strconv.FormatBool(c.Bool)
	}
	return c.Text
}

func writeCSV(s streams, columns []objective.Column, rows []objective.Row) error {
	w := csv.NewWriter(s.out)
	record := make([]string, len(columns))
	for i, c := range columns {
		record[i] = c.Name
	}
	if err := w.Write(record); err != nil {
		return err
	}
	for i := range rows {
		for k, c := range columns {
			record[k] = exact(c.Get(&rows[i]), c.Kind)
		}
		if err := w.Write(record); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}

// writeRowsJSON writes an array of objects whose keys are the columns, in order.
func writeRowsJSON(s streams, columns []objective.Column, rows []objective.Row) error {
	var b strings.Builder
	b.WriteString("[")
	for i := range rows {
		if i > 0 {
			b.WriteString(",")
		}
		b.WriteString("\n ")
		b.Write(rowJSON(columns, &rows[i]))
	}
	b.WriteString("\n]\n")
	_, err := s.out.Write([]byte(b.String()))
	return err
}

func rowJSON(columns []objective.Column, r *objective.Row) []byte {
	b := []byte("{")
	for k, c := range columns {
		if k > 0 {
			b = append(b, ", "...)
		}
		b = strconv.AppendQuote(b, c.Name)
		b = append(b, ": "...)
		cell := c.Get(r)
		switch {
		case cell.Null:
			b = append(b, "null"...)
		case c.Kind == objective.Text:
			text, _ := json.Marshal(cell.Text)
			b = append(b, text...)
		default:
			b = append(b, exact(cell, c.Kind)...)
		}
	}
	return append(b, '}')
}
