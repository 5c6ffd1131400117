package blade

import (
	"math"
	"math/rand/v2"
	"testing"
)

// sineFlexibility is Flexibility as a plain midpoint integration along the
// bent centreline with the twist as a sine series (40 terms), the corrections of the clamps
// included: the definition, slow.
func sineFlexibility(length, t, b, young, nu, ra, rb, axial float64) (f [9]float64) {
	const n, terms = 2000, 40
	g := young / (2 * (1 + nu))
	gj := g*torsion(b, t) + axial*(b*b+t*t)/12
	warp := young / (1 - nu*nu) * b * b * b * t * t * t / 144
	ei := young * t * b * b * b / 12
	ga := 5.0 / 6 * g * b * t
	steep := 0.5 * (StripFactor(b/length, nu) - 1) / (1 + 1.5*b/length + 8*b*b/(length*length))
	p := axial * length * length / (BendingFactor(length, t, b, nu) * young * b * t * t * t / 12)
	steep -= p / (160 + 2*p)
	slope := func(s float64) float64 {
		x := 2*s - 1
		return math.Sin(ra)*(1-4*s+3*s*s) + math.Sin(rb)*(3*s*s-2*s) - 0.5*(math.Sin(ra)+math.Sin(rb))*steep*(1-x*x)*(1-5*x*x)
	}
	var x, y, sin, cos [n]float64
	ds := length / n
	px, py := 0.0, 0.0
	for i := range n {
		sin[i] = slope((float64(i) + 0.5) / n)
		cos[i] = math.Sqrt(1 - sin[i]*sin[i])
		x[i], y[i] = px+cos[i]*ds/2, py+sin[i]*ds/2
		px, py = px+cos[i]*ds, py+sin[i]*ds
	}
	var amp [3][terms]float64
	var m [3][n]float64
	for i := range n {
		mx := [3]float64{py - y[i], 1, 0}
		my := [3]float64{x[i] - px, 0, 1}
		for c := range 3 {
			torque := cos[i]*mx[c] + sin[i]*my[c]
			m[c][i] = cos[i]*my[c] - sin[i]*mx[c]
			for k := range terms {
				amp[c][k] += 2 * torque * math.Sin(float64(k+1)*math.Pi*(float64(i)+0.5)/n) / n
			}
		}
	}
	r := b / length
	loseBending := (1 - 1/clampBending(r, nu)) * length / ei
	loseShear := (1 - 1/clampShear(r, nu)) * (length*length*length/(12*ei) + length/ga)
	m0 := [3]float64{-math.Cos(ra) * px, -math.Sin(ra), math.Cos(ra)}
	m1 := [3]float64{0, -math.Sin(rb), math.Cos(rb)}
	for i := range 3 {
		for j := range 3 {
			sum := 0.0
			for q := range n {
				sum += m[i][q] * m[j][q] * ds / ei
			}
			for k := range terms {
				w := float64(k+1) * math.Pi / length
				sum += length / 2 * amp[i][k] * amp[j][k] / (gj + warp*w*w)
			}
			sum -= loseBending * (m0[i] + m1[i]) / 2 * (m0[j] + m1[j]) / 2
			sum -= loseShear * (m1[i] - m0[i]) / length * (m1[j] - m0[j]) / length
			f[3*i+j] = sum
		}
	}
	f[0] += length / ga
	return f
}

// The closed form against the sine series, for blades of the whole range.
// Tolerance: 40 terms leave 3e-4 of the twist of a narrow blade (the torque at the clamps
// decays as 1/k³ only), the polynomials of degree 4 and cos by its series 1e-4.
func TestFlexibilityAgainstSineSeries(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	worst := 0.0
	for range 60 {
		length := 0.02 + 0.06*rng.Float64()
		width := length * (0.1 + 1.1*rng.Float64())
		thick := width * (0.01 + 0.1*rng.Float64())
		nu := 0.2 + 0.2*rng.Float64()
		a, b := 0.24*(rng.Float64()-0.5), 0.24*(rng.Float64()-0.5)
		// p from -8 to 10; torsional buckling (below p = -8 at b/L = 1.2) stays away
		axial := (-8 + 18*rng.Float64()) * 70e9 * width * math.Pow(thick, 3) / 12 / (length * length)
		o := NewOutOfPlane(length, thick, width, 70e9, nu)
		var f [9]float64
		if !o.Flexibility(a, b, axial, &f) {
			t.Fatalf("buckled")
		}
		want := sineFlexibility(length, thick, width, 70e9, nu, a, b, axial)
		for i := range 3 {
			for j := range 3 {
				d := math.Abs(f[3*i+j]-want[3*i+j]) / math.Sqrt(want[4*i]*want[4*j])
				worst = math.Max(worst, d)
				if d > 5e-4 {
					t.Errorf("L %.4g t %.4g b %.4g a %.3f b %.3f: f%d%d = %g, series %g", length, thick, width, a, b, i, j, f[3*i+j], want[3*i+j])
				}
			}
		}
	}
	t.Logf("worst difference %.2g of the diagonal", worst)
}

// A centreline in pieces of the same shape gives the same flexibility: the
// five Gauss points of each piece only integrate better. The shape is the cubic of the end
// angles; under an axial force, of ends that turn alike, that of the beam-column with
// k² = p = P L²/EI (Timoshenko & Gere, ch. 1), slope over that of its ends
//
//	(cosh k(s-½) - sinh(k/2)/(k/2))/(cosh(k/2) - sinh(k/2)/(k/2))
//
// Tolerance: what the whole blade's five points and its cosine series leave.
func TestFlexibilityInPieces(t *testing.T) {
	o := NewOutOfPlane(0.048, 0.5e-3, 0.025, 71.7e9, 0.33)
	for _, c := range [][3]float64{{0.02, 0.02, 12}, {-0.08, -0.08, 40}, {0.1, -0.05, 0}} {
		a, b, axial := c[0], c[1], c[2]
		const n = 6
		slope := func(s float64) float64 { return math.Sin(a)*(1-4*s+3*s*s) + math.Sin(b)*(3*s*s-2*s) }
		if axial > 0 {
			k := math.Sqrt(axial * o.column)
			mean := math.Sinh(k/2) / (k / 2)
			slope = func(s float64) float64 { return math.Sin(a) * (math.Cosh(k*(s-0.5)) - mean) / (math.Cosh(k/2) - mean) }
		}
		var x, y [n + 1]float64
		for k := range n {
			x[k+1], y[k+1] = x[k], y[k]
			const fine = 200
			for i := range fine {
				s := (float64(k) + (float64(i)+0.5)/fine) / n
				ds := o.Length / n / fine
				x[k+1] += math.Sqrt(1-slope(s)*slope(s)) * ds
				y[k+1] += slope(s) * ds
			}
		}
		pieces := make([]Piece, n)
		for k := range pieces {
			h := math.Hypot(x[k+1]-x[k], y[k+1]-y[k])
			nx, ny := (x[k+1]-x[k])/h, (y[k+1]-y[k])/h
			turn := math.Atan2(ny, nx)
			pieces[k] = Piece{x[k], y[k], nx, ny, math.Asin(slope(float64(k)/n)) - turn, math.Asin(slope(float64(k+1)/n)) - turn}
		}
		var f, g [9]float64
		if !o.Flexibility(a, b, axial, &f) || !o.FlexibilityAlong(pieces, x[n], axial, &g) {
			t.Fatal("buckled")
		}
		for i := range f {
			if d := math.Abs(f[i] - g[i]); d > 2e-4*math.Sqrt(f[4*(i/3)]*f[4*(i%3)]) {
				t.Errorf("a %g b %g: f[%d] = %g, in pieces %g", a, b, i, f[i], g[i])
			}
		}
	}
}

// Saint-Venant's torsion constant of a rectangle, J = k b t³, from the series
// (S. P. Timoshenko, J. N. Goodier, Theory of Elasticity, art. 109). Tolerance:
// 0.2 %, the error of the two-term formula for a square.
func TestTorsionConstant(t *testing.T) {
	for _, c := range [][2]float64{{1, 0.14058}, {2, 0.22868}, {5, 0.29132}, {10, 0.31233}, {20, 0.32283}, {40, 0.32808}} {
		got := torsion(c[0], 1) / c[0]
		if math.Abs(got/c[1]-1) > 2e-3 {
			t.Errorf("b/t %g: %.5f, series %.5f", c[0], got, c[1])
		}
		if torsion(1, c[0]) != torsion(c[0], 1) {
			t.Errorf("b/t %g: not symmetric", c[0])
		}
	}
}

// Torsion with warping restrained at both ends (Vlasov; Timoshenko):
// k = (GJ/L)/(1 - 2 tanh(λL/2)/(λL)). The published factors are for ν = 0.3 and
// λb = √(24/(1+ν)), thin: five digits printed, hence 1e-4.
func TestRestrainedWarping(t *testing.T) {
	for _, c := range [][2]float64{{0.1, 1.0488}, {0.2, 1.1027}, {0.3, 1.1623}, {0.4, 1.2288}, {0.5, 1.3032}, {0.75, 1.5310}, {1.0, 1.8281}} {
		lambda := math.Sqrt(24/1.3) / c[0]
		var r twist
		if !r.solve(1, 1/(lambda*lambda), 1) {
			t.Fatal("buckled")
		}
		if got := 1 / r.r00; math.Abs(got/c[1]-1) > 1e-4 {
			t.Errorf("b/L %g: factor %.4f, published %.4f", c[0], got, c[1])
		}
	}
}

// The twist equation solved by finite differences with 4000 steps (error of
// order κ²/4000², below 1e-5 here), for the torque polynomials, also with a
// torsional stiffness of zero and below.
func TestTwistAgainstDifferences(t *testing.T) {
	const n = 4000
	poly := func(k int, x float64) float64 {
		x2 := x * x
		return [6]float64{1, x, (3*x2 - 1) / 2, x * (5*x2 - 3) / 2, (35*x2*x2 - 30*x2 + 3) / 8, x * (15 - 70*x2 + 63*x2*x2) / 8}[k]
	}
	for _, gj := range []float64{1, 100, 0.3, 0.02, 0, -0.02, -0.5, -4} {
		warp := 0.6 // κ² = gj/(4·0.6)
		var r twist
		if !r.solve(gj, warp, 1) {
			t.Fatalf("buckled at %g", gj)
		}
		got := [5][6]float64{{r.r00, 0, r.r02, 0, r.r04, 0}, {0, r.r11, 0, r.r13, 0, r.r15}, {r.r02, 0, r.r22, 0, r.r24, 0}, {0, r.r13, 0, r.r33, 0, r.r35}, {r.r04, 0, r.r24, 0, r.r44, 0}}
		h := 1.0 / n
		for k := range 5 {
			// gj ψ - warp ψ'' = Pk, tridiagonal
			psi := make([]float64, n+1)
			c := make([]float64, n+1)
			off, diag := -warp/(h*h), gj+2*warp/(h*h)
			for i := 1; i < n; i++ {
				den := diag - off*c[i-1]
				c[i] = off / den
				psi[i] = (poly(k, 2*float64(i)*h-1) - off*psi[i-1]) / den
			}
			for i := n - 2; i > 0; i-- {
				psi[i] -= c[i] * psi[i+1]
			}
			for j := range 6 {
				want := 0.0
				for i := 1; i < n; i++ {
					want += psi[i] * poly(j, 2*float64(i)*h-1) * h
				}
				// 1e-3 of the diagonal near gj = 0, where the solution is interpolated;
				// there the closed form of r44, a thousandth of r00, has lost ten digits.
				scale := math.Sqrt(math.Abs(got[k][k] * got[min(j, 4)][min(j, 4)]))
				if d := math.Abs(got[k][j] - want); d > 1e-3*scale+1e-5*math.Abs(r.r00) {
					t.Errorf("gj %g: r%d%d = %g, differences %g", gj, k, j, got[k][j], want)
				}
			}
		}
	}
	var r twist
	if r.solve(-6, 0.6, 1) { // buckles at -0.6 π² = -5.92
		t.Error("not buckled in torsion")
	}
}

// The straight blade against the textbook: two modes of strong-axis bending, with
// the clamps' factors, and torsion.
func TestStraightBlade(t *testing.T) {
	const l, th, b, e, nu = 0.06, 0.4e-3, 0.012, 71.7e9, 0.33
	o := NewOutOfPlane(l, th, b, e, nu)
	var k [9]float64
	if !o.Tangent(0, 0, 0, &k) {
		t.Fatal("not definite")
	}
	ei, g := e*th*b*b*b/12, e/(2*(1+nu))
	shear := clampShear(b/l, nu) / (l*l*l/12/ei + 1.2*l/(g*b*th))
	bend := clampBending(b/l, nu) * ei / l
	want := [9]float64{shear, 0, shear * l / 2, 0, 0, 0, shear * l / 2, 0, bend + shear*l*l/4}
	lambda := math.Sqrt(g * torsion(b, th) / (e / (1 - nu*nu) * math.Pow(b*th, 3) / 144))
	want[4] = g * torsion(b, th) / l / (1 - 2*math.Tanh(lambda*l/2)/(lambda*l))
	for i := range k {
		if d := math.Abs(k[i] - want[i]); d > 1e-9*math.Sqrt(want[4*(i/3)]*want[4*(i%3)]) {
			t.Errorf("k[%d] = %g, want %g", i, k[i], want[i])
		}
	}
}

// A blade seen from its other end is the same blade: turned by half a turn in
// its plane, root and tip change places, and so do the end angles.
func TestBladeReversed(t *testing.T) {
	o := NewOutOfPlane(0.048, 0.5e-3, 0.025, 71.7e9, 0.33)
	const a, b, axial = 0.05, -0.11, 30.0
	var k, r [9]float64
	if !o.Tangent(a, b, axial, &k) || !o.Tangent(b, a, axial, &r) {
		t.Fatal("not definite")
	}
	// Carry the root's reaction over the chord l: the stiffness of the root with
	// the tip held, seen turned, must be k of the reversed blade.
	s0, s1, s2 := math.Sin(a), -4*math.Sin(a)-2*math.Sin(b), 3*(math.Sin(a)+math.Sin(b))
	l := o.Length * (1 - 0.5*(s0*s0+s0*s1+(s1*s1+2*s0*s2)/3+s1*s2/2+s2*s2/5))
	// tip motion relative to the root carried to the tip: z - (-pitch l) ...
	carry := [9]float64{1, 0, -l, 0, 1, 0, 0, 0, 1}
	turn := [9]float64{1, 0, 0, 0, -1, 0, 0, 0, -1}
	var c [9]float64 // carry · turn
	for i := range 3 {
		for j := range 3 {
			for n := range 3 {
				c[3*i+j] += carry[3*i+n] * turn[3*n+j]
			}
		}
	}
	for i := range 3 {
		for j := range 3 {
			sum := 0.0
			for n := range 3 {
				for m := range 3 {
					sum += c[3*n+i] * k[3*n+m] * c[3*m+j]
				}
			}
			if d := math.Abs(sum - r[3*i+j]); d > 2e-3*math.Sqrt(r[4*i]*r[4*j]) {
				t.Errorf("k%d%d of the reversed blade %g, carried %g", i, j, r[3*i+j], sum)
			}
		}
	}
}

func TestOutOfPlaneDoesNotAllocate(t *testing.T) {
	var k [9]float64
	if n := testing.AllocsPerRun(100, func() {
		o := NewOutOfPlane(0.048, 0.5e-3, 0.025, 71.7e9, 0.33)
		o.Tangent(0.05, -0.03, 10, &k)
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

func BenchmarkTangent(b *testing.B) {
	o := NewOutOfPlane(0.048, 0.5e-3, 0.025, 71.7e9, 0.33)
	var k [9]float64
	for b.Loop() {
		o.Tangent(0.05, -0.03, 10, &k)
	}
}

func BenchmarkNewOutOfPlane(b *testing.B) {
	for b.Loop() {
		o := NewOutOfPlane(0.048, 0.5e-3, 0.025, 71.7e9, 0.33)
		sink += o.loseShear
	}
}
