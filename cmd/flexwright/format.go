package main

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"iter"
	"math"
	"strconv"

	"flexwright/objective"
	"flexwright/results"
)

// How numbers, rows and JSON are written by every verb: number for tables,
// significant where a page or a log compares close values, exact for programs.

// number writes a value for reading: four significant digits.
func number(v float64) string { return digits(v, 4) }

// significant writes a value beside others that may be close: six.
func significant(v float64) string { return digits(v, 6) }

// digits writes whole numbers below a million whole, however few digits are asked for.
func digits(v float64, n int) string {
	if math.Abs(v) < results.Nothing {
		v = 0
	}
	if a := math.Abs(v); a >= math.Pow10(n) && a < 1e6 {
		return strconv.FormatFloat(v, 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', n, 64)
}

// percent writes a share.
func percent(share float64) string { return digits(100*share, 2) + " %" }

// counted writes a number of things: 1 design, 2 designs.
func counted[T int | int64](n T, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}

// readable is a cell for people.
func readable(c objective.Cell, kind objective.Kind) string {
	switch {
	case c.Null:
		return "-"
	case kind == objective.Float:
		return number(c.Float)
	}
	return exact(c, kind)
}

// exact is a cell that reads back bit for bit.
func exact(c objective.Cell, kind objective.Kind) string {
	if c.Null {
		return ""
	}
	switch kind {
	case objective.Int:
		return strconv.FormatInt(c.Int, 10)
	case objective.Float:
		return strconv.FormatFloat(c.Float, 'g', -1, 64)
	case objective.Bool:
		return strconv.FormatBool(c.Bool)
	}
	return c.Text
}

func boundText(l objective.Limit) string {
	switch {
	case math.IsInf(l.AtMost, 1):
		return "≥ " + significant(l.AtLeast)
	case math.IsInf(l.AtLeast, -1):
		return "≤ " + significant(l.AtMost)
	}
	return significant(l.AtLeast) + " to " + significant(l.AtMost)
}

func budgetValue(v float64) string {
	switch {
	case math.IsNaN(v):
		return ""
	case math.IsInf(v, 0):
		return "unbounded"
	}
	return number(v)
}

// writeJSON writes v on one or more lines, numbers so that they read back bit
// for bit.
func writeJSON(w io.Writer, v any) error {
	e := json.NewEncoder(w)
	e.SetIndent("", " ")
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

func rowJSON(columns []objective.Column, r *objective.Row) []byte {
	b := []byte("{")
	for k, c := range columns {
		if k > 0 {
			b = append(b, ", "...)
		}
		b = strconv.AppendQuote(b, c.Name)
		b = append(b, ": "...)
		cell := c.Get(r)
		switch {
		case cell.Null:
			b = append(b, "null"...)
		case c.Kind == objective.Text:
			text, _ := json.Marshal(cell.Text)
			b = append(b, text...)
		default:
			b = append(b, exact(cell, c.Kind)...)
		}
	}
	return append(b, '}')
}

// writeRowsJSON writes an array of objects whose keys are the columns, in order.
func writeRowsJSON(s streams, columns []objective.Column, rows iter.Seq2[*objective.Row, error]) error {
	w := bufio.NewWriter(s.out)
	between := "[\n "
	for row, err := range rows {
		if err != nil {
			return err
		}
		w.WriteString(between)
		w.Write(rowJSON(columns, row))
		between = ",\n "
	}
	if between[0] == '[' {
		w.WriteString("[")
	}
	w.WriteString("\n]\n")
	return w.Flush()
}

func writeCSV(s streams, columns []objective.Column, rows iter.Seq2[*objective.Row, error]) error {
	w := csv.NewWriter(s.out)
	record := make([]string, len(columns))
	for i, c := range columns {
		record[i] = c.Name
	}
	if err := w.Write(record); err != nil {
		return err
	}
	for row, err := range rows {
		if err != nil {
			return err
		}
		for k, c := range columns {
			record[k] = exact(c.Get(row), c.Kind)
		}
		if err := w.Write(record); err != nil {
			return err
		}
	}
	w.Flush()
	return w.Error()
}
