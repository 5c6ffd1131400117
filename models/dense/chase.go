package dense

import "math"

// chase is the implicit QL iteration on the tridiagonal matrix d, e (e[i] couples
// i-1 and i), its rotations applied to the rows of r: from one rotation to the next, so that those of
// two problems can go side by side.
type chase struct {
	d, e, r []float64
	n, rows int
	l, m    int // the block that is being worked on
	turn    int // sweeps over it
	i       int // of the rotation to come; below l at the end of a sweep

	s, c, s2, p, q float64 // of the last rotation; s2 = s², carried along by itself
	failed         bool

	tiny float64 // an off-diagonal that is nothing beside the largest eigenvalue
}

const (
	eps       = 0x1p-52
	mostTurns = 50
	normal    = 0x1p-1022 // the square of a rotation's size that is none
)

// Products are rounded before they are added to, by float64, so that problems side by side ([Batch]) come to the same bits
// whatever processor this is compiled for.

func newChase(g *Eigen, n int, r []float64, rows int) chase {
	x := chase{d: g.d[:n], e: g.e[:n], r: r, n: n, rows: rows}
	for i := 1; i < n; i++ {
		x.e[i-1] = x.e[i]
	}
	if n > 0 {
		x.e[n-1] = 0
	}
	for i, d := range x.d {
		x.tiny = max(x.tiny, math.Abs(d), math.Abs(x.e[i]))
	}
	// Without it what rounding leaves of a singular matrix, graded over hundreds of decades, takes sweep after sweep.
	x.tiny *= eps * eps
	x.begin()
	return x
}

// begin prepares the next sweep, with Wilkinson's shift; l is n when none is left.
func (x *chase) begin() {
	d, e := x.d, x.e
	for ; x.l < x.n; x.l++ {
		m := x.l
		for ; m < x.n-1; m++ {
			if math.Abs(e[m]) <= max(eps*(math.Abs(d[m])+math.Abs(d[m+1])), x.tiny) {
				break
			}
		}
		if m == x.l {
			x.turn = 0
			continue
		}
		if x.turn == mostTurns {
			x.failed, x.l = true, x.n
			return
		}
		x.turn++
		l := x.l
		q := (d[l+1] - d[l]) / (2 * e[l])
		s := math.Sqrt(float64(q*q) + 1)
		if q < 0 {
			s = -s
		}
		x.q = d[m] - d[l] + e[l]/(q+s)
		x.s, x.c, x.s2, x.p = 1, 1, 1, 0
		x.m, x.i = m, m-1
		return
	}
}

// left is the number of rotations in the sweep that is going on; 0 when all is done.
func (x *chase) left() int {
	if x.l == x.n {
		return 0
	}
	return x.i - x.l + 1
}

// rotate makes k rotations, no more than are left.
func (x *chase) rotate(k int) {
	d, e, rotated, rows := x.d, x.e, x.r, x.rows
	s, c, s2, p, q, i := x.s, x.c, x.s2, x.p, x.q, x.i
	for ; k > 0; k-- {
		ei := e[i]
		f, b := float64(s*ei), float64(c*ei)
		f2 := float64(s2 * float64(ei*ei))
		square := float64(q*q) + f2
		if square < normal {
			x.split(i, p)
			return
		}
		// What comes next waits for the division, not for the root.
		h, r := math.Sqrt(square), 1/square
		e[i+1] = h
		u := d[i+1] - p
		m := float64(f*(d[i]-u)) + float64((q+q)*b)
		p = float64(r * float64(f*m))
		d[i+1] = u + p
		ih := h * r
		s, c, s2 = f*ih, q*ih, f2*r
		q = float64(r*float64(q*m)) - b
		if rows == 8 {
			rotate8((*[8]float64)(rotated[8*i:]), (*[8]float64)(rotated[8*i+8:]), s, c)
		} else if rows > 0 {
			rotate(rotated[i*rows:(i+1)*rows], rotated[(i+1)*rows:(i+2)*rows], s, c)
		}
		i--
	}
	x.s, x.c, x.s2, x.p, x.q, x.i = s, c, s2, p, q, i
	x.end()
}

// end ends a sweep that has come through, and begins the next.
func (x *chase) end() {
	if x.i < x.l {
		x.d[x.l] -= x.p
		x.e[x.l] = x.q
		x.e[x.m] = 0
		x.begin()
	}
}

// split ends a sweep at a rotation i without size: the matrix falls apart there.
func (x *chase) split(i int, p float64) {
	x.d[i+1] -= p
	x.e[i+1] = 0
	x.e[x.m] = 0
	x.begin()
}

func (x *chase) run() {
	for k := x.left(); k > 0; k = x.left() {
		x.rotate(k)
	}
}

// runBoth runs two problems to their ends. Each rotation waits for the root and the division of the one before, so that
// two chains go through a processor in little more than the time of one. What is computed is what
// run computes.
func runBoth(x, y *chase) {
	for {
		k := min(x.left(), y.left())
		if k == 0 {
			break
		}
		rotateBoth(x, y, k)
	}
	x.run()
	y.run()
}

// rotateBoth is rotate of both, of as many rows, written out.
func rotateBoth(x, y *chase, k int) {
	d, e, r, rows := x.d, x.e, x.r, x.rows
	s, c, ss, p, q, i := x.s, x.c, x.s2, x.p, x.q, x.i
	d2, e2, r2 := y.d, y.e, y.r
	s2, c2, ss2, p2, q2, j := y.s, y.c, y.s2, y.p, y.q, y.i
	for ; k > 0; k-- {
		ei, ej := e[i], e2[j]
		f, b := float64(s*ei), float64(c*ei)
		f2, b2 := float64(s2*ej), float64(c2*ej)
		ff, ff2 := float64(ss*float64(ei*ei)), float64(ss2*float64(ej*ej))
		square, square2 := float64(q*q)+ff, float64(q2*q2)+ff2
		if square < normal || square2 < normal { // seldom: one by one
			x.s, x.c, x.s2, x.p, x.q, x.i = s, c, ss, p, q, i
			y.s, y.c, y.s2, y.p, y.q, y.i = s2, c2, ss2, p2, q2, j
			x.rotate(1)
			y.rotate(1)
			return
		}
		h, h2 := math.Sqrt(square), math.Sqrt(square2)
		o, o2 := 1/square, 1/square2
		e[i+1], e2[j+1] = h, h2
		u, u2 := d[i+1]-p, d2[j+1]-p2
		m, m2 := float64(f*(d[i]-u))+float64((q+q)*b), float64(f2*(d2[j]-u2))+float64((q2+q2)*b2)
		p, p2 = float64(o*float64(f*m)), float64(o2*float64(f2*m2))
		d[i+1], d2[j+1] = u+p, u2+p2
		ih, ih2 := h*o, h2*o2
		s, c, ss = f*ih, q*ih, ff*o
		s2, c2, ss2 = f2*ih2, q2*ih2, ff2*o2
		q, q2 = float64(o*float64(q*m))-b, float64(o2*float64(q2*m2))-b2
		if rows == 8 {
			rotate8((*[8]float64)(r[8*i:]), (*[8]float64)(r[8*i+8:]), s, c)
			rotate8((*[8]float64)(r2[8*j:]), (*[8]float64)(r2[8*j+8:]), s2, c2)
		} else if rows > 0 {
			rotate(r[i*rows:(i+1)*rows], r[(i+1)*rows:(i+2)*rows], s, c)
			rotate(r2[j*rows:(j+1)*rows], r2[(j+1)*rows:(j+2)*rows], s2, c2)
		}
		i--
		j--
	}
	x.s, x.c, x.s2, x.p, x.q, x.i = s, c, ss, p, q, i
	y.s, y.c, y.s2, y.p, y.q, y.i = s2, c2, ss2, p2, q2, j
	x.end()
	y.end()
}

// SolveBoth is g.Solve and h.Solve of two problems, of different memory, at the same time, with the same bits.
func SolveBoth(g, h *Eigen, a, b []float64, n, m int, r, s []float64, rows int, v, w []float64) bool {
	g.check(n, rows)
	h.check(m, rows)
	r, s = r[:n*rows], s[:m*rows]
	g.tridiagonal(a[:n*n], n, r, rows)
	h.tridiagonal(b[:m*m], m, s, rows)
	x, y := newChase(g, n, r, rows), newChase(h, m, s, rows)
	runBoth(&x, &y)
	return !x.failed && !y.failed && g.order(n, r, rows, v[:n]) && h.order(m, s, rows, w[:m])
}
