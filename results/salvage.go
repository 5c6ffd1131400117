package results

import (
	"cmp"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"flexwright/models"
)

const rescuedName = "rescued.parquet"

// openDamaged opens a Parquet file whose checksum does not fit, if its footer
// is what was written, and tells which row groups are.
func openDamaged(on disk, path string) (_ *table, groups []bool, err error) {
	t, err := openTable(on, path, false)
	if err != nil {
		return nil, nil, err
	}
	defer func() {
		if err != nil {
			t.Close()
		}
	}()
	ends, sums, err := t.groupSums()
	if err != nil {
		return nil, nil, err
	}
	from := int64(0)
	for g, to := range ends {
		h := sha256.New()
		if _, err := io.Copy(h, io.NewSectionReader(t.f, from, to-from)); err != nil {
			return nil, nil, damaged(path, "%w", err)
		}
		groups = append(groups, hex.EncodeToString(h.Sum(nil)) == sums[g])
		from = to
	}
	return t, groups, nil
}

// Salvaged is what [Salvage] made of a damaged folder.
type Salvaged struct {
	Kept    int64    // rows from the first on without a gap: the run goes on behind them
	Rescued int64    // rows behind a gap, in rescued.parquet
	Notes   []string // what was lost, and what could not be proven
}

// segment is a row group that is what was written.
type segment struct {
	t        *table
	group    int
	from, to int64 // numbers of its rows in the run, from 0
}

// Salvage copies what is whole of a damaged folder into a new one, out. Rows up
// to the first that is lost become its candidates.parquet, and the run can go on behind them; whole rows behind that
// are put into rescued.parquet, which takes no part in the run. A row counts as whole if the checksums of its row
// group and of the file's footer prove it. The error is a FolderError or a WriteError.
func Salvage(dir, out string) (*Salvaged, error) { return salvage(osDisk{}, dir, out) }

func salvage(on disk, dir, out string) (*Salvaged, error) {
	s := &Salvaged{}
	note := func(format string, args ...any) { s.Notes = append(s.Notes, fmt.Sprintf(format, args...)) }
	f := &Folder{dir: dir, disk: on}
	parts, err := f.parts()
	if err != nil {
		return nil, err
	}
	paths := []string{f.path(candidatesName)}
	for _, first := range parts {
		paths = append(paths, f.partPath(first))
	}
	var tables []*table
	proven := map[*table][]bool{} // row groups; absent: all
	defer func() {
		for _, t := range tables {
			t.Close()
		}
	}()
	for _, path := range paths {
		t, err := openTable(on, path, true)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			var groups []bool
			if t, groups, err = openDamaged(on, path); err != nil {
				note("lost: %v", err)
				continue
			}
			proven[t] = groups
		}
		tables = append(tables, t)
	}
	if err := f.remake(tables, note); err != nil {
		return nil, err
	}
	var segments []segment
	for _, t := range tables {
		if err := f.belongs(t, math.MaxInt64); err != nil {
			note("lost: %v", err)
			continue
		}
		at := t.firstRow
		for g, rg := range t.parquet.RowGroups() {
			to := at + rg.NumRows()
			if groups := proven[t]; groups == nil || groups[g] {
				segments = append(segments, segment{t, g, at, to})
			} else {
				note("damaged: %s, row group %d, %d rows", t.path, g, rg.NumRows())
			}
			at = to
		}
	}
	// Without gaps from 0 on; of two that overlap the earlier file goes first,
	// and the sort is stable.
	slices.SortStableFunc(segments, func(a, b segment) int { return cmp.Compare(a.from, b.from) })
	whole := 0
	reach := int64(0)
	for whole < len(segments) && segments[whole].from <= reach {
		reach = max(reach, segments[whole].to)
		whole++
	}
	return s, newFolder(on, out, func(string) {}, func(tmp string) error {
		m := *f.manifest
		id, status := columnNamed(f.columns, "id"), columnNamed(f.columns, "status")
		var failed []int64
		rows := segmentRows(segments[:whole], 0)
		w, err := storeTable(on, filepath.Join(tmp, candidatesName), &m, f.columns, 0, source(func() (parquet.Row, error) {
			row, err := rows()
			if err == nil && string(row[status].ByteArray()) == models.Failed.String() {
				failed = append(failed, row[id].Int64())
			}
			return row, err
		}).batches())
		if err != nil {
			return err
		}
		s.Kept = w.rows
		m.Rows, m.Feasible, m.State, m.EndedBy = w.rows, w.feasible, Running, "" // as after a crash
		if whole < len(segments) {
			w, err := storeTable(on, filepath.Join(tmp, rescuedName), &m, f.columns, segments[whole].from, segmentRows(segments[whole:], reach).batches())
			if err != nil {
				return err
			}
			s.Rescued = w.rows
		}
		for i := range max(1, len(m.Runs)) {
			brief, path, err := f.Brief(int64(i + 1))
			if err != nil {
				note("%v; copied as it is", err)
				brief, _ = readBytes(on, path)
			}
			have := sha(brief)
			if i > 0 {
				m.Runs[i].Brief = have
			} else if m.Brief = have; len(m.Plans) > 0 {
				m.Plans = slices.Clone(m.Plans)
				m.Plans[len(m.Plans)-1].Brief = have
			}
			if err := copyBrief(on, tmp, i+1, brief); err != nil {
				return err
			}
		}
		for i, l := range m.Layouts {
			text, err := f.Layout(l.Name)
			if err != nil {
				note("%v; copied as it is", err)
				text, _ = readBytes(on, f.layoutPath(l.Name))
				m.Layouts[i].Sum = sha(text)
			}
			if err := copyLayout(on, tmp, l.Name, text); err != nil {
				return err
			}
		}
		log, err := readBytes(on, f.path(logName))
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			note("lost: %v", err)
		}
		stacks, n, err := readLog(log)
		if err != nil {
			note("%s: kept up to byte %d: %v", f.path(logName), n, err)
		}
		log = log[:n:n]
		for _, id := range failed {
			if !stacks[id] {
				log = append(log, logEntry(id, time.Now(), "the stack was lost with a damaged file")...)
			}
		}
		if len(log) > 0 {
			if err := writeBytes(on, filepath.Join(tmp, logName), log); err != nil {
				return err
			}
		}
		return writeBytes(on, filepath.Join(tmp, manifestName), m.encode())
	})
}

// remake reads the manifest, or makes it again from a Parquet file.
func (f *Folder) remake(tables []*table, note func(string, ...any)) error {
	m, err := readManifest(f.disk, f.dir)
	var damage *DamageError
	if err != nil && !errors.As(err, &damage) {
		return err
	}
	if err != nil {
		note("made again from the rows' files: %v", err)
		if len(tables) == 0 {
			return &FolderError{f.dir, "nothing can be saved: the manifest is damaged and so is every file of rows"}
		}
		t := tables[len(tables)-1] // an earlier one may not know of the last plan
		m = &Manifest{Format: 1}   // where none is said
		text, _ := t.parquet.Lookup(manifestKey)
		if err := json.Unmarshal([]byte(text), m); err != nil || m.Run() != t.run {
			return &FolderError{f.dir, "nothing can be saved: " + t.path + " does not tell the run"}
		}
		names := t.names()
		for i, field := range t.parquet.Schema().Fields() {
			unit, _ := t.parquet.Lookup(unitKey + field.Name())
			meaning, _ := t.parquet.Lookup(meaningKey + field.Name())
			m.Columns = append(m.Columns, ColumnInfo{names[i], unit, meaning})
		}
		m.rename()
	}
	f.manifest = m
	f.columns, _ = storedColumns(m.Columns)
	return nil
}

// segmentRows yields the rows of segments, each once, from number next on.
func segmentRows(segments []segment, next int64) source {
	var r *valueReader
	var at int64
	return func() (parquet.Row, error) {
		for {
			if r == nil {
				if len(segments) == 0 {
					return nil, io.EOF
				}
				r, at = segments[0].t.readGroups(segments[0].group, segments[0].group+1), segments[0].from
				segments = segments[1:]
			}
			row, err := r.next()
			if err == io.EOF {
				r.close()
				r = nil
				continue
			} else if err != nil {
				return nil, err
			}
			if at++; at > next {
				next = at
				return row, nil
			}
		}
	}
}

// newFolder makes a folder in one step: fill makes it under a temporary name.
func newFolder(on disk, out string, note func(string), fill func(tmp string) error) error {
	out = filepath.Clean(out)
	entries, err := on.ReadDir(out)
	switch {
	case err == nil && len(entries) > 0:
		return &FolderError{out, "the folder is not empty"}
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return &FolderError{out, bare(err).Error()}
	}
	empty, tmp := err == nil, out+temporary
	if err := mayRemake(on, tmp); err != nil {
		return err
	}
	if err := on.Mkdir(tmp); err != nil {
		return &WriteError{tmp, "create", err}
	}
	l, err := takeLock(on, tmp, watchTime, note)
	if err != nil {
		return err
	}
	if err = l.claim(); err == nil {
		// What an earlier attempt has left goes: its process has let the lock go, and so is dead.
		for _, name := range ownNames {
			on.Remove(filepath.Join(tmp, name+temporary))
			on.Remove(filepath.Join(tmp, name))
		}
		removeAll(on, filepath.Join(tmp, briefsName))
		removeAll(on, filepath.Join(tmp, layoutsName))
		err = fill(tmp)
	}
	l.release()
	if err == nil && empty {
		if e := on.Remove(out); e != nil {
			err = &WriteError{out, "replace", e}
		}
	}
	if err == nil {
		if e := on.Rename(tmp, out); e != nil {
			err = &WriteError{out, "rename", e}
		}
	}
	if err != nil {
		removeAll(on, tmp)
		return err
	}
	if err := on.SyncDir(filepath.Dir(out)); err != nil {
		return &WriteError{out, "sync the folder of", err}
	}
	return nil
}

// ownNames are the files that newFolder's callers make.
var ownNames = []string{candidatesName, frontName, rescuedName, logName, briefName, manifestName}

// mayRemake refuses to make a folder anew that has anything in it but what an
// interrupted newFolder leaves.
func mayRemake(on disk, tmp string) error {
	if info, err := os.Lstat(tmp); err == nil && !info.IsDir() {
		return &FolderError{tmp, "it is in the way: not a folder"}
	}
	entries, err := on.ReadDir(tmp)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return &FolderError{tmp, bare(err).Error()}
	}
	for _, e := range entries {
		name := strings.TrimSuffix(e.Name(), temporary)
		ours := slices.Contains(ownNames, name) || name == lockName
		if e.IsDir() != (name == briefsName || name == layoutsName) || !e.IsDir() && !ours {
			return &FolderError{tmp, "it is in the way, and holds what no unfinished join leaves: " + e.Name()}
		}
	}
	return nil
}

// copyLayout stores a layout file.
func copyLayout(on disk, dir, name string, text []byte) error {
	path := (&Folder{dir: dir}).layoutPath(name)
	if err := on.Mkdir(filepath.Dir(path)); err != nil {
		return &WriteError{path, "create the folder of", err}
	}
	return writeBytes(on, path, text)
}

// copyBrief stores the brief of run number run of a folder.
func copyBrief(on disk, dir string, run int, brief []byte) error {
	path := (&Folder{dir: dir}).briefPath(int64(run))
	if run > 1 {
		if err := on.Mkdir(filepath.Dir(path)); err != nil {
			return &WriteError{path, "create the folder of", err}
		}
	}
	return writeBytes(on, path, brief)
}
