//go:build !amd64

package dense

// MaxBatch is the number of problems that go side by side.
const MaxBatch = 9

// Eigens and Batch are for processors of other kinds.
type (
	Eigens struct{}
	Batch  struct{ *Eigens }
)

// NewEigens returns nil: one problem is solved after the other.
func NewEigens(n, rows int) *Eigens { return nil }

// NewBatch returns nil: one problem is solved after the other.
func NewBatch(r *Reduction, filled []uint8, products ...[2]int) *Batch { return nil }

func (b *Eigens) Put(k int, a, r []float64, width int)                 { panic(noBatch) }
func (b *Eigens) Solve(count int)                                      { panic(noBatch) }
func (b *Eigens) Take(k int, r []float64, width int, w []float64) bool { panic(noBatch) }
func (b *Eigens) Sort(k int, w []float64) bool                         { panic(noBatch) }
func (b *Eigens) Shape(k, i int, factor float64, to []float64)         { panic(noBatch) }
func (b *Batch) Order() int                                            { panic(noBatch) }
func (b *Batch) Clear()                                                { panic(noBatch) }
func (b *Batch) Put(k int, stiff, mass, rows []float64)                { panic(noBatch) }
func (b *Batch) PutSame(stiff, mass, rows []float64, places []int32)   { panic(noBatch) }
func (b *Batch) PutRows(rows []float64, places []int32)                { panic(noBatch) }
func (b *Batch) PutEach(stiff [][]float64, mass []float64, rows [][]float64, places []int32) {
	panic(noBatch)
}
func (b *Batch) Sums(stiff, mass, rows []Sum) []int32                          { panic(noBatch) }
func (b *Batch) Add(columns []float64, sums []int32)                           { panic(noBatch) }
func (b *Batch) Condense(count int) bool                                       { panic(noBatch) }
func (b *Batch) Factor(shift float64, swapped bool, negative []int, ok []bool) { panic(noBatch) }
func (b *Batch) Half()                                                         { panic(noBatch) }
func (b *Batch) Products()                                                     { panic(noBatch) }
func (b *Batch) Product(i, k int) float64                                      { panic(noBatch) }
func (b *Batch) Copy(k int, x *Reduced)                                        { panic(noBatch) }
func (b *Batch) Whiten(count int)                                              { panic(noBatch) }

const noBatch = "dense: no problems side by side on this processor"
