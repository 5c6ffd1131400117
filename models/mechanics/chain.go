package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/blade"
)

// A link's flexibility and mass, from its chain of beams.
//
// The part at its end moves against the part at its beginning by d = C F under the force
// F on it, C the sum of the beams' own flexibilities carried to the end. Any point of the
// chain then moves with the beginning and by S d, S(x) = C(x, end) C⁻¹: as it does at
// rest under a force at the end. The consistent mass follows from that motion, ∫ ρ φᵀφ
// by three Gauss points where a beam bends; what does not bend is a lump.

// plane3 is (x, y, yaw) or, out of the plane, (z, roll, pitch).
type plane3 = [9]float64

// linkConstants is what the mechanics needs of one link, in the axes of the plate at rest.
type linkConstants struct {
	in, out    plane3    // stiffness of the end against the beginning
	inMass     [3]plane3 // root-root, tip-tip, tip-root: of the two parts' origins
	outMass    [3]plane3
	rhoX, rhoY float64                  // from the origin of the first part to that of the second, m
	cos, sin   [models.MaxBeams]float64 // directions of the beams
	definite   bool
}

// beamFlexibility is that of the first x metres of a beam, for forces and motions at
// that place, along the beam: (along, across, yaw) and (z, twist, slope about the normal).
type beamFlexibility struct {
	axial, across, acrossYaw, yaw float64
	z, zPitch, pitch, twist       float64
}

// beamRates are what a beam's flexibilities are made of: per metre of a force along it, of moments in the plane and out of it, of shear in and out, of torque.
type beamRates struct{ axial, in, out, shear, lift, twist float64 }

func ratesOf(b *models.Beam, length float64) beamRates {
	more := &b.Flexing
	area := b.Height * b.Depth
	shear := 1 / (5.0 / 6 * b.Young / (2 * (1 + b.Poisson)) * area)
	return beamRates{axial: (1 + more.Axial) / (b.Young * area),
		in: 12 * (1 + more.Bend) / (b.Young * b.Depth * cube(b.Height)), out: 12 * (1 + more.Lift) / (b.Young * b.Height * cube(b.Depth)),
		shear: (1 + more.Shear) * shear, lift: (1 + more.Lift) * shear,
		twist: (1 + more.Twist) / length * blade.BeamTwist(length, b.Height, b.Depth, b.Young, b.Poisson, b.Held)}
}

// upTo is the flexibility of the first x metres.
func (r *beamRates) upTo(x float64) beamFlexibility {
	half, third := x*x/2, x*x*x/3
	return beamFlexibility{axial: r.axial * x, across: third*r.in + x*r.shear, acrossYaw: half * r.in, yaw: x * r.in,
		z: third*r.out + x*r.lift, zPitch: -half * r.out, pitch: x * r.out, twist: r.twist * x}
}

func cube(x float64) float64 { return x * x * x }

// add adds f, of a beam along (c, s) with its end at (px, py), to the flexibilities
// between motions at the point a and forces at the point b.
func (f *beamFlexibility) add(in, out *plane3, c, s, px, py, ax, ay, bx, by float64) {
	xx, yy, xy := f.axial*c*c+f.across*s*s, f.axial*s*s+f.across*c*c, (f.axial-f.across)*c*s
	xt, yt := -f.acrossYaw*s, f.acrossYaw*c
	local := plane3{xx, xy, xt, xy, yy, yt, xt, yt, f.yaw}
	// roll about x and pitch about y of twist about the beam and pitch about its normal
	rr, pp, rp := f.twist*c*c+f.pitch*s*s, f.twist*s*s+f.pitch*c*c, (f.twist-f.pitch)*c*s
	zr, zp := -f.zPitch*s, f.zPitch*c
	upright := plane3{f.z, zr, zp, zr, rr, rp, zp, rp, pp}
	// a rigid body takes the end's motion to a, and forces at b to the end: l m rᵀ
	dx, dy := ax-px, ay-py
	ex, ey := bx-px, by-py
	for i := 0; i < 9; i += 3 {
		local[i] -= ey * local[i+2]
		local[i+1] += ex * local[i+2]
		upright[i] += ey*upright[i+1] - ex*upright[i+2]
	}
	for j := range 3 {
		in[j] += local[j] - dy*local[6+j]
		in[3+j] += local[3+j] + dx*local[6+j]
		in[6+j] += local[6+j]
		out[j] += upright[j] + dy*upright[3+j] - dx*upright[6+j]
		out[3+j] += upright[3+j]
		out[6+j] += upright[6+j]
	}
}

// product returns a b.
func product(a, b *plane3) (c plane3) {
	for i := range 3 {
		for j := range 3 {
			c[3*i+j] = a[3*i]*b[j] + a[3*i+1]*b[3+j] + a[3*i+2]*b[6+j]
		}
	}
	return c
}

// gauss3 are abscissas and weights of Gauss's rule of three points on [-1, 1].
var gauss3 = [3][2]float64{{-0.774596669241483, 5.0 / 9}, {0, 8.0 / 9}, {0.774596669241483, 5.0 / 9}}

// prepare fills c for a link between parts whose origins are at (ax, ay) and (bx, by).
func (c *linkConstants) prepare(l *models.Link, ax, ay, bx, by float64) {
	*c = linkConstants{rhoX: bx - ax, rhoY: by - ay}
	var in, out plane3
	var rates [models.MaxBeams]beamRates
	var whole [models.MaxBeams]beamFlexibility
	var length [models.MaxBeams]float64
	cos, sin := &c.cos, &c.sin
	for i := range l.N {
		b := &l.Beams[i]
		dx, dy := b.X1-b.X0, b.Y1-b.Y0
		length[i] = math.Sqrt(dx*dx + dy*dy)
		cos[i], sin[i] = dx/length[i], dy/length[i]
		rates[i] = ratesOf(b, length[i])
		whole[i] = rates[i].upTo(length[i])
		whole[i].add(&in, &out, cos[i], sin[i], b.X1, b.Y1, bx, by, bx, by)
	}
	if c.definite = invert(&in, &c.in) && invert(&out, &c.out); !c.definite {
		return
	}
	for i := range l.N {
		b := &l.Beams[i]
		line := b.Density * b.Height * b.Depth
		if line == 0 {
			continue
		}
		// metal before and behind the length that bends
		if to := min(0, b.End); b.Begin < to {
			c.addPiece(l, &whole, &rates[i], i, ax, ay, bx, by, cos[i], sin[i], length[i], (b.Begin+to)/2, line*(to-b.Begin), to-b.Begin)
		}
		if from := max(length[i], b.Begin); from < b.End {
			c.addPiece(l, &whole, &rates[i], i, ax, ay, bx, by, cos[i], sin[i], length[i], (from+b.End)/2, line*(b.End-from), b.End-from)
		}
		from, to := max(0, b.Begin), min(length[i], b.End)
		for _, g := range gauss3 {
			if half := (to - from) / 2; half > 0 {
				c.addPiece(l, &whole, &rates[i], i, ax, ay, bx, by, cos[i], sin[i], length[i], (from+to)/2+g[0]*half, line*half*g[1], 0)
			}
		}
	}
}

// sameTurned reports whether link a, between origins at (ax, ay) and (bx, by), is link o
// between others turned by (cos, sin), as the arms of a stage are.
func sameTurned(a, o *models.Link, at, other [4]float64) (cos, sin float64, same bool) {
	if a.N != o.N || a.N == 0 {
		return 0, 0, false
	}
	p, q := &a.Beams[0], &o.Beams[0]
	px, py, qx, qy := p.X1-p.X0, p.Y1-p.Y0, q.X1-q.X0, q.Y1-q.Y0
	size := qx*qx + qy*qy
	cos, sin = (px*qx+py*qy)/size, (py*qx-px*qy)/size
	near := func(x, y, u, v float64) bool { // (x, y) is (u, v) turned
		const rounding = 1e-13 // of a metre
		return math.Abs(x-cos*u+sin*v) < rounding && math.Abs(y-sin*u-cos*v) < rounding
	}
	if !near(at[2]-at[0], at[3]-at[1], other[2]-other[0], other[3]-other[1]) {
		return 0, 0, false
	}
	for i := range a.N {
		p, q = &a.Beams[i], &o.Beams[i]
		if p.Begin != q.Begin || p.End != q.End || p.Height != q.Height || p.Depth != q.Depth || p.Young != q.Young ||
			p.Poisson != q.Poisson || p.Density != q.Density || p.Flexing != q.Flexing || p.Held != q.Held ||
			!near(p.X0-at[0], p.Y0-at[1], q.X0-other[0], q.Y0-other[1]) || !near(p.X1-at[0], p.Y1-at[1], q.X1-other[0], q.Y1-other[1]) {
			return 0, 0, false
		}
	}
	return cos, sin, true
}

// turn makes c that of the same link turned by (cos, sin).
func (c *linkConstants) turn(cos, sin float64) {
	for j, x := range c.cos {
		c.cos[j], c.sin[j] = cos*x-sin*c.sin[j], sin*x+cos*c.sin[j]
	}
	c.rhoX, c.rhoY = cos*c.rhoX-sin*c.rhoY, sin*c.rhoX+cos*c.rhoY
	c.in, c.out = turned3(&c.in, cos, sin, false), turned3(&c.out, cos, sin, true)
	for k := range c.inMass {
		c.inMass[k], c.outMass[k] = turned3(&c.inMass[k], cos, sin, false), turned3(&c.outMass[k], cos, sin, true)
	}
}

// addPiece adds the mass dm at x of beam i, which is rigid over the length size.
func (c *linkConstants) addPiece(l *models.Link, whole *[models.MaxBeams]beamFlexibility, rates *beamRates, i int, ax, ay, bx, by, cos, sin, length, x, dm, size float64) {
	b := &l.Beams[i]
	px, py := b.X0+cos*x, b.Y0+sin*x
	// What moves it: the beams before, and this one as far as it bends.
	var pin, pout plane3
	for j := range i {
		q := &l.Beams[j]
		whole[j].add(&pin, &pout, c.cos[j], c.sin[j], q.X1, q.Y1, px, py, bx, by)
	}
	if at := min(max(x, 0), length); at > 0 {
		f := rates.upTo(at)
		f.add(&pin, &pout, cos, sin, b.X0+cos*at, b.Y0+sin*at, px, py, bx, by)
	}
	si, so := product(&pin, &c.in), product(&pout, &c.out)
	// its own inertia: h² of the height, d² of the depth, ll of its length
	h, d, ll := b.Height*b.Height/12, b.Depth*b.Depth/12, size*size/12
	rr, pp, rp := (h+d)*cos*cos+(d+ll)*sin*sin, (h+d)*sin*sin+(d+ll)*cos*cos, (h-ll)*cos*sin
	// of the two parts' motions: that of the first, R - S E, and of the second, S
	ri, ro := plane3{1, 0, ay - py, 0, 1, px - ax, 0, 0, 1}, plane3{1, py - ay, ax - px, 0, 1, 0, 0, 0, 1}
	for k := 0; k < 9; k += 3 {
		ri[k] -= si[k]
		ri[k+1] -= si[k+1]
		ri[k+2] -= si[k+2] + c.rhoX*si[k+1] - c.rhoY*si[k]
		ro[k] -= so[k]
		ro[k+1] -= so[k+1] + c.rhoY*so[k]
		ro[k+2] -= so[k+2] - c.rhoX*so[k]
	}
	in := func(r *plane3) (x plane3) {
		for k := range 3 {
			x[k], x[3+k], x[6+k] = dm*r[k], dm*r[3+k], dm*(h+ll)*r[6+k]
		}
		return x
	}
	out := func(r *plane3) (x plane3) {
		for k := range 3 {
			x[k], x[3+k], x[6+k] = dm*r[k], dm*(rr*r[3+k]+rp*r[6+k]), dm*(rp*r[3+k]+pp*r[6+k])
		}
		return x
	}
	addMass(&c.inMass, &ri, &si, in(&ri), in(&si))
	addMass(&c.outMass, &ro, &so, out(&ro), out(&so))
}

// addMass adds a piece that moves by r with the first part and by s with the second, mr and ms the forces that takes.
func addMass(mass *[3]plane3, r, s *plane3, mr, ms plane3) {
	addTransposed(&mass[0], r, &mr)
	addTransposed(&mass[1], s, &ms)
	addTransposed(&mass[2], s, &mr)
}

// addTransposed computes to += lᵀ x.
func addTransposed(to, l, x *plane3) {
	for i := range 3 {
		a, b, c := l[i], l[3+i], l[6+i]
		to[3*i] += a*x[0] + b*x[3] + c*x[6]
		to[3*i+1] += a*x[1] + b*x[4] + c*x[7]
		to[3*i+2] += a*x[2] + b*x[5] + c*x[8]
	}
}
