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
			at := p.end(n)
			add(at[0], at[1])
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

// Stresses are those of blades at the nine poses {−T, 0, T}², in the order of [Field], one number per blade, with [Spare] numbers of room behind the last.
type Stresses struct {
	Root, Tip [9][]float64 // end moments, N m
	Axial     [9][]float64 // N
	Bending   []float64    // stress of a face per moment, Pa/(N m)
	PerArea   []float64    // stress per axial force, Pa/N

	ends [8][]float64 // least and largest, by end and face
}

// Spare is the room that columns of [Stresses] have beyond the last blade.
const Spare = spare

// NewStresses returns memory for n blades.
func NewStresses(n int) *Stresses {
	s := new(Stresses)
	for i := range s.ends {
		s.ends[i] = make([]float64, n+spare)
	}
	return s
}

// Stresses tells amplitude and mean of the stress of both faces at both ends of each blade along the program, Pa: half its range, and its middle; at rest 0 and
// the largest, of either sign. Between the poses a stress is the parabola in x and y through the nine. A circle never
// reaches the corners. Of a force or a moment of a blade, nearly linear in the position, that is within 1 %.
func (p *Program) Stresses(s *Stresses, tell func(amplitude, mean float64)) {
	n := len(s.Bending) - spare
	ends := [8]int{pathStressRootLow0, pathStressRootHigh0, pathStressRootLow1, pathStressRootHigh1, pathStressTipLow0, pathStressTipHigh0, pathStressTipLow1, pathStressTipHigh1}
	columns := [pathStressColumns][]float64{pathStressBending: s.Bending, pathStressPerArea: s.PerArea}
	for i, c := range ends {
		columns[c] = s.ends[i]
		for e := range n {
			s.ends[i][e] = math.Inf(1 - 2*(i%2))
		}
	}
	for pose := range 9 {
		columns[pathStressRoot0+pose], columns[pathStressTip0+pose], columns[pathStressAxial0+pose] = s.Root[pose], s.Tip[pose], s.Axial[pose]
	}
	for i := range p.path {
		pathStress(&columns, &p.path[i], 0, n)
	}
	for e := range n {
		for i := 0; i < len(ends); i += 2 {
			low, high := s.ends[i][e], s.ends[i+1][e]
			if p.Period == 0 {
				tell(0, max(-low, high))
			} else {
				tell(0.5*(high-low), 0.5*(high+low))
			}
		}
	}
}
