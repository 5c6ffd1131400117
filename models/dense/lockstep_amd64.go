package dense

import (
	"math"

	"golang.org/x/sys/cpu"
)

const (
	lanes = 4 // numbers of a vector register
	fours = 3
	// MaxBatch is the number of problems that go side by side.
	MaxBatch = lanes * fours
	rowWidth = 8
)

// Eigens solves the symmetric eigenproblems of several matrices of one order side by side, each in a lane of the
// processor's vector registers, as [Eigen.Solve] does and with the same bits: the order of operations is the same and no
// multiplication is fused with an addition. Numbers of four problems stand together, that of lane l of element k at 4 k + l.
type Eigens struct {
	n, blocks int              // order; rows are in blocks of eight numbers
	a         [fours][]float64 // matrices, row-major
	r         [fours][]float64 // blocks of rows
	q         []float64        // of four problems
	d, e      []float64        // of all
	cs        []float64        // rotations of a sweep: cosine, sine and whether a lane takes part, of each four
	x         sweep
	lane      [MaxBatch]lane
}

// NewEigens returns memory for problems of order n with some numbers a row, nil where nothing moves or the processor has
// no vector registers of four numbers.
func NewEigens(n, rows int) *Eigens {
	if n == 0 || !cpu.X86.HasAVX2 {
		return nil
	}
	f := func(n int) []float64 { return make([]float64, n) }
	b := &Eigens{n: n, blocks: (rows + rowWidth - 1) / rowWidth, q: f(lanes * n), d: f(MaxBatch * n), e: f(MaxBatch * n), cs: f(3 * MaxBatch * n)}
	for g := range fours {
		b.a[g], b.r[g] = f(lanes*n*n), f(lanes*n*rowWidth*b.blocks)
	}
	return b
}

// Put takes over problem k: a, of which the lower triangle is read, and its rows, of width numbers.
func (b *Eigens) Put(k int, a, r []float64, width int) {
	to, n := b.a[k/lanes][k%lanes:], b.n
	for i := range n {
		for j, x := range a[i*n : i*n+i+1] {
			to[lanes*(i*n+j)] = x
		}
	}
	for i := range n {
		for c, x := range r[i*width : (i+1)*width] {
			b.r[k/lanes][b.row(i, c)+k%lanes] = x
		}
	}
}

// row is where number c of row i of four problems is.
func (b *Eigens) row(i, c int) int {
	return lanes * ((c/rowWidth*b.n+i)*rowWidth + c%rowWidth)
}

// sweep is where a sweep of all problems stands; l is the last rotation of a lane, m the one that its sweep begins
// below, both numbers of the matrix: +Inf and 0 where it has none. The order of the fields is known to the assembly.
type sweep struct {
	s, c, p, q, l, m, split, tiny [MaxBatch]float64
}

// lane is what a [chase] knows of its problem.
type lane struct {
	l, m, turn int
	failed     bool
}

// Solve solves the first count problems.
func (b *Eigens) Solve(count int) {
	for g := 0; lanes*g < count; g++ {
		b.tridiagonal(g, b.n)
	}
	b.sweeps(count)
}

// sweeps is [chase.run] of the first count problems.
func (b *Eigens) sweeps(count int) {
	n, x := b.n, &b.x
	x.tiny = [MaxBatch]float64{}
	for k := range count {
		for i := range n {
			x.tiny[k] = max(x.tiny[k], math.Abs(b.d[MaxBatch*i+k]), math.Abs(b.e[MaxBatch*i+k]))
		}
		x.tiny[k] *= eps * eps
		b.lane[k] = lane{}
	}
	for b.begin(count, n) {
		from, to := 0, n
		for k := range b.lane[:count] {
			if y := &b.lane[k]; y.l < n {
				from, to = max(from, y.m), min(to, y.l)
			}
		}
		chase12(&b.d[0], &b.e[0], &b.cs[0], &x.s[0], from, to)
		for g := 0; lanes*g < count; g++ {
			b.turnRows(g, min(lanes, count-lanes*g), n)
		}
		b.end(count, n)
	}
}

// tridiagonal is [Eigen.tridiagonal] of four problems, the off-diagonal one place further up.
func (b *Eigens) tridiagonal(g, n int) {
	a, r, q := b.a[g], b.r[g], b.q
	d, e := b.d[lanes*g:], b.e[lanes*g:]
	var ih [lanes]float64
	for i := n - 1; i > 1; i-- {
		v := &a[lanes*i*n]
		*(*[lanes]float64)(d[MaxBatch*i:]) = *(*[lanes]float64)(a[lanes*(i*n+i):])
		reflector4(v, i, &e[MaxBatch*(i-1)], &ih[0])
		image4x4(&a[0], n, i, v, &q[0])
		settle4(v, &q[0], i, &ih[0])
		update4(&a[0], n, i, v, &q[0])
		for at := 0; at < len(r); at += lanes * rowWidth * n {
			reflectRows4(&r[at], v, i, &ih[0])
		}
	}
	if n > 1 {
		*(*[lanes]float64)(d[MaxBatch:]) = *(*[lanes]float64)(a[lanes*(n+1):])
		*(*[lanes]float64)(e) = *(*[lanes]float64)(a[lanes*n:])
	}
	if n > 0 {
		*(*[lanes]float64)(d) = *(*[lanes]float64)(a)
		*(*[lanes]float64)(e[MaxBatch*(n-1):]) = [lanes]float64{}
	}
}

// begin is [chase.begin] of all problems; false when nothing is left.
func (b *Eigens) begin(count, n int) bool {
	x, least := &b.x, n
	for k := range MaxBatch {
		x.l[k], x.m[k] = math.Inf(1), 0
		if k < count && b.lane[k].l < n {
			x.l[k] = float64(b.lane[k].l)
			least = min(least, b.lane[k].l)
		}
	}
	if least == n {
		return false
	}
	splits12(&b.d[0], &b.e[0], n-1, least+1, &x.l[0], &x.m[0], &x.tiny[0])
	any := false
	for k := range b.lane[:count] {
		y := &b.lane[k]
		if y.l == n {
			continue
		}
		y.m = int(x.m[k]) // the first split after l, or the end
		if b.isSplit(k, y.l, n) {
			y.turn = 0
			y.l++
			for ; y.l < n && y.l == y.m; y.l++ {
				for y.m++; y.m < n && !b.isSplit(k, y.m, n); y.m++ {
				}
			}
		}
		if y.l < n && y.turn == 50 {
			y.failed, y.l = true, n
		}
		if y.l == n {
			x.l[k], x.m[k] = math.Inf(1), 0
			continue
		}
		y.turn++
		any = true
		dl, el := b.d[MaxBatch*y.l+k], b.e[MaxBatch*y.l+k]
		q := (b.d[MaxBatch*(y.l+1)+k] - dl) / (2 * el)
		s := math.Sqrt(float64(q*q) + 1)
		if q < 0 {
			s = -s
		}
		x.q[k] = b.d[MaxBatch*y.m+k] - dl + el/(q+s)
		x.s[k], x.c[k], x.p[k] = 1, 1, 0
		x.l[k], x.m[k], x.split[k] = float64(y.l), float64(y.m), -1
	}
	return any
}

// isSplit reports whether the matrix k falls apart below row m.
func (b *Eigens) isSplit(k, m, n int) bool {
	d := b.d[MaxBatch*m+k:]
	return m == n-1 || math.Abs(b.e[MaxBatch*m+k]) <= max(eps*(math.Abs(d[0])+math.Abs(d[MaxBatch])), b.x.tiny[k])
}

// turnRows applies the rotations of a sweep to the rows of the g-th four problems: where all of them
// take part in a rotation without asking each.
func (b *Eigens) turnRows(g, count, n int) {
	first, last := 0, n // that some take part in
	inner, outer := n, 0
	for k := lanes * g; k < lanes*g+count; k++ {
		y := &b.lane[k]
		inner, outer = min(inner, y.m), max(outer, y.l)
		if y.l < n {
			first, last = max(first, y.m), min(last, y.l)
		}
		if b.x.split[k] >= 0 {
			outer = n
		}
	}
	if first <= last {
		return
	}
	cs := &b.cs[3*lanes*g]
	for at := 0; at < len(b.r[g]); at += lanes * rowWidth * n {
		r := &b.r[g][at]
		if inner <= outer {
			turnSomeRows4(r, cs, first, last)
			continue
		}
		if first > inner {
			turnSomeRows4(r, cs, first, inner)
		}
		turnRows4(r, cs, inner, outer)
		if outer > last {
			turnSomeRows4(r, cs, outer, last)
		}
	}
}

// end is [chase.end], or [chase.split], of all problems.
func (b *Eigens) end(count, n int) {
	x := &b.x
	for k := range b.lane[:count] {
		y := &b.lane[k]
		if y.l == n {
			continue
		}
		if i := int(x.split[k]); i >= 0 {
			b.d[MaxBatch*(i+1)+k] -= x.p[k]
			b.e[MaxBatch*(i+1)+k] = 0
		} else {
			b.d[MaxBatch*y.l+k] -= x.p[k]
			b.e[MaxBatch*y.l+k] = x.q[k]
		}
		b.e[MaxBatch*y.m+k] = 0
	}
}

// Take writes eigenvalues and rows, of width numbers, of problem k as [Eigen.Solve] does; false where it has not settled.
func (b *Eigens) Take(k int, r []float64, width int, w []float64) bool {
	n := b.n
	if b.lane[k].failed {
		return false
	}
	r, w = r[:n*width], w[:n]
	for i := range w {
		w[i] = b.d[MaxBatch*i+k]
	}
	for i := range n {
		for c := range width {
			r[i*width+c] = b.r[k/lanes][b.row(i, c)+k%lanes]
		}
	}
	return ascending(r, width, w)
}
