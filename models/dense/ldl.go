package dense

// Factor overwrites a with its factorisation L D Lᵀ, without square roots and
// without pivoting, and returns the number of negative pivots: by Sylvester's
// law of inertia the number of negative eigenvalues, so that 0 means positive
// definite. It stops at a pivot that is zero, infinite or NaN and returns
// ok = false; a must then not be used.
//
// Diagonal blocks hold their own 3 by 3 factor (unit lower triangle, reciprocal
// pivots on the diagonal), the others hold L.
func (p *Pattern) Factor(a []float64) (negative int, ok bool) {
	var w [9]float64
	for _, i := range p.order {
		d := (*[9]float64)(a[9*i:])
		neg, good := factor3(d)
		if !good {
			return negative, false
		}
		negative += neg
		column, block, update := p.column[i], p.block[i], p.update[i]
		next := 0
		for r := range column {
			l := (*[9]float64)(a[9*block[r]:])
			w = *l
			solveRows3(d, l)
			for s := r; s < len(column); s++ {
				to := (*[9]float64)(a[9*update[next]:])
				next++
				if s == r {
					subtractTransposed3(to, l, &w)
				} else {
					subtractTransposed3(to, (*[9]float64)(a[9*block[s]:]), l)
				}
			}
		}
	}
	return negative, true
}

// factor3 factors a symmetric 3 by 3 block of which the lower triangle is read.
func factor3(d *[9]float64) (negative int, ok bool) {
	d0 := d[0]
	r0 := 1 / d0
	l1, l2 := d[3]*r0, d[6]*r0
	d1 := d[4] - l1*d[3]
	r1 := 1 / d1
	e := d[7] - l2*d[3]
	l3 := e * r1
	d2 := d[8] - l2*d[6] - l3*e
	r2 := 1 / d2
	if !(d0 != 0 && d1 != 0 && d2 != 0) || r0-r0 != 0 || r1-r1 != 0 || r2-r2 != 0 || d0-d0 != 0 || d1-d1 != 0 || d2-d2 != 0 {
		return 0, false
	}
	if d0 < 0 {
		negative++
	}
	if d1 < 0 {
		negative++
	}
	if d2 < 0 {
		negative++
	}
	d[0], d[4], d[8] = r0, r1, r2
	d[3], d[6], d[7] = l1, l2, l3
	return negative, true
}

// solveRows3 replaces each row of b by row · D⁻¹, D factored.
func solveRows3(d, b *[9]float64) {
	for r := 0; r < 9; r += 3 {
		x0 := b[r]
		x1 := b[r+1] - d[3]*x0
		x2 := b[r+2] - d[6]*x0 - d[7]*x1
		x2 *= d[8]
		x1 = x1*d[4] - d[7]*x2
		x0 = x0*d[0] - d[3]*x1 - d[6]*x2
		b[r], b[r+1], b[r+2] = x0, x1, x2
	}
}

// subtractTransposed3 computes to -= x yᵀ.
func subtractTransposed3(to, x, y *[9]float64) {
	for r := 0; r < 9; r += 3 {
		x0, x1, x2 := x[r], x[r+1], x[r+2]
		to[r] -= x0*y[0] + x1*y[1] + x2*y[2]
		to[r+1] -= x0*y[3] + x1*y[4] + x2*y[5]
		to[r+2] -= x0*y[6] + x1*y[7] + x2*y[8]
	}
}

// Solve overwrites x, of length 3 n, with the solution of A y = x, a factored.
func (p *Pattern) Solve(a, x []float64) {
	for _, i := range p.order {
		x0, x1, x2 := x[3*i], x[3*i+1], x[3*i+2]
		for k, j := range p.column[i] {
			l := (*[9]float64)(a[9*p.block[i][k]:])
			x[3*j] -= l[0]*x0 + l[1]*x1 + l[2]*x2
			x[3*j+1] -= l[3]*x0 + l[4]*x1 + l[5]*x2
			x[3*j+2] -= l[6]*x0 + l[7]*x1 + l[8]*x2
		}
	}
	for o := len(p.order) - 1; o >= 0; o-- {
		i := p.order[o]
		d := (*[9]float64)(a[9*i:])
		x0 := x[3*i]
		x1 := x[3*i+1] - d[3]*x0
		x2 := x[3*i+2] - d[6]*x0 - d[7]*x1
		x2 *= d[8]
		x1 = x1*d[4] - d[7]*x2
		x0 = x0*d[0] - d[3]*x1 - d[6]*x2
		for k, j := range p.column[i] {
			l := (*[9]float64)(a[9*p.block[i][k]:])
			y0, y1, y2 := x[3*j], x[3*j+1], x[3*j+2]
			x0 -= l[0]*y0 + l[3]*y1 + l[6]*y2
			x1 -= l[1]*y0 + l[4]*y1 + l[7]*y2
			x2 -= l[2]*y0 + l[5]*y1 + l[8]*y2
		}
		x[3*i], x[3*i+1], x[3*i+2] = x0, x1, x2
	}
}
