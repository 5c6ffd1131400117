package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// onTerminal is how many lines a terminal gets unless --top asks for more or fewer.
const onTerminal = 20

// tableColumn is one column of the printed list.
type tableColumn struct {
	head string
	cell func(*objective.Row) string
	must bool // stands in the table however wide it is
}

// frontLine is one line of the printed list: a design, and how many are equal to it in all
// goals.
type frontLine struct {
	row   objective.Row
	alike int
}

// print prints the list of designs, and below it how many there are, whether the
// search is settled, and what else to know. Whole is the list before it was thinned.
func (v *frontView) print(s streams, whole, rows []objective.Row) error {
	lines := v.grouped(rows)
	shown := lines
	switch o := v.options; {
	case o.spread > 0:
		shown = v.spread(lines, o.spread)
	case o.top > 0:
		shown = lines[:min(o.top, len(lines))]
	case isTerminal(s.out):
		shown = lines[:min(onTerminal, len(lines))]
	}
	columns, err := v.tableColumns(shown)
	if err != nil {
		return err
	}
	width := pageWidth
	if isTerminal(s.out) {
		width = terminalWidth(s.out)
	}
	var left []string
	if !v.options.wide && len(v.options.columns) == 0 {
		columns, left = fitting(columns, shown, width)
	}
	var heads []string
	for _, c := range columns {
		heads = append(heads, c.head)
	}
	t := newTextTable(heads...)
	t.width = 1 << 20
	for i := range shown {
		cells := make([]string, len(columns))
		for k, c := range columns {
			cells[k] = c.cell(&shown[i].row)
		}
		t.row(cells...)
	}
	if err := t.write(s.out); err != nil {
		return err
	}
	notes := []string{v.count(whole, rows, lines, shown)}
	if len(left) > 0 {
		notes = append(notes, "not shown for want of room: "+strings.Join(left, ", ")+" (--wide, --columns)")
	}
	if slices.ContainsFunc(shown, func(l frontLine) bool {
		return slices.ContainsFunc(columns, func(c tableColumn) bool { return strings.HasSuffix(c.cell(&l.row), solvedMark) })
	}) {
		notes = append(notes, fmt.Sprintf("%s of parts that were solved: derivatives were off by more than %g %% of the tail's distance from the nominal; the row keeps theirs", solvedMark, 100*objective.PartsBound))
	}
	if !v.options.all {
		more, err := v.notes(whole)
		if err != nil {
			return err
		}
		notes = append(notes, more...)
	}
	for _, note := range notes {
		lines := wrap(note, width)
		if strings.HasPrefix(note, "  ") { // a command, to be copied
			lines = []string{note}
		}
		for _, l := range lines {
			if _, err := fmt.Fprintln(s.out, l); err != nil {
				return err
			}
		}
	}
	return nil
}

// count says how many designs there are, and how many of them are printed.
func (v *frontView) count(whole, rows []objective.Row, lines, shown []frontLine) string {
	text := "front of " + counted(len(whole), "design")
	if v.options.all {
		text = counted(len(whole), "design")
	}
	if len(rows) == len(whole) && len(lines) < len(rows) {
		text += fmt.Sprintf(", %d different in the goals", len(lines))
	}
	if len(rows) < len(whole) {
		text += fmt.Sprintf(", %d kept", len(rows))
	}
	if len(shown) < len(lines) {
		text += fmt.Sprintf("; %d shown", len(shown))
		if v.options.spread > 0 {
			text += ", spread over it"
		}
	}
	return text
}

// grouped makes one line of designs that are equal in all goals: that with the
// largest least margin to its limits. With --all every design is a line.
func (v *frontView) grouped(rows []objective.Row) []frontLine {
	lines := make([]frontLine, 0, len(rows))
	at := map[string]int{}
	for i := range rows {
		key := ""
		if v.options.all {
			key = designName(&rows[i])
		} else {
			for _, g := range v.goals {
				key += exact(results.ColumnNamed(v.columns, g.Column).Get(&rows[i]), objective.Float) + " "
			}
		}
		k, known := at[key]
		if !known {
			at[key] = len(lines)
			lines = append(lines, frontLine{rows[i], 1})
			continue
		}
		lines[k].alike++
		if _, best := v.nearestLimit(&lines[k].row); v.spec != nil {
			if _, margin := v.nearestLimit(&rows[i]); margin > best {
				lines[k].row = rows[i]
			}
		}
	}
	return lines
}

// spread keeps n lines that hold most of the front's hypervolume, in their order.
func (v *frontView) spread(lines []frontLine, n int) []frontLine {
	if len(lines) <= n {
		return lines
	}
	rows := make([]objective.Row, len(lines))
	for i := range lines {
		rows[i] = lines[i].row
	}
	kept := search.Thin(objectives(rows, v.columns, v.goals), len(v.goals), n)
	slices.Sort(kept)
	out := make([]frontLine, 0, n)
	for _, i := range kept {
		out = append(out, lines[i])
	}
	return out
}

// nearestLimit returns the limit with the least margin, nil where there is none.
func (v *frontView) nearestLimit(r *objective.Row) (nearest *objective.Limit, margin float64) {
	margin = math.Inf(1)
	if v.spec == nil {
		return nil, margin
	}
	for i := range v.limited.Limits {
		l := &v.limited.Limits[i]
		x, ok := r.Judged(l)
		if solved, is := v.solvedParts(l.Ref, r); is {
			x, ok = solved.Float, !solved.Null
		}
		if ok && l.HoldsFor(r.Layout) {
			if m := l.Margin(x); m < margin {
				nearest, margin = l, m
			}
		}
	}
	return nearest, margin
}

// solvedMark follows a number that parts which were solved say, in the place of the derivatives'.
const solvedMark = "*"

// cell is a number of a design as the table has it.
func (v *frontView) cell(c *objective.Column, r *objective.Row) string {
	if solved := v.solved[c.Name]; solved != nil {
		if of, instead := solved(r); instead {
			return readable(of, c.Kind) + solvedMark
		}
	}
	return readable(c.Get(r), c.Kind)
}

// solvedParts is what parts of a design that were solved say of a measure, where that stands in the place of the row's value.
func (v *frontView) solvedParts(ref objective.Ref, r *objective.Row) (objective.Cell, bool) {
	if ref.Parameter {
		return objective.Cell{}, false
	}
	if solved := v.solved[objective.Table[ref.Index].Column()]; solved != nil {
		return solved(r)
	}
	return objective.Cell{}, false
}

// tableColumns lists the columns of the table, the most wanted first.
func (v *frontView) tableColumns(lines []frontLine) ([]tableColumn, error) {
	list := []tableColumn{{"id", designName, true}}
	seen := map[string]bool{"id": true, "run": true}
	stored := func(c *objective.Column, must bool) {
		if c != nil && !seen[c.Name] {
			seen[c.Name] = true
			list = append(list, tableColumn{c.Name, func(r *objective.Row) string { return v.cell(c, r) }, must})
		}
	}
	if slices.ContainsFunc(lines, func(l frontLine) bool { return l.alike > 1 }) {
		alike := map[designKey]int{}
		for i := range lines {
			alike[designKey{lines[i].row.Run, lines[i].row.ID}] = lines[i].alike
		}
		list = append(list, tableColumn{"alike", func(r *objective.Row) string { return fmt.Sprint(alike[designKey{r.Run, r.ID}]) }, true})
	}
	if len(v.options.columns) > 0 {
		for _, name := range v.options.columns {
			c, err := v.columnCalled(strings.TrimSpace(name))
			if err != nil {
				return nil, err
			}
			stored(c, true)
		}
		return list, nil
	}
	if v.options.all {
		stored(results.ColumnNamed(v.columns, "status"), true)
	}
	for _, g := range v.goals {
		stored(results.ColumnNamed(v.columns, g.Column), true)
	}
	stored(v.by, true)
	for i := range v.bounds {
		stored(&v.bounds[i].column.Column, true)
	}
	if v.spec != nil && len(v.limited.Limits) > 0 {
		if v.options.wide {
			for i := range v.limited.Limits {
				stored(results.ColumnNamed(v.columns, v.spec.Column(v.limited.Limits[i].Ref)), false)
			}
		}
		list = append(list, tableColumn{"nearest limit", func(r *objective.Row) string {
			l, margin := v.nearestLimit(r)
			if l == nil {
				return "-"
			}
			return v.spec.Name(l.Ref) + " " + signedPercent(margin)
		}, false})
	}
	if v.spec != nil && v.spec.Drive != nil && v.spec.Drive.Actuator != nil {
		stored(results.ColumnNamed(v.columns, objective.Table[objective.DrivePower].Column()), false)
	}
	for _, name := range v.varied() {
		if c := results.ColumnNamed(v.columns, name); v.options.wide || differs(c, lines) {
			stored(c, false)
		}
	}
	if mark := fineMark(v.columns); mark != nil && slices.ContainsFunc(lines, func(l frontLine) bool { return mark(&l.row) != "" }) {
		list = append(list, tableColumn{"fine check", mark, false})
	}
	return list, nil
}

// signedPercent writes a margin: what is left to a limit, or by how much it fails.
func signedPercent(margin float64) string {
	if margin >= 0 {
		return "+" + percent(margin)
	}
	return percent(margin)
}

// columnCalled finds a column by the name of its measure or parameter, or its own.
func (v *frontView) columnCalled(name string) (*objective.Column, error) {
	if c := results.ColumnNamed(v.columns, name); c != nil {
		return c, nil
	}
	c, err := findColumn(v.columns, name)
	if err != nil {
		return nil, err
	}
	return results.ColumnNamed(v.columns, c.Column.Name), nil
}

// differs reports whether the designs of the lines differ in a column.
func differs(c *objective.Column, lines []frontLine) bool {
	if c == nil || len(lines) == 0 {
		return false
	}
	one := c.Get(&lines[0].row)
	return slices.ContainsFunc(lines, func(l frontLine) bool { return c.Get(&l.row) != one }) || len(lines) == 1
}

// varied are the columns of what the run's brief varies.
func (v *frontView) varied() []string {
	if v.spec == nil {
		return nil
	}
	var names []string
	for _, x := range v.spec.Variables {
		switch x.Target {
		case objective.TargetMaterial:
			if len(v.spec.Materials) > 1 {
				names = append(names, "material")
			}
		case objective.TargetLayout:
			names = append(names, "layout")
		default:
			names = append(names, v.spec.Column(objective.Ref{Parameter: true, Index: x.Index}))
		}
	}
	return names
}

// fitting keeps the columns that fit into width, and names those that do not.
func fitting(columns []tableColumn, lines []frontLine, width int) (kept []tableColumn, left []string) {
	room := width
	for _, c := range columns {
		w := utf8.RuneCountInString(c.head)
		for i := range lines {
			w = max(w, utf8.RuneCountInString(c.cell(&lines[i].row)))
		}
		if len(kept) > 0 {
			w += 2
		}
		if !c.must && w > room {
			left = append(left, c.head)
			continue
		}
		kept, room = append(kept, c), room-w
	}
	return kept, left
}
