package results

import (
	"encoding/binary"
	"hash/maphash"
	"io"
	"math"
	"slices"

	"github.com/parquet-go/parquet-go"

	"flexwright/objective"
)

// source yields rows as values, each valid until the call after, and io.EOF
// behind the last.
type source func() (parquet.Row, error)

// batches fills an empty batch with the next rows, valid until the call after, and returns
// io.EOF behind the last.
type batches func(b *columnBatch) error

// batches of the rows of a source.
func (s source) batches() batches {
	ended := false
	return func(b *columnBatch) error {
		for !ended && b.rows < batchRows {
			row, err := s()
			if err == io.EOF {
				ended = true
			} else if err != nil {
				return err
			} else {
				b.add(row)
			}
		}
		if b.rows == 0 {
			return io.EOF
		}
		return nil
	}
}

// written says what is in a Parquet file that was put in place.
type written struct{ rows, feasible int64 }

// storeTable puts a Parquet file in place: written, synced, read back,
// compared, renamed. An error of the source comes back as it is.
func storeTable(d disk, path string, m *Manifest, columns []objective.Column, firstRow int64, next batches) (written, error) {
	var (
		w         written
		sourceErr error
		batch     = newColumnBatch(len(columns))
		digest    = newDigest(len(columns))
		feasible  = columnNamed(columns, "feasible")
	)
	err := writeWhole(d, path,
		func(f file) error {
			t := newTableWriter(f, m, columns, firstRow)
			for {
				batch.reset()
				if err := next(batch); err == io.EOF {
					break
				} else if err != nil {
					sourceErr = err
					return err
				}
				w.rows += int64(batch.rows)
				for i := range batch.columns[feasible] {
					if batch.columns[feasible][i].Boolean() {
						w.feasible++
					}
				}
				for c, values := range batch.columns {
					digest.add(c, values)
				}
				if err := t.write(batch); err != nil {
					return err
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
			back := digest.empty()
			if err := t.eachColumn(back.add); err != nil {
				return err
			}
			if t.rows != w.rows || !slices.Equal(back.sums, digest.sums) {
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

// columnBatch is up to batchRows rows, column by column.
type columnBatch struct {
	columns [][]parquet.Value
	rows    int
	bytes   []byte
}

func newColumnBatch(columns int) *columnBatch {
	b := &columnBatch{columns: make([][]parquet.Value, columns)}
	flat := make([]parquet.Value, columns*batchRows)
	for c := range b.columns {
		b.columns[c] = flat[c*batchRows : c*batchRows : (c+1)*batchRows]
	}
	return b
}

// add copies a row.
func (b *columnBatch) add(row parquet.Row) {
	for c := range b.columns {
		v := row[c]
		if v.Kind() == parquet.ByteArray {
			at := len(b.bytes)
			b.bytes = append(b.bytes, v.ByteArray()...)
			v = parquet.ByteArrayValue(b.bytes[at:len(b.bytes):len(b.bytes)]).Level(0, v.DefinitionLevel(), c)
		}
		b.columns[c] = append(b.columns[c], v)
	}
	b.rows++
}

func (b *columnBatch) reset() {
	for c := range b.columns {
		b.columns[c] = b.columns[c][:0]
	}
	b.rows, b.bytes = 0, b.bytes[:0]
}

// digest is a checksum of each column's values, whatever the file around them. Any one value that
// differs changes it; it is no protection against intent.
type digest struct {
	sums []uint64
	seed maphash.Seed // of texts
}

func newDigest(columns int) *digest { return &digest{make([]uint64, columns), maphash.MakeSeed()} }

// empty is a digest to compare with this one.
func (d *digest) empty() *digest { return &digest{make([]uint64, len(d.sums)), d.seed} }

func (d *digest) add(column int, values []parquet.Value) {
	sum := d.sums[column]
	for i := range values {
		var x uint64
		switch v := &values[i]; v.Kind() {
		case parquet.Int64:
			x = uint64(v.Int64())
		case parquet.Double:
			x = math.Float64bits(v.Double())
		case parquet.Boolean:
			if v.Boolean() {
				x = 1
			}
		case parquet.ByteArray:
			x = maphash.Bytes(d.seed, v.ByteArray())
		default: // null
			x = 0x7ff8000000000001 // no number, which no column holds
		}
		// A bijection of what was before, and of the value.
		sum = (sum ^ x) * 0x9e3779b97f4a7c15
		sum ^= sum >> 32
	}
	d.sums[column] = sum
}

// valueBytes are the values of a row as bytes, to be compared.
type valueBytes []byte

func (d *valueBytes) set(row parquet.Row) {
	b := (*d)[:0]
	for i := range row {
		v := &row[i]
		if v.IsNull() {
			b = append(b, 0)
			continue
		}
		b = append(b, 1)
		switch v.Kind() {
		case parquet.Int64:
			b = binary.LittleEndian.AppendUint64(b, uint64(v.Int64()))
		case parquet.Double:
			b = binary.LittleEndian.AppendUint64(b, math.Float64bits(v.Double()))
		case parquet.Boolean:
			b = append(b, byte('0'))
			if v.Boolean() {
				b[len(b)-1] = '1'
			}
		default:
			text := v.ByteArray()
			b = binary.LittleEndian.AppendUint32(b, uint32(len(text)))
			b = append(b, text...)
		}
	}
	*d = b
}

// batchesOf are rows of memory.
func batchesOf(columns []objective.Column, rows []objective.Row) batches {
	return func(b *columnBatch) error {
		if len(rows) == 0 {
			return io.EOF
		}
		b.rows = min(len(rows), batchRows)
		for c := range columns {
			b.columns[c], b.bytes = encode(b.columns[c], b.bytes, &columns[c], rows[:b.rows])
		}
		rows = rows[b.rows:]
		return nil
	}
}
