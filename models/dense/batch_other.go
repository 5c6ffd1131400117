//go:build !amd64

package dense

// Batch is for processors of other kinds.
type Batch struct{}

// MaxBatch is the number of problems that a [Batch] takes.
const MaxBatch = 12

// NewBatch returns nil: one problem is solved after the other.
func NewBatch(n, rows int) *Batch { return nil }

func (b *Batch) Put(k int, a []float64, n int, r []float64) { panic(noBatch) }
func (b *Batch) Solve(count, n int)                         { panic(noBatch) }
func (b *Batch) Take(k, n int, r, w []float64) bool         { panic(noBatch) }

const noBatch = "dense: no problems side by side on this processor"
