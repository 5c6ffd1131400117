package results

import (
	"bytes"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"io/fs"
	"path/filepath"
	"regexp"
	"time"
)

// logEntry formats an entry of log.txt.
func logEntry(id int64, at time.Time, text string) []byte {
	head := fmt.Sprintf("design %d, %s, %d bytes", id, at.UTC().Format(time.RFC3339), len(text))
	return []byte(fmt.Sprintf("%s, crc32 %08x\n%s\n", head, crc32.ChecksumIEEE([]byte(head+text)), text))
}

// readLog reads the entries of log.txt. It returns the designs that have one, how much of data
// whole entries take, and what is wrong with the rest, nil if there is none.
func readLog(data []byte) (designs map[int64]bool, whole int, err error) {
	designs = map[int64]bool{}
	for whole < len(data) {
		rest := data[whole:]
		line, body, ok := bytes.Cut(rest, []byte("\n"))
		if !ok {
			return designs, whole, io.ErrUnexpectedEOF
		}
		head, sum, ok := bytes.Cut(line, []byte(", crc32 "))
		var id int64
		var at string
		var n int
		if _, e := fmt.Sscanf(string(head), "design %d, %s %d bytes", &id, &at, &n); e != nil || !ok || n < 0 {
			return designs, whole, fmt.Errorf("byte %d: not the head of an entry", whole)
		}
		if len(body) < n+1 {
			return designs, whole, io.ErrUnexpectedEOF
		}
		if want := fmt.Sprintf("%08x", crc32.ChecksumIEEE(append(bytes.Clone(head), body[:n]...))); want != string(sum) || body[n] != '\n' {
			return designs, whole, fmt.Errorf("byte %d, design %d: the checksum does not fit", whole, id)
		}
		designs[id] = true
		whole += len(line) + 1 + n + 1
	}
	return designs, whole, nil
}

// addresses are what differs between two stacks of the same fault.
var addresses = regexp.MustCompile(`0x[0-9a-f]+\??|goroutine \d+`)

// LogFault puts the stack of a failed candidate into log.txt. A fault whose
// stack is there already only refers to it.
func (r *Run) LogFault(id int64, fault, stack string) error {
	if err := r.open(); err != nil {
		return err
	}
	text := fault + "\n" + stack
	place := addresses.ReplaceAllString(stack, "")
	if place == "" {
		place = fault
	}
	if first, ok := r.faults[place]; ok {
		text = fmt.Sprintf("%s\n(stack as of design %d)", fault, first)
	} else if len(r.faults) < 1000 {
		r.faults[place] = id
	}
	path := r.path(logName)
	f, err := r.disk.OpenWrite(path)
	if err != nil {
		return &WriteError{path, "open", err}
	}
	op := "write"
	size, err := f.Size()
	entry := logEntry(id, time.Now(), text)
	if err == nil {
		if _, err = f.WriteAt(entry, size); err == nil {
			op, err = "sync", f.Sync()
		}
		if err == nil {
			op = "read back"
			back := make([]byte, len(entry))
			if _, err = f.ReadAt(back, size); err == nil && !bytes.Equal(back, entry) {
				err = errReadBack
			}
		}
		if err != nil {
			f.Truncate(size) // as far as it can be
		}
	}
	if e := f.Close(); err == nil && e != nil {
		op, err = "close", e
	}
	if err == nil && size == 0 {
		op, err = "sync the folder of", r.disk.SyncDir(filepath.Dir(path))
	}
	if err != nil {
		return &WriteError{path, op, err}
	}
	return nil
}

// mendLog cuts off an entry that a crash has left unfinished.
func (r *Run) mendLog() error {
	path := r.path(logName)
	data, err := readBytes(r.disk, path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	} else if err != nil {
		return &WriteError{path, "read", err}
	}
	_, whole, err := readLog(data)
	if !errors.Is(err, io.ErrUnexpectedEOF) {
		return nil // whole, or damaged: not ours to cut
	}
	f, err := r.disk.OpenWrite(path)
	if err == nil {
		if err = f.Truncate(int64(whole)); err == nil {
			err = f.Sync()
		}
		if e := f.Close(); err == nil {
			err = e
		}
	}
	if err != nil {
		return &WriteError{path, "mend", err}
	}
	return nil
}
