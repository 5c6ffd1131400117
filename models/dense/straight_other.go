//go:build !amd64

package dense

func run8([]float64, []int32) bool { return false }

// Spread does nothing and reports false: this processor has no registers of four numbers.
func Spread(x []float64, from, between, step, count int, to *[Lanes]*float64, onward int) bool {
	return false
}

// Repeat writes each number of from so many times, one after the other.
func Repeat(to, from []float64, times int) { repeat(to, from, times) }
