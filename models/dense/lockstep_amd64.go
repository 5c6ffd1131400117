package dense

import (
	"math"

	"flexwright/models/elementary"
)

const (
	// MaxBatch is the number of problems that go side by side.
	MaxBatch = 9
	side     = 12 // numbers of all of them, which stand together: that many whatever their grouping
	rowWidth = 8
)

// wide says that vector registers hold eight numbers; otherwise four.
var wide = elementary.Lanes() == 8

// Eigens solves the symmetric eigenproblems of several matrices of one order side by side, each in a lane of the
// processor's vector registers, as [Eigen.Solve] does and with the same bits: the order of operations is the same and no
// multiplication is fused with an addition. Problems are in groups that fill a register each; of
// a group of w matrices the number of lane l of element k is at w k + l.
type Eigens struct {
	n, blocks int // order; rows are in blocks of eight numbers
	groups    []group
	sweeping  *sweeping
	q         []float64 // of a group
	d, e      []float64 // of all
	cs        []float64 // rotations of a sweep: cosine, sine and whether a lane takes part, of each group
	x         sweep
	ih        [rowWidth]float64
	order     []int
}

// group is some problems that go in the lanes of one register.
type group struct {
	*kernels
	first int       // problem
	a     []float64 // matrices, row-major
	r     []float64 // blocks of rows, of as many problems as there are shapes
}

// kernels are what is done with a group, by the assembly.
type kernels struct {
	lanes        int
	shapes       int // problems whose rows stand together: all, or of a lone one only its own
	reflector    func(v *float64, i int, e, ih *float64)
	apply        func(a *float64, n, i int, v, q *float64)
	settle       func(v, q *float64, i int, ih *float64)
	update       func(a *float64, n, i int, v, q *float64)
	reflectRows  func(r, v *float64, i int, ih *float64)
	turnRows     func(r, cs *float64, from, to int)
	turnSomeRows func(r, cs *float64, from, to int)
}

// sweeping is what is done with all groups at a time.
type sweeping struct {
	begin func(d, e, x *float64, last, least int)
	chase func(d, e, cs, x *float64, from, to int)
	rows  func(d, e, r, alone, x *float64, from, to int) // chase, and the rows of both groups; nil: these go group by group
	run   func(x *float64, code *int32)
	add   func(x, columns *float64, code *int32, n int)
}

var (
	lone  = kernels{2, 1, reflector2, apply2, settle2, update2, reflectAlone10, turnAlone10, turnAlone10}
	four  = kernels{4, 4, reflector4, apply4, settle4, update4, reflectRows4, turnRows4, turnSomeRows4}
	eight = kernels{8, 8, reflector8, apply8, settle8, update8, reflectRows8, turnSomeRows8, turnSomeRows8}

	byFours  = sweeping{begin12, chase12, nil, run12, add12}
	byEights = sweeping{begin10, chase10, chaseRows10, run10, add10}
)

// NewEigens returns memory for problems of order n with some numbers a row, nil where nothing moves or the processor has
// no vector registers of four numbers.
func NewEigens(n, rows int) *Eigens {
	if n == 0 || elementary.Lanes() == 1 {
		return nil
	}
	f := func(n int) []float64 { return make([]float64, n) }
	// the number after the last is read, too
	b := &Eigens{n: n, blocks: (rows + rowWidth - 1) / rowWidth, q: f(rowWidth * n), d: f(side * (n + 1)), e: f(side * (n + 1)), cs: f(3 * side * n), order: make([]int, n)}
	kinds := []*kernels{&four, &four, &four}
	b.sweeping = &byFours
	if wide {
		kinds, b.sweeping = []*kernels{&eight, &lone}, &byEights
	}
	first := 0
	for _, k := range kinds {
		b.groups = append(b.groups, group{k, first, f(k.lanes * n * n), f(k.shapes * n * rowWidth * b.blocks)})
		first += k.lanes
	}
	return b
}

// of is the group of problem k, and its lane there.
func (b *Eigens) of(k int) (g *group, lane int) {
	g = &b.groups[0]
	for i := 1; k >= g.first+g.lanes; i++ {
		g = &b.groups[i]
	}
	return g, k - g.first
}

// Put takes over problem k: a, of which the lower triangle is read, and its rows, of width numbers.
func (b *Eigens) Put(k int, a, r []float64, width int) {
	g, lane := b.of(k)
	n := b.n
	for i := range n {
		for j, x := range a[i*n : i*n+i+1] {
			g.a[g.lanes*(i*n+j)+lane] = x
		}
	}
	for i := range n {
		for c, x := range r[i*width : (i+1)*width] {
			g.r[g.shapes*b.row(i, c)+lane] = x
		}
	}
}

// row is where number c of row i is.
func (b *Eigens) row(i, c int) int { return (c/rowWidth*b.n+i)*rowWidth + c%rowWidth }

// sweep is where a sweep of all problems stands; l is the last rotation of a lane, m the one that its sweep begins
// below, both numbers of the matrix: +Inf and 0 where it has none. A lane splits in the middle at a rotation of its own,
// -1 for none; turn counts its sweeps with the same l. The order of the fields is known to the assembly.
type sweep struct {
	s                             [side]float64
	_                             [side]float64 // c, the assembly's alone
	p, q, l, m, split, tiny, turn [side]float64
	_                             [side]float64 // s², likewise
}

// Solve solves the first count problems.
func (b *Eigens) Solve(count int) {
	for i := range b.groups {
		if g := &b.groups[i]; g.first < count {
			b.tridiagonal(g, b.n)
		}
	}
	b.sweeps(count)
}

// sweeps is [chase.run] of the first count problems.
func (b *Eigens) sweeps(count int) {
	n, x := b.n, &b.x
	*x = sweep{}
	for k := range side {
		x.l[k] = math.Inf(1)
	}
	for k := range count {
		for i := range n {
			x.tiny[k] = max(x.tiny[k], math.Abs(b.d[side*i+k]), math.Abs(b.e[side*i+k]))
		}
		x.tiny[k] *= eps * eps
		x.l[k] = 0
	}
	least := 0
	for {
		b.sweeping.begin(&b.d[0], &b.e[0], &x.s[0], n-1, least)
		from, to := 0.0, math.Inf(1)
		for k := range count {
			from, to = max(from, x.m[k]), min(to, x.l[k])
		}
		if from == 0 {
			return
		}
		least = int(to)
		start := x.l // lanes that split in the middle lose it
		if b.sweeping.rows != nil && b.blocks == 1 {
			b.sweeping.rows(&b.d[0], &b.e[0], &b.groups[0].r[0], &b.groups[1].r[0], &x.s[0], int(from), least)
		} else {
			b.sweeping.chase(&b.d[0], &b.e[0], &b.cs[0], &x.s[0], int(from), least)
			for i := range b.groups {
				if g := &b.groups[i]; g.first < count {
					b.turnRows(g, min(g.lanes, count-g.first), &start)
				}
			}
		}
		b.end(count, &start)
	}
}

// tridiagonal is [Eigen.tridiagonal] of a group, the off-diagonal one place further up.
func (b *Eigens) tridiagonal(g *group, n int) {
	a, r, q, w := g.a, g.r, b.q, g.lanes
	d, e := b.d[g.first:], b.e[g.first:]
	ih := &b.ih[0]
	for i := n - 1; i > 1; i-- {
		v := &a[w*i*n]
		copy(d[side*i:], a[w*(i*n+i):][:w])
		g.reflector(v, i, &e[side*(i-1)], ih)
		g.apply(&a[0], n, i, v, &q[0])
		g.settle(v, &q[0], i, ih)
		g.update(&a[0], n, i, v, &q[0])
		for at := 0; at < len(r); at += g.shapes * rowWidth * n {
			g.reflectRows(&r[at], v, i, ih)
		}
	}
	if n > 1 {
		copy(d[side:], a[w*(n+1):][:w])
		copy(e, a[w*n:][:w])
	}
	copy(d, a[:w])
	clear(e[side*(n-1):][:w])
}

// turnRows applies the rotations of a sweep to the rows of the first count problems of a group, whose last ones were
// before the sweep: where all of them take part in a rotation without asking each.
func (b *Eigens) turnRows(g *group, count int, start *[side]float64) {
	first, last := 0.0, math.Inf(1) // that some take part in
	inner, outer := math.Inf(1), 0.0
	for k := g.first; k < g.first+count; k++ {
		first, last = max(first, b.x.m[k]), min(last, start[k])
		inner, outer = min(inner, b.x.m[k]), max(outer, b.x.l[k])
	}
	if first == 0 {
		return
	}
	cs := &b.cs[3*g.first]
	for at := 0; at < len(g.r); at += g.shapes * rowWidth * b.n {
		r := &g.r[at]
		if inner <= outer {
			g.turnSomeRows(r, cs, int(first), int(last))
			continue
		}
		if first > inner {
			g.turnSomeRows(r, cs, int(first), int(inner))
		}
		g.turnRows(r, cs, int(inner), int(outer))
		if outer > last {
			g.turnSomeRows(r, cs, int(outer), int(last))
		}
	}
}

// end is [chase.end], or [chase.split], of all problems; it gives back where their sweeps have begun.
func (b *Eigens) end(count int, start *[side]float64) {
	x := &b.x
	for k, l := range start[:count] {
		if x.m[k] == 0 {
			continue
		}
		if i := int(x.split[k]); i >= 0 {
			b.d[side*(i+1)+k] -= x.p[k]
			b.e[side*(i+1)+k] = 0
			x.l[k] = l
		} else {
			b.d[side*int(l)+k] -= x.p[k]
			b.e[side*int(l)+k] = x.q[k]
		}
		b.e[side*int(x.m[k])+k] = 0
	}
}

// Take writes eigenvalues and rows, of width numbers, of problem k as [Eigen.Solve] does; false where it has not settled.
func (b *Eigens) Take(k int, r []float64, width int, w []float64) bool {
	if !b.Sort(k, w) {
		return false
	}
	for i := range b.n {
		if width > 0 {
			b.Shape(k, i, 1, r[i*width:(i+1)*width])
		}
	}
	return true
}

// Sort writes the eigenvalues of problem k, ascending; false where it has not settled.
func (b *Eigens) Sort(k int, w []float64) bool {
	if b.x.turn[k] > mostTurns {
		return false
	}
	w = w[:b.n]
	// insertion sort of the numbers of values: QL leaves them nearly in order
	order := b.order[:len(w)]
	for i := range w {
		x := b.d[side*i+k]
		if x != x {
			return false
		}
		j := i
		for ; j > 0 && x < w[j-1]; j-- {
			w[j], order[j] = w[j-1], order[j-1]
		}
		w[j], order[j] = x, i
	}
	return true
}

// Shape writes the row of the i-th eigenvalue, in the order of the last Sort of that problem, times a factor.
func (b *Eigens) Shape(k, i int, factor float64, to []float64) {
	g, lane := b.of(k)
	at := g.r[rowWidth*g.shapes*b.order[i]+lane:]
	for len(to) > rowWidth {
		g.row(at, factor, to[:rowWidth])
		at, to = at[rowWidth*g.shapes*b.n:], to[rowWidth:]
	}
	g.row(at, factor, to)
}

// row writes numbers of a row from at on.
func (g *group) row(at []float64, factor float64, to []float64) {
	for c := range to {
		to[c] = factor * at[g.shapes*c]
	}
}
