package blade

import "math"

// Reference solutions of the clamped strip by Ritz's method: products of
// polynomials in both directions, whose degree the tests raise until nothing
// changes. Length 2 (x from -1 to 1), width 2r (z = r times -1..1), both ends
// clamped over the whole width and displaced against each other.

// legendreTable returns Gauss abscissas and weights on [-1, 1] and the values
// and first two derivatives of P0..Pn there: p[k][derivative][point].
func legendreTable(n, points int) (x, w []float64, p [][3][]float64) {
	x, w = make([]float64, points), make([]float64, points)
	for i := range points {
		// Newton on P_points from the usual first guess (Abramowitz & Stegun 25.4.29).
		v := math.Cos(math.Pi * (float64(i) + 0.75) / (float64(points) + 0.5))
		for range 100 {
			a, b := 1.0, v
			for k := 2; k <= points; k++ {
				a, b = b, (float64(2*k-1)*v*b-float64(k-1)*a)/float64(k)
			}
			d := float64(points) * (v*b - a) / (v*v - 1)
			step := b / d
			v -= step
			if math.Abs(step) < 1e-15 {
				x[i], w[i] = v, 2/((1-v*v)*d*d)
				break
			}
			x[i], w[i] = v, 2/((1-v*v)*d*d)
		}
	}
	p = make([][3][]float64, n+1)
	for k := range p {
		for d := range 3 {
			p[k][d] = make([]float64, points)
		}
		for i, v := range x {
			switch k {
			case 0:
				p[k][0][i] = 1
			case 1:
				p[k][0][i], p[k][1][i] = v, 1
			default:
				c := float64(2*k - 1)
				p[k][0][i] = (c*v*p[k-1][0][i] - float64(k-1)*p[k-2][0][i]) / float64(k)
				// P'k = P'k-2 + (2k-1) Pk-1
				p[k][1][i] = p[k-2][1][i] + c*p[k-1][0][i]
				p[k][2][i] = p[k-2][2][i] + c*p[k-1][1][i]
			}
		}
	}
	return x, w, p
}

// gram returns ∫ f_a^(i) g_b^(j) over the points.
func gram(f [][3][]float64, i int, g [][3][]float64, j int, w []float64) [][]float64 {
	m := make([][]float64, len(f))
	for a := range f {
		m[a] = make([]float64, len(g))
		for b := range g {
			s := 0.0
			for q := range w {
				s += w[q] * f[a][i][q] * g[b][j][q]
			}
			m[a][b] = s
		}
	}
	return m
}

// condense returns the stiffness of unknown 0 with all others free: k is
// symmetric positive definite and is destroyed. Rows are scaled first.
func condense(k [][]float64) float64 {
	stiff, _ := condenseAndSolve(k)
	return stiff
}

// condenseAndSolve returns also all unknowns where that one is 1.
func condenseAndSolve(k [][]float64) (stiff float64, u []float64) {
	n := len(k)
	scale := make([]float64, n)
	for i := range n {
		scale[i] = 1 / math.Sqrt(k[i][i])
	}
	for i := range n {
		for j := range n {
			k[i][j] *= scale[i] * scale[j]
		}
	}
	for c := n - 1; c > 0; c-- { // eliminate the last unknown first
		for i := range c {
			f := k[i][c] / k[c][c]
			for j := 0; j <= i; j++ {
				k[i][j] -= f * k[j][c]
				k[j][i] = k[i][j]
			}
		}
	}
	u = make([]float64, n)
	u[0] = 1 / scale[0]
	for c := 1; c < n; c++ {
		for j := range c {
			u[c] -= k[c][j] * u[j]
		}
		u[c] /= k[c][c]
	}
	for c := range u {
		u[c] *= scale[c]
	}
	return k[0][0] / (scale[0] * scale[0]), u
}

// pick returns the rows and columns of k that are listed.
func pick(k [][]float64, index []int) [][]float64 {
	m := make([][]float64, len(index))
	for i, a := range index {
		m[i] = make([]float64, len(index))
		for j, b := range index {
			m[i][j] = k[a][b]
		}
	}
	return m
}

// across returns n Legendre polynomials of one parity in z, with derivatives.
func across(p [][3][]float64, parity, n int, r float64) [][3][]float64 {
	var f [][3][]float64
	for k := parity; len(f) < n; k += 2 {
		v := [3][]float64{p[k][0], make([]float64, len(p[k][0])), make([]float64, len(p[k][0]))}
		for q := range p[k][0] {
			v[1][q], v[2][q] = p[k][1][q]/r, p[k][2][q]/(r*r)
		}
		f = append(f, v)
	}
	return f
}

// along returns first (if any) and n functions bubble(x) P_k(x) of one parity,
// with derivatives; the bubble is (1-x²)^power.
func along(x []float64, p [][3][]float64, parity, n, power int, first func(x float64) [3]float64) [][3][]float64 {
	var f [][3][]float64
	row := func() [3][]float64 {
		return [3][]float64{make([]float64, len(x)), make([]float64, len(x)), make([]float64, len(x))}
	}
	if first != nil {
		v := row()
		for q := range x {
			d := first(x[q])
			v[0][q], v[1][q], v[2][q] = d[0], d[1], d[2]
		}
		f = append(f, v)
	}
	for k := parity; k < 2*n; k += 2 {
		v := row()
		for q, s := range x {
			b, b1, b2 := 1-s*s, -2*s, -2.0
			if power == 2 {
				b, b1, b2 = (1-s*s)*(1-s*s), -4*s*(1-s*s), -4+12*s*s
			}
			v[0][q] = b * p[k][0][q]
			v[1][q] = b1*p[k][0][q] + b*p[k][1][q]
			v[2][q] = b2*p[k][0][q] + 2*b1*p[k][1][q] + b*p[k][2][q]
		}
		f = append(f, v)
	}
	return f
}

// plateStrip returns the bending stiffness of the clamped Kirchhoff strip over
// that of the beam E I: ends displaced without rotation (guided), or rotated
// by equal and opposite angles (not guided). nx, nz functions along and across.
func plateStrip(r, nu float64, nx, nz int, guided bool) float64 {
	stiff, _ := plateStripAndSlope(r, nu, nx, nz, guided)
	return stiff
}

// plateStripAndSlope returns also the slope at half length of the deflection's
// mean over the width, over that of the beam (guided only).
func plateStripAndSlope(r, nu float64, nx, nz int, guided bool) (factor, slope float64) {
	stiff, u, along := plateProblem(r, nu, nx, nz, guided)
	ei := (1 - nu*nu) * 2 * r // D = 1
	if !guided {
		return stiff / (2 * ei), 0 // curvature 1 over length 2
	}
	// Legendre polynomials but the first have no mean over the width.
	_, _, at := legendreTable(2*nx, 1) // one Gauss point: x = 0
	slope = 1.5
	for a := 1; a < along; a++ {
		slope += u[1+(a-1)*nz] * at[2*a-1][1][0] // (1-x²)² P_k, derivative at 0
	}
	return stiff / (12 * ei / 8 * 4), slope / 1.5 // relative displacement 2 over length 2
}

// plateStress returns the largest moment per width at the clamp of the guided strip
// over its mean, the outer tenth of each side left out.
func plateStress(r, nu float64, nx, nz int) (worst float64) {
	stiff, u, along := plateProblem(r, nu, nx, nz, true)
	mean := stiff / 2 / (2 * r) // of the moment, force times half the length
	p := make([]float64, 2*nz)
	for z := 0.0; z <= 0.9; z += 0.05 {
		p[0], p[1] = 1, z
		for k := 2; k < len(p); k++ {
			p[k] = (float64(2*k-1)*z*p[k-1] - float64(k-1)*p[k-2]) / float64(k)
		}
		curvature := 3 * u[0] // of the driven function at x = -1; the bubble's is 8 P_k(-1)
		for a := 1; a < along; a++ {
			for c := range nz {
				curvature -= 8 * u[1+(a-1)*nz+c] * p[2*c]
			}
		}
		worst = max(worst, math.Abs(curvature)/mean)
	}
	return worst
}

// plateShortening returns ½ ∬ w,x² over its value for a beam.
func plateShortening(r, nu float64, nx, nz int, guided bool) float64 {
	_, u, functions := plateProblem(r, nu, nx, nz, guided)
	x, wx, px := legendreTable(2*nx, 2*nx+8)
	_, wz, pz := legendreTable(2*nz, 2*nz+8)
	parity, beam := 0, 2.0/3 // 2 · (1/6) L for end rotations of 1: weights across add up to 2
	if guided {
		parity, beam = 1, 2.4 // 2 · 0.6 w²/L for w = 2
	}
	fx, fz := along(x, px, parity, nx, 2, plateDrive(guided)), across(pz, 0, nz, r)
	sum := 0.0
	for q := range wx {
		for z := range wz {
			slope := fx[0][1][q]
			for a := 1; a < functions; a++ {
				for c := range nz {
					slope += u[1+(a-1)*nz+c] * fx[a][1][q] * fz[c][0][z]
				}
			}
			sum += wx[q] * wz[z] / 2 * slope * slope
		}
	}
	return sum / beam
}

// plateDrive is the motion of the strip's ends, extended over it, with derivatives.
func plateDrive(guided bool) func(x float64) [3]float64 {
	if guided {
		return func(x float64) [3]float64 { return [3]float64{(3*x - x*x*x) / 2, (3 - 3*x*x) / 2, -3 * x} }
	}
	return func(x float64) [3]float64 { return [3]float64{(x*x - 1) / 2, x, 1} }
}

// plateProblem solves the strip of [plateStrip] with D = 1: its stiffness against the
// driven function and the coefficients, of that one first, then nz for each of the
// other functions along it; how many there are with the driven one.
func plateProblem(r, nu float64, nx, nz int, guided bool) (stiff float64, u []float64, functions int) {
	x, wx, px := legendreTable(2*nx, 2*nx+8)
	_, wz, pz := legendreTable(2*nz, 2*nz+8)
	for i := range wz {
		wz[i] *= r
	}
	parity := 0
	if guided {
		parity = 1
	}
	fx, fz := along(x, px, parity, nx, 2, plateDrive(guided)), across(pz, 0, nz, r)
	x00, x11, x22, x02 := gram(fx, 0, fx, 0, wx), gram(fx, 1, fx, 1, wx), gram(fx, 2, fx, 2, wx), gram(fx, 0, fx, 2, wx)
	z00, z11, z22, z02 := gram(fz, 0, fz, 0, wz), gram(fz, 1, fz, 1, wz), gram(fz, 2, fz, 2, wz), gram(fz, 0, fz, 2, wz)
	n := len(fx) * len(fz)
	k := make([][]float64, n)
	for i := range k {
		k[i] = make([]float64, n)
		a, c := i/len(fz), i%len(fz)
		for j := range k[i] {
			b, d := j/len(fz), j%len(fz)
			k[i][j] = x22[a][b]*z00[c][d] + x00[a][b]*z22[c][d] + nu*(x02[b][a]*z02[c][d]+x02[a][b]*z02[d][c]) + 2*(1-nu)*x11[a][b]*z11[c][d]
		}
	}
	index := []int{0} // the driven function is uniform across the width
	for i := len(fz); i < n; i++ {
		index = append(index, i)
	}
	stiff, u = condenseAndSolve(pick(k, index))
	return stiff, u, len(fx)
}

// planeStrip returns the stiffness of the plate in its own plane (plane
// stress, E = 1, unit thickness) over the beam's: "stretch" over E A/L, "bend"
// (end rotations equal and opposite) over E I/L, "shear" (ends displaced without
// rotation) over 1/(L³/12EI + 1.2 L/GA).
func planeStrip(r, nu float64, nx, nz int, motion string) float64 {
	x, wx, px := legendreTable(2*nx, 2*nx+8)
	_, wz, pz := legendreTable(2*nz+1, 2*nz+10)
	for i := range wz {
		wz[i] *= r
	}
	linear := func(x float64) [3]float64 { return [3]float64{x, 1, 0} }
	var u, v, uz, vz [][3][]float64
	switch motion {
	case "stretch":
		u, uz = along(x, px, 1, nx, 1, linear), across(pz, 0, nz, r)
		v, vz = along(x, px, 0, nx, 1, nil), across(pz, 1, nz, r)
	case "bend":
		u, uz = along(x, px, 1, nx, 1, linear), across(pz, 1, nz, r)
		v, vz = along(x, px, 0, nx, 1, nil), across(pz, 0, nz, r)
	case "shear":
		u, uz = along(x, px, 0, nx, 1, nil), across(pz, 1, nz, r)
		v, vz = along(x, px, 1, nx, 1, linear), across(pz, 0, nz, r)
	}
	d, g := 1/(1-nu*nu), 1/(2*(1+nu))
	nu1, nz1 := len(u)*len(uz), len(uz)
	n := nu1 + len(v)*len(vz)
	k := make([][]float64, n)
	for i := range k {
		k[i] = make([]float64, n)
	}
	uu00, uu11, zz00, zz11 := gram(u, 0, u, 0, wx), gram(u, 1, u, 1, wx), gram(uz, 0, uz, 0, wz), gram(uz, 1, uz, 1, wz)
	vv00, vv11, yy00, yy11 := gram(v, 0, v, 0, wx), gram(v, 1, v, 1, wx), gram(vz, 0, vz, 0, wz), gram(vz, 1, vz, 1, wz)
	uv10, uv01, zy01, zy10 := gram(u, 1, v, 0, wx), gram(u, 0, v, 1, wx), gram(uz, 0, vz, 1, wz), gram(uz, 1, vz, 0, wz)
	for i := range nu1 {
		a, c := i/nz1, i%nz1
		for j := range nu1 {
			b, e := j/nz1, j%nz1
			k[i][j] = d*uu11[a][b]*zz00[c][e] + g*uu00[a][b]*zz11[c][e]
		}
		for j := nu1; j < n; j++ {
			b, e := (j-nu1)/len(vz), (j-nu1)%len(vz)
			k[i][j] = d*nu*uv10[a][b]*zy01[c][e] + g*uv01[a][b]*zy10[c][e]
			k[j][i] = k[i][j]
		}
	}
	for i := nu1; i < n; i++ {
		a, c := (i-nu1)/len(vz), (i-nu1)%len(vz)
		for j := nu1; j < n; j++ {
			b, e := (j-nu1)/len(vz), (j-nu1)%len(vz)
			k[i][j] = d*vv00[a][b]*yy11[c][e] + g*vv11[a][b]*yy00[c][e]
		}
	}
	drive, drop := 0, nz1
	if motion == "shear" {
		drive, drop = nu1, len(vz)
	}
	index := []int{drive}
	for i := range n {
		if i < drive || i >= drive+drop {
			index = append(index, i)
		}
	}
	stiff := condense(pick(k, index))
	area, inertia := 2*r, 8*r*r*r/12
	switch motion {
	case "stretch":
		return stiff / (4 * area / 2)
	case "bend":
		return stiff / (4 / (r * r) * inertia / 2)
	}
	return stiff / (4 / (8/(12*inertia) + 1.2*2/(g*area)))
}
