package mechanics

import "math"

// BodyMode returns the least natural frequency, rad/s, of a part of a body by itself: of a
// prong with its foot, of half an arm's back with the prong on it. Each is held where it grows
// from and free where it ends, and carries the halves of the blades that end on it. +Inf
// where bodies are rigid.
//
// It is that of the chain's flexibility C at the end and of the mass M that its
// consistent motion gives it there ([linkConstants]), det(C M - 1/ω²) = 0, in the plane and
// out of it: for a prismatic prong 3.57 √(EI/mL⁴) where the cantilever's exact value is
// 3.516. What the blades on it hold it with is left out, which lowers it.
func (d *Dynamics) BodyMode() float64 {
	largest := 0.0 // 1/ω²
	s := d.s
	st, t := s.Stage, d.upright.Topology
	for i := range t.Links {
		c, end := &s.links[i], t.Links[i].To
		in, out := c.inMass[1], c.outMass[1]
		addPoint(&in, &out, st.Mass[end], 0, 0)
		in[8] += st.Iz[end]
		out[4] += st.Ix[end]
		out[8] += st.Iy[end]
		for k, b := range t.Blades {
			if b.From != end && b.To != end {
				continue
			}
			first, last := s.Model.segments(k * d.segments)
			if b.From == end {
				addPoint(&in, &out, d.half[k], st.RootX[first]-st.X[end], st.RootY[first]-st.Y[end])
			}
			if b.To == end {
				addPoint(&in, &out, d.half[k], st.TipX[last]-st.X[end], st.TipY[last]-st.Y[end])
			}
		}
		largest = largestFlexible(&c.in, &in, largest)
		largest = largestFlexible(&c.out, &out, largest)
	}
	return 1 / math.Sqrt(largest)
}

// addPoint adds a point mass at (x, y) from the origin to masses in the plane and out of it.
func addPoint(in, out *plane3, m, x, y float64) {
	addInPlanePoint(in[:], m, m, x, y)
	for i, a := range [3]float64{1, y, -x} { // z of the point: z + y roll - x pitch
		for j, b := range [3]float64{1, y, -x} {
			out[3*i+j] += m * a * b
		}
	}
}

// largestFlexible returns the larger of least and the largest 1/ω² of the stiffness k and the mass m: the largest
// root of the characteristic polynomial of k⁻¹ m, whose roots are real and not negative, by Newton's method
// from their sum, which goes down to it.
func largestFlexible(k, m *plane3, least float64) float64 {
	var c plane3
	invert(k, &c)
	a := product(&c, m)
	sum := a[0] + a[4] + a[8]
	pairs := a[0]*a[4] - a[1]*a[3] + a[0]*a[8] - a[2]*a[6] + a[4]*a[8] - a[5]*a[7]
	det := a[0]*(a[4]*a[8]-a[5]*a[7]) - a[1]*(a[3]*a[8]-a[5]*a[6]) + a[2]*(a[3]*a[7]-a[4]*a[6])
	if sum <= least {
		return least
	}
	x := least * (1 + sameValue*1e-3)
	if p, slope := ((x-sum)*x+pairs)*x-det, (3*x-2*sum)*x+pairs; p >= 0 && slope > 0 && 3*x > sum {
		return least // no root is beyond it
	}
	x = sum
	for range 60 {
		p, slope := ((x-sum)*x+pairs)*x-det, (3*x-2*sum)*x+pairs
		if !(p > 0 && slope > 0) {
			break
		}
		next := x - p/slope
		if next >= x {
			break
		}
		x = next
	}
	return max(x, least)
}
