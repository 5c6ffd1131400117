package mechanics

import (
	"math"
	"testing"
)

// What is carried in columns is what blades are one by one, block by block: stiffness, mass and weight out of the plane, mass and rows in it.
func TestCarriedAgainstBlocks(t *testing.T) {
	top, st := readReference(t)
	rigid := NewScratch(NewModel(top))
	rigid.Prepare(st)
	elastic, bending := altered(t, nil)
	for _, c := range []struct {
		s *Scratch
		d *Dynamics
	}{{rigid, NewDynamics(rigid)}, {elastic, bending}} {
		if v := c.s.Statics(0.004); !v.OK() {
			t.Fatal(v.Reason())
		}
		d, m := c.d, c.d.upright
		d.Prepare()
		for p := range c.s.Poses {
			pose := &c.s.Poses[p]
			if _, ok := d.Vertical(pose); !ok {
				t.Fatal("buckled")
			}
			k, mass, weight := make([]float64, len(d.k)), make([]float64, len(d.k)), make([]float64, len(d.weight))
			copy(k, d.k)
			copy(mass, d.mass)
			copy(weight, d.weight)
			d.verticalBodies(pose)
			d.verticalLinks(pose)
			for i := range m.blades {
				d.addByBlocks(t, pose, i)
			}
			sameMatrix(t, "stiffness", k, d.k, m.Pattern.Nodes())
			sameMatrix(t, "mass", mass, d.mass, m.Pattern.Nodes())
			sameMatrix(t, "weight", weight, d.weight, 0)

			e := d.memory
			d.inPlaneProblem(pose, e)
			c.s.Mass(pose, mass)
			for _, h := range d.plane.held {
				d.plane.Pattern.Hold(mass, h.node, h.axis)
			}
			sameMatrix(t, "mass in the plane", e.mass, mass, m.Pattern.Nodes())
			rows := make([]float64, len(e.rows))
			d.rowsOfBodies(pose, rows)
			d.floorOfBodies(rows)
			d.floorOfLinks(pose, rows)
			d.floorOfBlades(pose, rows)
			sameMatrix(t, "rows", e.rows, rows, 0)
		}
	}
}

// sameMatrix fails where numbers of two matrices, of their diagonal blocks the lower triangles, differ by more than 1e-11 of the largest.
func sameMatrix(t *testing.T, name string, a, b []float64, nodes int) {
	t.Helper()
	largest := 0.0
	for _, x := range b {
		largest = max(largest, math.Abs(x))
	}
	for i, x := range b {
		if i < 9*nodes && i%9%3 > i%9/3 {
			continue
		}
		if math.Abs(a[i]-x) > 1e-11*largest {
			t.Fatalf("%s: number %d is %g, by blocks %g", name, i, a[i], x)
		}
	}
}

// addByBlocks adds blade i to stiffness, mass and weight.
func (d *Dynamics) addByBlocks(t *testing.T, pose *Pose, i int) {
	t.Helper()
	bb := &d.upright.blades[i]
	var k [9]float64
	var e ends
	if !d.wholeBlade(pose, i, &e, &k) {
		t.Fatal("buckled")
	}
	root, tip := [2]float64{e.ay, -e.ax - e.chord}, [2]float64{e.by, -e.bx}
	rootEnd := [2]float64{e.ay, -e.ax}
	mass := uprightMass(2*d.half[i], d.rotary[i], e.chord)
	if node := bb.rootNode; node >= 0 {
		addCarried(d.k[9*node:], &k, &root, &root, e.nx, e.ny, 1)
		addCarried(d.mass[9*node:], &mass.root, &rootEnd, &rootEnd, e.nx, e.ny, 1)
		d.addBladeWeight(node, i, e.chord, e.ax, e.ay, e.nx, e.ny)
	}
	if node := bb.tipNode; node >= 0 {
		addCarried(d.k[9*node:], &k, &tip, &tip, e.nx, e.ny, 1)
		addCarried(d.mass[9*node:], &mass.tip, &tip, &tip, e.nx, e.ny, 1)
		d.addBladeWeight(node, i, -e.chord, e.bx, e.by, e.nx, e.ny)
	}
	switch {
	case bb.couple < 0:
	case bb.coupleFlips:
		addCarried(d.k[bb.couple:], &k, &tip, &root, e.nx, e.ny, -1)
		addCarried(d.mass[bb.couple:], &mass.tipRoot, &tip, &rootEnd, e.nx, e.ny, 1)
	default:
		addCarried(d.k[bb.couple:], &k, &root, &tip, e.nx, e.ny, -1)
		mass.tipRoot[2], mass.tipRoot[6] = mass.tipRoot[6], mass.tipRoot[2]
		addCarried(d.mass[bb.couple:], &mass.tipRoot, &rootEnd, &tip, e.nx, e.ny, 1)
	}
}

// uprightMass returns the consistent mass of a blade out of the plane, in the axes of
// its chord: blocks of (z, roll, pitch) at root and tip, and the one with rows of the
// tip and columns of the root. The slope of z is minus the pitch.
func uprightMass(total, rotary, length float64) beamBlocks {
	k, l, r := total/420, length, rotary/6
	return beamBlocks{
		root:    [9]float64{156 * k, 0, -22 * l * k, 0, 2 * r, 0, -22 * l * k, 0, 4*l*l*k + 2*r},
		tip:     [9]float64{156 * k, 0, 22 * l * k, 0, 2 * r, 0, 22 * l * k, 0, 4*l*l*k + 2*r},
		tipRoot: [9]float64{54 * k, 0, -13 * l * k, 0, r, 0, 13 * l * k, 0, r - 3*l*l*k},
	}
}

// addBladeWeight adds half of blade i's weight at its end, (x, y) from the node's
// origin along the chord and across, with the end moment of a load spread evenly
// along it; towards is the chord's length, negative seen from the tip.
func (d *Dynamics) addBladeWeight(node, i int, towards, x, y, nx, ny float64) {
	if d.Up != Flat {
		return
	}
	f := -gravity * d.half[i]
	roll, pitch := f*y, -f*(x+towards/6)
	w := d.weight[3*node : 3*node+3]
	w[0] += f
	w[1] += roll*nx - pitch*ny
	w[2] += roll*ny + pitch*nx
}

// addCarried computes to += sign Lᵀ k R, where k is the stiffness of the tip in
// the axes of the chord (z, roll about n, pitch about m = n turned by 90°) and L, R
// carry the motion of a body's origin to it: z + l[0] roll + l[1] pitch, then
// turn global roll and pitch into the chord's axes.
func addCarried(to []float64, k *[9]float64, l, r *[2]float64, nx, ny, sign float64) {
	to = to[:9]
	// columns: x = k R
	var x [9]float64
	for i := 0; i < 9; i += 3 {
		c0 := k[i]
		c1, c2 := k[i+1]+c0*r[0], k[i+2]+c0*r[1]
		x[i], x[i+1], x[i+2] = c0, nx*c1-ny*c2, ny*c1+nx*c2
	}
	for j := range 3 {
		c0 := sign * x[j]
		c1, c2 := sign*x[3+j]+c0*l[0], sign*x[6+j]+c0*l[1]
		to[j] += c0
		to[3+j] += nx*c1 - ny*c2
		to[6+j] += ny*c1 + nx*c2
	}
}

// verticalLinks adds stiffness, mass and weight of the links out of the plane.
func (d *Dynamics) verticalLinks(pose *Pose) {
	m, s := d.upright, d.s
	s.addLinkMass(m, pose, d.mass, true)
	st := s.Stage
	for i := range m.links {
		lb, c := &m.links[i], &s.links[i]
		sin, cos := math.Sincos(pose.Q[3*lb.from+2])
		k := turned3(&c.out, cos, sin, true)
		// from the first part's origin to the second's, as they stand
		rx := st.X[lb.to] + pose.Q[3*lb.to] - st.X[lb.from] - pose.Q[3*lb.from]
		ry := st.Y[lb.to] + pose.Q[3*lb.to+1] - st.Y[lb.from] - pose.Q[3*lb.from+1]
		e := plane3{1, ry, -rx, 0, 1, 0, 0, 0, 1} // the first part takes z along with roll and pitch
		one := plane3{1, 0, 0, 0, 1, 0, 0, 0, 1}
		if n := lb.toNode; n >= 0 {
			addBlock(d.k[9*n:], &k)
		}
		if n := lb.fromNode; n >= 0 {
			addCongruent(d.k[9*n:], &e, &k, &e)
		}
		if lb.couple >= 0 {
			var b plane3
			if lb.coupleFlips {
				addCongruent(b[:], &one, &k, &e)
			} else {
				addCongruent(b[:], &e, &k, &one)
			}
			for j := range b {
				d.k[lb.couple+j] -= b[j]
			}
		}
		if d.Up == Flat {
			from, to := c.load(0, cos, sin, true)
			for r := range 3 {
				if n := lb.fromNode; n >= 0 {
					d.weight[3*n+r] -= gravity * from[r]
				}
				if n := lb.toNode; n >= 0 {
					d.weight[3*n+r] -= gravity * to[r]
				}
			}
		}
	}
}
