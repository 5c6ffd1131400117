package results

import (
	"errors"
	"io"
	"io/fs"
	"math"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
	"flexwright/search"
)

// Front returns the feasible rows that no other dominates in the goals of the
// manifest, in stored order; of rows equal in all goals, all. It holds those rows, about a kilobyte each, and no others. With keep, only
// rows for which it is true take part. A row without a value for a goal does not.
func (f *Folder) Front(keep func(*objective.Row) bool) ([]objective.Row, error) {
	return f.FrontOf(func(r *objective.Row) bool { return r.Feasible && (keep == nil || keep(r)) })
}

// FrontOf is [Folder.Front] over the rows for which take is true, feasible under
// the run's own limits or not.
func (f *Folder) FrontOf(take func(*objective.Row) bool) ([]objective.Row, error) {
	goals := f.goals()
	a := search.NewArchive[int64](len(goals)) // numbers of rows
	objectives := make([]float64, len(goals))
	var row objective.Row
	err := f.each(func(n int64, r *rowReader, values parquet.Row) (bool, error) {
		if err := r.decode(values, &row); err != nil {
			return false, err
		}
		if take(&row) && objectivesOf(f.columns, goals, &row, objectives) {
			a.Add(objectives, n)
		}
		return true, nil
	})
	if err != nil {
		return nil, err
	}
	numbers := a.Items()
	// The rows themselves are read once it is known which.
	front := make([]objective.Row, 0, len(numbers))
	if len(numbers) == 0 {
		return front, nil
	}
	err = f.each(func(n int64, r *rowReader, values parquet.Row) (bool, error) {
		if n != numbers[len(front)] {
			return true, nil
		}
		var row objective.Row
		err := r.decode(values, &row)
		front = append(front, row)
		return len(front) < len(numbers), err
	})
	return front, err
}

// each gives the rows as values to do, with their numbers from 0, until it returns false.
func (f *Folder) each(do func(n int64, r *rowReader, values parquet.Row) (bool, error)) error {
	r, err := f.readRows()
	if err != nil {
		return err
	}
	defer r.close()
	for n := int64(0); ; n++ {
		values, err := r.values.next()
		if err == io.EOF {
			return nil
		} else if err != nil {
			return err
		}
		if more, err := do(n, r, values); err != nil || !more {
			return err
		}
	}
}

// goalColumn is a goal as a column number and the sign that makes least best.
type goalColumn struct {
	column int
	sign   float64
}

func (f *Folder) goals() []goalColumn {
	list := make([]goalColumn, len(f.manifest.Goals))
	for i, g := range f.manifest.Goals {
		list[i] = goalColumn{columnNamed(f.columns, g.Column), 1}
		if g.Sense == "most" {
			list[i].sign = -1
		}
	}
	return list
}

func objectivesOf(columns []objective.Column, goals []goalColumn, row *objective.Row, out []float64) bool {
	for i, g := range goals {
		cell := columns[g.column].Get(row)
		if cell.Null {
			return false
		}
		out[i] = g.sign * cell.Float
	}
	return true
}

// Table is a Parquet file of a run as plain cells.
type Table struct {
	Columns []ColumnInfo
	Kinds   []objective.Kind
	Rows    [][]objective.Cell // in the order of Columns
}

// FrontTable reads front.parquet, with the columns of the fine check if they
// are there. It is empty for a run that has not ended yet.
func (f *Folder) FrontTable() (*Table, error) {
	t, err := readTable(f.disk, f.path(frontName), f.manifest.Run())
	switch {
	case !errors.Is(err, fs.ErrNotExist):
		return t, err
	case f.manifest.State == Ended:
		return nil, damaged(f.path(frontName), "missing: run makes it anew")
	}
	return &Table{}, nil
}

func readTable(d disk, path, run string) (*Table, error) {
	t, err := openTable(d, path, true)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, unread(path, err)
	} else if err != nil {
		return nil, err
	}
	defer t.Close()
	if t.run != run {
		return nil, damaged(path, "it is of another run")
	}
	table := &Table{}
	names := t.names()
	for i, f := range t.parquet.Schema().Fields() {
		unit, _ := t.parquet.Lookup(unitKey + f.Name())
		meaning, _ := t.parquet.Lookup(meaningKey + f.Name())
		kind, ok := map[parquet.Kind]objective.Kind{parquet.Int64: objective.Int, parquet.Double: objective.Float,
			parquet.Boolean: objective.Bool, parquet.ByteArray: objective.Text}[f.Type().Kind()]
		if !ok || !f.Leaf() || f.Repeated() {
			return nil, damaged(path, "column %s is %s", f.Name(), f.String())
		}
		table.Columns = append(table.Columns, ColumnInfo{names[i], unit, meaning})
		table.Kinds = append(table.Kinds, kind)
	}
	r := t.read()
	defer r.close()
	for {
		values, err := r.next()
		if err == io.EOF {
			return table, nil
		} else if err != nil {
			return nil, err
		}
		cells := make([]objective.Cell, len(values))
		for i := range values {
			cells[i] = cellOf(values[i], table.Kinds[i])
		}
		table.Rows = append(table.Rows, cells)
	}
}

func cellOf(v parquet.Value, kind objective.Kind) objective.Cell {
	switch {
	case v.IsNull():
		return objective.Cell{Null: true, Float: math.NaN()}
	case kind == objective.Int:
		return objective.Cell{Int: v.Int64()}
	case kind == objective.Float:
		return objective.Cell{Float: v.Double()}
	case kind == objective.Bool:
		return objective.Cell{Bool: v.Boolean()}
	}
	return objective.Cell{Text: string(v.ByteArray())}
}
