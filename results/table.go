package results

import (
	"bufio"
	"bytes"
	"cmp"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"strconv"
	"strings"
	"sync/atomic"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// rowGroupRows is how many rows a row group has: what notebooks' engines like,
// and few enough to hold in memory while it is written.
const rowGroupRows = 65536

// pageBytes is how large a page is before it is compressed: about 8,000 numbers.
// While a row group is written, each column holds one or two such buffers.
const pageBytes = 64 << 10

// batchRows is how many rows are handed to the Parquet library at once: few enough for
// the processor's cache.
const batchRows = 64

const (
	formatKey    = "flexwright.format"
	versionKey   = "flexwright.version"
	runKey       = "flexwright.run"
	manifestKey  = "flexwright.manifest"
	firstRowKey  = "flexwright.first_row"
	feasibleKey  = "flexwright.feasible"
	rowGroupsKey = "flexwright.row_groups"
	footerKey    = "flexwright.footer"
	checksumMD   = "flexwright.checksum"
	unitKey      = "unit:"
	meaningKey   = "meaning:"
)

var (
	errReadBack = errors.New("what was read back is not what was written")
	noChecksum  = strings.Repeat("0", 2*sha256.Size)
)

// tableWriter writes one Parquet file.
type tableWriter struct {
	f      file
	buffer *bufio.Writer
	err    error // the first of the file's; the library may forget it
	//lint:ignore SA1019 the writer of untyped rows: the columns are known at run time only
	parquet *parquet.Writer
	rows    int64
	groups  []string  // "end sha256" of each row group
	group   hash.Hash // of what was written since the last one, from the second on
	whole   hash.Hash // of all row groups
	tail    []byte    // what is behind them
	closing bool
	written int64 // bytes
}

// newTableWriter begins a Parquet file of the run of m.
func newTableWriter(f file, m *Manifest, columns []objective.Column, firstRow int64) *tableWriter {
	t := &tableWriter{f: f, buffer: bufio.NewWriterSize(f, 64<<10), group: sha256.New(), whole: sha256.New()}
	config := &parquet.WriterConfig{
		CreatedBy:      "flexwright",
		Schema:         schemaOf(columns),
		PageBufferSize: pageBytes,
		KeyValueMetadata: map[string]string{
			formatKey: strconv.Itoa(m.Format), versionKey: m.Version, runKey: m.Run(), manifestKey: m.identityJSON(),
			firstRowKey: strconv.FormatInt(firstRow, 10), checksumMD: noChecksum, footerKey: noChecksum,
		},
	}
	for i := range columns {
		if columns[i].Unit != "" {
			config.KeyValueMetadata[unitKey+columns[i].Name] = columns[i].Unit
		}
		config.KeyValueMetadata[meaningKey+columns[i].Name] = columns[i].Meaning
	}
	// Without a buffer of the library's, all of a row group has come here when
	// it has been flushed, and its checksum can be taken.
	// Statistics of each page are in the column index.
	t.parquet = parquet.NewWriter(t, config, parquet.WriteBufferSize(0), parquet.DataPageStatistics(false))
	return t
}

// Write is what the Parquet library writes to.
func (t *tableWriter) Write(p []byte) (int, error) {
	if t.err != nil {
		return 0, t.err
	}
	if t.closing {
		t.tail = append(t.tail, p...)
	} else {
		if t.whole.Write(p); len(t.groups) > 0 {
			t.group.Write(p)
		}
	}
	t.written += int64(len(p))
	n, err := t.buffer.Write(p)
	t.err = err
	return n, err
}

func (t *tableWriter) write(b *columnBatch) error {
	for c, w := range t.parquet.ColumnWriters() {
		if n, err := w.WriteRowValues(b.columns[c]); err != nil || n != b.rows {
			return cmp.Or(t.err, err, io.ErrShortWrite)
		}
	}
	if t.rows += int64(b.rows); t.rows >= rowGroupRows*int64(len(t.groups)+1) {
		return cmp.Or(t.flush(), t.err)
	}
	return t.err
}

// flush ends a row group.
func (t *tableWriter) flush() error {
	before := t.written
	columns := t.parquet.ColumnWriters()
	if err := sideBySide(len(columns), func(i int) error { return columns[i].Flush() }); err != nil { // into memory
		return err
	}
	if err := t.parquet.Flush(); err != nil {
		return err
	}
	if t.written > before {
		sum := t.group
		if len(t.groups) == 0 {
			sum = t.whole
		}
		t.groups = append(t.groups, fmt.Sprintf("%d %x", t.written, sum.Sum(nil)))
		t.group.Reset()
	}
	return nil
}

// Close writes the footer and puts the checksums in it. They are of what was
// meant to be written, not of what the file has.
func (t *tableWriter) Close(feasible int64) error {
	err := t.flush()
	t.closing = true
	t.parquet.SetKeyValueMetadata(rowGroupsKey, strings.Join(t.groups, ", "))
	t.parquet.SetKeyValueMetadata(feasibleKey, strconv.FormatInt(feasible, 10))
	err = cmp.Or(err, t.parquet.Close())
	if err = cmp.Or(t.err, err, t.buffer.Flush()); err != nil {
		return err
	}
	s, err := readSums(bytes.NewReader(t.tail), int64(len(t.tail)))
	if err != nil {
		return err
	}
	before := t.written - int64(len(t.tail))
	if _, err = t.f.WriteAt([]byte(s.footer()), before+s.footerAt); err != nil {
		return err
	}
	t.whole.Write(t.tail[:s.at])
	t.whole.Write(s.blank)
	_, err = t.f.WriteAt([]byte(hex.EncodeToString(t.whole.Sum(nil))), before+s.wholeAt)
	return err
}

// sums are the two checksums in the footer of a Parquet file.
type sums struct {
	at                  int64  // of the footer
	blank               []byte // the footer and what is behind it, with zeros for the digits
	footerAt, wholeAt   int64
	footerSum, wholeSum string
}

// readSums finds the checksums.
func readSums(f io.ReaderAt, size int64) (*sums, error) {
	var tail [8]byte
	if size < 12 {
		return nil, fmt.Errorf("%d bytes are no Parquet file", size)
	}
	if _, err := f.ReadAt(tail[:], size-8); err != nil {
		return nil, err
	}
	length := int64(binary.LittleEndian.Uint32(tail[:]))
	if string(tail[4:]) != "PAR1" || length > size-12 {
		return nil, errors.New("the end is not that of a Parquet file")
	}
	s := &sums{at: size - 8 - length, blank: make([]byte, length+8)}
	if _, err := f.ReadAt(s.blank, s.at); err != nil {
		return nil, err
	}
	for key, to := range map[string]struct {
		at  *int64
		sum *string
	}{footerKey: {&s.footerAt, &s.footerSum}, checksumMD: {&s.wholeAt, &s.wholeSum}} {
		// In the footer's compact Thrift a text is its length and its bytes; 0x18
		// says that the next field is one.
		mark := append([]byte(key), 0x18, byte(len(noChecksum)))
		i := bytes.LastIndex(s.blank, mark)
		if i < 0 || i+len(mark)+len(noChecksum) > len(s.blank) {
			return nil, errors.New("a checksum is missing")
		}
		digits := s.blank[i+len(mark) : i+len(mark)+len(noChecksum)]
		*to.at, *to.sum = s.at+int64(i+len(mark)), string(digits)
		copy(digits, noChecksum)
	}
	return s, nil
}

// footer is the checksum that the footer should have.
func (s *sums) footer() string { return sha(s.blank) }

// whole is the checksum that the file should have.
func (s *sums) whole(f io.ReaderAt, size int64) (string, error) {
	h := sha256.New()
	if _, err := io.Copy(h, io.NewSectionReader(f, 0, s.at)); err != nil {
		return "", err
	}
	h.Write(s.blank)
	return hex.EncodeToString(h.Sum(nil)), nil
}

// compare compares the whole file with the checksum in it.
func (t *table) compare() error {
	sum, err := t.sums.whole(t.f, t.size)
	if err == nil && sum != t.sums.wholeSum {
		err = errors.New("the checksum does not fit")
	}
	return err
}

// table is a Parquet file that is being read.
type table struct {
	path     string
	f        *watchedFile
	size     int64
	sums     *sums
	parquet  *parquet.File
	rows     int64
	firstRow int64
	feasible int64
	run      string
	format   int
}

// names are the columns of the file, as they are called now.
func (t *table) names() []string {
	fields := t.parquet.Schema().Fields()
	list := make([]string, len(fields))
	for i, f := range fields {
		list[i] = currentName(t.format, f.Name())
	}
	return list
}

// openTable opens a Parquet file. It first compares the footer with its
// checksum, and with whole the whole file, so that what is read afterwards is
// what was written. A file that is missing is an error that is fs.ErrNotExist.
func openTable(d disk, path string, whole bool) (*table, error) {
	f, err := d.Open(path)
	if err != nil {
		return nil, err
	}
	t := &table{path: path, f: &watchedFile{file: f}}
	if err := t.open(whole); err != nil {
		f.Close()
		return nil, t.failure(-1, err)
	}
	return t, nil
}

// watchedFile remembers that the system could not read: the Parquet library says so
// in its own words, as if the file were damaged.
type watchedFile struct {
	file
	err atomic.Pointer[error]
}

func (f *watchedFile) ReadAt(p []byte, at int64) (int, error) {
	n, err := f.file.ReadAt(p, at)
	if err != nil && err != io.EOF {
		f.err.CompareAndSwap(nil, &err)
	}
	return n, err
}

// failure is what it means that a row group (-1: the file) could not be read: a ReadError if
// the system failed, else a DamageError.
func (t *table) failure(group int, err error) error {
	if read := t.f.err.Load(); read != nil {
		return &ReadError{t.path, *read}
	}
	return &DamageError{Path: t.path, RowGroup: group, Page: -1, Cause: err}
}

func (t *table) open(whole bool) (err error) {
	defer func() { // the library may panic on a damaged file
		if v := recover(); v != nil {
			err = fmt.Errorf("%v", v)
		}
	}()
	if t.size, err = t.f.Size(); err != nil {
		return err
	}
	if t.sums, err = readSums(t.f, t.size); err != nil {
		return err
	}
	if t.sums.footer() != t.sums.footerSum {
		return errors.New("the checksum of the footer does not fit")
	}
	if whole {
		if err := t.compare(); err != nil {
			return err
		}
	}
	// Each column has a buffer of its own: small ones for small files.
	buffer := int(max(4<<10, min(t.size/256, 32<<10)))
	t.parquet, err = parquet.OpenFile(t.f, t.size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true), parquet.ReadBufferSize(buffer))
	if err != nil {
		return err
	}
	t.rows = t.parquet.NumRows()
	v, _ := t.parquet.Lookup(formatKey)
	if t.format, err = strconv.Atoi(v); err != nil || t.format < 1 || t.format > Format {
		return fmt.Errorf("format %q, and this version reads formats 1 to %d", v, Format)
	}
	t.run, _ = t.parquet.Lookup(runKey)
	for key, to := range map[string]*int64{firstRowKey: &t.firstRow, feasibleKey: &t.feasible} {
		v, _ := t.parquet.Lookup(key)
		if *to, err = strconv.ParseInt(v, 10, 64); err != nil || *to < 0 {
			return fmt.Errorf("metadata %s: %q", key, v)
		}
	}
	return nil
}

func (t *table) Close() { t.f.Close() }

// fits compares the file's schema with the columns that are expected.
func (t *table) fits(columns []objective.Column) error {
	have, want, names := t.parquet.Schema().Fields(), schemaOf(columns).Fields(), t.names()
	for i := range want {
		if i >= len(have) {
			return damaged(t.path, "column %s is missing", want[i].Name())
		}
		h, w := have[i], want[i]
		if names[i] != w.Name() || !h.Leaf() || h.Type().Kind() != w.Type().Kind() || h.Optional() != w.Optional() || h.Repeated() {
			return damaged(t.path, "column %d is %s (%s), not %s (%s)", i, names[i], h.String(), w.Name(), w.String())
		}
	}
	if len(have) > len(want) {
		return damaged(t.path, "column %s was not expected", have[len(want)].Name())
	}
	return nil
}
