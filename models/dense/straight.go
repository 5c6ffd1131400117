package dense

import (
	"cmp"
	"math"
	"slices"
)

// Lanes is how many problems a [Straight] program works on side by side.
const Lanes = 8

// Straight is a straight program for eight problems of one structure side by side, made once: sums and products of numbers, and what a
// [Pattern] does with blocks of nine, without a choice. Number k of the problem in lane l is x[Lanes*k+l]. On processors with vector registers
// all lanes are made at once; with the same bits as without, for products are rounded before they are added to.
type Straight struct {
	deeds []deed
	runs  []deeds
	code  []int32 // as the assembly takes it
}

// deed is one thing done: numbers by their places, of a sum or a list those with a plus, or all, before the others.
type deed struct {
	kind    straightKind
	numbers []int
	plus    int
}

// deeds are of one kind and size, and do not wait for one another.
type deeds struct {
	kind        straightKind
	list        []deed
	plus, minus int
}

type straightKind int32

// The assembly knows these by their numbers.
const (
	copying                straightKind = iota // to = a
	adding                                     // to = 0 + a + ... - b - ...
	enlarging                                  // to = the largest of 0 and |a| ...
	multiplying                                // to = a b
	plusMultiplying                            // to += a b
	lessMultiplying                            // to -= a b
	inverting                                  // to = 1/a
	pivoting                                   // factor3 of the block to
	solvingRows                                // w = b, b = b D⁻¹
	solving                                    // x = D⁻¹ x
	lessTransposing                            // block -= x yᵀ
	lessTransposingLower                       // its lower triangle
	lessTimesing                               // x -= L y
	lessTransposedTimesing                     // x -= Lᵀ y
)

func (s *Straight) add(kind straightKind, numbers ...int) {
	s.deeds = append(s.deeds, deed{kind, numbers, len(numbers) - 1})
}

// Copy makes the number to the number a, Product a b, Inverse 1/a; PlusProduct and LessProduct add a b, and subtract it.
func (s *Straight) Copy(to, a int)           { s.add(copying, to, a) }
func (s *Straight) Product(to, a, b int)     { s.add(multiplying, to, a, b) }
func (s *Straight) PlusProduct(to, a, b int) { s.add(plusMultiplying, to, a, b) }
func (s *Straight) LessProduct(to, a, b int) { s.add(lessMultiplying, to, a, b) }
func (s *Straight) Inverse(to, a int)        { s.add(inverting, to, a) }

// Sum makes the number to the sum of those of plus, in this order, less those of minus; 0 of none.
func (s *Straight) Sum(to int, plus, minus []int) {
	s.deeds = append(s.deeds, deed{adding, slices.Concat([]int{to}, plus, minus), len(plus)})
}

// Largest makes the number to the largest magnitude of a list. A NaN before the last is passed over.
func (s *Straight) Largest(to int, list []int) {
	s.add(enlarging, slices.Concat([]int{to}, list)...)
}

// touches appends what a deed reads and what it writes.
func (d *deed) touches(read, written []int) (r, w []int) {
	span := func(list []int, at, n int) []int {
		for k := range n {
			list = append(list, at+k)
		}
		return list
	}
	lower := func(list []int, at int) []int { return append(list, at, at+3, at+4, at+6, at+7, at+8) }
	n := d.numbers
	switch d.kind {
	case plusMultiplying, lessMultiplying:
		return append(read, n...), append(written, n[0])
	case pivoting:
		return lower(read, n[0]), lower(written, n[0])
	case solvingRows:
		return span(lower(read, n[0]), n[1], 9), span(span(written, n[1], 9), n[2], 9)
	case solving:
		return span(lower(read, n[0]), n[1], 3), span(written, n[1], 3)
	case lessTransposing:
		return span(span(span(read, n[0], 9), n[1], 9), n[2], 9), span(written, n[0], 9)
	case lessTransposingLower:
		return span(span(lower(read, n[0]), n[1], 9), n[2], 9), lower(written, n[0])
	case lessTimesing, lessTransposedTimesing:
		return span(span(span(read, n[0], 3), n[1], 9), n[2], 3), span(written, n[0], 3)
	}
	return append(read, n[1:]...), append(written, n[0])
}

// Done ends the making. What does not wait for one another goes together, deeds of a kind and size in a row.
func (s *Straight) Done() {
	most := 0
	for i := range s.deeds {
		most = max(most, slices.Max(s.deeds[i].numbers))
	}
	written, read := make([]int, most+9), make([]int, most+9) // the last round of each number, of which a block has nine
	round := make([]int, len(s.deeds))
	order := make([]int, len(s.deeds))
	var reads, writes []int
	for i := range s.deeds {
		reads, writes = s.deeds[i].touches(reads[:0], writes[:0])
		at := 0
		for _, n := range reads {
			at = max(at, written[n])
		}
		for _, n := range writes {
			at = max(at, written[n], read[n])
		}
		order[i], round[i] = i, at+1
		for _, n := range reads {
			read[n] = max(read[n], at+1)
		}
		for _, n := range writes {
			written[n] = at + 1
		}
	}
	slices.SortStableFunc(order, func(i, j int) int {
		a, b := &s.deeds[i], &s.deeds[j]
		return cmp.Or(round[i]-round[j], int(a.kind-b.kind), a.plus-b.plus, len(a.numbers)-len(b.numbers))
	})
	for _, i := range order {
		d := s.deeds[i]
		minus := len(d.numbers) - 1 - d.plus
		if n := len(s.runs); n == 0 || s.runs[n-1].kind != d.kind || s.runs[n-1].plus != d.plus || s.runs[n-1].minus != minus {
			s.runs = append(s.runs, deeds{kind: d.kind, plus: d.plus, minus: minus})
		}
		r := &s.runs[len(s.runs)-1]
		r.list = append(r.list, d)
	}
	for _, r := range s.runs {
		s.code = append(s.code, int32(r.kind), int32(len(r.list)), int32(r.plus), int32(r.minus))
		for _, d := range r.list {
			for _, n := range d.numbers {
				s.code = append(s.code, int32(8*Lanes*n))
			}
		}
	}
	s.code = append(s.code, -1, 0, 0, 0)
}

// Run makes the program on the numbers x of all lanes.
func (s *Straight) Run(x []float64) {
	if !run8(x, s.code) {
		s.plain(x)
	}
}

// Factor is [Pattern.Factor] of the matrix at the number a on, by means of nine numbers from spare on. Whether it can be
// factored, and how many eigenvalues are negative, is told by the reciprocals of the pivots, on the diagonals.
func (s *Straight) Factor(p *Pattern, a, spare int) {
	for _, i := range p.order {
		d := a + 9*i
		s.add(pivoting, d)
		column, block, update := p.column[i], p.block[i], p.update[i]
		next := 0
		for r := range column {
			l := a + 9*block[r]
			s.add(solvingRows, d, l, spare)
			for c := r; c < len(column); c++ {
				to := a + 9*update[next]
				next++
				if c == r {
					s.add(lessTransposingLower, to, l, spare)
				} else {
					s.add(lessTransposing, to, a+9*block[c], l)
				}
			}
		}
	}
}

// Solve is [Pattern.Solve] with the factored matrix at the number a on, of the right-hand side at x on.
func (s *Straight) Solve(p *Pattern, a, x int) {
	for _, i := range p.order {
		for k, j := range p.column[i] {
			s.add(lessTimesing, x+3*j, a+9*p.block[i][k], x+3*i)
		}
	}
	for o := len(p.order) - 1; o >= 0; o-- {
		i := p.order[o]
		s.add(solving, a+9*i, x+3*i)
		for k, j := range p.column[i] {
			s.add(lessTransposedTimesing, x+3*i, a+9*p.block[i][k], x+3*j)
		}
	}
}

// LessTimes subtracts the product of the matrix at the number a on, of which the lower triangle is read, and the vector at x on from that at y on.
func (s *Straight) LessTimes(p *Pattern, a, x, y int) {
	for i := range p.n {
		for r := range 3 {
			for c := range 3 {
				s.LessProduct(y+3*i+r, a+9*i+3*max(r, c)+min(r, c), x+3*i+c)
			}
		}
		for k, j := range p.column[i] {
			l := a + 9*p.block[i][k]
			s.add(lessTimesing, y+3*j, l, x+3*i)
			s.add(lessTransposedTimesing, y+3*i, l, x+3*j)
		}
	}
}

// octuple is a number of all lanes.
type octuple = [Lanes]float64

// plain is Run in plain Go.
func (s *Straight) plain(x []float64) {
	at := func(k int) *octuple { return (*octuple)(x[Lanes*k:]) }
	for _, r := range s.runs {
		for _, d := range r.list {
			n := d.numbers
			switch r.kind {
			case copying:
				*at(n[0]) = *at(n[1])
			case adding:
				var sum octuple
				for _, k := range n[1 : 1+r.plus] {
					for l, v := range at(k) {
						sum[l] += v
					}
				}
				for _, k := range n[1+r.plus:] {
					for l, v := range at(k) {
						sum[l] -= v
					}
				}
				*at(n[0]) = sum
			case enlarging:
				var most octuple
				for _, k := range n[1:] {
					for l, v := range at(k) {
						if v = math.Abs(v); !(most[l] > v) {
							most[l] = v
						}
					}
				}
				*at(n[0]) = most
			case multiplying:
				*at(n[0]) = times(at(n[1]), at(n[2]))
			case plusMultiplying:
				to, y := at(n[0]), times(at(n[1]), at(n[2]))
				for l := range to {
					to[l] += y[l]
				}
			case lessMultiplying:
				less(at(n[0]), at(n[1]), at(n[2]))
			case inverting:
				*at(n[0]) = over(at(n[1]))
			case pivoting:
				pivot8(x[Lanes*n[0]:])
			case solvingRows:
				copy(x[Lanes*n[2]:Lanes*(n[2]+9)], x[Lanes*n[1]:])
				for r := range 3 {
					solve8(x[Lanes*n[0]:], x[Lanes*(n[1]+3*r):])
				}
			case solving:
				solve8(x[Lanes*n[0]:], x[Lanes*n[1]:])
			case lessTransposing, lessTransposingLower:
				for r := range 3 {
					for c := range 3 {
						for k := range 3 {
							if c <= r || d.kind == lessTransposing {
								less(at(n[0]+3*r+c), at(n[1]+3*r+k), at(n[2]+3*c+k))
							}
						}
					}
				}
			case lessTimesing:
				for r := range 3 {
					for c := range 3 {
						less(at(n[0]+r), at(n[1]+3*r+c), at(n[2]+c))
					}
				}
			case lessTransposedTimesing:
				for r := range 3 {
					for c := range 3 {
						less(at(n[0]+r), at(n[1]+3*c+r), at(n[2]+c))
					}
				}
			}
		}
	}
}

func times(a, b *octuple) (y octuple) {
	for l := range y {
		y[l] = float64(a[l] * b[l])
	}
	return y
}

// less subtracts a b.
func less(to, a, b *octuple) {
	for l := range to {
		to[l] -= float64(a[l] * b[l])
	}
}

func over(a *octuple) (y octuple) {
	for l := range y {
		y[l] = 1 / a[l]
	}
	return y
}

// pivot8 is factor3.
func pivot8(x []float64) {
	at := func(k int) *octuple { return (*octuple)(x[Lanes*k:]) }
	d0, d3, d4, d6, d7, d8 := at(0), at(3), at(4), at(6), at(7), at(8)
	*d0 = over(d0)
	l1, l2 := times(d3, d0), times(d6, d0)
	less(d4, &l1, d3)
	*d4 = over(d4)
	less(d7, &l2, d3)
	l3 := times(d7, d4)
	less(d8, &l2, d6)
	less(d8, &l3, d7)
	*d8 = over(d8)
	*d3, *d6, *d7 = l1, l2, l3
}

// solve8 is a row of solveRows3.
func solve8(d, x []float64) {
	at := func(k int) *octuple { return (*octuple)(d[Lanes*k:]) }
	x0, x1, x2 := (*octuple)(x), (*octuple)(x[Lanes:]), (*octuple)(x[2*Lanes:])
	less(x1, at(3), x0)
	less(x2, at(6), x0)
	less(x2, at(7), x1)
	*x2 = times(x2, at(8))
	*x1 = times(x1, at(4))
	less(x1, at(7), x2)
	*x0 = times(x0, at(0))
	less(x0, at(3), x1)
	less(x0, at(6), x2)
}

// repeat is [Repeat] without registers.
func repeat(to, from []float64, times int) {
	for i, v := range from {
		column := to[i*times:][:times]
		for k := range column {
			column[k] = v
		}
	}
}
