package results

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/parquet-go/parquet-go"
)

// Verification is what [Verify] found.
type Verification struct {
	Files, Pages, Rows int64 // that were checked; a row once
	Problems           []*DamageError
	Notes              []string // what is there and does not matter
}

// Verify checks everything in a run folder: each file's checksum, each page, each row,
// what files say of one another, and that nothing is missing. Of a damaged file it names the place as closely as it
// can be told. It finds all problems, reads only, and can be used while the run
// is running. The error is a FolderError: there is nothing to check.
//
// Not checked: the content of lock, which nothing depends on.
func Verify(dir string) (*Verification, error) { return verify(osDisk{}, dir) }

func verify(on disk, dir string) (*Verification, error) {
	v := &verifier{on: on, dir: dir, out: &Verification{}, sound: map[string]bool{}}
	m, err := readManifest(on, dir)
	var damage *DamageError
	switch {
	case errors.As(err, &damage):
		v.problem(damage)
	case err != nil:
		return nil, err
	default:
		columns, _ := storedColumns(m.Columns)
		v.folder = &Folder{dir: dir, disk: on, manifest: m, columns: columns}
		v.briefs()
		v.received()
	}
	v.out.Files++
	if err := v.files(); err != nil {
		return nil, err
	}
	if v.folder != nil {
		v.rows()
		v.front()
		v.leftParts()
	}
	v.log()
	return v.out, nil
}

// leftParts notes parts that a crash has left behind the end of a run.
func (v *verifier) leftParts() {
	f := v.folder
	if f.manifest.State != Ended {
		return
	}
	if parts, err := f.parts(); err == nil && len(parts) > 0 {
		v.out.Notes = append(v.out.Notes, fmt.Sprintf("%s: %d parts of an end that was interrupted; their rows are in %s, and run clears them", partsName, len(parts), candidatesName))
	}
}

type verifier struct {
	on     disk
	dir    string
	folder *Folder // nil if the manifest is damaged
	out    *Verification

	bad     map[string]bool // Parquet files that are damaged
	sound   map[string]bool // Parquet files with nothing but what can be where it is, by their checksum
	failed  []int64         // designs of status failed
	onFront []int64         // numbers of the rows on the front; nil: not known
}

func (v *verifier) problem(e *DamageError) {
	for _, p := range v.out.Problems {
		if p.Error() == e.Error() {
			return
		}
	}
	v.out.Problems = append(v.out.Problems, e)
	if v.bad == nil {
		v.bad = map[string]bool{}
	}
	v.bad[e.Path] = true
}

// trouble turns any error into a problem.
func (v *verifier) trouble(path string, err error) {
	v.problem(toDamage(path, err))
}

func toDamage(path string, err error) *DamageError {
	var damage *DamageError
	if !errors.As(err, &damage) {
		damage = damaged(path, "%w", unread(path, err))
	}
	return damage
}

func (v *verifier) briefs() {
	f := v.folder
	for i := range max(1, len(f.manifest.Runs)) {
		v.out.Files++
		if _, path, err := f.Brief(int64(i + 1)); err != nil {
			v.trouble(path, err)
		}
	}
	for _, l := range f.manifest.Layouts {
		v.out.Files++
		if _, err := f.Layout(l.Name); err != nil {
			v.trouble(f.layoutPath(l.Name), err)
		}
	}
}

// received checks what an island took in.
func (v *verifier) received() {
	f := v.folder
	entries, err := v.on.ReadDir(f.path(receivedName))
	if errors.Is(err, fs.ErrNotExist) {
		return
	} else if err != nil {
		v.trouble(f.path(receivedName), err)
	}
	x := (&Recorder{folder: f}).Exchange(ExchangeOptions{}).(*exchange)
	for _, e := range entries {
		path := filepath.Join(f.path(receivedName), e.Name())
		generation, err := strconv.Atoi(strings.TrimSuffix(e.Name(), ".json"))
		if err != nil || f.receivedPath(generation) != path {
			v.note(filepath.Join(receivedName, e.Name()))
			continue
		}
		v.out.Files++
		data, err := readBytes(v.on, path)
		if err == nil {
			_, _, err = x.decode(path, data, generation)
		}
		if err != nil {
			v.trouble(path, err)
		}
	}
}

// files checks each Parquet file for itself.
func (v *verifier) files() error {
	entries, err := v.on.ReadDir(v.dir)
	if err != nil {
		return unread(v.dir, err)
	}
	var tables []string
	for _, e := range entries {
		switch name := e.Name(); {
		case name == candidatesName || name == frontName || name == rescuedName:
			tables = append(tables, filepath.Join(v.dir, name))
		case name == partsName && !e.IsDir():
			v.problem(damaged(filepath.Join(v.dir, name), "it is not a folder"))
		case name == partsName:
			parts, err := v.on.ReadDir(filepath.Join(v.dir, partsName))
			if err != nil {
				v.trouble(filepath.Join(v.dir, partsName), err)
			}
			for _, e := range parts {
				name := filepath.Join(partsName, e.Name())
				if _, ok := partID(e.Name()); ok {
					tables = append(tables, filepath.Join(v.dir, name))
				} else {
					v.note(name)
				}
			}
		case name == reportName: // made from the run, never read
		case name == briefName || name == briefsName || name == layoutsName || name == receivedName || name == manifestName || name == lockName || name == logName:
		default:
			v.note(name)
		}
	}
	for _, path := range tables {
		v.out.Files++
		v.table(path)
	}
	return nil
}

func (v *verifier) note(name string) {
	if isUnfinished(filepath.Base(name)) {
		v.out.Notes = append(v.out.Notes, name+": an unfinished write, never read")
	} else {
		v.out.Notes = append(v.out.Notes, name+": not of the run")
	}
}

// open opens a Parquet file that is whole.
func (v *verifier) open(path string) (*table, error) {
	if v.folder != nil {
		return v.folder.openTable(path, true)
	}
	return openTable(v.on, path, true)
}

// look reports whether all of a Parquet file of rows can be where it is, and the checksum in it.
func (v *verifier) look(path string) (sum string, sound bool) {
	t, err := openTable(v.on, path, false)
	if err != nil {
		return "", false
	}
	defer t.Close()
	return t.sums.wholeSum, t.sound(v.folder.columns)
}

// table checks a Parquet file: its checksum and every page.
func (v *verifier) table(path string) {
	looked := make(chan struct{}) // meanwhile, at the values
	go func() {
		defer close(looked)
		if v.folder == nil || filepath.Base(path) == frontName || filepath.Base(path) == rescuedName {
			return
		}
		if sum, sound := v.look(path); sound {
			v.sound[sum] = true
		}
	}()
	t, err := v.open(path)
	<-looked
	if errors.Is(err, fs.ErrNotExist) && filepath.Base(filepath.Dir(path)) == partsName {
		return // the run has ended meanwhile
	}
	if read := (*ReadError)(nil); errors.As(err, &read) {
		v.trouble(path, err)
		return
	}
	if err == nil {
		defer t.Close()
		part := filepath.Base(filepath.Dir(path)) == partsName
		if n, ok := t.countPages(); ok && v.folder != nil && (part || filepath.Base(path) == candidatesName) {
			v.out.Pages += n // which are read with the rows
			if part {
				v.firstID(t)
			}
			return
		}
		pages, bad := t.pages(nil)
		v.out.Pages += pages
		for _, e := range bad {
			v.problem(e)
		}
		return
	}
	// Damaged: look for the place.
	whole := toDamage(path, err)
	t, groups, err := openDamaged(v.on, path)
	if err != nil {
		v.trouble(path, err)
		return
	}
	defer t.Close()
	pages, bad := t.pages(groups)
	v.out.Pages += pages
	for _, e := range bad {
		v.problem(e)
	}
	for g, proven := range groups {
		if !proven && !slices.ContainsFunc(bad, func(e *DamageError) bool { return e.RowGroup == g }) {
			v.problem(&DamageError{Path: path, RowGroup: g, Page: -1, Cause: fmt.Errorf("%w: the header of a page", whole.Cause)})
		}
	}
	if !slices.Contains(groups, false) {
		v.problem(damaged(path, "%w: the page index", whole.Cause))
	}
}

// firstID compares the name of a part with the id of its first row.
func (v *verifier) firstID(t *table) {
	if err := t.fits(v.folder.columns); err != nil {
		v.trouble(t.path, err)
		return
	}
	r := t.read()
	defer r.close()
	row, err := r.next()
	if err != nil {
		v.trouble(t.path, err)
	} else if id := row[columnNamed(v.folder.columns, "id")].Int64(); filepath.Base(t.path) != strconv.FormatInt(id, 10)+".parquet" {
		v.problem(damaged(t.path, "its first row is design %d", id))
	}
}

// countPages returns how many pages a file has by its index.
func (t *table) countPages() (n int64, ok bool) {
	defer func() {
		if recover() != nil { // the library may, on damaged data
			n, ok = 0, false
		}
	}()
	for _, group := range t.parquet.RowGroups() {
		for _, chunk := range group.ColumnChunks() {
			index, err := chunk.OffsetIndex()
			if err != nil || index == nil {
				return 0, false
			}
			n += int64(index.NumPages())
		}
	}
	return n, true
}

// pages reads every page, of which the library compares the CRC, and returns how
// many are whole and what is wrong with the others. With groups, only in those
// row groups for which it is false.
func (t *table) pages(groups []bool) (whole int64, bad []*DamageError) {
	for g, rg := range t.parquet.RowGroups() {
		if groups != nil && groups[g] {
			continue
		}
		for c, chunk := range rg.ColumnChunks() {
			page, err := readPages(chunk, rg.NumRows())
			whole += int64(page)
			if err != nil {
				if read := t.f.err.Load(); read != nil {
					err = &ReadError{t.path, *read}
				}
				bad = append(bad, &DamageError{Path: t.path, RowGroup: g, Column: t.parquet.Schema().Fields()[c].Name(), Page: page, Cause: err})
			}
		}
	}
	return whole, bad
}

// readPages returns how many pages were read, and why not the next.
func readPages(chunk parquet.ColumnChunk, want int64) (page int, err error) {
	defer func() {
		if v := recover(); v != nil { // the library may, on damaged data
			err = fmt.Errorf("%v", v)
		}
	}()
	pages := chunk.Pages()
	defer pages.Close()
	rows := int64(0)
	for ; ; page++ {
		p, err := pages.ReadPage()
		if err == io.EOF {
			if rows != want {
				return page, fmt.Errorf("%d rows of %d", rows, want)
			}
			return page, nil
		} else if err != nil {
			return page, err
		}
		rows += p.NumRows()
		parquet.Release(p)
	}
}

// log checks log.txt: each entry, and that each failed row has one.
func (v *verifier) log() {
	path := filepath.Join(v.dir, logName)
	data, err := readBytes(v.on, path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
	case err != nil:
		v.trouble(path, err)
		return
	default:
		v.out.Files++
	}
	designs, _, err := readLog(data)
	if errors.Is(err, io.ErrUnexpectedEOF) && (v.folder == nil || v.folder.manifest.State == Running) {
		err = nil // of a crash, or being written
	}
	if err != nil {
		v.problem(damaged(path, "%w", err))
		return
	}
	for _, id := range v.failed {
		if !designs[id] {
			v.problem(&DamageError{Path: path, RowGroup: -1, Page: -1, ID: id, Cause: errors.New("it failed, and its stack is missing")})
			return
		}
	}
}
