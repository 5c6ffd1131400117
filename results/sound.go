package results

import (
	"context"
	"errors"
	"io"
	"math"
	"runtime"
	"slices"
	"sync/atomic"

	"github.com/parquet-go/parquet-go"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// Looking at all of a file column by column says whether something is wrong, several times as fast as row by row, which
// names the place.

var errUnsound = errors.New("a value cannot be there")

// sound reports whether each page of a file can be read and each value can be where it is, on all processors.
func (t *table) sound(columns []objective.Column) bool {
	if t.fits(columns) != nil {
		return false
	}
	groups := t.parquet.RowGroups()
	var bad atomic.Bool
	_, panics := search.NewPool(runtime.GOMAXPROCS(0)).Do(context.Background(), len(groups)*len(columns), func(_, i int) {
		if bad.Load() {
			return
		}
		c := i % len(columns)
		if eachPage(groups[i/len(columns)], c, func(page parquet.Page) bool { return soundPage(page, &columns[c]) }) != nil {
			bad.Store(true)
		}
	})
	return !bad.Load() && len(panics) == 0 // the library may panic on a damaged file
}

// eachPage visits the pages of a column of a row group. It is an error if one is refused, or if they do not have all rows.
func eachPage(group parquet.RowGroup, column int, visit func(parquet.Page) bool) error {
	pages := group.ColumnChunks()[column].Pages()
	defer pages.Close()
	for rows := int64(0); ; {
		page, err := pages.ReadPage()
		switch {
		case err == io.EOF && rows == group.NumRows():
			return nil
		case err == io.EOF:
			return errUnsound
		case err != nil:
			return err
		}
		rows += page.NumValues()
		good := visit(page)
		if parquet.Release(page); !good {
			return errUnsound
		}
	}
}

// soundPage reports whether a page has as many values as it says, and each can be in the column.
func soundPage(page parquet.Page, c *objective.Column) bool {
	nulls := page.NumNulls()
	if nulls > 0 && !c.Nullable {
		return false
	}
	there, data := int(page.NumValues()-nulls), page.Data()
	switch c.Kind {
	case objective.Float:
		values := data.Double()
		for _, x := range values {
			if math.IsNaN(x) {
				return false
			}
		}
		return len(values) == there
	case objective.Int:
		return len(data.Int64()) == there
	case objective.Bool:
		return 8*len(data.Boolean()) >= there
	}
	bytes, offsets := data.ByteArray()
	if there == 0 {
		return true
	}
	if len(offsets) != there+1 || !slices.IsSorted(offsets) || int(offsets[there]) > len(bytes) {
		return false
	}
	return c.Name != "status" || eachStatus(bytes, offsets, func(models.Status) {})
}

// eachStatus visits the status of each row. It reports false if one is none.
func eachStatus(bytes []byte, offsets []uint32, visit func(models.Status)) bool {
	var text string
	var status models.Status
	for i := 1; i < len(offsets); i++ {
		if b := bytes[offsets[i-1]:offsets[i]]; i == 1 || string(b) != text {
			text = string(b)
			var ok bool
			if status, ok = models.ParseStatus(text); !ok {
				return false
			}
		}
		visit(status)
	}
	return true
}

// mayBe reports whether a value can be in a column.
func mayBe(c *objective.Column, v *parquet.Value) bool {
	switch {
	case v.IsNull():
		return c.Nullable
	case c.Kind == objective.Float:
		return !math.IsNaN(v.Double())
	case c.Name == "status":
		_, ok := models.ParseStatus(string(v.ByteArray()))
		return ok
	}
	return true
}

// groupColumns are what of a row group's rows says whether they are plausible, and on the front.
type groupColumns struct {
	run, id, generation []int64
	feasible            []bool
	status              []models.Status
	violation, took     []float64
	goals               [][]float64
}

// read reads them, of a file whose pages are sound.
func (g *groupColumns) read(group parquet.RowGroup, columns []objective.Column, goals []goalColumn) (err error) {
	column := func(name string, visit func(parquet.Page) bool) {
		if i := slices.IndexFunc(columns, func(c objective.Column) bool { return c.Name == name }); i >= 0 && err == nil {
			err = eachPage(group, i, visit)
		}
	}
	ints := func(name string, to *[]int64) {
		*to = (*to)[:0]
		column(name, func(page parquet.Page) bool {
			data := page.Data()
			*to = append(*to, data.Int64()...)
			return true
		})
	}
	floats := func(name string, to *[]float64) {
		*to = (*to)[:0]
		column(name, func(page parquet.Page) bool {
			data := page.Data()
			values := data.Double()
			if page.NumNulls() == 0 {
				*to = append(*to, values...)
				return true
			}
			for _, level := range page.DefinitionLevels() {
				x := math.NaN()
				if level > 0 {
					x, values = values[0], values[1:]
				}
				*to = append(*to, x)
			}
			return true
		})
	}
	ints(runColumn.Name, &g.run)
	ints("id", &g.id)
	ints("generation", &g.generation)
	floats("violation", &g.violation)
	floats("solve_us", &g.took)
	g.feasible, g.status = g.feasible[:0], g.status[:0]
	column("feasible", func(page parquet.Page) bool {
		data := page.Data()
		bits := data.Boolean()
		for i := range page.NumValues() {
			g.feasible = append(g.feasible, bits[i/8]>>(i%8)&1 == 1)
		}
		return true
	})
	column("status", func(page parquet.Page) bool {
		data := page.Data()
		bytes, offsets := data.ByteArray()
		return eachStatus(bytes, offsets, func(s models.Status) { g.status = append(g.status, s) })
	})
	g.goals = append(g.goals, make([][]float64, len(goals)-len(g.goals))...)
	for i := range goals {
		if columns[goals[i].column].Kind != objective.Float {
			return errUnsound
		}
		floats(columns[goals[i].column].Name, &g.goals[i])
	}
	return err
}

// byColumns checks all rows and counts the feasible ones, and finds the front, by the few columns that rows are judged by.
// An error is no verdict: reading row by row tells.
func (v *verifier) byColumns() (feasible int64, err error) {
	defer func() { // the library may panic on a damaged file
		if p := recover(); p != nil {
			err = errUnsound
		}
	}()
	f := v.folder
	r, err := f.read()
	if err != nil {
		return 0, err
	}
	defer r.close()
	front := f.newFrontFinder()
	var g groupColumns
	for {
		err := r.open()
		if err == io.EOF {
			v.onFront = append([]int64{}, front.archive.Items()...)
			return feasible, nil
		} else if err != nil {
			return 0, err
		}
		if r.t.firstRow != r.count || !v.sound[r.t.sums.wholeSum] {
			return 0, errUnsound
		}
		for _, group := range r.t.parquet.RowGroups() {
			if err := g.read(group, f.columns, front.goals); err != nil {
				return 0, err
			}
			for i, id := range g.id {
				run := int64(0)
				if r.run >= 0 {
					run = g.run[i]
				}
				if run < r.lastRun || run == r.lastRun && id <= r.last {
					return 0, errUnsound
				}
				r.count, r.lastRun, r.last = r.count+1, run, id
				row := objective.Row{ID: id, Generation: g.generation[i], Feasible: g.feasible[i], Status: g.status[i], Violation: g.violation[i], SolveUS: g.took[i]}
				if implausible(&row) != "" {
					return 0, errUnsound
				}
				if row.Feasible {
					feasible++
					for k := range g.goals {
						front.objectives[k] = front.goals[k].sign * g.goals[k][i]
					}
					front.offer(r.count - 1)
				}
				if row.Status == models.Failed && len(f.manifest.Runs) == 0 {
					v.failed = append(v.failed, id)
				}
			}
		}
		v.out.Rows = r.count
		r.close()
	}
}
