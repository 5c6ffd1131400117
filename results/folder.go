package results

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"iter"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// Folder is a run folder that is being read: of a run that is running, was
// stopped or has ended.
type Folder struct {
	dir      string
	disk     disk
	manifest *Manifest
	columns  []objective.Column
	compared map[string]bool // checksums of files that were read and have them
}

// Open opens a run folder for reading. It needs no lock and disturbs no one.
// The error is a FolderError or a DamageError.
func Open(dir string) (*Folder, error) { return openFolder(osDisk{}, dir) }

func openFolder(d disk, dir string) (*Folder, error) {
	m, err := readManifest(d, dir)
	if err != nil {
		return nil, err
	}
	columns, _ := storedColumns(m.Columns)
	return &Folder{dir: dir, disk: d, manifest: m, columns: columns}, nil
}

// Dir is the path of the folder.
func (f *Folder) Dir() string { return f.dir }

// Manifest is what manifest.json said when the folder was opened. It is read-only.
func (f *Folder) Manifest() *Manifest { return f.manifest }

// Columns are those of the stored rows, made from the manifest: the rows of a
// version with other measures can be read too. What this version does not know
// counts as a parameter, behind the layout's.
func (f *Folder) Columns() []objective.Column { return f.columns }

// Brief returns the brief as it was given, and its path for messages. With run, the brief
// of one run of a joined folder (from 1); 0 otherwise. What is not, byte for
// byte, what was given is a DamageError: nothing must be read from it. (Of a run that is being
// extended it may be the brief before: the same run, with a shorter plan.)
func (f *Folder) Brief(run int64) (text []byte, path string, err error) {
	path, sums := f.briefPath(run), []string{f.manifest.Brief}
	for _, p := range f.manifest.Plans {
		sums = append(sums, p.Brief)
	}
	if run > 1 {
		if run > int64(len(f.manifest.Runs)) {
			return nil, path, damaged(path, "the folder has no run %d", run)
		}
		sums = []string{f.manifest.Runs[run-1].Brief}
	}
	text, err = f.checked(path, sums...)
	return text, path, err
}

// Layout returns the layout file of a name that the brief uses, as it was given.
func (f *Folder) Layout(name string) ([]byte, error) {
	for _, l := range f.manifest.Layouts {
		if l.Name == name {
			return f.checked(f.layoutPath(name), l.Sum)
		}
	}
	return nil, damaged(f.layoutPath(name), "the manifest has no layout %s", name)
}

// checked reads a file that has to have one of the checksums.
func (f *Folder) checked(path string, sums ...string) ([]byte, error) {
	text, err := readBytes(f.disk, path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, damaged(path, "missing")
	case err != nil:
		return nil, unread(path, err)
	case !slices.Contains(sums, sha(text)):
		return nil, damaged(path, "the checksum in the manifest does not fit")
	}
	return text, nil
}

func (f *Folder) layoutPath(name string) string {
	return filepath.Join(f.dir, layoutsName, name+".layout.yaml")
}

func (f *Folder) briefPath(run int64) string {
	if run > 1 {
		return filepath.Join(f.dir, briefsName, strconv.FormatInt(run, 10)+".yaml")
	}
	return filepath.Join(f.dir, briefName)
}

// openTable is openTable, whole, that reads a file whose checksum it has compared already only in part.
func (f *Folder) openTable(path string, whole bool) (*table, error) {
	t, err := openTable(f.disk, path, false)
	if err != nil || !whole || f.compared[t.sums.wholeSum] {
		return t, err
	}
	if err := t.compare(); err != nil {
		t.Close()
		return nil, t.failure(-1, err)
	}
	if f.compared == nil {
		f.compared = map[string]bool{}
	}
	f.compared[t.sums.wholeSum] = true
	return t, nil
}

func (f *Folder) path(name string) string { return filepath.Join(f.dir, name) }

func (f *Folder) partPath(first int64) string {
	return filepath.Join(f.dir, partsName, strconv.FormatInt(first, 10)+".parquet")
}

// parts lists the first ids of the parts.
func (f *Folder) parts() ([]int64, error) {
	if err := f.checkParts(); err != nil {
		return nil, err
	}
	entries, err := f.disk.ReadDir(f.path(partsName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	} else if err != nil {
		return nil, unread(f.path(partsName), err)
	}
	var list []int64
	for _, e := range entries {
		if first, ok := partID(e.Name()); ok {
			list = append(list, first)
		}
	}
	slices.Sort(list)
	return list, nil
}

// checkParts refuses folders in the folder that are none: through a link, parts of another
// folder would be read, and removed at the end.
func (f *Folder) checkParts() error {
	entries, err := f.disk.ReadDir(f.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return unread(f.dir, err)
	}
	for _, e := range entries {
		if name := e.Name(); (name == partsName || name == receivedName) && !e.IsDir() {
			return damaged(f.path(name), "it is not a folder")
		}
	}
	return nil
}

// partID returns the first id of a part by the name of its file.
func partID(name string) (int64, bool) {
	stem, ok := strings.CutSuffix(name, ".parquet")
	first, err := strconv.ParseInt(stem, 10, 64)
	return first, ok && err == nil && first > 0 && strconv.FormatInt(first, 10) == stem
}

// isUnfinished reports whether a name is that of an unfinished write of this
// package, which is never read and may go.
func isUnfinished(name string) bool {
	stem, ok := strings.CutSuffix(name, temporary)
	if !ok {
		return false
	}
	switch stem {
	case briefName, manifestName, candidatesName, frontName, rescuedName, logName:
		return true
	}
	_, part := partID(stem)
	generation, letter := strings.CutSuffix(stem, ".json")
	if n, err := strconv.Atoi(generation); letter && err == nil && n > 0 {
		return true
	}
	return part || isLeftoverOf(reportName, name)
}

// valuesReader reads the rows of a folder in order, each once.
type valuesReader struct {
	f       *Folder
	id, run int // columns
	sources []string
	again   bool // sources were listed anew since the last file
	t       *table
	r       *valueReader
	ordinal int64 // in the run, of the next row of t
	count   int64 // rows returned
	lastRun int64
	last    int64 // id of the last row returned
	only    []int // columns to read; nil: all
	trusted bool  // the checksums of the files have been compared
}

func (f *Folder) read() (*valuesReader, error) {
	r := &valuesReader{f: f, id: columnNamed(f.columns, "id"), run: -1}
	if f.columns[0].Name == runColumn.Name {
		r.run = 0
	}
	return r, r.list()
}

func (r *valuesReader) list() error {
	parts, err := r.f.parts() // first: they go once candidates.parquet is there
	if err != nil {
		return err
	}
	r.sources = append(r.sources[:0], r.f.path(candidatesName))
	for _, first := range parts {
		r.sources = append(r.sources, r.f.partPath(first))
	}
	return nil
}

// next returns the next row, valid until the call after, or io.EOF.
func (r *valuesReader) next() (parquet.Row, error) {
	for {
		if r.t == nil {
			if err := r.open(); err != nil {
				return nil, err
			}
		}
		row, err := r.r.next()
		if err == io.EOF {
			r.close()
			continue
		} else if err != nil {
			return nil, err
		}
		isNew, err := r.follows(row[max(r.run, 0)].Int64(), row[r.id].Int64())
		if err != nil {
			return nil, err
		}
		if isNew {
			return row, nil
		}
	}
}

// follows takes the next row of a file and reports whether it is new: not in candidates.parquet already.
func (r *valuesReader) follows(run, id int64) (isNew bool, err error) {
	if r.run < 0 {
		run = 0
	}
	r.ordinal++
	if run < r.lastRun || run == r.lastRun && id <= r.last {
		if r.ordinal > r.count {
			return false, &DamageError{Path: r.t.path, RowGroup: r.r.group, Page: -1, ID: id,
				Cause: fmt.Errorf("out of order: it comes behind design %d", r.last)}
		}
		return false, nil
	}
	if r.ordinal != r.count+1 {
		return false, &DamageError{Path: r.t.path, RowGroup: r.r.group, Page: -1, ID: id,
			Cause: fmt.Errorf("it is row %d of the run, and the rows before are %d", r.ordinal, r.count)}
	}
	r.count, r.lastRun, r.last = r.ordinal, run, id
	return true, nil
}

// fill is next for many rows: [batches].
func (r *valuesReader) fill(b *columnBatch) error {
	for {
		if r.t == nil {
			if err := r.open(); err != nil {
				return err
			}
		}
		err := r.r.batchOf(b)
		if err == io.EOF {
			r.close()
			continue
		} else if err != nil {
			return err
		}
		old := 0 // rows, the first
		for i := range b.rows {
			isNew, err := r.follows(b.columns[max(r.run, 0)][i].Int64(), b.columns[r.id][i].Int64())
			if err != nil {
				return err
			}
			if !isNew {
				old++
			}
		}
		if b.rows -= old; b.rows > 0 {
			for c := range b.columns {
				b.columns[c] = slices.Delete(b.columns[c], 0, old)
			}
			return nil
		}
		b.reset()
	}
}

// open opens the next file that has new rows, or returns io.EOF.
func (r *valuesReader) open() error {
	for {
		if len(r.sources) == 0 {
			if want := r.f.manifest.Rows; r.count < want {
				return damaged(r.f.path(partsName), "the last rows are missing: %d of %d are there", r.count, want)
			}
			return io.EOF
		}
		path := r.sources[0]
		r.sources = r.sources[1:]
		t, err := r.f.openTable(path, !r.trusted)
		if errors.Is(err, fs.ErrNotExist) {
			if filepath.Base(path) == candidatesName {
				continue
			}
			// The run ended while we read: its rows are in candidates.parquet.
			if r.again {
				return damaged(path, "it has gone")
			}
			r.again = true
			if err := r.list(); err != nil {
				return err
			}
			continue
		} else if err != nil {
			return unread(path, err)
		}
		r.again = false
		if err := r.begin(t); err != nil {
			t.Close()
			return err
		}
		if t.firstRow+t.rows <= r.count {
			t.Close()
			continue
		}
		r.t, r.r, r.ordinal = t, t.readColumns(0, len(t.parquet.RowGroups()), r.only), t.firstRow
		return nil
	}
}

// begin checks that a file is the run's and comes next.
func (r *valuesReader) begin(t *table) error { return r.f.belongs(t, r.count) }

func (f *Folder) belongs(t *table, count int64) error {
	if t.run != f.manifest.Run() {
		return damaged(t.path, "it is of another run")
	}
	if err := t.fits(f.columns); err != nil {
		return err
	}
	if t.firstRow > count {
		return damaged(t.path, "rows are missing before it: %d of %d are there", count, t.firstRow)
	}
	return nil
}

func (r *valuesReader) close() {
	if r.t != nil {
		r.r.close()
		r.t.Close()
		r.t, r.r = nil, nil
	}
}

// rowReader reads the rows of a folder.
type rowReader struct {
	values *valuesReader
	d      *decoder
}

// readRows reads rows, with names only those columns of them.
func (f *Folder) readRows(names ...string) (*rowReader, error) {
	v, err := f.read()
	d := newDecoder(f.manifest.Columns)
	if len(names) > 0 {
		names = append(slices.Clone(names), "id", runColumn.Name)
		for i := range f.columns {
			if slices.Contains(names, f.columns[i].Name) {
				v.only = append(v.only, i)
			}
		}
		d.only = v.only
	}
	return &rowReader{v, d}, err
}

// next fills row, whose Parameters it reuses, or returns io.EOF.
func (r *rowReader) next(row *objective.Row) error {
	values, err := r.values.next()
	if err != nil {
		return err
	}
	return r.decode(values, row)
}

// decode turns values, just read, into a row.
func (r *rowReader) decode(values parquet.Row, row *objective.Row) error {
	if c := r.d.decode(values, row); c >= 0 {
		return &DamageError{Path: r.values.t.path, RowGroup: r.values.r.group, Page: -1, Column: r.d.columns[c].Name, ID: values[r.values.id].Int64(),
			Cause: fmt.Errorf("%v cannot be there", values[c])}
	}
	return nil
}

func (r *rowReader) close() { r.values.close() }

// Rows yields all rows in order, each once, out of whatever files they are in. With names of columns only
// those, id and run are read, several times as fast; the others are as in an empty row. An
// error, a DamageError, ReadError or FolderError, is the last thing it yields. Memory does
// not grow with the number of rows.
func (f *Folder) Rows(names ...string) iter.Seq2[objective.Row, error] {
	return func(yield func(objective.Row, error) bool) {
		r, err := f.readRows(names...)
		if err != nil {
			yield(objective.Row{}, err)
			return
		}
		defer r.close()
		for {
			var row objective.Row
			err := r.next(&row)
			if err == io.EOF {
				return
			}
			if err != nil {
				yield(objective.Row{}, err)
				return
			}
			if !yield(row, nil) {
				return
			}
		}
	}
}

// Scan visits the rows as Rows yields them, until visit returns false, all in the same memory: a row is valid
// during the call, and is only read.
func (f *Folder) Scan(visit func(*objective.Row) bool, names ...string) error {
	r, err := f.readRows(names...)
	if err != nil {
		return err
	}
	defer r.close()
	var row objective.Row
	for {
		switch err := r.next(&row); {
		case err == io.EOF:
			return nil
		case err != nil:
			return err
		case !visit(&row):
			return nil
		}
	}
}
