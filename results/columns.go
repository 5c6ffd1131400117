package results

import (
	"math"
	"reflect"
	"slices"
	"strings"

	"github.com/parquet-go/parquet-go"
	"github.com/parquet-go/parquet-go/compress/zstd"

	"flexwright/models"
	"flexwright/objective"
)

// storedColumns makes the columns of stored rows from their description: by
// name for those that every row has and for the measures of this version.
// Every other one is a number and counts as a parameter, in stored order. So
// the rows of a version with other measures can be read too. It also returns
// how many count as parameters.
func storedColumns(list []ColumnInfo) ([]objective.Column, int) {
	always := map[string]bool{}
	for _, c := range objective.Columns(nil, nil) {
		always[c.Name] = true
	}
	always[runColumn.Name], always[islandColumn.Name] = true, true
	var parameters []models.Parameter
	var measures []objective.Measure
	for _, c := range list {
		if m, ok := MeasureOf(c.Name); ok {
			measures = append(measures, m)
		} else if !always[c.Name] {
			parameters = append(parameters, models.Parameter{Name: c.Name, Meaning: c.Meaning, Unit: models.Unit{Symbol: c.Unit, SI: 1}})
		}
	}
	byName := map[string]objective.Column{runColumn.Name: runColumn, islandColumn.Name: islandColumn}
	for _, c := range objective.Columns(parameters, measures) {
		byName[c.Name] = c
	}
	columns := make([]objective.Column, len(list))
	for i, c := range list {
		columns[i] = byName[c.Name]
		columns[i].Unit, columns[i].Meaning = c.Unit, c.Meaning
	}
	return columns, len(parameters)
}

// runColumn is the first column of a folder joined from separate runs.
var runColumn = objective.Column{Name: "run", Meaning: "number of the run, in the order they were joined", Kind: objective.Int,
	Get: func(r *objective.Row) objective.Cell { return objective.Cell{Int: r.Run} },
	Set: func(r *objective.Row, c objective.Cell) { r.Run = c.Int }}

// islandColumn stands behind the id in a folder joined from the islands of one evolution.
var islandColumn = objective.Column{Name: "island", Meaning: "island that bred it", Kind: objective.Int,
	Get: func(r *objective.Row) objective.Cell { return objective.Cell{Int: r.Island} },
	Set: func(r *objective.Row, c objective.Cell) { r.Island = c.Int }}

// group is a Parquet group whose fields keep their order; the library's own
// sorts them by name.
type group struct {
	parquet.Group
	fields []parquet.Field
}

type field struct {
	parquet.Node
	name string
}

func (g *group) Fields() []parquet.Field           { return g.fields }
func (f *field) Name() string                      { return f.name }
func (f *field) Value(reflect.Value) reflect.Value { panic("results: rows are written as values") }

var codec = &zstd.Codec{Level: zstd.SpeedFastest}

// schemaOf is the Parquet schema of columns.
func schemaOf(columns []objective.Column) *parquet.Schema {
	g := &group{Group: parquet.Group{}}
	for i := range columns {
		c := &columns[i]
		var n parquet.Node
		switch c.Kind {
		case objective.Int:
			n = parquet.Leaf(parquet.Int64Type)
		case objective.Float:
			n = parquet.Leaf(parquet.DoubleType)
		case objective.Text:
			n = parquet.String()
		case objective.Bool:
			n = parquet.Leaf(parquet.BooleanType)
		}
		n = parquet.Compressed(parquet.Encoded(n, &parquet.Plain), codec)
		if c.Nullable {
			n = parquet.Optional(n)
		}
		g.Group[c.Name] = n
		g.fields = append(g.fields, &field{n, c.Name})
	}
	return parquet.NewSchema("candidates", g)
}

// encode appends a column's values of rows to values, and the bytes of its texts to text. The
// columns are the caller's: a row that does not fit them is a fault of the program (see misfit).
func encode(values []parquet.Value, text []byte, c *objective.Column, rows []objective.Row) ([]parquet.Value, []byte) {
	level := 0
	if c.Nullable {
		level = 1
	}
	// A value's column is not set: nobody looks at it. Null is the value without a level.
	for i := range rows {
		if c.Number != nil {
			x, ok := c.Number(&rows[i])
			switch {
			case ok && math.IsNaN(x):
				panic("results: NaN in column " + c.Name)
			case ok:
				v := parquet.DoubleValue(x)
				v.SetDefinitionLevel(level)
				values = append(values, v)
			case c.Nullable:
				values = append(values, parquet.Value{})
			default:
				panic("results: null in column " + c.Name)
			}
			continue
		}
		cell := c.Get(&rows[i])
		own := level
		var v parquet.Value
		switch {
		case cell.Null && !c.Nullable:
			panic("results: null in column " + c.Name)
		case cell.Null:
			own = 0
		case c.Kind == objective.Int:
			v = parquet.Int64Value(cell.Int)
		case c.Kind == objective.Float && math.IsNaN(cell.Float):
			panic("results: NaN in column " + c.Name)
		case c.Kind == objective.Float:
			v = parquet.DoubleValue(cell.Float)
		case c.Kind == objective.Text:
			at := len(text)
			text = append(text, strings.ToValidUTF8(cell.Text, "\uFFFD")...)
			v = parquet.ByteArrayValue(text[at:len(text):len(text)])
		case c.Kind == objective.Bool:
			v = parquet.BooleanValue(cell.Bool)
		}
		v.SetDefinitionLevel(own)
		values = append(values, v)
	}
	return values, text
}

// encodeRow are a row's values.
func encodeRow(columns []objective.Column, row objective.Row) (values parquet.Row) {
	for i := range columns {
		values, _ = encode(values, nil, &columns[i], []objective.Row{row})
	}
	return values
}

// misfit returns why a row cannot be stored, empty if it can.
func misfit(columns []objective.Column, row *objective.Row) string {
	for i := range columns {
		c := &columns[i]
		var x float64
		var ok bool
		if c.Number != nil {
			x, ok = c.Number(row)
		} else {
			cell := c.Get(row)
			x, ok = cell.Float, !cell.Null
		}
		if !ok && !c.Nullable {
			return "nothing in column " + c.Name
		}
		if ok && math.IsNaN(x) && c.Kind == objective.Float {
			return "NaN in column " + c.Name
		}
	}
	return ""
}

// decoder turns values into rows. Texts that repeat share their memory.
type decoder struct {
	columns    []objective.Column
	parameters int
	texts      map[string]string
	only       []int          // columns that were read; nil: all
	last       *objective.Row // that has none but these
}

func newDecoder(list []ColumnInfo) *decoder {
	columns, parameters := storedColumns(list)
	return &decoder{columns: columns, parameters: parameters, texts: map[string]string{}}
}

// decode fills row. It returns the column that does not fit its type, or -1.
func (d *decoder) decode(values parquet.Row, row *objective.Row) int {
	if row == d.last && !slices.ContainsFunc(d.only, func(i int) bool { return values[i].IsNull() }) {
		return d.cells(values, row) // what is null would keep the value before
	}
	parameters := row.Parameters
	*row = objective.Row{}
	if cap(parameters) < d.parameters {
		parameters = make([]float64, d.parameters)
	}
	row.Parameters = parameters[:d.parameters]
	if d.only == nil {
		for i := range d.columns {
			if !d.cell(i, &values[i], row) {
				return i
			}
		}
		return -1
	}
	for i := range row.Parameters {
		row.Parameters[i] = math.NaN()
	}
	d.last = row
	return d.cells(values, row)
}

// cells puts the columns that were read into a row.
func (d *decoder) cells(values parquet.Row, row *objective.Row) int {
	for _, i := range d.only {
		if !d.cell(i, &values[i], row) {
			return i
		}
	}
	return -1
}

// cell puts one value into a row. It reports false if it cannot be there.
func (d *decoder) cell(i int, v *parquet.Value, row *objective.Row) bool {
	c := &d.columns[i]
	if !mayBe(c, v) {
		return false
	}
	var cell objective.Cell
	switch {
	case v.IsNull():
		cell.Null = true
	case c.Kind == objective.Int:
		cell.Int = v.Int64()
	case c.Kind == objective.Float:
		cell.Float = v.Double()
	case c.Kind == objective.Bool:
		cell.Bool = v.Boolean()
	case c.Kind == objective.Text:
		cell.Text = d.text(v.ByteArray())
	}
	c.Set(row, cell)
	return true
}

func (d *decoder) text(b []byte) string {
	if s, ok := d.texts[string(b)]; ok {
		return s
	}
	if len(d.texts) >= 4096 { // reasons with numbers in them hardly repeat
		clear(d.texts)
	}
	s := string(b)
	d.texts[s] = s
	return s
}
