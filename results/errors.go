package results

import (
	"errors"
	"fmt"
	"io/fs"
	"strconv"
	"strings"
	"syscall"
)

// DamageError says that a file of a run folder is not what was written, or of
// a format that this version does not know.
type DamageError struct {
	Path     string // the file
	RowGroup int    // from 0; -1 where not known
	Column   string // empty where not known
	Page     int    // of that column in that row group, from 0; -1 where not known
	ID       int64  // of the row, 0 where not known
	Cause    error
}

// damaged returns a DamageError of the file as a whole.
func damaged(path string, format string, args ...any) *DamageError {
	return &DamageError{Path: path, RowGroup: -1, Page: -1, Cause: fmt.Errorf(format, args...)}
}

func (e *DamageError) Error() string {
	var read *ReadError
	if errors.As(e.Cause, &read) {
		return read.Error()
	}
	var b strings.Builder
	b.WriteString("damaged: " + e.Path)
	if e.RowGroup >= 0 {
		b.WriteString(", row group " + strconv.Itoa(e.RowGroup))
	}
	if e.Column != "" {
		b.WriteString(", column " + e.Column)
	}
	if e.Page >= 0 {
		b.WriteString(", page " + strconv.Itoa(e.Page))
	}
	if e.ID != 0 {
		b.WriteString(", design " + strconv.FormatInt(e.ID, 10))
	}
	return b.String() + ": " + e.Cause.Error()
}

func (e *DamageError) Unwrap() error { return e.Cause }

// ReadError says that the system could not read a file that is there: no
// permission, a disk that fails. What the file holds is not known.
type ReadError struct {
	Path string
	Err  error
}

func (e *ReadError) Error() string { return fmt.Sprintf("cannot read %s: %v", e.Path, bare(e.Err)) }

func (e *ReadError) Unwrap() error { return e.Err }

// unread makes a ReadError of a system's error, and leaves those of this package as they are.
func unread(path string, err error) error {
	var damage *DamageError
	var read *ReadError
	var folder *FolderError
	if errors.As(err, &damage) || errors.As(err, &read) || errors.As(err, &folder) {
		return err
	}
	if errors.Is(err, errNoFile) {
		return damaged(path, "%w", bare(err))
	}
	return &ReadError{path, err}
}

// FolderError says that a path is not a run folder, or cannot become one.
type FolderError struct {
	Dir   string
	Cause string
}

func (e *FolderError) Error() string { return e.Dir + ": " + e.Cause }

// MismatchError says that a folder holds another run.
type MismatchError struct {
	Dir        string
	What       string // brief, seed, shard, version, platform, columns, or a design
	Have, Want string // in the folder, asked for
}

// WhatBrief is What of a MismatchError of the brief, WhatSurrogate of one in which only the
// surrogate differs, over generations that the run has.
const (
	WhatBrief     = "brief"
	WhatSurrogate = "surrogate"
)

func (e *MismatchError) Error() string {
	return fmt.Sprintf("%s holds another run: its %s is %s, not %s", e.Dir, e.What, e.Have, e.Want)
}

// InUseError says that another process writes to the folder.
type InUseError struct {
	Dir   string
	Host  string // empty where not known, with PID 0
	PID   int
	Since string // by that host's clock
}

func (e *InUseError) Error() string {
	if e.PID == 0 {
		return e.Dir + " is in use by another process"
	}
	return fmt.Sprintf("%s is in use by process %d on %s since %s", e.Dir, e.PID, e.Host, e.Since)
}

// WriteError says that something could not be written. What was stored before
// stays, and the run goes on once the cause is gone.
type WriteError struct {
	Path string
	Op   string // create, write, sync, close, rename, ...
	Err  error
}

func (e *WriteError) Error() string {
	text := fmt.Sprintf("cannot %s %s: %v", e.Op, e.Path, bare(e.Err))
	switch {
	case errors.Is(e.Err, syscall.ENOSPC):
		text += " (the disk is full, or has no room for another file)"
	case errors.Is(e.Err, syscall.EDQUOT):
		text += " (the quota is used up)"
	case errors.Is(e.Err, syscall.EFBIG):
		text += " (the limit on file sizes, ulimit -f)"
	case errors.Is(e.Err, syscall.EROFS):
		text += " (the file system is read-only)"
	case errors.Is(e.Err, fs.ErrNotExist):
		text += " (the folder is not there)"
	}
	return text
}

func (e *WriteError) Unwrap() error { return e.Err }

// bare is the reason in a path error, whose path the caller names already.
func bare(err error) error {
	var path *fs.PathError
	if errors.As(err, &path) {
		return path.Err
	}
	return err
}

// StopError says what ended a run before its plan did. All rows are stored.
type StopError struct {
	By string // max_designs, time or signal
}

func (e *StopError) Error() string { return "stopped by " + e.By }
