package dense

import (
	"math"
	"slices"
)

//go:generate go run -C ../../.ci/lanes . -out ../../models/dense/lanes_amd64.s -stubs ../../models/dense/lanes_amd64.go -pkg dense

// Batch condenses, factors and whitens several problems of one structure side by side, as [Reduced] does and with
// the same bits, and solves them as [Eigens]. Numbers of all problems stand together.
type Batch struct {
	*Reduction
	*Eigens
	numbers []float64
	// where the rows are, what is taken of one matrix from the other, and numbers for nothing; and programs
	atRows, atShift, atSpare       int
	filled                         []uint8 // of rows, in the end
	places                         []int   // those numbers
	condensing, whitening, halving []int32
	atProducts, products           int
	multiplying                    []int32
	factoring                      [2][]int32 // K and M
	shifting                       [2][]int32 // one less a multiple of the other
}

// NewBatch returns memory for problems of r with eight numbers a row, nil where nothing moves or the processor has no
// vector registers of four numbers. filled has a bit for each number in the row of an unknown, over the pattern, that may be other than 0;
// products are the columns of rows that [Batch.Products] multiplies.
func NewBatch(r *Reduction, filled []uint8, products ...[2]int) *Batch {
	e := NewEigens(len(r.keeps), rowWidth)
	if e == nil {
		return nil
	}
	r.made.Do(r.compile)
	b := &Batch{Reduction: r, Eigens: e, atShift: r.numbers, atSpare: r.numbers + 1, atRows: r.numbers + 4, numbers: make([]float64, side*(r.numbers+4+rowWidth*r.n+len(products)))}
	filled = slices.Clone(filled)
	const size = 8 * side
	row := func(k kind, p *program, to, factor, from int) {
		filled[to] |= filled[from]
		for c := range rowWidth {
			switch {
			case filled[from]>>c&1 == 0:
			case k == product: // from itself
				p.add(k, b.atRows+rowWidth*to+c, b.atRows+rowWidth*to+c, factor)
			default:
				p.add(k, b.atRows+rowWidth*to+c, factor, b.atRows+rowWidth*from+c)
			}
		}
	}
	p := program{}
	t := r.atT
	for _, s := range r.follows {
		if len(s.near) > 0 {
			b.condensing = append(b.condensing, condensed, int32(len(s.near)), int32(size*t), int32(size*r.atW), int32(size*r.entries), int32(size*s.diagonal))
			for _, list := range [][]int{s.row, s.update} {
				for _, e := range list {
					b.condensing = append(b.condensing, int32(size*e))
				}
			}
		}
		for a, v := range s.near {
			row(plusProduct, &p, v, t+a, s.unknown)
		}
		t += len(s.near)
	}
	p.finish(nil)
	b.condensing = append(b.condensing, p.codeByFours(size, int32(b.atSpare))...)
	for which, at := range [2]int{0, r.entries} {
		for _, shifted := range []bool{false, true} {
			p = program{}
			for _, e := range r.kept {
				p.add(same, r.atFactor+e, at+e, 0)
			}
			for _, e := range r.kept {
				if shifted {
					p.add(lessProduct, r.atFactor+e, b.atShift, r.entries-at+e)
				}
			}
			p.finish(nil)
			p.runs = append(p.runs, r.factor.runs...)
			if shifted {
				b.shifting[which] = p.codeByFours(size, int32(b.atSpare))
			} else {
				b.factoring[which] = p.codeByFours(size, int32(b.atSpare))
			}
		}
	}
	p = program{}
	for _, e := range r.whitens {
		p.add(same, e[1], r.entries+e[0], 0)
	}
	p.ops = append(p.ops, r.whiten.ops...)
	p.finish(nil)
	b.whitening = p.codeByFours(size, int32(b.atSpare))
	p = program{}
	l := r.atL
	for i, s := range r.keeps {
		p.add(root, r.atRoot+i, r.atID+i, 0)
		for k, v := range s.near {
			row(lessProduct, &p, v, l+k, s.unknown)
		}
		row(product, &p, s.unknown, r.atRoot+i, s.unknown)
		l += len(s.near)
	}
	p.finish(nil)
	b.halving = p.codeByFours(size, int32(b.atSpare))
	b.filled, b.atProducts = filled, b.atRows+rowWidth*r.n
	p = program{}
	for _, s := range r.keeps {
		for i, c := range products {
			if bits := filled[s.unknown]; (bits>>c[0])&(bits>>c[1])&1 == 1 {
				row := b.atRows + rowWidth*s.unknown
				p.add(plusProduct, b.atProducts+i, row+c[0], row+c[1])
			}
		}
	}
	p.finish(nil)
	b.multiplying, b.products = p.code(size), len(products)
	for u, bits := range filled {
		for c := range rowWidth {
			if bits>>c&1 == 1 {
				b.places = append(b.places, b.atRows+rowWidth*u+c)
			}
		}
	}
	return b
}

// Clear makes room for the next problems.
func (b *Batch) Clear() {
	clear(b.numbers[:2*side*b.entries])
	for _, p := range b.places {
		b.fill(p, 0)
	}
}

// PutSame takes over a stiffness, a mass and rows that all problems have in common, the rows where they may be other than 0.
func (b *Batch) PutSame(stiff, mass, rows []float64, places []int32) {
	b.putSame(0, stiff)
	b.putSame(b.entries, mass)
	b.PutRows(rows, places)
}

// PutRows takes over rows that all problems have in common where they may be other than 0.
func (b *Batch) PutRows(rows []float64, places []int32) {
	for _, p := range places {
		if v := rows[p]; math.Float64bits(v) != 0 {
			b.fill(b.atRows+int(p), v)
		}
	}
}

// PutEach takes over the stiffness of each problem, a mass of all, and rows of each where they may be other than 0.
func (b *Batch) PutEach(stiff [][]float64, mass []float64, rows [][]float64, places []int32) {
	b.putSame(b.entries, mass)
	if len(stiff) == MaxBatch {
		k, r := (*[MaxBatch][]float64)(stiff), (*[MaxBatch][]float64)(rows)
		for _, e := range b.from {
			gather(b.numbers[side*e[0]:], k, e[1])
		}
		for _, p := range places {
			gather(b.numbers[side*(b.atRows+int(p)):], r, int(p))
		}
		return
	}
	for _, e := range b.from {
		k := (*[side]float64)(b.numbers[side*e[0]:])
		for i, x := range stiff {
			k[i] = x[e[1]]
		}
	}
	for _, p := range places {
		to := (*[side]float64)(b.numbers[side*(b.atRows+int(p)):])
		for i, x := range rows {
			to[i] = x[p]
		}
	}
}

// putSame takes over a matrix that all problems have in common, most of which may be 0, at its entries from at on.
func (b *Batch) putSame(at int, matrix []float64) {
	for _, e := range b.from {
		if v := matrix[e[1]]; math.Float64bits(v) != 0 {
			b.fill(at+e[0], v)
		}
	}
}

// gather copies number k of as many lists as there may be problems.
func gather(to []float64, from *[MaxBatch][]float64, k int) {
	t := (*[MaxBatch]float64)(to)
	t[0], t[1], t[2], t[3], t[4] = from[0][k], from[1][k], from[2][k], from[3][k], from[4][k]
	t[5], t[6], t[7], t[8] = from[5][k], from[6][k], from[7][k], from[8][k]
}

// Put takes over problem k, as [Reduced.Reduce] does.
func (b *Batch) Put(k int, stiff, mass, rows []float64) {
	to := b.numbers[k:]
	for _, e := range b.from {
		to[side*e[0]], to[side*(b.entries+e[0])] = stiff[e[1]], mass[e[1]]
	}
	to = to[side*b.atRows:]
	for i, x := range rows[:rowWidth*b.Reduction.n] {
		to[side*i] = x
	}
}

// Sums prepares [Batch.Add].
func (b *Batch) Sums(stiff, mass, rows []Sum) []int32 {
	entry := map[int]int{}
	for _, e := range b.from {
		entry[e[1]] = e[0]
	}
	var code []int32
	add := func(to, from int) { code = append(code, int32(8*side*to), int32(8*from)) }
	for i, list := range [][]Sum{stiff, mass} {
		for _, s := range list {
			if e, ok := entry[s.To]; ok { // not of an unknown that is held
				add(i*b.entries+e, s.From)
			}
		}
	}
	for _, s := range rows {
		add(b.atRows+s.To, s.From)
	}
	return code
}

// Add adds numbers of columns, with [Beyond] numbers after the last one, to those of the problems.
func (b *Batch) Add(columns []float64, sums []int32) {
	if len(sums) > 0 {
		b.sweeping.add(&b.numbers[0], &columns[0], &sums[0], len(sums)/2)
	}
}

// Condense is [Reduced.Reduce] of the first count problems; false where one of them has a follower without stiffness.
func (b *Batch) Condense(count int) bool {
	b.sweeping.run(&b.numbers[0], &b.condensing[0])
	for i := range b.follows {
		for _, d := range b.numbers[side*b.follows[i].diagonal:][:count] {
			if !(d > 0) {
				return false
			}
		}
	}
	return true
}

// Factor is [Reduced.Factor] of as many problems as there is room for in negative and ok.
func (b *Batch) Factor(shift float64, swapped bool, negative []int, ok []bool) {
	x, which := b.numbers, 0
	of := x
	if swapped {
		which, of = 1, x[side*b.entries:]
	}
	code := b.factoring[which]
	if shift != 0 {
		code = b.shifting[which]
		b.fill(b.atShift, shift)
	}
	b.sweeping.run(&x[0], &code[0])
	var broken [side]bool
	clear(negative)
	for k := range ok {
		ok[k] = true
	}
	f := x[side*b.atFactor:]
	for i := range b.keeps {
		at := side * b.keeps[i].diagonal
		pivots, sizes := (*[side]float64)(f[at:]), (*[side]float64)(of[at:])
		for k := range ok {
			d := pivots[k]
			switch {
			case d >= rounding*sizes[k] && d > 0 && d <= math.MaxFloat64 || broken[k]:
			case d == 0 || d-d != 0:
				ok[k], broken[k] = false, true
				negative[k]++
			case d < 0:
				negative[k]++
			case d < rounding*sizes[k]:
				ok[k] = false
			}
		}
	}
}

// fill makes a number the same in all problems.
func (b *Batch) fill(at int, v float64) {
	t := (*[side]float64)(b.numbers[side*at:])
	t[0], t[1], t[2], t[3], t[4], t[5] = v, v, v, v, v, v
	t[6], t[7], t[8], t[9], t[10], t[11] = v, v, v, v, v, v
}

// Half is [Reduced.Half] of the rows.
func (b *Batch) Half() { b.sweeping.run(&b.numbers[0], &b.halving[0]) }

// Products adds up, over the kept unknowns, the products of the columns of rows that [NewBatch] was told.
func (b *Batch) Products() {
	for i := range b.products {
		b.fill(b.atProducts+i, 0)
	}
	b.sweeping.run(&b.numbers[0], &b.multiplying[0])
}

// Product is number i of them, of problem k.
func (b *Batch) Product(i, k int) float64 { return b.numbers[side*(b.atProducts+i)+k] }

// Copy makes x the condensed problem k, without what followers have left.
func (b *Batch) Copy(k int, x *Reduced) {
	for _, i := range b.kept {
		x.K[i], x.M[i] = b.numbers[side*i+k], b.numbers[side*(b.entries+i)+k]
	}
}

// Whiten is [Reduced.Whiten] of the masses of the first count problems, for Solve.
func (b *Batch) Whiten(count int) {
	n := len(b.keeps)
	b.sweeping.run(&b.numbers[0], &b.whitening[0])
	for i := range b.groups {
		g := &b.groups[i]
		if g.first >= count {
			break
		}
		w := g.lanes
		for i := range n {
			clear(g.a[w*i*n:][:w*(i+1)])
		}
		for _, e := range b.lower {
			move(g.a[w*(e[0]*n+e[1]):], b.numbers[side*e[2]+g.first:], w)
		}
		clear(g.r)
		for i := range b.keeps {
			u := b.keeps[i].unknown
			at := b.numbers[side*(b.atRows+rowWidth*u)+g.first:]
			for c := range rowWidth {
				if b.filled[u]>>c&1 == 1 {
					move(g.r[g.shapes*(rowWidth*i+c):], at[side*c:], g.shapes)
				}
			}
		}
	}
}

// move copies a number of a group of w problems.
func move(to, from []float64, w int) {
	switch w {
	case 1:
		to[0] = from[0]
	case 2:
		*(*[2]float64)(to) = *(*[2]float64)(from)
	case 4:
		*(*[4]float64)(to) = *(*[4]float64)(from)
	case 8:
		*(*[8]float64)(to) = *(*[8]float64)(from)
	}
}
