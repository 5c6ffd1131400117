package mechanics

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/dense"
)

// fromFlexibility turns μ = 1/ω², ascending, with rows of xᵀ K x = 1, into ω²,
// ascending, with rows of xᵀ M x = 1, and returns their number: where not every
// motion has a mass, without those that have none.
func fromFlexibility(values, rows []float64, width int, massive bool) int {
	n := len(values)
	for i, j := 0, n-1; i < j; i, j = i+1, j-1 {
		values[i], values[j] = values[j], values[i]
		a, b := rows[i*width:(i+1)*width], rows[j*width:(j+1)*width]
		for c := range a {
			a[c], b[c] = b[c], a[c]
		}
	}
	if n == 0 {
		return 0
	}
	most := values[0]
	for i, mu := range values {
		if !massive && !hasMass(mu, most, n) {
			return i
		}
		var scale float64
		values[i], scale = fromInverse(mu, most)
		for c := range width {
			rows[i*width+c] *= scale
		}
	}
	return n
}

// hasMass reports whether μ, one of n of which the largest is given, is more than rounding.
func hasMass(mu, most float64, n int) bool { return mu > 40*float64(n)*0x1p-52*most }

// allMassive reports whether all of μ, ascending, are.
func allMassive(values []float64) bool {
	n := len(values)
	return n == 0 || hasMass(values[0], values[n-1], n)
}

// fromInverse returns ω² of μ = 1/ω², and by what a row of xᵀ K x = 1 becomes one of xᵀ M x = 1.
func fromInverse(mu, most float64) (w2, scale float64) {
	mu = max(mu, 0x1p-60*most)
	return 1 / mu, 1 / math.Sqrt(mu)
}

// takeShapes is take of problem k of a batch, values from its Sort; massive counts only where not [allMassive].
func (o *Modes) takeShapes(b *dense.Batch, k int, values []float64, massive bool) models.Verdict {
	n := len(values)
	slices.Reverse(values)
	most := values[0]
	for i, mu := range values {
		if !massive && !hasMass(mu, most, len(values)) {
			n = i
			break
		}
		var scale float64
		values[i], scale = fromInverse(mu, most)
		b.Shape(k, len(values)-1-i, scale, o.Rows[i*o.Width:(i+1)*o.Width])
	}
	clear(o.Out[:n])
	return o.settle(values[:n], 0)
}
