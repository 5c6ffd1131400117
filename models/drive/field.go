package drive

// Field is the static force of both axes over the square ±Travel, from its values and
// slopes at the nine poses {−T, 0, T}².
//
// Between them it is the quadratic in x and y through the nine values, corrected along
// x by the quintic Hermite terms that give it the slopes ∂F/∂x at the nine poses
// (quadratic in y between the lines), and likewise along y: exact for polynomials up
// to degree five in one coordinate times two in the other. A quadratic alone would
// turn a stiffening spring, odd in the travel, into a straight line. For a four-arm
// plate whose blades bend by a twentieth of their length the error is 5e-6 of the
// largest force, of the quadratic alone 0.1 % (field_test.go). Without Prepare it is
// the quadratic. Outside the square it must not be used.
type Field struct {
	Travel float64          // m
	Force  [2][9]float64    // N, on axis x and y; pose 3 (j+1) + (i+1) at (i T, j T)
	Slope  [2][9][2]float64 // N/m, ∂F/∂x and ∂F/∂y there
	rest   [2][2][9]float64 // slope left over by the quadratic, N: times Travel; by axis and direction
}

// Prepare computes what At needs from Force and Slope.
func (f *Field) Prepare() {
	for axis := range 2 {
		v := &f.Force[axis]
		for n := range 9 {
			i, j := n%3, n/3
			f.rest[axis][0][n] = f.Slope[axis][n][0]*f.Travel - quadraticSlope(i, v[3*j], v[3*j+1], v[3*j+2])
			f.rest[axis][1][n] = f.Slope[axis][n][1]*f.Travel - quadraticSlope(j, v[i], v[3+i], v[6+i])
		}
	}
}

// quadraticSlope is the slope at node i of the parabola through a, b, c at −1, 0, 1.
func quadraticSlope(i int, a, b, c float64) float64 {
	return 0.5*(c-a) + float64(i-1)*(a-2*b+c)
}

// basis holds, at one coordinate in units of the travel, the three parabolas l that
// are 1 at one node, the three quintics h of slope 1 at one node and no value or slope
// at the others, and their derivatives.
type basis struct{ l, h, dl, dh [3]float64 }

func (b *basis) at(s float64) {
	b.l = [3]float64{0.5 * s * (s - 1), 1 - s*s, 0.5 * s * (s + 1)}
	b.dl = [3]float64{s - 0.5, -2 * s, s + 0.5}
	for i := range 3 {
		d := s - float64(i-1)
		b.h[i] = d * b.l[i] * b.l[i]
		b.dh[i] = b.l[i]*b.l[i] + 2*d*b.l[i]*b.dl[i]
	}
}

// At returns the forces on x and y at a position in m inside the square.
func (f *Field) At(x, y float64) (fx, fy float64) {
	var bx, by basis
	bx.at(x / f.Travel)
	by.at(y / f.Travel)
	var force [2]float64
	for axis := range force {
		v, rx, ry := &f.Force[axis], &f.rest[axis][0], &f.rest[axis][1]
		for j := range 3 {
			var a, b float64 // sums over i: of l and of h
			for i := range 3 {
				n := 3*j + i
				a += bx.l[i]*v[n] + bx.h[i]*rx[n]
				b += bx.l[i] * ry[n]
			}
			force[axis] += by.l[j]*a + by.h[j]*b
		}
	}
	return force[0], force[1]
}
