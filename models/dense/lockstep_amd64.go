package dense

import "math"

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
func (b *Batch) Solve(count int) {
	n := len(b.keeps)
	for g := 0; lanes*g < count; g++ {
		b.tridiagonal(g, n)
	}
	x := &b.x
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
func (b *Batch) tridiagonal(g, n int) {
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
		reflectRows4(&r[0], v, i, &ih[0])
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
func (b *Batch) begin(count, n int) bool {
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
func (b *Batch) isSplit(k, m, n int) bool {
	d := b.d[MaxBatch*m+k:]
	return m == n-1 || math.Abs(b.e[MaxBatch*m+k]) <= max(eps*(math.Abs(d[0])+math.Abs(d[MaxBatch])), b.x.tiny[k])
}

// turnRows applies the rotations of a sweep to the rows of the g-th four problems: where all of them
// take part in a rotation without asking each.
func (b *Batch) turnRows(g, count, n int) {
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
	r, cs := &b.r[g][0], &b.cs[3*lanes*g]
	if inner <= outer {
		turnSomeRows4(r, cs, first, last)
		return
	}
	if first > inner {
		turnSomeRows4(r, cs, first, inner)
	}
	turnRows4(r, cs, inner, outer)
	if outer > last {
		turnSomeRows4(r, cs, outer, last)
	}
}

// end is [chase.end], or [chase.split], of all problems.
func (b *Batch) end(count, n int) {
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

// Take writes eigenvalues and rows of problem k as [Eigen.Solve] does; false where it has not settled.
func (b *Batch) Take(k int, r, w []float64) bool {
	n := len(b.keeps)
	if b.lane[k].failed {
		return false
	}
	r, w = r[:n*rowWidth], w[:n]
	for i := range w {
		w[i] = b.d[MaxBatch*i+k]
	}
	rows := b.r[k/lanes][k%lanes:]
	for i := range r {
		r[i] = rows[lanes*i]
	}
	return ascending(r, rowWidth, w)
}
