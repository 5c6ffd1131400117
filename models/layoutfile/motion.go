package layoutfile

import (
	"math"

	"flexwright/models"
)

// stretch is how much stiffer blades are along themselves than the softest is across when
// shares of motion are found: enough for errors below what is kept, little enough for
// double precision.
const stretch = 1e8

// stiffest is how much stiffer than the softest a blade may be in bending when shares
// are found: where shares hang on more than that, one body follows the other.
const stiffest = 30

// kept is the inverse of the step to which shares of motion are rounded.
const kept = 1e5

// turned is the least turn that counts, rad per metre of the stage's motion: what turns
// less does so because blades stretch, or moves by less than a thousandth of the travel at
// 20 mm from its origin.
const turned = 0.05

// motions finds how far each body follows the stage: from the file, else as blades
// of the stage st move that bend but do not stretch, no force on any body but the
// stage. Small motions. Shares of a layout whose bodies do not turn are those of the
// middle of the ranges.
func (c *compiler) motions(st *models.Stage) {
	l := c.layout
	l.moves = make([]move, len(l.topology.Bodies))
	for i := range c.bodies {
		b := &c.bodies[i]
		for k, n := range b.copies {
			switch {
			case b.Fixed:
				l.moves[n].given = true
			case b.Moves != nil:
				l.moves[n] = given(*b.Moves, b.frameOf(k))
			}
		}
	}
	moves, held := l.follow(st)
	for i := range c.bodies {
		if b := &c.bodies[i]; b.Moves == nil && !b.Fixed && !held {
			c.refuse(&b.Name, 0, "blades that hold every body in the plane; or moves: [share of x, share of y]", b.Name.Value+" can move freely")
			return
		}
	}
	l.moves = moves
	for _, m := range moves {
		l.turning = l.turning || m.tx != 0 || m.ty != 0
	}
}

// follow returns the shares of all bodies of a stage: those that the file gives, else
// those that it finds; false where a body is held by nothing.
func (l *Layout) follow(st *models.Stage) ([]move, bool) {
	moves := append([]move{}, l.moves...)
	held := true
	for _, a := range l.topology.Actuators {
		q, ok := follow(l.topology, st, a.Axis)
		held = held && ok
		for n := range moves {
			m := &moves[n]
			yaw := q[3*n+2]
			if math.Abs(yaw) < turned {
				yaw = 0
			}
			switch {
			case m.given:
			case a.Axis == models.AxisX:
				m.xx, m.yx, m.tx = q[3*n], q[3*n+1], yaw
			default:
				m.xy, m.yy, m.ty = q[3*n], q[3*n+1], yaw
			}
		}
	}
	return moves, held
}

// given takes shares of the stage's motion along x and y of a body's frame to the
// plate.
func given(share [2]float64, f frame) move {
	x0, y0 := f.apply(1, 0)
	x1, y1 := f.apply(0, 1)
	return move{
		given: true,
		xx:    share[0]*x0*x0 + share[1]*x1*x1, xy: share[0]*x0*y0 + share[1]*x1*y1,
		yx: share[0]*x0*y0 + share[1]*x1*y1, yy: share[0]*y0*y0 + share[1]*y1*y1,
	}
}

// follow solves for the small motions of all bodies when the stage is moved by 1
// along axis and, where it is driven along the other, stands still there: three
// numbers per body. It returns false where a body is held by nothing.
func follow(t *models.Topology, st *models.Stage, axis models.Axis) ([]float64, bool) {
	n := 3 * len(t.Bodies)
	a := make([]float64, n*(n+1)) // augmented
	row := n + 1
	softest := math.Inf(1)
	for e := range t.Blades {
		softest = min(softest, bending(st, e))
	}
	for e, spec := range t.Blades {
		k := clamped(st, e, spec, softest)
		at := func(p int) int {
			if p < 3 {
				return 3*spec.From + p
			}
			return 3*spec.To + p - 3
		}
		for p := range 6 {
			for q := range 6 {
				a[at(p)*row+at(q)] += k[p][q]
			}
		}
	}
	prescribe := func(i int, v float64) {
		clear(a[i*row : i*row+n])
		a[i*row+i], a[i*row+n] = 1, v
	}
	for i, b := range t.Bodies {
		for c := models.AxisX; c <= models.AxisYaw; c++ {
			if b.Held.Has(c) {
				prescribe(3*i+int(c), 0)
			}
		}
	}
	for _, d := range t.Actuators {
		v := 0.0
		if d.Axis == axis {
			v = 1
		}
		prescribe(3*t.Stage+int(d.Axis), v)
	}
	x, ok := eliminate(a, n)
	for i := range x {
		x[i] = math.Round(x[i]*kept) / kept
	}
	return x, ok
}

// bending is a blade's stiffness across itself, over Young's modulus.
func bending(st *models.Stage, e int) float64 {
	slim := st.Thickness[e] / math.Hypot(st.TipX[e]-st.RootX[e], st.TipY[e]-st.RootY[e])
	return st.Width[e] * slim * slim * slim
}

// clamped is the stiffness of a blade, over Young's modulus, in the coordinates (x, y,
// yaw) of its two bodies.
func clamped(st *models.Stage, e int, spec models.BladeSpec, softest float64) (k [6][6]float64) {
	dx, dy := st.TipX[e]-st.RootX[e], st.TipY[e]-st.RootY[e]
	length := math.Hypot(dx, dy)
	cos, sin := dx/length, dy/length
	bend := min(bending(st, e), stiffest*softest)
	c, h, d, s := 12*bend, 6*bend*length, 4*bend*length*length, stretch*12*softest
	// along, across and rotation of root and tip, in the blade's frame
	own := [6][6]float64{
		{s, 0, 0, -s, 0, 0},
		{0, c, h, 0, -c, h},
		{0, h, d, 0, -h, d / 2},
		{-s, 0, 0, s, 0, 0},
		{0, -c, -h, 0, c, -h},
		{0, h, d / 2, 0, -h, d},
	}
	var to [6][6]float64 // from the bodies' coordinates to the blade's
	arm := [2][2]float64{
		{st.RootX[e] - st.X[spec.From], st.RootY[e] - st.Y[spec.From]},
		{st.TipX[e] - st.X[spec.To], st.TipY[e] - st.Y[spec.To]},
	}
	for end, p := range arm {
		i := 3 * end
		rx, ry := p[0], p[1]
		copy(to[i][i:], []float64{cos, sin, sin*rx - cos*ry})
		copy(to[i+1][i:], []float64{-sin, cos, cos*rx + sin*ry})
		to[i+2][i+2] = 1
	}
	for p := range 6 {
		for q := range 6 {
			for i := range 6 {
				for j := range 6 {
					k[p][q] += to[i][p] * own[i][j] * to[j][q]
				}
			}
		}
	}
	return k
}

// eliminate solves n equations, each with its right side behind it, by elimination
// with row pivoting; false where they are singular.
func eliminate(a []float64, n int) ([]float64, bool) {
	row := n + 1
	x := make([]float64, n)
	for i := range n {
		scale := 0.0
		for j := range n {
			scale = max(scale, math.Abs(a[i*row+j]))
		}
		if !(scale > 0) {
			return x, false
		}
		for j := i * row; j < (i+1)*row; j++ {
			a[j] /= scale
		}
	}
	for k := range n {
		p := k
		for i := k + 1; i < n; i++ {
			if math.Abs(a[i*row+k]) > math.Abs(a[p*row+k]) {
				p = i
			}
		}
		// Rounding leaves 1e-16 stretch of a pivot that is none.
		if !(math.Abs(a[p*row+k]) > 1e-13) {
			return x, false
		}
		for j := k; j < row; j++ {
			a[k*row+j], a[p*row+j] = a[p*row+j], a[k*row+j]
		}
		for i := k + 1; i < n; i++ {
			f := a[i*row+k] / a[k*row+k]
			for j := k; j < row; j++ {
				a[i*row+j] -= f * a[k*row+j]
			}
		}
	}
	for i := n - 1; i >= 0; i-- {
		sum := a[i*row+n]
		for j := i + 1; j < n; j++ {
			sum -= a[i*row+j] * x[j]
		}
		x[i] = sum / a[i*row+i]
	}
	return x, true
}
