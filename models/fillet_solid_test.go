package models

import "math"

// filletSolid solves a blade of thickness 1 that runs with fillets of the radius r
// into a half plane, as an elastic solid in plane strain under a pure moment, with E = 1.
// It returns the part κ of the fillet's length that does not bend and the stress
// concentration Kt, see [FilletStiffening] and [StressConcentration].
//
// Quadratic quadrilaterals of eight nodes over the upper half (the moment turns the sign
// below), in one strip: the blade, the fillet, then quarter rings around the root out to
// 60 (thickness + radius), where the body is held; rows of elements from the middle to the
// surface. The stress is that along the surface at the Gauss points of its edges.
func filletSolid(r, nu float64, rows int) (kappa, kt float64) {
	const (
		length = 3.0
		far    = 60.0
	)
	inner := 0.5 + r
	columns := [3]int{rows, rows + rows/2, 5 * rows / 2}
	total := columns[0] + columns[1] + columns[2]
	// place of a point: column u of total, row v of rows, both by halves
	place := func(u, v float64) (x, y float64) {
		s := 1 - math.Pow(1-v/float64(rows), 1.6) // finer at the surface
		switch {
		case u <= float64(columns[0]):
			c := 1 - u/float64(columns[0])
			return -r - length*math.Pow(c, 1.6), s / 2
		case u <= float64(columns[0]+columns[1]):
			c := (u - float64(columns[0])) / float64(columns[1])
			sin, cos := math.Sincos(c * math.Pi / 2)
			bx, tx, ty := -r+c*(inner+r), -r+r*sin, 0.5+r*(1-cos)
			sin, cos = math.Sincos(s * math.Pi / 2)
			lx, ly, rx, ry := -r, s/2, inner*cos, inner*sin
			// Coons's patch between the four sides
			x = (1-s)*bx + s*tx + (1-c)*lx + c*rx - ((1-s)*(1-c)*-r + (1-s)*c*inner + s*(1-c)*-r + s*c*0)
			y = s*ty + (1-c)*ly + c*ry - (s*(1-c)*0.5 + s*c*inner)
			return x, y
		}
		c := (u - float64(columns[0]+columns[1])) / float64(columns[2])
		radius := inner * math.Pow(far*(1+r)/inner, c)
		sin, cos := math.Sincos(s * math.Pi / 2)
		return radius * cos, radius * sin
	}
	// Nodes column by column: 2 rows + 1 on a column's edge, rows + 1 in its middle.
	node := func(i, j int) int { // by halves
		pair := 3*rows + 2
		if i%2 == 0 {
			return i/2*pair + j
		}
		return i/2*pair + 2*rows + 1 + j/2
	}
	n := 2 * (node(2*total, 2*rows) + 1)
	band := 2*(5*rows+3) + 2
	k := make([]float64, n*band) // row i: columns i-band+1 … i
	f := make([]float64, n)
	x, y := make([]float64, n/2), make([]float64, n/2)
	for i := range 2*total + 1 {
		for j := range 2*rows + 1 {
			if i%2 == 0 || j%2 == 0 {
				x[node(i, j)], y[node(i, j)] = place(float64(i)/2, float64(j)/2)
			}
		}
	}
	plane := (1 - nu) / ((1 + nu) * (1 - 2*nu))
	cross, shear := nu/((1+nu)*(1-2*nu)), 1/(2*(1+nu))
	gauss := [3]float64{-math.Sqrt(0.6), 0, math.Sqrt(0.6)}
	weight := [3]float64{5.0 / 9, 8.0 / 9, 5.0 / 9}
	for a := range total {
		for b := range rows {
			var id [8]int
			for q, o := range [8][2]int{{0, 0}, {2, 0}, {2, 2}, {0, 2}, {1, 0}, {2, 1}, {1, 2}, {0, 1}} {
				id[q] = node(2*a+o[0], 2*b+o[1])
			}
			var ke [16][16]float64
			for gi, u := range gauss {
				for gj, v := range gauss {
					du, dv := serendipity(u, v)
					var xu, xv, yu, yv float64
					for q, m := range id {
						xu, xv, yu, yv = xu+du[q]*x[m], xv+dv[q]*x[m], yu+du[q]*y[m], yv+dv[q]*y[m]
					}
					det := xu*yv - xv*yu
					if det <= 0 {
						panic("models: an element of the fillet's mesh is folded")
					}
					w := weight[gi] * weight[gj] * det
					var dx, dy [8]float64
					for q := range dx {
						dx[q], dy[q] = (du[q]*yv-dv[q]*yu)/det, (dv[q]*xu-du[q]*xv)/det
					}
					for p := range 8 {
						for q := range 8 {
							ke[2*p][2*q] += w * (plane*dx[p]*dx[q] + shear*dy[p]*dy[q])
							ke[2*p+1][2*q+1] += w * (plane*dy[p]*dy[q] + shear*dx[p]*dx[q])
							ke[2*p][2*q+1] += w * (cross*dx[p]*dy[q] + shear*dy[p]*dx[q])
							ke[2*p+1][2*q] += w * (cross*dy[p]*dx[q] + shear*dx[p]*dy[q])
						}
					}
				}
			}
			for p := range 16 {
				for q := range 16 {
					i, j := 2*id[p/2]+p%2, 2*id[q/2]+q%2
					if j <= i {
						k[i*band+j-i+band-1] += ke[p][q]
					}
				}
			}
		}
	}
	// The moment: a stress of 1 at the surface, linear across the end.
	moment := 0.0
	for b := range rows {
		for g, v := range gauss {
			n0, n1, n2 := v*(v-1)/2, 1-v*v, v*(v+1)/2
			i0, i1, i2 := node(0, 2*b), node(0, 2*b+1), node(0, 2*b+2)
			at := n0*y[i0] + n1*y[i1] + n2*y[i2]
			w := weight[g] * ((v-0.5)*y[i0] - 2*v*y[i1] + (v+0.5)*y[i2])
			f[2*i0] -= w * n0 * 2 * at
			f[2*i1] -= w * n1 * 2 * at
			f[2*i2] -= w * n2 * 2 * at
			moment += w * 2 * at * at
		}
	}
	// Antisymmetry holds x in the middle, the far body holds everything.
	hold := func(d int) {
		for c := range band - 1 {
			k[d*band+c] = 0
		}
		for i := d + 1; i < min(n, d+band); i++ {
			k[i*band+d-i+band-1] = 0
		}
		k[d*band+band-1], f[d] = 1, 0
	}
	for i := range 2*total + 1 {
		hold(2 * node(i, 0))
	}
	for j := range 2*rows + 1 {
		hold(2 * node(2*total, j))
		hold(2*node(2*total, j) + 1)
	}
	u := append([]float64(nil), f...)
	solveBanded(k, u, n, band)
	turn := 0.0
	for i := range u {
		turn += f[i] * u[i]
	}
	turn /= moment
	// a beam of the length l turns by M l/EI', and M/EI' = 2 (1-ν²) for this stress
	kappa = (length + r - turn/(2*(1-nu*nu))) / r
	for a := range columns[0] + columns[1] {
		for _, v := range [2]float64{-1 / math.Sqrt(3), 1 / math.Sqrt(3)} {
			d := [3]float64{v - 0.5, -2 * v, v + 0.5}
			var tx, ty, ux, uy float64
			for q := range 3 {
				m := node(2*a+q, 2*rows)
				tx, ty = tx+d[q]*x[m], ty+d[q]*y[m]
				ux, uy = ux+d[q]*u[2*m], uy+d[q]*u[2*m+1]
			}
			strain := (tx*ux + ty*uy) / (tx*tx + ty*ty)
			kt = math.Max(kt, math.Abs(strain)/(1-nu*nu))
		}
	}
	return kappa, kt
}

// serendipity returns the derivatives of the eight shape functions at (u, v).
func serendipity(u, v float64) (du, dv [8]float64) {
	for q, c := range [4][2]float64{{-1, -1}, {1, -1}, {1, 1}, {-1, 1}} {
		a, b := c[0], c[1]
		du[q] = a * (1 + b*v) * (2*a*u + b*v) / 4
		dv[q] = b * (1 + a*u) * (2*b*v + a*u) / 4
	}
	for _, q := range [2]int{4, 6} {
		b := float64(q - 5)
		du[q], dv[q] = -u*(1+b*v), b*(1-u*u)/2
	}
	for _, q := range [2]int{5, 7} {
		a := float64(6 - q)
		du[q], dv[q] = a*(1-v*v)/2, -v*(1+a*u)
	}
	return du, dv
}

// solveBanded overwrites f with k⁻¹ f by Cholesky's factorisation, in place; row i of
// k holds the columns i-band+1 … i.
func solveBanded(k, f []float64, n, band int) {
	for i := range n {
		row := k[i*band : (i+1)*band]
		first := max(0, i-band+1)
		for j := first; j <= i; j++ {
			other := k[j*band : (j+1)*band]
			from := max(first, j-band+1)
			a, b := row[from-i+band-1:j-i+band-1], other[from-j+band-1:band-1]
			sum := row[j-i+band-1]
			for c, v := range a {
				sum -= v * b[c]
			}
			if j == i {
				row[band-1] = math.Sqrt(sum)
			} else {
				row[j-i+band-1] = sum / other[band-1]
			}
		}
	}
	for i := range n {
		for j := max(0, i-band+1); j < i; j++ {
			f[i] -= k[i*band+j-i+band-1] * f[j]
		}
		f[i] /= k[i*band+band-1]
	}
	for i := n - 1; i >= 0; i-- {
		f[i] /= k[i*band+band-1]
		for j := max(0, i-band+1); j < i; j++ {
			f[j] -= k[i*band+j-i+band-1] * f[i]
		}
	}
}
