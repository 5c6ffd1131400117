package results

import (
	"context"
	"math"
	"runtime"
	"sync/atomic"

	"github.com/parquet-go/parquet-go"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/search"
)

// sound reports whether each page of a file can be read and each value can be where it is, column by
// column on all processors. It names no place: reading row by row does.
func (t *table) sound(columns []objective.Column) bool {
	groups := t.parquet.RowGroups()
	var bad atomic.Bool
	_, panics := search.NewPool(runtime.GOMAXPROCS(0)).Do(context.Background(), len(groups)*len(columns), func(_, i int) {
		if bad.Load() {
			return
		}
		group, c := groups[i/len(columns)], &columns[i%len(columns)]
		n, err := eachValue(group.ColumnChunks()[i%len(columns)], make([]parquet.Value, batchRows), func(values []parquet.Value) {
			for k := range values {
				if !mayBe(c, &values[k]) {
					bad.Store(true)
				}
			}
		})
		if err != nil || n != group.NumRows() {
			bad.Store(true)
		}
	})
	return !bad.Load() && len(panics) == 0 // the library may panic on a damaged file
}

// mayBe reports whether a value can be in a column.
func mayBe(c *objective.Column, v *parquet.Value) bool {
	switch {
	case v.IsNull():
		return c.Nullable
	case c.Kind == objective.Float:
		return !math.IsNaN(v.Double())
	case c.Name == "status":
		_, ok := models.ParseStatus(string(v.ByteArray()))
		return ok
	}
	return true
}
