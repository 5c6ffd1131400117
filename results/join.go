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

	"flexwright/objective"
)

// Join puts runs together into a new folder, out, and makes the front anew.
//
// The shards of one run become the run itself: ids stay. All must be there
// and have ended; a MismatchError names those that are missing.
//
// Separate runs get a column run, from 1 in the order given; ids stay, and are
// unique within a run only. They must have the same goals, and what columns
// share a name must share the unit. The result is no run that can go on. Version is that of the program, for the manifest.
//
// Memory does not grow with the number of rows. Other errors are a FolderError,
// a DamageError or a WriteError.
func Join(dirs []string, out, version string) error { return join(osDisk{}, dirs, out, version) }

func join(on disk, dirs []string, out, version string) error {
	var folders []*Folder
	for _, dir := range dirs {
		f, err := openFolder(on, dir)
		if err != nil {
			return err
		}
		if len(f.manifest.Runs) > 0 {
			return &FolderError{dir, "it was joined from separate runs already: join those"}
		}
		if n := len(folders); n > 0 && !slices.Equal(f.manifest.Goals, folders[0].manifest.Goals) {
			return &MismatchError{dir, "goals", goalsText(f.manifest.Goals), goalsText(folders[0].manifest.Goals)}
		}
		for _, other := range folders {
			if f.manifest.Run() == other.manifest.Run() {
				return &MismatchError{dir, "run", "that of " + other.dir, "another"}
			}
		}
		folders = append(folders, f)
	}
	if len(folders) == 0 {
		return &FolderError{out, "nothing to join"}
	}
	if ofOneRun(folders) {
		return joinShards(on, folders, out)
	}
	return joinRuns(on, folders, out, version)
}

// goalsText writes goals as a brief does.
func goalsText(goals []Goal) string {
	texts := make([]string, len(goals))
	for i, g := range goals {
		texts[i] = NameOf(g.Column) + ": " + g.Sense
	}
	return strings.Join(texts, ", ")
}

// ofOneRun reports whether the folders are shards of the same run.
func ofOneRun(folders []*Folder) bool {
	first := folders[0].manifest.Identity
	_, of, _ := strings.Cut(string(first.Shard), "/")
	for _, f := range folders {
		id := f.manifest.Identity
		_, n, ok := strings.Cut(string(id.Shard), "/")
		id.Shard = first.Shard
		if !ok || n != of || id != first {
			return false
		}
	}
	return true
}

func joinShards(on disk, folders []*Folder, out string) error {
	first := folders[0].manifest
	_, of, _ := strings.Cut(string(first.Shard), "/")
	n, err := strconv.Atoi(of)
	if err != nil || n < 1 {
		return damaged(folders[0].path(manifestName), "shard %q", first.Shard)
	}
	there := map[string]bool{}
	m := *first
	m.Shard, m.Runs = "", nil
	for _, f := range folders {
		i, _, _ := strings.Cut(string(f.manifest.Shard), "/")
		there[i] = true
		if f.manifest.State != Ended {
			return &MismatchError{f.dir, "state", string(f.manifest.State) + ": run it to its end first", string(Ended)}
		}
		if !slices.Equal(f.manifest.Columns, first.Columns) {
			return &MismatchError{f.dir, "list of columns", fmt.Sprint(names(f.manifest.Columns)), fmt.Sprint(names(first.Columns))}
		}
		if m.EndedBy == ByPlan {
			m.EndedBy = f.manifest.EndedBy
		}
	}
	var missing []string
	for i := 1; i <= n; i++ {
		if !there[strconv.Itoa(i)] {
			missing = append(missing, fmt.Sprintf("%d/%d", i, n))
		}
	}
	if len(missing) > 0 {
		return &MismatchError{folders[0].dir, "run not complete here: set of shards", "without " + strings.Join(missing, ", "), "whole"}
	}
	return assemble(on, out, &m, folders, func(readers []*valuesReader) source { return byID(readers) })
}

// byID merges rows in the order of their ids.
func byID(readers []*valuesReader) source {
	heads := make([]parquet.Row, len(readers))
	started, taken := false, 0
	advance := func(i int) error {
		row, err := readers[i].next()
		if err == io.EOF {
			row, err = nil, nil
		}
		heads[i] = row
		return err
	}
	return func() (parquet.Row, error) {
		if !started {
			started = true
			for i := range readers {
				if err := advance(i); err != nil {
					return nil, err
				}
			}
		} else if err := advance(taken); err != nil {
			return nil, err
		}
		taken = -1
		for i, row := range heads {
			if row != nil && (taken < 0 || row[readers[i].id].Int64() < heads[taken][readers[taken].id].Int64()) {
				taken = i
			}
		}
		if taken < 0 {
			return nil, io.EOF
		}
		return heads[taken], nil
	}
}

func joinRuns(on disk, folders []*Folder, out, version string) error {
	columns, err := union(folders)
	if err != nil {
		return err
	}
	m := Manifest{Format: Format, Identity: Identity{Version: version}, Brief: folders[0].manifest.Brief,
		Goals: folders[0].manifest.Goals, Columns: columns, State: Ended, EndedBy: ByPlan}
	for _, f := range folders {
		o := f.manifest
		m.Runs = append(m.Runs, RunInfo{o.Identity, o.Brief, o.Plans, o.Rows, o.Feasible, o.State, o.EndedBy})
	}
	return assemble(on, out, &m, folders, func(readers []*valuesReader) source {
		targets := make([][]int, len(readers)) // for each column of the folder, the one of the run, or -1
		for i, r := range readers {
			for _, c := range columns {
				targets[i] = append(targets[i], slices.IndexFunc(r.f.columns, func(own objective.Column) bool { return own.Name == c.Name }))
			}
		}
		run := 0
		var row parquet.Row
		return func() (parquet.Row, error) {
			for run < len(readers) {
				values, err := readers[run].next()
				if err == io.EOF {
					run++
					continue
				} else if err != nil {
					return nil, err
				}
				row = append(row[:0], parquet.Int64Value(int64(run+1)).Level(0, 0, 0))
				for i, from := range targets[run][1:] {
					v := parquet.NullValue()
					level := 0
					if from >= 0 {
						v, level = values[from], values[from].DefinitionLevel()
					}
					row = append(row, v.Level(0, level, i+1))
				}
				return row, nil
			}
			return nil, io.EOF
		}
	})
}

// union lists the columns of all folders behind the column run: those of the first, and what
// others have besides, measures and parameters, before the status.
func union(folders []*Folder) ([]ColumnInfo, error) {
	list := slices.Concat(infos([]objective.Column{runColumn}), folders[0].manifest.Columns)
	for _, f := range folders[1:] {
		for _, c := range f.manifest.Columns {
			at := slices.IndexFunc(list, func(o ColumnInfo) bool { return o.Name == c.Name })
			if at < 0 {
				status := slices.IndexFunc(list, func(o ColumnInfo) bool { return o.Name == "status" })
				list = slices.Insert(list, max(status, 0), c)
			} else if list[at].Unit != c.Unit {
				return nil, &MismatchError{f.dir, "unit of " + c.Name, c.Unit, list[at].Unit}
			}
		}
	}
	return list, nil
}

// assemble writes the joined folder.
func assemble(on disk, out string, m *Manifest, folders []*Folder, rows func([]*valuesReader) source) error {
	var readers []*valuesReader
	for _, f := range folders {
		r, err := f.read()
		if err != nil {
			return err
		}
		defer r.close()
		readers = append(readers, r)
	}
	columns, _ := storedColumns(m.Columns)
	return newFolder(on, out, func(tmp string) error {
		w, err := storeTable(on, filepath.Join(tmp, candidatesName), m, columns, 0, rows(readers))
		if err != nil {
			return err
		}
		m.Rows, m.Feasible = w.rows, w.feasible
		f := &Folder{tmp, on, m, columns}
		front, err := f.Front(nil)
		if err != nil {
			return err
		}
		if _, err := storeTable(on, f.path(frontName), m, columns, 0, rowSource(columns, front)); err != nil {
			return err
		}
		var log []byte
		for i, from := range folders {
			brief, _, err := from.Brief(0)
			if err != nil {
				return err
			}
			if i == 0 || len(m.Runs) > 0 {
				if err := copyBrief(on, tmp, i+1, brief); err != nil {
					return err
				}
			}
			entries, err := readBytes(on, from.path(logName))
			if err != nil && !errors.Is(err, fs.ErrNotExist) {
				return unread(from.path(logName), err)
			}
			_, whole, _ := readLog(entries)
			log = append(log, entries[:whole]...)
		}
		// Numbers of designs in the log tell nothing where they are of several runs.
		if len(log) > 0 && len(m.Runs) == 0 {
			if err := writeBytes(on, f.path(logName), log); err != nil {
				return err
			}
		}
		return writeBytes(on, f.path(manifestName), m.encode())
	})
}
