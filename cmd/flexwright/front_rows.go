package main

import (
	"slices"
	"strconv"
	"strings"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"
)

// condition is one --where: what a column of names, numbers or truth values holds.
type condition struct {
	column objective.Column
	value  string
	not    bool
}

func (c *condition) holds(r *objective.Row) bool {
	cell := c.column.Get(r)
	return (!cell.Null && exact(cell, c.column.Kind) == c.value) != c.not
}

// parseConditions reads the values of --where.
func parseConditions(columns []objective.Column, texts []string) ([]condition, error) {
	var list []condition
	for _, text := range texts {
		name, value, ok := strings.Cut(text, "=")
		name, not := strings.CutSuffix(strings.TrimSpace(name), "!")
		if !ok {
			return nil, refuse("--where '%s': expected 'COLUMN = VALUE' or 'COLUMN != VALUE', such as 'material = titanium Ti-6Al-4V'", text)
		}
		name, value = strings.TrimSpace(name), strings.TrimSpace(value)
		c := results.ColumnNamed(columns, name)
		if c == nil || c.Kind == objective.Float {
			var known []string
			for _, c := range columns {
				if c.Kind != objective.Float {
					known = append(known, c.Name)
				}
			}
			if c != nil || isNumber(columns, name) {
				return nil, refuse("--where '%s': %s is a measured number: --limit bounds it", text, name)
			}
			return nil, refuse("--where '%s': there is no column %s%s\n--where takes %s", text, name, configs.DidYouMean(name, known), strings.Join(known, ", "))
		}
		list = append(list, condition{*c, value, not})
	}
	return list, nil
}

func isNumber(columns []objective.Column, name string) bool {
	_, err := findColumn(columns, name)
	return err == nil
}

// keeping reports whether a row meets bounds and conditions.
func keeping(bounds []bound, where []condition) func(*objective.Row) bool {
	return func(r *objective.Row) bool {
		for i := range where {
			if !where[i].holds(r) {
				return false
			}
		}
		for i := range bounds {
			c := bounds[i].column.Get(r)
			if c.Null || !bounds[i].limit.Met(c.Float) {
				return false
			}
		}
		return true
	}
}

// designKey tells designs of a folder apart.
type designKey struct{ run, id int64 }

// withFine returns the columns of a folder's rows and, behind them, those of the
// fine check of its front; null where a design was not checked.
func withFine(folder *results.Folder) ([]objective.Column, error) {
	columns := slices.Clone(folder.Columns())
	table, err := folder.FrontTable()
	if err != nil {
		return nil, err
	}
	run, id := -1, -1
	for i, c := range table.Columns {
		switch c.Name {
		case "run":
			run = i
		case "id":
			id = i
		}
	}
	if id < 0 {
		return columns, nil
	}
	at := map[designKey][]objective.Cell{}
	for _, cells := range table.Rows {
		k := designKey{id: cells[id].Int}
		if run >= 0 {
			k.run = cells[run].Int
		}
		at[k] = cells
	}
	for i, c := range table.Columns {
		if results.ColumnNamed(columns, c.Name) != nil {
			continue
		}
		columns = append(columns, objective.Column{Name: c.Name, Unit: c.Unit, Meaning: c.Meaning, Kind: table.Kinds[i], Nullable: true,
			Get: func(r *objective.Row) objective.Cell {
				if cells, ok := at[designKey{r.Run, r.ID}]; ok {
					return cells[i]
				}
				return objective.Cell{Null: true}
			}})
	}
	return columns, nil
}

// fineMark is the fine check of a design as a cell of the printed front.
func fineMark(columns []objective.Column) func(*objective.Row) string {
	difference, flagged := results.ColumnNamed(columns, "fine_difference"), results.ColumnNamed(columns, "fine_flagged")
	if difference == nil || flagged == nil {
		return nil
	}
	return func(r *objective.Row) string {
		f := flagged.Get(r)
		if f.Null {
			return ""
		}
		text := "not solved"
		if d := difference.Get(r); !d.Null {
			text = percent(d.Float)
		}
		if f.Bool {
			text += " FLAGGED"
		}
		return text
	}
}

// designName is the number of a design, RUN:ID in a joined folder.
func designName(r *objective.Row) string {
	if r.Run > 0 {
		return strconv.FormatInt(r.Run, 10) + ":" + strconv.FormatInt(r.ID, 10)
	}
	return strconv.FormatInt(r.ID, 10)
}
