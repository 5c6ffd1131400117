package results

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"runtime"

	"github.com/parquet-go/parquet-go"

	"flexwright/search"
)

// valueReader reads the rows of a table as values, column by column: the library's rows cost three times as much.
type valueReader struct {
	t       *table
	columns int
	group   int   // of which the rows are
	end     int   // the group behind the last one to read
	left    int64 // rows of the group that were not read
	buffer  []parquet.Row
	at, n   int // in buffer

	only   []int // columns to read
	pages  []parquet.Pages
	values []parquet.ValueReader // of the page that is being read
	batch  []parquet.Value
}

// read returns a reader of the rows of t.
func (t *table) read() *valueReader { return t.readGroups(0, len(t.parquet.RowGroups())) }

// readGroups returns a reader of the rows of some row groups.
func (t *table) readGroups(from, end int) *valueReader { return t.readColumns(from, end, nil) }

// readColumns is readGroups of some columns, nil for all; the others are null.
func (t *table) readColumns(from, end int, only []int) *valueReader {
	r := &valueReader{t: t, columns: len(t.parquet.Schema().Fields()), group: from - 1, end: end, only: only,
		buffer: make([]parquet.Row, batchRows), batch: make([]parquet.Value, batchRows)}
	for i := 0; only == nil && i < r.columns; i++ {
		r.only = append(r.only, i)
	}
	flat := make([]parquet.Value, batchRows*r.columns)
	for i := range r.buffer {
		r.buffer[i] = flat[i*r.columns : (i+1)*r.columns : (i+1)*r.columns]
	}
	return r
}

// next returns the next row, valid until the call after, or io.EOF. Every
// other error is a DamageError or a ReadError.
func (r *valueReader) next() (parquet.Row, error) {
	for r.at == r.n {
		if err := r.fill(); err == io.EOF {
			return nil, err
		} else if err != nil {
			return nil, r.t.failure(r.group, err)
		}
	}
	row := r.buffer[r.at]
	r.at++
	return row, nil
}

func (r *valueReader) fill() (err error) {
	defer func() { // the library may panic on a damaged file
		if v := recover(); v != nil {
			err = fmt.Errorf("%v", v)
		}
	}()
	r.at, r.n = 0, 0
	if r.pages == nil || r.left == 0 {
		return r.nextGroup()
	}
	return r.fillColumns()
}

func (r *valueReader) nextGroup() error {
	r.close()
	groups := r.t.parquet.RowGroups()
	if r.group++; r.group >= r.end {
		return io.EOF
	}
	r.left = groups[r.group].NumRows()
	chunks := groups[r.group].ColumnChunks()
	r.pages, r.values = make([]parquet.Pages, len(r.only)), make([]parquet.ValueReader, len(r.only))
	for i, c := range r.only {
		r.pages[i] = chunks[c].Pages()
	}
	return nil
}

// fillColumns reads the next rows column by column.
func (r *valueReader) fillColumns() error {
	n, err := r.readRows(func(at, column int, values []parquet.Value) {
		for k, v := range values {
			r.buffer[at+k][column] = v
		}
	})
	r.n = n
	return err
}

// readRows reads the next rows of a row group, at most batchRows, column by column, and returns
// their number. Put is given the values of a column from row number at on.
func (r *valueReader) readRows(put func(at, column int, values []parquet.Value)) (int, error) {
	n := int(min(batchRows, r.left))
	for i, c := range r.only {
		for got := 0; got < n; {
			if r.values[i] == nil {
				page, err := r.pages[i].ReadPage()
				if err == io.EOF {
					return 0, fmt.Errorf("%d rows are missing", r.left)
				} else if err != nil {
					return 0, err
				}
				r.values[i] = page.Values()
			}
			m, err := r.values[i].ReadValues(r.batch[:n-got])
			put(got, c, r.batch[:m])
			got += m
			if err == io.EOF {
				r.values[i] = nil
			} else if err != nil {
				return 0, err
			} else if m == 0 {
				return 0, io.ErrNoProgress
			}
		}
	}
	r.left -= int64(n)
	return n, nil
}

// batchOf reads the next rows into an empty batch, of all columns, valid until the call after, or returns io.EOF. No
// row was read singly before.
func (r *valueReader) batchOf(b *columnBatch) (err error) {
	defer func() { // the library may panic on a damaged file
		if v := recover(); v != nil {
			err = r.t.failure(r.group, fmt.Errorf("%v", v))
		}
	}()
	for r.pages == nil || r.left == 0 {
		if err := r.nextGroup(); err == io.EOF {
			return err
		} else if err != nil {
			return r.t.failure(r.group, err)
		}
	}
	b.rows, err = r.readRows(func(_, column int, values []parquet.Value) {
		b.columns[column] = append(b.columns[column], values...)
	})
	if err != nil {
		return r.t.failure(r.group, err)
	}
	return nil
}

// eachColumn visits the values of the table, each column's in order, several columns at the same time.
func (t *table) eachColumn(visit func(column int, values []parquet.Value)) error {
	groups := t.parquet.RowGroups()
	return sideBySide(len(t.parquet.Schema().Fields()), func(c int) error {
		batch := make([]parquet.Value, batchRows)
		for g, group := range groups {
			if n, err := eachValue(group.ColumnChunks()[c], batch, func(values []parquet.Value) { visit(c, values) }); err != nil {
				return t.failure(g, err)
			} else if n != group.NumRows() {
				return t.failure(g, fmt.Errorf("%d rows of %d", n, group.NumRows()))
			}
		}
		return nil
	})
}

// sideBySide does something for each column, on all processors, and returns the first column's error.
func sideBySide(columns int, do func(column int) error) error {
	errs := make([]error, columns)
	_, panics := search.NewPool(runtime.GOMAXPROCS(0)).Do(context.Background(), columns, func(_, i int) { errs[i] = do(i) })
	for _, p := range panics { // the library may, on a damaged file
		errs[p.Index] = fmt.Errorf("%v", p.Value)
	}
	return cmp.Or(errs...)
}

// eachValue visits the values of a column of a row group and returns their number.
func eachValue(chunk parquet.ColumnChunk, batch []parquet.Value, visit func([]parquet.Value)) (total int64, err error) {
	pages := chunk.Pages()
	defer pages.Close()
	for {
		page, err := pages.ReadPage()
		if err == io.EOF {
			return total, nil
		} else if err != nil {
			return total, err
		}
		values := page.Values()
		for err == nil {
			var n int
			n, err = values.ReadValues(batch)
			visit(batch[:n])
			if total += int64(n); n == 0 && err == nil {
				err = io.ErrNoProgress
			}
		}
		parquet.Release(page)
		if err != io.EOF {
			return total, err
		}
	}
}

// close gives the reader's memory back; the table stays open.
func (r *valueReader) close() {
	for _, p := range r.pages {
		p.Close()
	}
	r.pages = nil
}
