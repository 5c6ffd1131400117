package dense

import (
	"math"
	"slices"
)

// Lanes is how many problems a [Straight] program works on side by side.
const Lanes = 8

// Straight is a straight program for eight problems of one structure side by side, made once: a sequence of sums and
// products of numbers without a choice. Number k of the problem in lane l is x[Lanes*k+l]. On processors with vector registers all lanes are made
// at once; with the same bits as without, for products are rounded before they are added to.
type Straight struct {
	program
	runs8 []int32 // as the assembly takes it
}

// Copy makes number to the number a, Plus adds a to it, Minus subtracts it, and so on; Negative makes it -a, Largest
// the larger of it and |a|, a where one is no number.
func (s *Straight) Copy(to, a int)            { s.add(same, to, a, a) }
func (s *Straight) Negative(to, a int)        { s.add(negative, to, a, a) }
func (s *Straight) Plus(to, a int)            { s.add(plus, to, a, a) }
func (s *Straight) Minus(to, a int)           { s.add(minus, to, a, a) }
func (s *Straight) Product(to, a, b int)      { s.add(product, to, a, b) }
func (s *Straight) PlusProduct(to, a, b int)  { s.add(plusProduct, to, a, b) }
func (s *Straight) LessProduct(to, a, b int)  { s.add(lessProduct, to, a, b) }
func (s *Straight) MinusProduct(to, a, b int) { s.add(minusProduct, to, a, b) }
func (s *Straight) Inverse(to, a int)         { s.add(inverse, to, a, a) }
func (s *Straight) Largest(to, a int)         { s.add(largest, to, a, a) }

// Done ends the making. What does not wait for one another goes together, operations of a kind in a row.
func (s *Straight) Done() {
	written, read := map[int32]int{}, map[int32]int{} // the last step of each number
	step := make([]int, len(s.ops))
	order := make([]int, len(s.ops))
	for i, o := range s.ops {
		order[i] = i
		step[i] = 1 + max(written[o.to], read[o.to], written[o.a], written[o.b])
		written[o.to] = step[i]
		read[o.a], read[o.b] = max(read[o.a], step[i]), max(read[o.b], step[i])
	}
	slices.SortStableFunc(order, func(i, j int) int {
		if step[i] != step[j] {
			return step[i] - step[j]
		}
		return int(s.ops[i].kind - s.ops[j].kind)
	})
	ops := make([]operation, len(s.ops))
	for i, from := range order {
		ops[i] = s.ops[from]
	}
	s.ops = ops
	s.finish(nil)
	s.runs8 = s.code(8 * Lanes)
}

// Run makes the program on the numbers x of all lanes.
func (s *Straight) Run(x []float64) {
	if !run8(x, s.runs8) {
		s.plain(x)
	}
}

// Factor is [Pattern.Factor] of the matrix at the number a on, by means of 12 numbers from spare on. Whether it can be
// factored, and how many eigenvalues are negative, is told by the reciprocals of the pivots, on the diagonals.
func (s *Straight) Factor(p *Pattern, a, spare int) {
	w, t := spare, spare+9
	for _, i := range p.order {
		d := a + 9*i
		s.Inverse(d, d)
		s.Product(t, d+3, d)
		s.Product(t+1, d+6, d)
		s.LessProduct(d+4, t, d+3)
		s.LessProduct(d+7, t+1, d+3)
		s.LessProduct(d+8, t+1, d+6)
		s.Copy(d+3, t)
		s.Copy(d+6, t+1)
		s.Inverse(d+4, d+4)
		s.Product(t+2, d+7, d+4)
		s.LessProduct(d+8, t+2, d+7)
		s.Copy(d+7, t+2)
		s.Inverse(d+8, d+8)
		column, block, update := p.column[i], p.block[i], p.update[i]
		next := 0
		for r := range column {
			l := a + 9*block[r]
			for e := range 9 {
				s.Copy(w+e, l+e)
			}
			s.solveRows(d, l)
			for c := r; c < len(column); c++ {
				to := a + 9*update[next]
				next++
				if c == r {
					s.lessTransposed(to, l, w, true)
				} else {
					s.lessTransposed(to, a+9*block[c], l, false)
				}
			}
		}
	}
}

// solveRows is solveRows3, lessTransposed subtractTransposed3, on diagonals of the lower triangle alone.
func (s *Straight) solveRows(d, b int) {
	for r := b; r < b+9; r += 3 {
		s.solve3(d, r)
	}
}

// solve3 solves with a factored diagonal block.
func (s *Straight) solve3(d, x int) {
	s.LessProduct(x+1, d+3, x)
	s.LessProduct(x+2, d+6, x)
	s.LessProduct(x+2, d+7, x+1)
	s.Product(x+2, x+2, d+8)
	s.Product(x+1, x+1, d+4)
	s.LessProduct(x+1, d+7, x+2)
	s.Product(x, x, d)
	s.LessProduct(x, d+3, x+1)
	s.LessProduct(x, d+6, x+2)
}

func (s *Straight) lessTransposed(to, x, y int, lower bool) {
	for k := range 3 {
		for r := range 3 {
			for c := range 3 {
				if c <= r || !lower {
					s.LessProduct(to+3*r+c, x+3*r+k, y+3*c+k)
				}
			}
		}
	}
}

// Solve is [Pattern.Solve] with the factored matrix at the number a on, of the right-hand side at x on.
func (s *Straight) Solve(p *Pattern, a, x int) {
	for _, i := range p.order {
		for k, j := range p.column[i] {
			l := a + 9*p.block[i][k]
			for c := range 3 {
				for r := range 3 {
					s.LessProduct(x+3*j+r, l+3*r+c, x+3*i+c)
				}
			}
		}
	}
	for o := len(p.order) - 1; o >= 0; o-- {
		i := p.order[o]
		s.solve3(a+9*i, x+3*i)
		for k, j := range p.column[i] {
			l := a + 9*p.block[i][k]
			for r := range 3 {
				for c := range 3 {
					s.LessProduct(x+3*i+c, l+3*r+c, x+3*j+r)
				}
			}
		}
	}
}

// plain is Run in plain Go.
func (s *Straight) plain(x []float64) {
	at := func(k int32) *[Lanes]float64 { return (*[Lanes]float64)(x[Lanes*int(k):]) }
	for _, r := range s.runs {
		for _, o := range r.ops {
			to, a, b := at(o.to), at(o.a), at(o.b)
			switch r.kind {
			case lessProduct:
				for l := range to {
					to[l] -= float64(a[l] * b[l])
				}
			case plusProduct:
				for l := range to {
					to[l] += float64(a[l] * b[l])
				}
			case product:
				for l := range to {
					to[l] = a[l] * b[l]
				}
			case minusProduct:
				for l := range to {
					to[l] = -(a[l] * b[l])
				}
			case inverse:
				for l := range to {
					to[l] = 1 / a[l]
				}
			case same:
				*to = *a
			case negative:
				for l := range to {
					to[l] = -a[l]
				}
			case plus:
				for l := range to {
					to[l] += a[l]
				}
			case minus:
				for l := range to {
					to[l] -= a[l]
				}
			case largest:
				for l := range to {
					if y := math.Abs(a[l]); !(to[l] > y) {
						to[l] = y
					}
				}
			default:
				panic("dense: an operation that eight lanes do not have")
			}
		}
	}
}
