package results

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"fmt"
	"hash"
	"io"
	"strconv"
	"strings"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// rowGroupRows is how many rows a row group has: what notebooks' engines like,
// and few enough to hold in memory while it is written.
const rowGroupRows = 131072

// batchRows is how many rows are handed to the Parquet library at once.
const batchRows = 256

const (
	formatKey   = "flexwright.format"
	versionKey  = "flexwright.version"
	runKey      = "flexwright.run"
	firstRowKey = "flexwright.first_row"
	feasibleKey = "flexwright.feasible"
	checksumMD  = "flexwright.checksum"
	unitKey     = "unit:"
	meaningKey  = "meaning:"
)

var (
	errReadBack = errors.New("what was read back is not what was written")
	noChecksum  = strings.Repeat("0", 2*sha256.Size)
)

// tableWriter writes one Parquet file.
type tableWriter struct {
	f       file
	sum     hash.Hash
	err     error // the first of the file's; the library may forget it
	parquet *parquet.Writer
	rows    int64
}

// newTableWriter begins a Parquet file of the run of m.
func newTableWriter(f file, m *Manifest, columns []objective.Column, firstRow int64) *tableWriter {
	t := &tableWriter{f: f, sum: sha256.New()}
	config := &parquet.WriterConfig{
		CreatedBy:          "flexwright",
		Schema:             schemaOf(columns),
		MaxRowsPerRowGroup: rowGroupRows,
		DataPageStatistics: true,
		KeyValueMetadata: map[string]string{
			formatKey: strconv.Itoa(Format), versionKey: m.Version, runKey: m.Run(),
			firstRowKey: strconv.FormatInt(firstRow, 10), checksumMD: noChecksum,
		},
	}
	for i := range columns {
		if columns[i].Unit != "" {
			config.KeyValueMetadata[unitKey+columns[i].Name] = columns[i].Unit
		}
		config.KeyValueMetadata[meaningKey+columns[i].Name] = columns[i].Meaning
	}
	t.parquet = parquet.NewWriter(t, config)
	return t
}

// Write is what the Parquet library writes to.
func (t *tableWriter) Write(p []byte) (int, error) {
	if t.err != nil {
		return 0, t.err
	}
	n, err := t.f.Write(p)
	t.sum.Write(p[:n])
	if err == nil && n < len(p) {
		err = io.ErrShortWrite
	}
	t.err = err
	return n, err
}

func (t *tableWriter) WriteRows(rows []parquet.Row) error {
	n, err := t.parquet.WriteRows(rows)
	t.rows += int64(n)
	if t.err != nil {
		err = t.err
	}
	return err
}

// Close writes the footer and puts the checksum in it.
func (t *tableWriter) Close(feasible int64) error {
	t.parquet.SetKeyValueMetadata(feasibleKey, strconv.FormatInt(feasible, 10))
	err := t.parquet.Close()
	if t.err != nil {
		err = t.err
	}
	if err != nil {
		return err
	}
	size, err := t.f.Size()
	if err != nil {
		return err
	}
	at, _, err := findChecksum(t.f, size)
	if err != nil {
		return err
	}
	_, err = t.f.WriteAt([]byte(hex.EncodeToString(t.sum.Sum(nil))), at)
	return err
}

// findChecksum returns where the digits of the checksum are, and the digits.
func findChecksum(f io.ReaderAt, size int64) (at int64, digits string, err error) {
	var tail [8]byte
	if size < 12 {
		return 0, "", fmt.Errorf("%d bytes are no Parquet file", size)
	}
	if _, err := f.ReadAt(tail[:], size-8); err != nil {
		return 0, "", err
	}
	length := int64(binary.LittleEndian.Uint32(tail[:]))
	if string(tail[4:]) != "PAR1" || length > size-12 {
		return 0, "", errors.New("the end is not that of a Parquet file")
	}
	footer := make([]byte, length)
	if _, err := f.ReadAt(footer, size-8-length); err != nil {
		return 0, "", err
	}
	// In the footer's compact Thrift a text is its length and its bytes; 0x18
	// says that the next field is one.
	mark := append([]byte(checksumMD), 0x18, byte(len(noChecksum)))
	i := bytes.LastIndex(footer, mark)
	if i < 0 || i+len(mark)+len(noChecksum) > len(footer) {
		return 0, "", errors.New("the checksum is missing")
	}
	i += len(mark)
	return size - 8 - length + int64(i), string(footer[i : i+len(noChecksum)]), nil
}

// checkSum compares a file with the checksum in it.
func checkSum(f io.ReaderAt, size int64) error {
	at, digits, err := findChecksum(f, size)
	if err != nil {
		return err
	}
	h := sha256.New()
	after := at + int64(len(digits))
	for _, r := range []io.Reader{io.NewSectionReader(f, 0, at), strings.NewReader(noChecksum), io.NewSectionReader(f, after, size-after)} {
		if _, err := io.Copy(h, r); err != nil {
			return err
		}
	}
	if hex.EncodeToString(h.Sum(nil)) != digits {
		return errors.New("the checksum does not fit")
	}
	return nil
}

// table is a Parquet file that is being read.
type table struct {
	path     string
	f        file
	size     int64
	parquet  *parquet.File
	rows     int64
	firstRow int64
	feasible int64
	run      string
}

// openTable opens a Parquet file. With verify it first compares the whole file
// with its checksum, so that what is read afterwards is what was written.
// A file that is missing is an error that is fs.ErrNotExist.
func openTable(d disk, path string, verify bool) (*table, error) {
	f, err := d.Open(path)
	if err != nil {
		return nil, err
	}
	t := &table{path: path, f: f}
	if err := t.open(verify); err != nil {
		f.Close()
		return nil, damaged(path, "%w", err)
	}
	return t, nil
}

func (t *table) open(verify bool) (err error) {
	defer func() { // the library may panic on a damaged file
		if v := recover(); v != nil {
			err = fmt.Errorf("%v", v)
		}
	}()
	if t.size, err = t.f.Size(); err != nil {
		return err
	}
	if verify {
		if err := checkSum(t.f, t.size); err != nil {
			return err
		}
	}
	t.parquet, err = parquet.OpenFile(t.f, t.size, parquet.SkipPageIndex(true), parquet.SkipBloomFilters(true), parquet.ReadBufferSize(64<<10))
	if err != nil {
		return err
	}
	t.rows = t.parquet.NumRows()
	if v, _ := t.parquet.Lookup(formatKey); v != strconv.Itoa(Format) {
		return fmt.Errorf("format %q, and this version reads format %d", v, Format)
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
	have, want := t.parquet.Schema().Fields(), schemaOf(columns).Fields()
	for i := range want {
		if i >= len(have) {
			return damaged(t.path, "column %s is missing", want[i].Name())
		}
		h, w := have[i], want[i]
		if h.Name() != w.Name() || !h.Leaf() || h.Type().Kind() != w.Type().Kind() || h.Optional() != w.Optional() || h.Repeated() {
			return damaged(t.path, "column %d is %s (%s), not %s (%s)", i, h.Name(), h.String(), w.Name(), w.String())
		}
	}
	if len(have) > len(want) {
		return damaged(t.path, "column %s was not expected", have[len(want)].Name())
	}
	return nil
}

// valueReader reads the rows of a table as values.
type valueReader struct {
	t       *table
	columns int
	group   int // of which the rows are
	rows    parquet.Rows
	left    int64 // rows of the group that were not read
	buffer  []parquet.Row
	at, n   int // in buffer
}

// read returns a reader of the rows of t.
func (t *table) read() *valueReader {
	return &valueReader{t: t, columns: len(t.parquet.Schema().Fields()), group: -1, buffer: make([]parquet.Row, batchRows)}
}

// next returns the next row, valid until the call after, or io.EOF. Every
// other error is a DamageError.
func (r *valueReader) next() (parquet.Row, error) {
	for r.at == r.n {
		if err := r.fill(); err == io.EOF {
			return nil, err
		} else if err != nil {
			return nil, &DamageError{Path: r.t.path, RowGroup: r.group, Page: -1, Cause: err}
		}
	}
	row := r.buffer[r.at]
	r.at++
	return row, nil
}

func (r *valueReader) fill() (err error) {
	defer func() { // the library may panic on a damaged file
		if v := recover(); v != nil {
			err = fmt.Errorf("%v", v)
		}
	}()
	r.at, r.n = 0, 0
	if r.rows == nil || r.left == 0 {
		return r.nextGroup()
	}
	n, err := r.rows.ReadRows(r.buffer)
	for _, row := range r.buffer[:n] {
		if len(row) != r.columns {
			return errors.New("a row with values missing")
		}
	}
	if int64(n) > r.left {
		return errors.New("more rows than the row group has")
	}
	if r.left -= int64(n); errors.Is(err, io.EOF) {
		err = nil
		if r.left > 0 {
			err = fmt.Errorf("%d rows are missing", r.left)
		}
	} else if err == nil && n == 0 {
		err = io.ErrNoProgress
	}
	r.n = n
	return err
}

func (r *valueReader) nextGroup() error {
	r.close()
	groups := r.t.parquet.RowGroups()
	if r.group++; r.group >= len(groups) {
		return io.EOF
	}
	r.rows, r.left = groups[r.group].Rows(), groups[r.group].NumRows()
	return nil
}

// close gives the reader's memory back; the table stays open.
func (r *valueReader) close() {
	if r.rows != nil {
		r.rows.Close()
		r.rows = nil
	}
}
