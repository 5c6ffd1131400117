package results

import (
	"bytes"
	"crypto/sha256"
	"encoding/binary"
	"hash"
	"io"
	"math"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// source yields rows as values, each valid until the call after, and io.EOF
// behind the last.
type source func() (parquet.Row, error)

// written says what is in a Parquet file that was put in place.
type written struct{ rows, feasible int64 }

// storeTable puts a Parquet file in place: written, synced, read back,
// compared, renamed. An error of the source comes back as it is.
func storeTable(d disk, path string, m *Manifest, columns []objective.Column, firstRow int64, next source) (written, error) {
	var (
		w         written
		sourceErr error
		digest    = newDigest()
		feasible  = columnNamed(columns, "feasible")
	)
	err := writeWhole(d, path,
		func(f file) error {
			t := newTableWriter(f, m, columns, firstRow)
			var batch rowBatch
			for sourceErr == nil {
				row, err := next()
				if err == nil {
					digest.add(row)
					batch.add(row)
					w.rows++
					if row[feasible].Boolean() {
						w.feasible++
					}
				} else if err != io.EOF {
					sourceErr = err
					return err
				}
				if len(batch.rows) == batchRows || err == io.EOF {
					if err := t.WriteRows(batch.rows); err != nil {
						return err
					}
					batch.reset()
				}
				if err == io.EOF {
					break
				}
			}
			return t.Close(w.feasible)
		},
		func(tmp string) error {
			t, err := openTable(d, tmp, true)
			if err != nil {
				return err
			}
			defer t.Close()
			back, r := newDigest(), t.read()
			defer r.close()
			for {
				row, err := r.next()
				if err == io.EOF {
					break
				} else if err != nil {
					return err
				}
				back.add(row)
			}
			if t.rows != w.rows || !bytes.Equal(back.h.Sum(nil), digest.h.Sum(nil)) {
				return errReadBack
			}
			return nil
		})
	if sourceErr != nil {
		err = sourceErr
	}
	return w, err
}

// columnNamed returns the number of a column that is there.
func columnNamed(columns []objective.Column, name string) int {
	for i := range columns {
		if columns[i].Name == name {
			return i
		}
	}
	panic("results: no column " + name)
}

// rowBatch copies rows that do not last.
type rowBatch struct {
	rows   []parquet.Row
	values []parquet.Value
	bytes  []byte
}

func (b *rowBatch) add(row parquet.Row) {
	n := len(b.values)
	for _, v := range row {
		if v.Kind() == parquet.ByteArray && !v.IsNull() {
			at := len(b.bytes)
			b.bytes = append(b.bytes, v.ByteArray()...)
			v = parquet.ByteArrayValue(b.bytes[at:len(b.bytes):len(b.bytes)]).Level(0, v.DefinitionLevel(), v.Column())
		}
		b.values = append(b.values, v)
	}
	b.rows = append(b.rows, b.values[n:len(b.values):len(b.values)])
}

func (b *rowBatch) reset() { b.rows, b.values, b.bytes = b.rows[:0], b.values[:0], b.bytes[:0] }

// digest is a checksum of rows as values, whatever the file around them.
type digest struct {
	h   hash.Hash
	buf []byte
}

func newDigest() *digest { return &digest{h: sha256.New()} }

func (d *digest) add(row parquet.Row) {
	d.buf = d.buf[:0]
	for i := range row {
		v := &row[i]
		if v.IsNull() {
			d.buf = append(d.buf, 0)
			continue
		}
		d.buf = append(d.buf, 1)
		switch v.Kind() {
		case parquet.Int64:
			d.buf = binary.LittleEndian.AppendUint64(d.buf, uint64(v.Int64()))
		case parquet.Double:
			d.buf = binary.LittleEndian.AppendUint64(d.buf, math.Float64bits(v.Double()))
		case parquet.Boolean:
			if v.Boolean() {
				d.buf = append(d.buf, 1)
			} else {
				d.buf = append(d.buf, 0)
			}
		default:
			b := v.ByteArray()
			d.buf = binary.LittleEndian.AppendUint32(d.buf, uint32(len(b)))
			d.buf = append(d.buf, b...)
		}
	}
	d.h.Write(d.buf)
}

// rowSource yields rows of memory as values.
func rowSource(columns []objective.Column, rows []objective.Row) source {
	var buf parquet.Row
	i := 0
	return func() (parquet.Row, error) {
		if i == len(rows) {
			return nil, io.EOF
		}
		buf = encodeRow(buf[:0], columns, &rows[i])
		i++
		return buf, nil
	}
}
