package dense

import "math"

// Half overwrites x, 3 n rows of width numbers, row-major, with S⁻¹ x, where
// A = S Sᵀ is the positive definite matrix that a is the factorisation of:
// the first half of a solution.
func (p *Pattern) Half(a, x []float64, width int) {
	for _, i := range p.order {
		at := 3 * i * width
		x0, x1, x2 := x[at:at+width], x[at+width:at+2*width], x[at+2*width:at+3*width]
		for k, j := range p.column[i] {
			l := (*[9]float64)(a[9*p.block[i][k]:])
			to := 3 * j * width
			y0, y1, y2 := x[to : to+width][:len(x0)], x[to+width : to+2*width][:len(x0)], x[to+2*width : to+3*width][:len(x0)]
			z1, z2 := x1[:len(x0)], x2[:len(x0)]
			for c, u := range x0 {
				v, w := z1[c], z2[c]
				y0[c] -= l[0]*u + l[1]*v + l[2]*w
				y1[c] -= l[3]*u + l[4]*v + l[5]*w
				y2[c] -= l[6]*u + l[7]*v + l[8]*w
			}
		}
		d := (*[9]float64)(a[9*i:])
		r0, r1, r2 := math.Sqrt(d[0]), math.Sqrt(d[4]), math.Sqrt(d[8])
		z1, z2 := x1[:len(x0)], x2[:len(x0)]
		for c, u := range x0 {
			v := z1[c] - d[3]*u
			w := z2[c] - d[6]*u - d[7]*v
			x0[c], z1[c], z2[c] = r0*u, r1*v, r2*w
		}
	}
}

// Whiten overwrites the full symmetric matrix k (order 3 n, row-major) with
// S⁻¹ K S⁻ᵀ, A = S Sᵀ positive definite and a its factorisation. The
// eigenproblem K x = λ A x becomes an ordinary one, z = Sᵀ x; a row c·x of
// its eigenvectors is (S⁻¹ c)·z, see [Pattern.Half].
func (p *Pattern) Whiten(a, k []float64) {
	n3 := 3 * p.n
	p.Half(a, k, n3)
	// S⁻¹ applied to the columns: K is symmetric, so is the result.
	for r := range n3 {
		for c := range r {
			k[c*n3+r], k[r*n3+c] = k[r*n3+c], k[c*n3+r]
		}
	}
	p.Half(a, k, n3)
}
