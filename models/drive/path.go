package drive

import "math"

// pathPoints is the number of moments of a period at which [Program.Range] looks: with 24 of a circle the ends of
// both axes and of the diagonals are among them.
const pathPoints = 24

// layPath fills the weights of the nine poses at points of the program: of a circle and of steps, spread over the period; of a raster,
// which goes over all of its square, five by five points of that; at rest, the nine.
func (p *Program) layPath() {
	add := func(x, y float64) {
		var bx, by basis
		bx.at(x)
		by.at(y)
		var w [9]float64
		for n := range 9 {
			w[n] = bx.l[n%3] * by.l[n/3]
		}
		p.path = append(p.path, w)
	}
	switch p.Motion.Kind {
	case Hold:
		for n := range 9 {
			s := p.end(n)
			add(s.p[0], s.p[1])
		}
	case Raster:
		a := p.Motion.Amplitude
		for i := range 25 {
			add(a*0.5*float64(i%5-2), a*0.5*float64(i/5-2))
		}
	default:
		for i := 0; i < len(p.samples); i += uniform / pathPoints {
			add(p.samples[i].p[0], p.samples[i].p[1])
		}
	}
}

// Range returns the least and the largest value along the program of a quantity that is given at the nine poses {−T, 0,
// T}², in the order of [Field]: between them it is the parabola in x and y through the nine. A circle never
// reaches the corners. Of a force or a moment of a blade, nearly linear in the position, that is within 1 %.
func (p *Program) Range(v *[9]float64) (low, high float64) {
	low, high = math.Inf(1), math.Inf(-1)
	for i := range p.path {
		w := &p.path[i]
		x := w[0]*v[0] + w[1]*v[1] + w[2]*v[2] + w[3]*v[3] + w[4]*v[4] + w[5]*v[5] + w[6]*v[6] + w[7]*v[7] + w[8]*v[8]
		low, high = min(low, x), max(high, x)
	}
	return low, high
}
