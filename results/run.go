package results

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"time"

	"flexwright/objective"
)

// Description is what a run is started from.
type Description struct {
	Identity
	Goals   []Goal
	Columns []objective.Column // Spec.Columns
	Brief   []byte             // of the file, stored as it is
	Layouts []LayoutFile       // of the user's own, that the brief names
	// Length is how far the plan goes (see Plan). A run that is taken up with a longer one
	// grows; a shorter one is a part of it.
	Length int64
	Method string // evolve, latin, sobol or grid
	// Whole says that a plan is a part of a longer one only in whole multiples: strata.
	Whole bool
	// Surrogate is what the brief comes to for a new run.
	Surrogate bool
	Auto      bool // it leaves that open: a run that is taken up keeps what it has
	// Note is told what the user should know, a sentence at a time: about a
	// lock that was left behind. Nil: nobody.
	Note func(string)
}

// LayoutFile is a layout file as it was given, by the name that stands in it:
// letters, digits, _ and -.
type LayoutFile struct {
	Name string
	Text []byte
}

// Run is a run folder that is being written to. One goroutine uses it at a time.
type Run struct {
	Folder
	lock *lock

	rows, feasible int64           // stored
	candidates     int64           // of these in candidates.parquet
	stored         Manifest        // as it is on the disk
	wrote          bool            // rows, since Start
	last           []objective.Row // behind those stored: End stores them without a part
	clean          bool            // what a crash has left is gone
	brief          []byte          // that goes with the last plan, nil if brief.yaml does
	faults         map[string]int64
}

// ballast is never touched: it takes no memory, and lets the garbage collector wait until as much has been left behind,
// which is a few parts. A search itself leaves nothing; collecting took a sixth of what a run costs beside it.
var ballast = sync.OnceValue(func() []byte { return make([]byte, 32<<20) })

// Start makes a folder into a new run, or takes up the run that is in it. A
// run that is taken up is not written to before there is something to write.
//
// The error is a MismatchError if the folder holds another run, a FolderError if it
// holds something else, an InUseError, a DamageError or a WriteError.
func Start(dir string, d Description) (*Run, error) {
	return start(osDisk{}, dir, d, watchTime)
}

func start(on disk, dir string, d Description, watch time.Duration) (*Run, error) {
	note := d.Note
	if note == nil {
		note = func(string) {}
	}
	_, err := takeUp(on, dir, &d)
	if isFolderError(err) {
		if err = mayCreate(on, dir, d.Brief); isFolderError(err) {
			// Unless another process has made the run since we looked.
			if _, again := takeUp(on, dir, &d); !isFolderError(again) {
				err = again
			}
		} else if err == nil {
			if e := on.Mkdir(filepath.Join(dir, partsName)); e != nil {
				err = &WriteError{dir, "create", e}
			}
		}
	}
	if err != nil {
		return nil, err
	}
	l, err := takeLock(on, dir, watch, note)
	if err != nil {
		return nil, err
	}
	ballast()
	r := &Run{lock: l, faults: map[string]int64{}}
	m, err := takeUp(on, dir, &d)
	if isFolderError(err) {
		err = r.create(on, dir, &d)
	} else if err == nil {
		r.Folder, r.stored = Folder{dir: dir, disk: on, manifest: m, columns: d.Columns}, *m
		err = r.resume(&d)
	}
	if err != nil {
		l.release()
		return nil, err
	}
	return r, nil
}

func isFolderError(err error) bool {
	var folder *FolderError
	return errors.As(err, &folder)
}

// mayCreate refuses a folder with anything in it but what Start leaves when it
// is interrupted.
func mayCreate(on disk, dir string, brief []byte) error {
	entries, err := on.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if errors.Is(err, syscall.ENOTDIR) {
		return &FolderError{dir, "it is no folder"}
	} else if err != nil {
		return unread(dir, err)
	}
	ours := len(entries) == 0
	for _, e := range entries {
		switch name := e.Name(); name {
		case partsName:
			if !e.IsDir() {
				return &FolderError{dir, name + " in it is not a folder"}
			}
			ours = true
		case lockName, briefName + temporary, manifestName + temporary:
		case layoutsName:
			if !e.IsDir() {
				return &FolderError{dir, name + " in it is not a folder"}
			}
		case briefName:
			if have, err := readBytes(on, filepath.Join(dir, name)); err != nil || string(have) != string(brief) {
				return &FolderError{dir, "the folder is not empty and holds no run: " + name}
			}
		default:
			return &FolderError{dir, "the folder is not empty and holds no run: " + name}
		}
	}
	if !ours {
		return &FolderError{dir, "the folder is not empty and holds no run: " + entries[0].Name()}
	}
	return nil
}

// takeUp reads the manifest of a folder and compares the run with d.
func takeUp(on disk, dir string, d *Description) (*Manifest, error) {
	m, err := readManifest(on, dir)
	if err != nil {
		return nil, err
	}
	if len(m.Runs) > 0 {
		return nil, &MismatchError{dir, "content", fmt.Sprintf("%d runs that were joined", len(m.Runs)), "one run that could go on"}
	}
	if len(m.Missing) > 0 {
		return nil, &MismatchError{dir, "content", fmt.Sprintf("a part of a run, joined without all of %s", strings.Join(m.Missing, ", ")), "one run that could go on"}
	}
	if m.Format != Format {
		return nil, &MismatchError{dir, "format", fmt.Sprintf("%d, of an earlier version, which can be read and not continued", m.Format), fmt.Sprint(Format)}
	}
	if err := m.Identity.mismatch(dir, &d.Identity); err != nil {
		return nil, err
	}
	if err := m.grows(dir, d); err != nil {
		return nil, err
	}
	if want := infos(d.Columns); !slices.Equal(m.Columns, want) {
		return nil, &MismatchError{dir, "list of columns", fmt.Sprint(names(m.Columns)), fmt.Sprint(names(want))}
	}
	return m, nil
}

func names(list []ColumnInfo) []string {
	var n []string
	for _, c := range list {
		n = append(n, c.Name)
	}
	return n
}

// grows refuses a plan that is neither a part of the folder's nor one that it can become.
func (m *Manifest) grows(dir string, d *Description) error {
	last := m.Plans[len(m.Plans)-1].Length
	if at := slices.IndexFunc(m.Plans, func(p Plan) bool { return d.Length <= p.Length }); at >= 0 && !d.Auto && d.Surrogate != m.Plans[at].Surrogate {
		return &MismatchError{dir, WhatSurrogate, onOff(m.Plans[at].Surrogate), onOff(d.Surrogate)}
	}
	if !d.Whole || d.Length == last || d.Length > last && d.Length%last == 0 ||
		slices.ContainsFunc(m.Plans, func(p Plan) bool { return p.Length == d.Length }) {
		return nil
	}
	return &MismatchError{dir, "plan", fmt.Sprintf("of %d designs, each in a stratum of its own, which grows to %d, %d and so on", last, 2*last, 3*last), fmt.Sprint(d.Length)}
}

func onOff(on bool) string {
	if on {
		return "on"
	}
	return "off"
}

// Plans are those of the run, the one that was asked for last if it is longer than the others.
func (r *Run) Plans() []Plan { return r.manifest.Plans }

// create writes brief and manifest of a new run.
func (r *Run) create(on disk, dir string, d *Description) error {
	brief := sha(d.Brief)
	m := &Manifest{Format: Format, Identity: d.Identity, Brief: brief, Goals: d.Goals, Columns: infos(d.Columns),
		Plans: []Plan{{brief, d.Method, d.Length, d.Surrogate}}, State: Running}
	r.Folder = Folder{dir: dir, disk: on, manifest: m, columns: d.Columns}
	r.clean = true
	if err := r.lock.claim(); err != nil {
		return err
	}
	if err := writeBytes(on, r.path(briefName), d.Brief); err != nil {
		return err
	}
	for _, l := range d.Layouts {
		if !isLayoutName(l.Name) {
			panic("results: the name of a layout does not make a file's")
		}
		m.Layouts = append(m.Layouts, LayoutInfo{l.Name, sha(l.Text)})
		if err := copyLayout(on, dir, l.Name, l.Text); err != nil {
			return err
		}
	}
	if err := r.writeManifest(""); err != nil {
		return err
	}
	if err := on.SyncDir(filepath.Dir(filepath.Clean(dir))); err != nil {
		return &WriteError{dir, "sync the folder above", err}
	}
	return nil
}

// resume counts what is stored, and lets the run grow if it is to.
func (r *Run) resume(d *Description) error {
	text, _, err := r.Brief(0)
	if err != nil {
		return err
	}
	asked := sha(d.Brief)
	switch last := r.manifest.Plans[len(r.manifest.Plans)-1]; {
	case d.Length > last.Length:
		m := *r.manifest
		m.Brief, m.Plans = asked, append(slices.Clone(m.Plans), Plan{asked, d.Method, d.Length, d.Surrogate && !d.Auto || last.Surrogate && d.Auto})
		r.manifest, r.brief = &m, d.Brief
	case asked == last.Brief && sha(text) != asked: // a crash came between manifest and brief
		r.brief = d.Brief
	}
	if err := r.count(); err != nil {
		return err
	}
	if want := r.manifest.Rows; r.rows < want {
		return damaged(r.path(partsName), "the last rows are missing: %d of %d are there", r.rows, want)
	}
	return nil
}

// count adds up the rows of all files by their metadata.
func (r *Run) count() error {
	parts, err := r.parts()
	if err != nil {
		return err
	}
	paths := []string{r.path(candidatesName)}
	for _, first := range parts {
		paths = append(paths, r.partPath(first))
	}
	for i, path := range paths {
		t, err := openTable(r.disk, path, false)
		if i == 0 && errors.Is(err, fs.ErrNotExist) {
			continue
		} else if err != nil {
			return unread(path, err)
		}
		err = r.belongs(t, r.rows)
		switch {
		case err != nil:
		case t.firstRow == r.rows:
			r.rows += t.rows
			r.feasible += t.feasible
		case t.firstRow+t.rows > r.rows:
			// Some of its rows are in candidates.parquet: count the others.
			err = r.countRows()
			t.Close()
			return err
		}
		t.Close()
		if err != nil {
			return err
		}
		if i == 0 {
			r.candidates = t.rows
		}
	}
	return nil
}

// countRows counts by reading.
func (r *Run) countRows() error {
	r.rows, r.feasible = 0, 0
	return r.Scan(func(row *objective.Row) bool {
		r.rows++
		if row.Feasible {
			r.feasible++
		}
		return true
	}, "feasible")
}

// Stored returns how many rows are stored, and how many of them are feasible.
func (r *Run) Stored() (rows, feasible int64) { return r.rows, r.feasible }

// Ended says what ended the run when it was last worked on, empty if it did not end.
func (r *Run) Ended() Cause { return r.stored.EndedBy }

// Done reports whether the plan of the run has come to its end, so that nothing is left to do.
func (r *Run) Done() bool {
	switch r.stored.EndedBy {
	case ByPlan:
		return r.candidates == r.rows && len(r.stored.Plans) == len(r.manifest.Plans)
	case ByStagnation, ByNoPointLeft:
		return r.candidates == r.rows
	}
	return false
}

// begin makes sure, before anything is written, that the folder is ours, and
// drops what a crash has left.
func (r *Run) begin() error {
	if err := r.lock.check(); err != nil {
		return err
	}
	if r.clean {
		return nil
	}
	if err := r.checkParts(); err != nil {
		return err
	}
	for _, dir := range []string{r.dir, r.path(partsName), r.path(receivedName)} {
		entries, err := r.disk.ReadDir(dir)
		if err != nil && !errors.Is(err, fs.ErrNotExist) {
			return unread(dir, err)
		}
		for _, e := range entries {
			if path := filepath.Join(dir, e.Name()); isUnfinished(e.Name()) && !e.IsDir() {
				if err := r.disk.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
					return &WriteError{path, "remove", err}
				}
			}
		}
	}
	if err := r.disk.Mkdir(r.path(partsName)); err != nil {
		return &WriteError{r.path(partsName), "create", err}
	}
	if err := r.mendLog(); err != nil {
		return err
	}
	r.clean = true
	return nil
}

// open is begin, and lets the manifest say that the other files may be ahead of it.
func (r *Run) open() error {
	if err := r.begin(); err != nil {
		return err
	}
	return r.writeManifest("")
}

// Append stores rows as one part: all of them, or none. They come in the order
// of their ids, behind those stored already. The rows are on the disk when it returns.
func (r *Run) Append(rows []objective.Row) (err error) {
	if len(rows) == 0 {
		return nil
	}
	defer func() { err = r.orGone(err) }()
	if err := r.open(); err != nil {
		return err
	}
	w, err := storeTable(r.disk, r.partPath(rows[0].ID), r.manifest, r.columns, r.rows, batchesOf(r.columns, rows))
	if err != nil {
		return err
	}
	r.wrote = true
	r.rows += w.rows
	r.feasible += w.feasible
	return r.writeManifest("")
}

// appendLast stores what a [Recorder] has left to End as a part.
func (r *Run) appendLast() error {
	rows := r.last
	r.last = nil
	return r.Append(rows)
}

// orGone says of an error in one way that the folder was removed meanwhile, wherever that
// was met: at the lock, at a file that was being written or at one that was read back.
func (r *Run) orGone(err error) error {
	if err == nil {
		return nil
	}
	if _, look := r.lock.read(); errors.Is(look, fs.ErrNotExist) {
		return &WriteError{r.dir, "write to", look}
	}
	return err
}

// writeManifest writes manifest.json if it would change.
func (r *Run) writeManifest(by Cause) error {
	m := *r.manifest
	m.Rows, m.Feasible, m.State, m.EndedBy = r.rows, r.feasible, by.state(), by
	if m.State != r.stored.State || m.EndedBy != r.stored.EndedBy || m.Rows != r.stored.Rows || len(m.Plans) != len(r.stored.Plans) || len(m.Alone) != len(r.stored.Alone) {
		if err := writeBytes(r.disk, r.path(manifestName), m.encode()); err != nil {
			return err
		}
		r.stored, r.manifest = m, &m
	}
	if r.brief != nil {
		if err := writeBytes(r.disk, r.path(briefName), r.brief); err != nil {
			return err
		}
		r.brief = nil
	}
	return nil
}

// Close gives the folder back to other processes.
func (r *Run) Close() { r.lock.release() }
