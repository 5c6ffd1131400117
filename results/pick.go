package results

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"runtime"
	"slices"
	"strings"
	"sync"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// Single rows out of many: of the row groups only those that have them, of these
// only the pages.

// groupSums are where each row group ends and the checksum of its bytes, out of the
// footer, which has been compared with its own.
func (t *table) groupSums() (ends []int64, sums []string, err error) {
	list, _ := t.parquet.Lookup(rowGroupsKey)
	from := int64(0)
	for g := range t.parquet.RowGroups() {
		var to int64
		var sum string
		entry, rest, _ := strings.Cut(list, ", ")
		if _, err := fmt.Sscanf(entry, "%d %s", &to, &sum); err != nil || to < from {
			return nil, nil, damaged(t.path, "row group %d has no checksum", g)
		}
		ends, sums = append(ends, to), append(sums, sum)
		from, list = to, rest
	}
	return ends, sums, nil
}

// checkGroup compares a row group with its checksum.
func (t *table) checkGroup(g int) error {
	ends, sums, err := t.groupSums()
	if err != nil {
		return err
	}
	from := int64(0)
	if g > 0 {
		from = ends[g-1]
	}
	h := sha256.New()
	if _, err := io.Copy(h, io.NewSectionReader(t.f, from, ends[g]-from)); err != nil {
		return t.failure(g, err)
	}
	if hex.EncodeToString(h.Sum(nil)) != sums[g] {
		return t.failure(g, errors.New("the checksum does not fit"))
	}
	return nil
}

// mayHold reports whether a number may be in a column of a row group, by the least
// and the greatest that its metadata name.
func (t *table) mayHold(g, column int, v int64) bool {
	s := t.parquet.Metadata().RowGroups[g].Columns[column].MetaData.Statistics
	if len(s.MinValue) != 8 || len(s.MaxValue) != 8 {
		return true
	}
	return int64(binary.LittleEndian.Uint64(s.MinValue)) <= v && v <= int64(binary.LittleEndian.Uint64(s.MaxValue))
}

// Row returns one row by the number of the design, and of the run in a joined
// folder (0 otherwise). It reports false if there is none. Only the row groups that may have it
// are read, and compared with their checksums.
func (f *Folder) Row(run, id int64) (objective.Row, bool, error) {
	for again := false; ; again = true {
		row, ok, err := f.find(run, id)
		if !errors.Is(err, fs.ErrNotExist) || again {
			return row, ok, err
		}
		// The run ended while we looked: its parts are in candidates.parquet.
	}
}

func (f *Folder) find(run, id int64) (row objective.Row, ok bool, err error) {
	parts, err := f.parts()
	if err != nil {
		return row, false, err
	}
	paths := []string{f.path(candidatesName)}
	// The part that may have it is the last that does not begin behind it.
	if n, _ := slices.BinarySearch(parts, id+1); n > 0 {
		paths = append(paths, f.partPath(parts[n-1]))
	}
	for i, path := range paths {
		t, err := openTable(f.disk, path, false)
		if i == 0 && errors.Is(err, fs.ErrNotExist) {
			continue
		} else if err != nil && errors.Is(err, fs.ErrNotExist) {
			return row, false, err
		} else if err != nil {
			return row, false, unread(path, err)
		}
		row, ok, err = f.findIn(t, run, id)
		t.Close()
		if ok || err != nil {
			return row, ok, err
		}
	}
	return row, false, nil
}

// findIn looks for a row in one file.
func (f *Folder) findIn(t *table, run, id int64) (row objective.Row, ok bool, err error) {
	if t.run != f.manifest.Run() {
		return row, false, damaged(t.path, "it is of another run")
	}
	if err := t.fits(f.columns); err != nil {
		return row, false, err
	}
	ids, runs := columnNamed(f.columns, "id"), -1
	keys := []int{ids}
	if f.columns[0].Name == runColumn.Name {
		runs, keys = 0, []int{0, ids}
	} else if run != 0 {
		return row, false, nil
	}
	for g := range t.parquet.RowGroups() {
		if !t.mayHold(g, ids, id) || runs >= 0 && !t.mayHold(g, runs, run) {
			continue
		}
		if err := t.checkGroup(g); err != nil {
			return row, false, err
		}
		at, r := int64(-1), t.readColumns(g, g+1, keys)
		for n := int64(0); at < 0; n++ {
			values, err := r.next()
			if err == io.EOF {
				break
			} else if err != nil {
				r.close()
				return row, false, err
			}
			if values[ids].Int64() == id && (runs < 0 || values[runs].Int64() == run) {
				at = n
			}
		}
		r.close()
		if at < 0 {
			continue
		}
		values, err := t.pick(g, []int64{at})
		if err != nil {
			return row, false, err
		}
		d := newDecoder(f.manifest.Columns)
		if c := d.decode(values[0], &row); c >= 0 {
			return row, false, &DamageError{Path: t.path, RowGroup: g, Page: -1, Column: d.columns[c].Name, ID: id, Cause: fmt.Errorf("%v cannot be there", values[0][c])}
		}
		return row, true, nil
	}
	return row, false, nil
}

// pick returns rows of a row group by their numbers in it, ascending. Pages without one
// of them are passed over.
func (t *table) pick(g int, rows []int64) ([]parquet.Row, error) {
	chunks := t.parquet.RowGroups()[g].ColumnChunks()
	picked := make([]parquet.Row, len(rows))
	for i := range picked {
		picked[i] = make(parquet.Row, len(chunks))
	}
	errs := make([]error, len(chunks))
	var wait sync.WaitGroup
	next := make(chan int)
	for range min(runtime.GOMAXPROCS(0), len(chunks)) {
		wait.Go(func() {
			for c := range next {
				errs[c] = pickColumn(chunks[c], c, rows, picked)
			}
		})
	}
	for c := range chunks {
		next <- c
	}
	close(next)
	wait.Wait()
	for c, err := range errs {
		if err != nil {
			err := t.failure(g, err)
			if damage := (*DamageError)(nil); errors.As(err, &damage) {
				damage.Column = t.names()[c]
			}
			return nil, err
		}
	}
	return picked, nil
}

func pickColumn(chunk parquet.ColumnChunk, c int, rows []int64, picked []parquet.Row) (err error) {
	defer func() { // the library may panic on a damaged file
		if v := recover(); v != nil {
			err = fmt.Errorf("%v", v)
		}
	}()
	pages := chunk.Pages()
	defer pages.Close()
	first := int64(0)
	for i := 0; i < len(rows); {
		page, err := pages.ReadPage()
		if err == io.EOF {
			return fmt.Errorf("row %d is missing", rows[i])
		} else if err != nil {
			return err
		}
		n := page.NumRows()
		if here, _ := slices.BinarySearch(rows[i:], first+n); int64(here)*picksApart >= n {
			if err := pickAmong(page, rows[i:i+here], first, c, picked[i:]); err != nil {
				parquet.Release(page)
				return err
			}
			i += here
		}
		for ; i < len(rows) && rows[i] < first+n; i++ {
			var v [1]parquet.Value
			one := page.Slice(rows[i]-first, rows[i]-first+1)
			if n, err := one.Values().ReadValues(v[:]); n != 1 {
				parquet.Release(page)
				return errors.Join(err, errors.New("a value is missing"))
			}
			picked[i][c] = own(v[0])
		}
		first += n
		parquet.Release(page)
	}
	return nil
}

// picksApart is how many values of a page are read in the time in which one is picked out of it.
const picksApart = 32

// pickAmong picks rows of a page, whose first row is first, reading all of it.
func pickAmong(page parquet.Page, rows []int64, first int64, c int, picked []parquet.Row) error {
	var batch [batchRows]parquet.Value
	for i, values := 0, page.Values(); i < len(rows); {
		n, err := values.ReadValues(batch[:])
		for ; i < len(rows) && rows[i] < first+int64(n); i++ {
			picked[i][c] = own(batch[rows[i]-first])
		}
		if first += int64(n); i < len(rows) && (n == 0 || err != nil) {
			return errors.Join(err, errors.New("a value is missing"))
		}
	}
	return nil
}

// own is a value that does not point into a page.
func own(v parquet.Value) parquet.Value {
	if v.Kind() == parquet.ByteArray && !v.IsNull() {
		return parquet.ByteArrayValue(bytes.Clone(v.ByteArray()))
	}
	return v
}

// mostPicked bounds the rows that are held as values: three kilobytes each.
const mostPicked = 8192

// rowsAt returns rows by their numbers in the run, from 0, ascending.
func (f *Folder) rowsAt(numbers []int64) ([]objective.Row, error) {
	rows := make([]objective.Row, 0, len(numbers))
	r, err := f.read()
	if err != nil {
		return nil, err
	}
	defer r.close()
	r.trusted = true
	d := newDecoder(f.manifest.Columns)
	for len(rows) < len(numbers) {
		want := numbers[len(rows):]
		// Whole files that have none of them are counted, not read.
		r.count = want[0]
		if err := r.open(); err != nil {
			if err == io.EOF {
				err = damaged(f.dir, "row %d is missing", want[0])
			}
			return nil, err
		}
		first := r.t.firstRow
		for g, group := range r.t.parquet.RowGroups() {
			var here []int64
			for _, n := range want {
				if n >= first+group.NumRows() {
					break
				}
				here = append(here, n-first)
			}
			first += group.NumRows()
			if len(here) == 0 {
				continue
			}
			for some := range slices.Chunk(here, mostPicked) {
				picked, err := r.t.pick(g, some) // the pages' own checksums are compared
				if err != nil {
					return nil, err
				}
				for _, values := range picked {
					var row objective.Row
					if c := d.decode(values, &row); c >= 0 {
						return nil, &DamageError{Path: r.t.path, RowGroup: g, Page: -1, Column: d.columns[c].Name, Cause: fmt.Errorf("%v cannot be there", values[c])}
					}
					rows = append(rows, row)
				}
			}
			want = numbers[len(rows):]
		}
		r.close()
	}
	return rows, nil
}
