package results

import (
	"io"
	"math"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
	"flexwright/search"
)

// frontBatch is how many rows are gathered before the dominated ones go.
const frontBatch = 4096

// archive keeps what no other dominates, of any number of points, in memory for
// those alone. Points that are equal in all goals all stay. T is what belongs to a point.
type archive[T any] struct {
	m      int
	objs   []float64 // m each, least is best
	items  []T
	pruned int // of the items, these do not dominate one another
	ranker search.Ranker
	rank   []int
}

func (a *archive[T]) add(objectives []float64, item T) {
	a.objs = append(a.objs, objectives...)
	a.items = append(a.items, item)
	if len(a.items) >= 2*a.pruned+frontBatch {
		a.prune()
	}
}

func (a *archive[T]) prune() {
	n := len(a.items)
	if cap(a.rank) < n {
		a.rank = make([]int, 2*n)
	}
	rank := a.rank[:n]
	a.ranker.Rank(a.objs, a.m, nil, rank)
	kept := 0
	for i, r := range rank {
		if r == 0 {
			a.items[kept] = a.items[i]
			copy(a.objs[kept*a.m:], a.objs[i*a.m:(i+1)*a.m])
			kept++
		}
	}
	clear(a.items[kept:])
	a.items, a.objs, a.pruned = a.items[:kept], a.objs[:kept*a.m], kept
}

// front returns what stays.
func (a *archive[T]) front() []T {
	a.prune()
	return a.items
}

// Front returns the feasible rows that no other dominates in the goals of the
// manifest, in stored order; of rows equal in all goals, all. With keep, only
// rows for which it is true take part. A row without a value for a goal does not.
func (f *Folder) Front(keep func(*objective.Row) bool) ([]objective.Row, error) {
	return f.FrontOf(func(r *objective.Row) bool { return r.Feasible && (keep == nil || keep(r)) })
}

// FrontOf is [Folder.Front] over the rows for which take is true, feasible under
// the run's own limits or not.
func (f *Folder) FrontOf(take func(*objective.Row) bool) ([]objective.Row, error) {
	goals := f.goals()
	a := archive[objective.Row]{m: len(goals)}
	objectives := make([]float64, len(goals))
	r, err := f.readRows()
	if err != nil {
		return nil, err
	}
	defer r.close()
	for {
		var row objective.Row
		if err := r.next(&row); err == io.EOF {
			break
		} else if err != nil {
			return nil, err
		}
		if take(&row) && objectivesOf(f.columns, goals, &row, objectives) {
			a.add(objectives, row)
		}
	}
	return a.front(), nil
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
	return readTable(f.disk, f.path(frontName), f.manifest.Run())
}

func readTable(d disk, path, run string) (*Table, error) {
	t, err := openTable(d, path, true)
	if err != nil {
		return nil, err
	}
	defer t.Close()
	if t.run != run {
		return nil, damaged(path, "it is of another run")
	}
	table := &Table{}
	for _, f := range t.parquet.Schema().Fields() {
		unit, _ := t.parquet.Lookup(unitKey + f.Name())
		meaning, _ := t.parquet.Lookup(meaningKey + f.Name())
		kind, ok := map[parquet.Kind]objective.Kind{parquet.Int64: objective.Int, parquet.Double: objective.Float,
			parquet.Boolean: objective.Bool, parquet.ByteArray: objective.Text}[f.Type().Kind()]
		if !ok || !f.Leaf() || f.Repeated() {
			return nil, damaged(path, "column %s is %s", f.Name(), f.String())
		}
		table.Columns = append(table.Columns, ColumnInfo{f.Name(), unit, meaning})
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
