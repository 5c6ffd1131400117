package results

import (
	"context"
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

// JoinOptions of [Join].
type JoinOptions struct {
	Version string // of the program, for the manifest of separate runs
	// Partial joins shards although some are missing or not finished.
	Partial bool
	// Refine returns what refines the front of the shards of one run (see [Run.End]). Nil: nothing does.
	Refine func(f *Folder) (Refine, error)
	// Planned is how many designs the plan of a shard has, for messages. Nil: nobody knows.
	Planned func(f *Folder) int64
	// Note is told what the user should know, a sentence at a time. Nil: nobody.
	Note func(string)
}

// UnfinishedError says which shards of a run are missing or not at the end of their plan.
type UnfinishedError struct{ Shards []string }

func (e *UnfinishedError) Error() string {
	return "not all shards are finished:\n  " + strings.Join(e.Shards, "\n  ")
}

// Join puts runs together into a new folder, out, and makes the front anew.
//
// The shards of one run become the run itself: ids stay, and a sweep is, but for times, the folder that
// one machine would have written. All must be there and have come to the end of their plans, else
// an UnfinishedError names the others; or Partial: then the manifest lists them, and the folder
// is no run that can go on. Islands of an evolution get a column island, and are no run that can go on either.
//
// Separate runs get a column run, from 1 in the order given; ids stay, and are
// unique within a run only. They must have the same goals, and what columns
// share a name must share the unit. The result is no run that can go on.
//
// Memory does not grow with the number of rows. Other errors are a FolderError, a MismatchError,
// an InUseError, a DamageError, a ReadError or a WriteError.
func Join(dirs []string, out string, o JoinOptions) error { return join(osDisk{}, dirs, out, o) }

func join(on disk, dirs []string, out string, o JoinOptions) error {
	var folders []*Folder
	for _, dir := range dirs {
		f, err := openFolder(on, dir)
		if err != nil {
			return err
		}
		if len(f.manifest.Runs) > 0 || len(f.manifest.Missing) > 0 {
			return &FolderError{dir, "it was joined already: join what it was joined from"}
		}
		if n := len(folders); n > 0 && !slices.Equal(f.manifest.Goals, folders[0].manifest.Goals) {
			return &MismatchError{dir, "list of goals", describeGoals(f.manifest.Goals), describeGoals(folders[0].manifest.Goals)}
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
	if o.Note == nil {
		o.Note = func(string) {}
	}
	if ofOneRun(folders) {
		return joinShards(on, folders, out, o)
	}
	return joinRuns(on, folders, out, o)
}

func describeGoals(goals []Goal) string {
	var list []string
	for _, g := range goals {
		list = append(list, g.Column+": "+g.Sense)
	}
	return strings.Join(list, ", ")
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

func joinShards(on disk, folders []*Folder, out string, o JoinOptions) error {
	first := folders[0].manifest
	_, of, _ := strings.Cut(string(first.Shard), "/")
	n, err := strconv.Atoi(of)
	if err != nil || n < 1 {
		return damaged(folders[0].path(manifestName), "shard %q", first.Shard)
	}
	there := map[string]*Folder{}
	m := *first
	m.Shard, m.Runs, m.State = "", nil, Ended
	for _, f := range folders {
		i, _, _ := strings.Cut(string(f.manifest.Shard), "/")
		there[i] = f
		if !slices.Equal(f.manifest.Columns, first.Columns) {
			return &MismatchError{f.dir, "list of columns", strings.Join(names(f.manifest.Columns), ", "), strings.Join(names(first.Columns), ", ")}
		}
		if !samePlans(f.manifest.Plans, first.Plans) {
			return &MismatchError{f.dir, "plan", describePlans(f.manifest.Plans), describePlans(first.Plans) + " as in " + folders[0].dir}
		}
	}
	var unfinished []string
	m.EndedBy = ByPlan
	for i := 1; i <= n; i++ {
		shard := fmt.Sprintf("%d/%d", i, n)
		f := there[strconv.Itoa(i)]
		if f != nil && f.finished() {
			if m.EndedBy == ByPlan {
				m.EndedBy = f.manifest.EndedBy
			}
			continue
		}
		m.Missing = append(m.Missing, shard)
		if f == nil {
			unfinished = append(unfinished, shard+" is not among the folders given")
			continue
		}
		far := strconv.FormatInt(f.manifest.Rows, 10)
		if o.Planned != nil {
			far = fmt.Sprintf("%d of %d", f.manifest.Rows, o.Planned(f))
		}
		how := string(f.manifest.State)
		if f.manifest.EndedBy != "" {
			how += " by " + string(f.manifest.EndedBy)
		}
		unfinished = append(unfinished, fmt.Sprintf("%s, %s, has %s designs (%s)", shard, f.dir, far, how))
	}
	if len(unfinished) > 0 {
		if !o.Partial {
			return &UnfinishedError{unfinished}
		}
		m.EndedBy = ByMaxDesigns // not by its plan
		for _, text := range unfinished {
			o.Note("joined in part: shard " + text)
		}
	}
	rows := byID
	if len(m.Plans) > 0 && m.Plans[0].Method == "evolve" {
		// Islands are no part of what one population would have bred.
		m.Shard = Shard(fmt.Sprintf("%d islands", n))
		at := slices.IndexFunc(m.Columns, func(c ColumnInfo) bool { return c.Name == "id" }) + 1
		m.Columns = slices.Insert(slices.Clone(m.Columns), at, infos([]objective.Column{islandColumn})...)
		rows = func(readers []*valuesReader) source { return withIsland(byID(readers), at, int64(n)) }
	}
	return assemble(on, out, &m, folders, o, rows)
}

// withIsland puts the number of the island, which ids tell, into a column of rows.
func withIsland(rows source, at int, n int64) source {
	var out parquet.Row
	return func() (parquet.Row, error) {
		row, err := rows()
		if err != nil {
			return nil, err
		}
		island := (row[at-1].Int64()-1)%n + 1
		out = append(append(out[:0], row[:at]...), parquet.Int64Value(island).Level(0, 0, at))
		for i, v := range row[at:] {
			out = append(out, v.Level(0, v.DefinitionLevel(), at+1+i))
		}
		return out, nil
	}
}

// finished reports whether a run has come to the end of its plan.
func (f *Folder) finished() bool {
	switch f.manifest.EndedBy {
	case ByPlan, ByStagnation, ByNoPointLeft:
		return true
	}
	return false
}

func samePlans(a, b []Plan) bool {
	return slices.EqualFunc(a, b, func(a, b Plan) bool { return a.Length == b.Length && a.Surrogate == b.Surrogate })
}

func describePlans(plans []Plan) string {
	var list []string
	for _, p := range plans {
		list = append(list, strconv.FormatInt(p.Length, 10))
	}
	return "of length " + strings.Join(list, ", grown to ")
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

func joinRuns(on disk, folders []*Folder, out string, o JoinOptions) error {
	columns, err := union(folders)
	if err != nil {
		return err
	}
	m := Manifest{Format: Format, Identity: Identity{Version: o.Version}, Brief: folders[0].manifest.Brief,
		Goals: folders[0].manifest.Goals, Columns: columns, State: Ended, EndedBy: ByPlan}
	for _, f := range folders {
		of := f.manifest
		m.Runs = append(m.Runs, RunInfo{of.Identity, of.Brief, of.Plans, of.Rows, of.Feasible, of.State, of.EndedBy})
	}
	return assemble(on, out, &m, folders, o, func(readers []*valuesReader) source {
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
func assemble(on disk, out string, m *Manifest, folders []*Folder, o JoinOptions, rows func([]*valuesReader) source) error {
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
	return newFolder(on, out, o.Note, func(tmp string) error {
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
		}
		for _, l := range m.Layouts {
			text, err := folders[0].Layout(l.Name)
			if err != nil {
				return err
			}
			if err := copyLayout(on, tmp, l.Name, text); err != nil {
				return err
			}
		}
		w, err := storeTable(on, filepath.Join(tmp, candidatesName), m, columns, 0, rows(readers).batches())
		if err != nil {
			return err
		}
		m.Rows, m.Feasible = w.rows, w.feasible
		f := &Folder{dir: tmp, disk: on, manifest: m, columns: columns}
		front, err := f.ownFront()
		if err != nil {
			return err
		}
		frontColumns := columns
		if o.Refine != nil && len(m.Runs) == 0 {
			refine, err := o.Refine(f)
			if err != nil {
				return err
			}
			more, err := refine(context.Background(), front)
			if err != nil {
				return err
			}
			frontColumns = append(slices.Clone(columns), more...)
		}
		if _, err := storeTable(on, f.path(frontName), m, frontColumns, 0, batchesOf(frontColumns, front)); err != nil {
			return err
		}
		var log []byte
		for _, from := range folders {
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
