package search

import (
	"math"

	"flexwright/models/elementary"
)

// Ranges are the least and the greatest value of each objective over some points:
// of a front, its ideal and its nadir point.
type Ranges struct{ Low, High []float64 }

// RangesOf returns the ranges of m objectives over points in one or several lists.
// Without a point Low is +Inf and High -Inf.
func RangesOf(m int, lists ...[]float64) Ranges {
	r := Ranges{make([]float64, m), make([]float64, m)}
	for k := range m {
		r.Low[k], r.High[k] = math.Inf(1), math.Inf(-1)
	}
	for _, objs := range lists {
		for i := 0; i < len(objs); i += m {
			for k, x := range objs[i : i+m] {
				r.Low[k], r.High[k] = min(r.Low[k], x), max(r.High[k], x)
			}
		}
	}
	return r
}

// Normalised returns objectives as shares of the ranges: 0 at Low, 1 at High; 0
// where a range is empty.
func (r Ranges) Normalised(objs []float64) []float64 {
	m := len(r.Low)
	z := make([]float64, len(objs))
	for i := range z {
		if k := i % m; r.High[k] > r.Low[k] {
			z[i] = (objs[i] - r.Low[k]) / (r.High[k] - r.Low[k])
		}
	}
	return z
}

// reference is the reference point of hypervolumes in normalised objectives: a
// tenth of the range beyond its end, so that the ends of a front count too (H.
// Ishibuchi, R. Imada, Y. Setoguchi and Y. Nojima, How to specify a reference
// point in hypervolume calculation, Evol. Comput. 26, 2018, which finds 1 + 1/H
// for a front of H + 1 levels a goal; 0.1 is common practice).
const reference = 1.1

// Reference is the one reference point of hypervolumes in normalised objectives.
func Reference(m int) []float64 {
	p := make([]float64, m)
	for k := range p {
		p[k] = reference
	}
	return p
}

// Hypervolume of points in normalised objectives, to [Reference], as a share of
// the box from the ideal to the reference point: from 0 to 1 for points within the
// ranges.
func (r Ranges) Hypervolume(objs []float64) float64 {
	m := len(r.Low)
	return Hypervolume(r.Normalised(objs), m, Reference(m)) / elementary.Pow(reference, float64(m))
}

func normalised(objs []float64, m int) []float64 { return RangesOf(m, objs).Normalised(objs) }
