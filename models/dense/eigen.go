package dense

import "math"

// Eigen solves the symmetric eigenproblem A z = λ z for all eigenvalues and
// for chosen rows of the matrix of eigenvectors only: a response needs the
// modes at a few points, and carrying those rows costs a fraction of the whole.
// It is scratch for matrices up to the order it was made for.
//
// Method: Householder's reduction to tridiagonal form and the implicit QL
// iteration (R. S. Martin, C. Reinsch, J. H. Wilkinson, Numer. Math. 11 (1968)
// 181-195; A. Dubrulle, Numer. Math. 15 (1970) 450; EISPACK tred2, tql2), the
// rotations applied to the wanted rows. Eigenvalues are exact to a few eps ‖A‖;
// equal ones get orthogonal vectors.
type Eigen struct {
	d, e, v, p []float64 // diagonal, off-diagonal, reflector, its image
	t          []float64 // rows: one number per wanted row
}

// NewEigen returns scratch for matrices of order n and up to rows wanted rows.
func NewEigen(n, rows int) *Eigen {
	f := func(n int) []float64 { return make([]float64, n) }
	return &Eigen{d: f(n), e: f(n), v: f(n), p: f(n), t: f(rows)}
}

// Solve overwrites w (n) with the eigenvalues of a in ascending order and r
// (n by rows, row-major) with the products of its columns and the eigenvectors:
// column c of r, a vector of length n, becomes c·z_k in row k, with z_k the
// k-th unit eigenvector. a is n by n, row-major; its lower triangle is read and
// destroyed. rows may be 0. It returns false when the iteration does not
// settle, as with NaN in a.
func (g *Eigen) Solve(a []float64, n int, r []float64, rows int, w []float64) bool {
	g.check(n, rows)
	a, r, w = a[:n*n], r[:n*rows], w[:n]
	g.tridiagonal(a, n, r, rows)
	x := newChase(g, n, r, rows)
	x.run()
	return !x.failed && g.order(n, r, rows, w)
}

// order brings eigenvalues and rows into ascending order; false with NaN among them.
func (g *Eigen) order(n int, r []float64, rows int, w []float64) bool {
	copy(w, g.d[:n])
	return ascending(r, rows, w)
}

// ascending sorts w and the rows beside it; false with NaN in w.
func ascending(r []float64, rows int, w []float64) bool {
	for _, x := range w {
		if x != x {
			return false
		}
	}
	// insertion sort: QL leaves them nearly in order
	for i := range w {
		for k := i; k > 0 && w[k] < w[k-1]; k-- {
			w[k], w[k-1] = w[k-1], w[k]
			x, y := r[k*rows:k*rows+rows], r[(k-1)*rows:k*rows]
			for c := range x {
				x[c], y[c] = y[c], x[c]
			}
		}
	}
	return true
}

func (g *Eigen) check(n, rows int) {
	if n > len(g.d) || rows > len(g.t) {
		panic("dense: eigenproblem larger than its scratch")
	}
}

// tridiagonal reduces a from its last row upward: row i loses all but its
// neighbour of the diagonal to a reflection of the rows before it.
func (g *Eigen) tridiagonal(a []float64, n int, r []float64, rows int) {
	d, e, p := g.d, g.e, g.p
	for i := n - 1; i > 1; i-- {
		v := a[i*n : i*n+i] // the reflector is made in place
		d[i] = a[i*n+i]
		scale := 0.0
		for _, x := range v[:i-1] {
			scale += math.Abs(x)
		}
		if scale == 0 {
			e[i] = v[i-1]
			continue
		}
		scale += math.Abs(v[i-1])
		is := 1 / scale
		h := 0.0
		for k := range v {
			v[k] *= is
			h += float64(v[k] * v[k])
		}
		f := v[i-1]
		root := math.Sqrt(h)
		if f > 0 {
			root = -root
		}
		e[i] = scale * root
		h -= float64(f * root)
		v[i-1] = f - root
		ih := 1 / h
		// p = A v / h, A in its lower triangle
		q := p[:i]
		clear(q)
		j := 0
		for ; j+3 < i; j += 4 {
			image4(a[j*n:], n, j, v, q)
		}
		for ; j < i; j++ {
			x := a[j*n : j*n+j]
			vj, s := v[j], 0.0
			for k, xk := range x {
				s += float64(xk * v[k])
				q[k] += float64(xk * vj)
			}
			q[j] += s + float64(a[j*n+j]*vj)
		}
		dot := 0.0
		for k, x := range q {
			q[k] = x * ih
			dot += float64(q[k] * v[k])
		}
		dot *= 0.5 * ih
		for k := range q {
			q[k] -= float64(dot * v[k])
		}
		// A -= v pᵀ + p vᵀ
		for j = 0; j+1 < i; j += 2 {
			x, y := a[j*n:j*n+j+1], a[(j+1)*n:(j+1)*n+j+2]
			vj, qj, vk, qk := v[j], q[j], v[j+1], q[j+1]
			vv, qq, yy := v[:len(x)], q[:len(x)], y[:len(x)]
			for k := range x {
				f, g := vv[k], qq[k]
				x[k] -= float64(vj*g) + float64(qj*f)
				yy[k] -= float64(vk*g) + float64(qk*f)
			}
			y[j+1] -= float64(vk*qk) + float64(qk*vk)
		}
		if j < i {
			x := a[j*n : j*n+j+1]
			vj, qj := v[j], q[j]
			vv, qq := v[:len(x)], q[:len(x)]
			for k := range x {
				x[k] -= float64(vj*qq[k]) + float64(qj*vv[k])
			}
		}
		if rows > 0 {
			reflect(r, rows, v, ih, g.t[:rows])
		}
	}
	if n > 1 {
		d[1], e[1] = a[n+1], a[n]
	}
	if n > 0 {
		d[0] = a[0]
	}
}

// image4 adds to q what rows j to j+3 of a symmetric matrix, of which rows has the
// lower triangle from row j on, contribute to its product with v.
func image4(rows []float64, n, j int, v, q []float64) {
	a, b, c, d := rows[:j+1], rows[n:n+j+2], rows[2*n:2*n+j+3], rows[3*n:3*n+j+4]
	va, vb, vc, vd := v[j], v[j+1], v[j+2], v[j+3]
	var sa, sb, sc, sd float64
	vv, qq, aa, bb, cc, dd := v[:j], q[:j], a[:j], b[:j], c[:j], d[:j]
	for k, f := range vv {
		x, y, z, u := aa[k], bb[k], cc[k], dd[k]
		sa += float64(x * f)
		sb += float64(y * f)
		sc += float64(z * f)
		sd += float64(u * f)
		qq[k] += (float64(x*va) + float64(y*vb)) + (float64(z*vc) + float64(u*vd))
	}
	w := q[j : j+4 : j+4]
	w[0] += sa + float64(a[j]*va) + float64(b[j]*vb) + (float64(c[j]*vc) + float64(d[j]*vd))
	w[1] += sb + float64(b[j]*va) + float64(b[j+1]*vb) + (float64(c[j+1]*vc) + float64(d[j+1]*vd))
	w[2] += sc + float64(c[j]*va) + float64(c[j+1]*vb) + (float64(c[j+2]*vc) + float64(d[j+2]*vd))
	w[3] += sd + float64(d[j]*va) + float64(d[j+1]*vb) + (float64(d[j+2]*vc) + float64(d[j+3]*vd))
}

// rotate turns two rows: (x, y) becomes (c x - s y, s x + c y). Eight numbers at a
// time, written out, take half the time of the plain loop, of which a solution has
// a thousand.
func rotate(x, y []float64, s, c float64) {
	for len(x) >= 8 {
		rotate8((*[8]float64)(x), (*[8]float64)(y), s, c)
		x, y = x[8:], y[8:]
	}
	for k, yk := range y[:len(x)] {
		xk := x[k]
		y[k] = float64(s*xk) + float64(c*yk)
		x[k] = float64(c*xk) - float64(s*yk)
	}
}

func rotate8(x, y *[8]float64, s, c float64) {
	x0, y0, x1, y1 := x[0], y[0], x[1], y[1]
	x[0], y[0], x[1], y[1] = float64(c*x0)-float64(s*y0), float64(s*x0)+float64(c*y0), float64(c*x1)-float64(s*y1), float64(s*x1)+float64(c*y1)
	x2, y2, x3, y3 := x[2], y[2], x[3], y[3]
	x[2], y[2], x[3], y[3] = float64(c*x2)-float64(s*y2), float64(s*x2)+float64(c*y2), float64(c*x3)-float64(s*y3), float64(s*x3)+float64(c*y3)
	x4, y4, x5, y5 := x[4], y[4], x[5], y[5]
	x[4], y[4], x[5], y[5] = float64(c*x4)-float64(s*y4), float64(s*x4)+float64(c*y4), float64(c*x5)-float64(s*y5), float64(s*x5)+float64(c*y5)
	x6, y6, x7, y7 := x[6], y[6], x[7], y[7]
	x[6], y[6], x[7], y[7] = float64(c*x6)-float64(s*y6), float64(s*x6)+float64(c*y6), float64(c*x7)-float64(s*y7), float64(s*x7)+float64(c*y7)
}

// reflect applies I - v vᵀ/h to the leading rows of r.
func reflect(r []float64, rows int, v []float64, ih float64, t []float64) {
	if rows == 8 {
		reflect8(r, v, ih)
		return
	}
	clear(t)
	for k, vk := range v {
		x := r[k*rows : k*rows+len(t)]
		for c, xc := range x {
			t[c] += float64(vk * xc)
		}
	}
	for c := range t {
		t[c] *= ih
	}
	for k, vk := range v {
		x := r[k*rows : k*rows+len(t)]
		for c := range x {
			x[c] -= float64(vk * t[c])
		}
	}
}

// reflect8 is reflect of eight numbers a row.
func reflect8(r, v []float64, ih float64) {
	var t0, t1, t2, t3, t4, t5, t6, t7 float64
	for k, vk := range v {
		x := (*[8]float64)(r[8*k:])
		t0, t1, t2, t3 = t0+float64(vk*x[0]), t1+float64(vk*x[1]), t2+float64(vk*x[2]), t3+float64(vk*x[3])
		t4, t5, t6, t7 = t4+float64(vk*x[4]), t5+float64(vk*x[5]), t6+float64(vk*x[6]), t7+float64(vk*x[7])
	}
	t0, t1, t2, t3, t4, t5, t6, t7 = t0*ih, t1*ih, t2*ih, t3*ih, t4*ih, t5*ih, t6*ih, t7*ih
	for k, vk := range v {
		x := (*[8]float64)(r[8*k:])
		x[0], x[1], x[2], x[3] = x[0]-float64(vk*t0), x[1]-float64(vk*t1), x[2]-float64(vk*t2), x[3]-float64(vk*t3)
		x[4], x[5], x[6], x[7] = x[4]-float64(vk*t4), x[5]-float64(vk*t5), x[6]-float64(vk*t6), x[7]-float64(vk*t7)
	}
}
