package results

import (
	"errors"
	"io"
	"io/fs"
	"math"
	"slices"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
	"flexwright/search"
)

// Front returns the feasible rows that no other dominates in the goals of the
// manifest, in stored order; of rows equal in all goals, all. It holds those rows, about a kilobyte each, and no others. With keep, only
// rows for which it is true take part. A row without a value for a goal does not.
//
// With names of columns keep sees only these, and reading is several times as fast. Without keep, of a run that has
// ended, it is what front.parquet has.
func (f *Folder) Front(keep func(*objective.Row) bool, names ...string) ([]objective.Row, error) {
	if keep == nil {
		if f.manifest.State == Ended {
			if rows, err := f.storedFront(); err == nil {
				return rows, nil
			} else if errors.As(err, new(*DamageError)) {
				return nil, err
			}
		}
		return f.ownFront()
	}
	if len(names) > 0 {
		names = append(slices.Clone(names), "feasible")
	}
	return f.FrontOf(func(r *objective.Row) bool { return r.Feasible && keep(r) }, names...)
}

// storedFront reads the rows of front.parquet, beside rows that are whole.
func (f *Folder) storedFront() ([]objective.Row, error) {
	all, err := f.openTable(f.path(candidatesName), true)
	if err != nil {
		return nil, err
	}
	all.Close()
	t, err := f.openTable(f.path(frontName), true)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, damaged(f.path(frontName), "missing: run makes it anew")
	} else if err != nil {
		return nil, err
	}
	defer t.Close()
	if t.run != f.manifest.Run() || len(t.names()) < len(f.columns) {
		return nil, damaged(t.path, "it is of another run")
	}
	d, r := newDecoder(f.manifest.Columns), t.read()
	defer r.close()
	rows := []objective.Row{}
	for {
		values, err := r.next()
		if err == io.EOF {
			return rows, nil
		} else if err != nil {
			return nil, err
		}
		var row objective.Row
		if c := d.decode(values[:len(f.columns)], &row); c >= 0 {
			return nil, damaged(t.path, "column %s: %v cannot be there", d.columns[c].Name, values[c])
		}
		rows = append(rows, row)
	}
}

// FrontOf is [Folder.Front] over the rows for which take is true, feasible under
// the run's own limits or not.
func (f *Folder) FrontOf(take func(*objective.Row) bool, names ...string) ([]objective.Row, error) {
	// The rows themselves are read once it is known which.
	numbers, err := f.frontNumbers(take, names...)
	if err != nil {
		return nil, err
	}
	return f.rowsAt(numbers)
}

// frontNumbers are the numbers in the run, from 0, of the rows that FrontOf returns.
func (f *Folder) frontNumbers(take func(*objective.Row) bool, names ...string) ([]int64, error) {
	if len(names) > 0 {
		names = slices.Clone(names)
		for _, g := range f.manifest.Goals {
			names = append(names, g.Column)
		}
	}
	goals := f.goals()
	a := search.NewArchive[int64](len(goals))
	objectives := make([]float64, len(goals))
	n := int64(0)
	err := f.Scan(func(row *objective.Row) bool {
		if take(row) && objectivesOf(f.columns, goals, row, objectives) {
			a.Add(objectives, n)
		}
		n++
		return true
	}, names...)
	return a.Items(), err
}

// ownFront is the front of the rows whatever front.parquet has.
func (f *Folder) ownFront() ([]objective.Row, error) { return f.FrontOf(isFeasible, "feasible") }

func isFeasible(r *objective.Row) bool { return r.Feasible }

// frontFinder finds which rows are on the front while they go by.
type frontFinder struct {
	goals      []goalColumn
	feasible   int // column
	archive    *search.Archive[int64]
	objectives []float64
	rows       int64
}

func (f *Folder) newFrontFinder() *frontFinder {
	goals := f.goals()
	return &frontFinder{goals: goals, feasible: columnNamed(f.columns, "feasible"),
		archive: search.NewArchive[int64](len(goals)), objectives: make([]float64, len(goals))}
}

func (n *frontFinder) add(b *columnBatch) {
	for i := range b.rows {
		if b.columns[n.feasible][i].Boolean() {
			for k, g := range n.goals {
				n.objectives[k] = math.NaN()
				if v := &b.columns[g.column][i]; !v.IsNull() {
					n.objectives[k] = g.sign * v.Double()
				}
			}
			n.offer(n.rows)
		}
		n.rows++
	}
}

// offer offers a row by its number, with its objectives, NaN where it has none.
func (n *frontFinder) offer(row int64) {
	if !slices.ContainsFunc(n.objectives, math.IsNaN) {
		n.archive.Add(n.objectives, row)
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
