package results

import (
	"context"
	"fmt"
	"path/filepath"
	"testing"

	"flexwright/objective"
	"flexwright/search"
)

// wideRows are rows of [wideStudy].
func wideRows(tb testing.TB, n int64) (Description, []objective.Row) {
	tb.Helper()
	d, study := wideStudy()
	plan, err := search.NewSobol(toySpace, 1, search.SampleOptions{Designs: n})
	if err != nil {
		tb.Fatal(err)
	}
	var rows []objective.Row
	_, parameters := storedColumns(infos(d.Columns))
	if _, err := plan.Run(tb.Context(), func(_ context.Context, p *search.Proposals) ([]search.Outcome, error) {
		for i, x := range p.Points {
			row := objective.Row{ID: p.IDs[i], Parameters: make([]float64, parameters)}
			study.Propose(x, &row)
			study.Evaluate(0, x, &row)
			rows = append(rows, row)
		}
		return make([]search.Outcome, len(p.Points)), nil
	}); err != nil {
		tb.Fatal(err)
	}
	return d, rows
}

// BenchmarkStore times parts of so many rows, written and read back.
func BenchmarkStore(b *testing.B) {
	d, rows := wideRows(b, 4000)
	m := &Manifest{Format: Format, Identity: d.Identity}
	for _, n := range []int{200, 4000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			b.ReportAllocs()
			path := filepath.Join(b.TempDir(), "1.parquet")
			for b.Loop() {
				if _, err := storeTable(quick, path, m, d.Columns, 0, batchesOf(d.Columns, rows[:n])); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/1e3/float64(b.N*n), "µs/row")
		})
	}
}
