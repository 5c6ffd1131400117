package results

import (
	"context"
	"errors"
	"io"
	"io/fs"
	"slices"

	"flexwright/objective"
)

// Refine adds columns to the front: it is given the front's rows and returns
// columns, beside those of the run, whose Get finds their values by the row's ID. It ends with
// the error of ctx when that is cancelled.
type Refine func(ctx context.Context, front []objective.Row) ([]objective.Column, error)

// End ends a run. By a signal or a write error it only says so in the
// manifest. Otherwise it puts all rows into candidates.parquet and the front into front.parquet, and
// the parts go. It writes nothing when no row was added to a run that had ended before and its files are whole.
// Memory does not grow with the number of rows. Refine may be nil.
//
// When ctx is cancelled meanwhile, it leaves the run stopped by a signal and
// returns a StopError; when it cannot write, the run is stopped by cannot_write. Another End does the work. Rows that a
// [Recorder] has left to it become a part then, if they can.
func (r *Run) End(ctx context.Context, by Cause, refine Refine) (err error) {
	defer func() { err = r.orGone(err) }()
	switch by.state() {
	case Running:
		panic("results: a run ends by something")
	case Stopped:
		if err := r.appendLast(); err != nil {
			return err
		}
		if !r.wrote && r.stored.State != Running {
			return nil
		}
		if err := r.begin(); err != nil {
			return err
		}
		return r.writeManifest(by)
	}
	if !r.wrote && len(r.last) == 0 && r.stored.State == Ended && r.candidates == r.rows && r.frontIsWhole() {
		if r.lock.denied != nil {
			return nil
		}
		if parts, err := r.parts(); err != nil || len(parts) == 0 {
			return err
		}
		if err := r.begin(); err != nil {
			return err
		}
		return r.removeParts()
	}
	begin := r.begin
	if len(r.last) > 0 {
		begin = r.open
	}
	if err := begin(); err != nil {
		return err
	}
	err = r.consolidate(ctx, refine)
	if err != nil {
		r.appendLast() // as far as it can be
	}
	var write *WriteError
	switch {
	case err == nil:
		if err := r.writeManifest(by); err != nil {
			return err
		}
		return r.removeParts()
	case ctx.Err() != nil:
		if err := r.writeManifest(BySignal); err != nil {
			return err
		}
		return &StopError{string(BySignal)}
	case errors.As(err, &write):
		r.writeManifest(ByCannotWrite) // as far as it can be
	}
	return err
}

// frontIsWhole reports whether front.parquet is there and what was written.
func (r *Run) frontIsWhole() bool {
	t, err := openTable(r.disk, r.path(frontName), true)
	if err != nil {
		return false
	}
	defer t.Close()
	return t.run == r.manifest.Run()
}

// consolidate writes candidates.parquet and front.parquet.
func (r *Run) consolidate(ctx context.Context, refine Refine) error {
	defer func(d disk) { r.disk = d }(r.disk)
	r.disk = stoppable{r.disk, ctx}
	front, err := r.compact()
	if err != nil {
		return err
	}
	columns := r.columns
	if refine != nil {
		more, err := refine(ctx, front)
		if err != nil {
			return err
		}
		columns = append(slices.Clone(columns), more...)
	}
	_, err = storeTable(r.disk, r.path(frontName), r.manifest, columns, 0, batchesOf(columns, front))
	return err
}

// compact puts all rows into candidates.parquet, if they are not there, and returns the front.
func (r *Run) compact() ([]objective.Row, error) {
	if r.candidates == r.rows && r.candidates > 0 && len(r.last) == 0 {
		return r.ownFront()
	}
	all, err := r.read()
	if err != nil {
		return nil, err
	}
	defer all.close()
	last, front := batchesOf(r.columns, r.last), r.newFrontFinder()
	w, err := storeTable(r.disk, r.path(candidatesName), r.manifest, r.columns, 0, func(b *columnBatch) error {
		err := all.fill(b)
		if err == io.EOF {
			err = last(b)
		}
		if err == nil {
			front.add(b)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	rows := r.rows + int64(len(r.last))
	if w.rows != rows {
		return nil, damaged(r.dir, "%d rows were stored and %d read", rows, w.rows)
	}
	r.wrote = r.wrote || len(r.last) > 0
	r.rows, r.feasible, r.candidates, r.last = w.rows, w.feasible, w.rows, nil
	return r.rowsAt(front.archive.Items())
}

// removeParts drops the parts, whose rows are in candidates.parquet now.
func (r *Run) removeParts() error {
	parts, err := r.parts()
	if err != nil {
		return err
	}
	for _, first := range parts {
		if err := r.disk.Remove(r.partPath(first)); err != nil {
			return &WriteError{r.partPath(first), "remove", err}
		}
	}
	err = r.disk.Remove(r.path(partsName))
	if err == nil || errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if left, e := r.disk.ReadDir(r.path(partsName)); e == nil && len(left) > 0 {
		return nil // something that is not ours is in it, and stays
	}
	return &WriteError{r.path(partsName), "remove", err}
}
