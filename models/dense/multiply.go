package dense

// Multiply writes a x into y for a symmetric matrix a over the pattern, of whose
// diagonal blocks the lower triangle is read; x and y have 3 n numbers and differ.
func (p *Pattern) Multiply(a, x, y []float64) {
	for i := range p.n {
		d := (*[9]float64)(a[9*i:])
		x0, x1, x2 := x[3*i], x[3*i+1], x[3*i+2]
		y[3*i] = d[0]*x0 + d[3]*x1 + d[6]*x2
		y[3*i+1] = d[3]*x0 + d[4]*x1 + d[7]*x2
		y[3*i+2] = d[6]*x0 + d[7]*x1 + d[8]*x2
	}
	for i := range p.n {
		x0, x1, x2 := x[3*i], x[3*i+1], x[3*i+2]
		var y0, y1, y2 float64
		for k, j := range p.column[i] {
			b := (*[9]float64)(a[9*p.block[i][k]:])
			u0, u1, u2 := x[3*j], x[3*j+1], x[3*j+2]
			y[3*j] += b[0]*x0 + b[1]*x1 + b[2]*x2
			y[3*j+1] += b[3]*x0 + b[4]*x1 + b[5]*x2
			y[3*j+2] += b[6]*x0 + b[7]*x1 + b[8]*x2
			y0 += b[0]*u0 + b[3]*u1 + b[6]*u2
			y1 += b[1]*u0 + b[4]*u1 + b[7]*u2
			y2 += b[2]*u0 + b[5]*u1 + b[8]*u2
		}
		y[3*i] += y0
		y[3*i+1] += y1
		y[3*i+2] += y2
	}
}
