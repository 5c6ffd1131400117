package estimate

import (
	"cmp"
	"math"
	"slices"
)

// Weak says what the measurements do not tell.
type Weak struct {
	Unseen []int // unknowns that no measurement is moved by
	// Mixed are changes of two or more unknowns at once, in their units, that the
	// measurements hardly see: each has the fewest unknowns that do, and its largest is
	// one standard deviation of its prior.
	Mixed [][]float64
	// Groups are the unknowns that Mixed ties together, ascending.
	Groups [][]int
}

const (
	// unresolved is the singular value below which a direction is the prior's: it moves
	// all measurements together by less than their uncertainty.
	unresolved = 1
	// unseen is the same of a single unknown.
	unseen = 0.1
	// part of a combination, of its largest, below which an unknown is left out
	part = 0.05
)

// Weak finds the directions of the scaled Jacobian whose singular value is below 1.
func (r *Result) Weak() Weak {
	n := len(r.X)
	var w Weak
	for k := range n {
		if r.Seen(k) < unseen {
			w.Unseen = append(w.Unseen, k)
		}
	}
	var rows [][]float64
	for k, s := range r.Singular {
		if s < unresolved {
			row := append([]float64{}, r.Vectors[k*n:(k+1)*n]...)
			for _, u := range w.Unseen {
				row[u] = 0
			}
			rows = append(rows, row)
		}
	}
	for _, row := range echelon(rows, len(rows)-len(w.Unseen)) {
		largest := slices.MaxFunc(row, func(a, b float64) int { return cmp.Compare(math.Abs(a), math.Abs(b)) })
		x, held := make([]float64, n), 0
		for k, v := range row {
			if math.Abs(v/largest) >= part {
				x[k] = v / largest * r.prior[k]
				held++
			}
		}
		if held > 1 {
			w.Mixed = append(w.Mixed, x)
			w.tie(x)
		}
	}
	return w
}

// echelon reduces rows (Gauss and Jordan) to so many that span what they do, each with
// a column that is 0 in all others: the largest element of what is left pivots.
func echelon(rows [][]float64, rank int) [][]float64 {
	for at := range rank {
		best, column := at, 0
		for i := at; i < len(rows); i++ {
			for k, v := range rows[i] {
				if math.Abs(v) > math.Abs(rows[best][column]) {
					best, column = i, k
				}
			}
		}
		pivot := rows[best][column]
		rows[at], rows[best] = rows[best], rows[at]
		for k := range rows[at] {
			rows[at][k] /= pivot
		}
		for i := range rows {
			if f := rows[i][column]; i != at {
				for k := range rows[i] {
					rows[i][k] -= f * rows[at][k]
				}
			}
		}
	}
	return rows[:max(rank, 0)]
}

// tie joins the groups that the unknowns of a combination belong to.
func (w *Weak) tie(x []float64) {
	var group []int
	for k, v := range x {
		if v != 0 {
			group = append(group, k)
		}
	}
	var rest [][]int
	for _, g := range w.Groups {
		if slices.ContainsFunc(g, func(k int) bool { return slices.Contains(group, k) }) {
			group = append(group, g...)
		} else {
			rest = append(rest, g)
		}
	}
	slices.Sort(group)
	w.Groups = append(rest, slices.Compact(group))
}

// Moves is by how many of its uncertainties a change of the unknowns moves the
// measurement that it moves most.
func (r *Result) Moves(x []float64) float64 {
	n, most := len(x), 0.0
	for i := range r.Residual {
		sum := 0.0
		for k, v := range x {
			sum += r.jacobian[i*n+k] * v / r.prior[k]
		}
		most = max(most, math.Abs(sum))
	}
	return most
}
