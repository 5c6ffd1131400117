package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
)

const beamHeight, beamDepth = 6e-3, 20e-3

func testBeam(x0, y0, x1, y1 float64) models.Beam {
	return models.Beam{X0: x0, Y0: y0, X1: x1, Y1: y1, End: math.Hypot(x1-x0, y1-y0), Height: beamHeight, Depth: beamDepth,
		Young: testYoung, Poisson: 0.33, Density: 2810}
}

// linked is bodies without mass joined by links of one chain each; body 0 is ground unless free.
func linked(free bool, places [][2]float64, links []models.LinkSpec, chains []models.Link, loads ...models.Load) *Scratch {
	top := &models.Topology{Links: links, Stage: 1}
	for range places {
		top.Bodies = append(top.Bodies, models.BodySpec{})
	}
	if !free {
		top.Bodies[0].Held = models.HeldAll
	}
	st := models.NewStage(top)
	for i, p := range places {
		st.X[i], st.Y[i], st.Mass[i], st.Ix[i], st.Iy[i], st.Iz[i] = p[0], p[1], 0, 0, 0, 0
	}
	copy(st.Links, chains)
	st.Loads = loads
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	return s
}

// An L of two beams, a prong on a back: a force at its end bends both. By the unit-load
// method with Timoshenko's shear, for a back of the length a along x and a prong of the length b
// along y, a force F along x at the end moves it by
//
//	F (b³/3 EI + b/GA' + a b²/EI + a/EA)  along x,  F a² b/2 EI  along y,
//	F (b²/2 EI + a b/EI) in yaw (clockwise)
//
// and out of the plane the back twists: F along z gives b³/3 EI' + b/GA' + a³/3 EI' + a/GA' + b² a/GJ.
func TestCantileveredProng(t *testing.T) {
	const a, b, force = 0.03, 0.08, 1.0
	chain := models.Link{N: 2, Beams: [models.MaxBeams]models.Beam{testBeam(0, 0, a, 0), testBeam(a, 0, a, b)}}
	s := linked(false, [][2]float64{{0, 0}, {a, b}}, []models.LinkSpec{{From: 0, To: 1}}, []models.Link{chain}, models.Load{Body: 1, Axis: models.AxisX, Value: force})
	d, pose := dynamics(s)
	if !pose.Verdict.OK() {
		t.Fatal(pose.Verdict.Reason())
	}
	ei, g := testYoung*beamDepth*cube(beamHeight)/12, testYoung/(2*1.33)
	shear := 5.0 / 6 * g * beamHeight * beamDepth
	ea := testYoung * beamHeight * beamDepth
	for i, want := range []float64{b*b*b/(3*ei) + b/shear + a*b*b/ei + a/ea, -a * a * b / (2 * ei), -b*b/(2*ei) - a*b/ei} {
		// first order in the load, whose own turn is 1e-4
		if got := pose.Q[3+i]; math.Abs(got/want-1) > 3e-4 {
			t.Errorf("motion %d: %g, want %g", i, got, want)
		}
	}
	// the back carries F along it and F b all along, the prong F b where it begins (statics)
	if got, want := s.BeamStress(pose), force/(beamHeight*beamDepth)+6*force*b/(beamDepth*beamHeight*beamHeight); math.Abs(got/want-1) > 3e-4 {
		t.Errorf("stress %g, want %g", got, want)
	}
	out := testYoung * beamHeight * cube(beamDepth) / 12
	// Saint-Venant's torsion of 6 x 20: Roark & Young's factor for b/h = 3.33 is 0.2704 (their series)
	gj := g * beamDepth * cube(beamHeight) * 0.2704
	want := (b*b*b+a*a*a)/(3*out) + (a+b)/shear + b*b*a/gj
	d.Vertical(pose)
	if !d.factorVertical() {
		t.Fatal("unstable")
	}
	clear(d.column)
	d.column[0] = 1
	s.Model.Pattern.Solve(d.factor, d.column)
	if math.Abs(d.column[0]/want-1) > 2e-3 {
		t.Errorf("along z: %g, want %g", d.column[0], want)
	}
	// The same chain cut into its two beams, with a joint between them that has no mass.
	joint := linked(false, [][2]float64{{0, 0}, {a, b}, {a, 0}}, []models.LinkSpec{{From: 0, To: 2}, {From: 2, To: 1}},
		[]models.Link{{N: 1, Beams: [models.MaxBeams]models.Beam{chain.Beams[0]}}, {N: 1, Beams: [models.MaxBeams]models.Beam{chain.Beams[1]}}})
	e, p2 := dynamics(joint)
	q1, _ := d.SagOf(pose, 1)
	q2, _ := e.SagOf(p2, 1)
	for i := range 3 {
		if math.Abs(q1[i]-q2[i]) > 1e-9*math.Abs(q2[i]) {
			t.Errorf("sag %d: one chain %g, two beams %g", i, q1[i], q2[i])
		}
	}
}

// A U of two prongs of the length a on a back of the length b, forces F on the ends towards each
// other: the gap closes by F (2 a³/3 EI + a² b/EI) (Roark's Formulas for Stress and Strain, frames
// with two legs, one leg's end free; shear and stretch added as in the prong).
func TestUFrame(t *testing.T) {
	const a, b, force = 0.07, 0.05, 1.0
	beams := func(m ...models.Beam) models.Link {
		l := models.Link{N: len(m)}
		copy(l.Beams[:], m)
		return l
	}
	s := linked(false, [][2]float64{{0, 0}, {b / 2, a}, {-b / 2, a}}, []models.LinkSpec{{From: 0, To: 1}, {From: 0, To: 2}},
		[]models.Link{beams(testBeam(0, 0, b/2, 0), testBeam(b/2, 0, b/2, a)), beams(testBeam(0, 0, -b/2, 0), testBeam(-b/2, 0, -b/2, a))},
		models.Load{Body: 1, Axis: models.AxisX, Value: -force}, models.Load{Body: 2, Axis: models.AxisX, Value: force})
	_, pose := dynamics(s)
	ei, shear := testYoung*beamDepth*cube(beamHeight)/12, 5.0/6*testYoung/(2*1.33)*beamHeight*beamDepth
	want := force * (2*a*a*a/(3*ei) + a*a*b/ei + 2*a/shear + b/(testYoung*beamHeight*beamDepth))
	if got := pose.Q[6] - pose.Q[3]; math.Abs(got/want-1) > 3e-4 {
		t.Errorf("closes by %g, want %g", got, want)
	}
	if got, want := s.BeamStress(pose), force/(beamHeight*beamDepth)+6*force*a/(beamDepth*beamHeight*beamHeight); math.Abs(got/want-1) > 3e-4 {
		t.Errorf("stress %g, want %g", got, want)
	}
}

// Natural frequencies of a slender cantilever in both planes against βL = 1.875104, 4.694091
// (R. D. Blevins, Formulas for Natural Frequency and Mode Shape): eight links, and one alone
// within 1.5 %: 3 EI/(33/140 m L³), Rayleigh's. Shear and rotary inertia lower the first by less than
// 0.2 % at h/L = 1/50.
func TestBeamFrequenciesOfLinks(t *testing.T) {
	const length = 0.3
	for _, n := range []int{1, 8} {
		places := [][2]float64{{0, 0}}
		var specs []models.LinkSpec
		var chains []models.Link
		for i := range n {
			x0, x1 := length*float64(i)/float64(n), length*float64(i+1)/float64(n)
			places = append(places, [2]float64{x1, 0})
			b := testBeam(x0, 0, x1, 0)
			b.Depth = beamHeight // the same in both planes
			specs = append(specs, models.LinkSpec{From: i, To: i + 1})
			chains = append(chains, models.Link{N: 1, Beams: [models.MaxBeams]models.Beam{b}})
		}
		s := linked(false, places, specs, chains)
		d, pose := dynamics(s)
		modes := d.NewModes()
		in, out, v := d.Lists(pose, modes)
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		unit := math.Sqrt(testYoung * beamHeight * beamHeight / 12 / 2810 / (length * length * length * length))
		for k, beta := range []float64{1.875104, 4.694091} {
			if n == 1 && k == 1 {
				break
			}
			tolerance := []float64{0.003, 0.02}[k]
			if n == 1 {
				tolerance = 0.016
			}
			for name, list := range map[string][]float64{"in": in, "out of": out} {
				if got := list[k] / unit / (beta * beta); math.Abs(got-1) > tolerance {
					t.Errorf("%d links, mode %d %s plane: %.5f of the published", n, k+1, name, got)
				}
			}
		}
	}
}

// The tangent of links against differences of their forces, at large turns; K and M of a
// rigid motion: no force, and the metal's mass. Tolerance: steps of 1e-6 leave 1e-7.
func TestLinkTangent(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	chain := models.Link{N: 3, Beams: [models.MaxBeams]models.Beam{testBeam(0, 0, 0.03, 0.01), testBeam(0.03, 0.01, 0.02, 0.09), testBeam(0.02, 0.09, 0.05, 0.1)}}
	for range 10 {
		s := linked(true, [][2]float64{{-0.01, 0.02}, {0.05, 0.11}}, []models.LinkSpec{{From: 0, To: 1}}, []models.Link{chain})
		pose := NewPose(s.Model)
		turn := 3 * rng.NormFloat64()
		sin, cos := math.Sincos(turn)
		q := []float64{0.01, -0.02, turn, 0, 0, turn + 0.01*rng.NormFloat64()}
		rx, ry := 0.06, 0.09
		q[3], q[4] = q[0]+cos*rx-sin*ry-rx+1e-4*rng.NormFloat64(), q[1]+sin*rx+cos*ry-ry+1e-4*rng.NormFloat64()
		at := func(q []float64) []float64 {
			copy(s.q, q)
			s.assemble(pose, 0)
			return append([]float64(nil), s.residual...)
		}
		at(q)
		full := make([]float64, 36)
		s.Model.Pattern.Expand(s.k, full)
		big := 0.0
		for _, v := range full {
			big = max(big, math.Abs(v))
		}
		const h = 1e-6
		for j := range 6 {
			up, down := append([]float64(nil), q...), append([]float64(nil), q...)
			up[j] += h
			down[j] -= h
			a, b := at(up), at(down)
			for i := range 6 {
				if got := (a[i] - b[i]) / (2 * h); math.Abs(got-full[6*i+j]) > 1e-6*big {
					t.Fatalf("entry %d %d: %g, difference %g", i, j, full[6*i+j], got)
				}
			}
		}
		// a rigid motion about the origin
		rigid := func(turn float64) []float64 {
			sin, cos := math.Sincos(turn)
			var q []float64
			for b := range 2 {
				x, y := s.Stage.X[b], s.Stage.Y[b]
				q = append(q, cos*x-sin*y-x, sin*x+cos*y-y, turn)
			}
			return q
		}
		for i, f := range at(rigid(turn)) {
			if math.Abs(f) > 1e-9*big*0.1 {
				t.Errorf("a rigid turn by %g leaves %g in row %d", turn, f, i)
			}
		}
		copy(pose.Q, s.q)
		copy(pose.K, s.k)
		d := NewDynamics(s)
		d.Prepare()
		d.Vertical(pose)
		mass, out, stiff := make([]float64, s.Model.Pattern.Len()), make([]float64, 36), make([]float64, 36)
		s.Mass(pose, mass)
		s.Model.Pattern.Expand(mass, full)
		s.Model.Pattern.Expand(d.mass, out)
		s.Model.Pattern.Expand(d.k, stiff)
		total := s.Stage.Links[0].Mass()
		form := func(a, u []float64) (sum float64) {
			for i := range u {
				for j := range u {
					sum += u[i] * a[6*i+j] * u[j]
				}
			}
			return sum
		}
		for name, got := range map[string]float64{"x": form(full, []float64{1, 0, 0, 1, 0, 0}), "y": form(full, []float64{0, 1, 0, 0, 1, 0}), "z": form(out, []float64{1, 0, 0, 1, 0, 0})} {
			if math.Abs(got/total-1) > 1e-9 {
				t.Errorf("mass along %s %g, want %g", name, got, total)
			}
		}
		x := func(b int) float64 { return s.Stage.X[b] + pose.Q[3*b] }
		y := func(b int) float64 { return s.Stage.Y[b] + pose.Q[3*b+1] }
		for _, u := range [][]float64{{1, 0, 0, 1, 0, 0}, {y(0), 1, 0, y(1), 1, 0}, {-x(0), 0, 1, -x(1), 0, 1}} {
			for i := range 6 {
				sum, size := 0.0, 0.0
				for j := range 6 {
					sum, size = sum+stiff[6*i+j]*u[j], size+math.Abs(stiff[6*i+j]*u[j])
				}
				if math.Abs(sum) > 1e-9*size {
					t.Errorf("out of plane: rigid motion %v leaves %g of %g", u, sum, size)
				}
			}
		}
	}
}

// A link that is another one turned has the constants that its own chain gives it, and its beams go where they do.
func TestLinksAlike(t *testing.T) {
	s, _ := altered(t, nil)
	st, kinds := s.Stage, 0
	for i, l := range s.Model.Topology.Links {
		var own linkConstants
		own.prepare(&st.Links[i], st.X[l.From], st.Y[l.From], st.X[l.To], st.Y[l.To])
		c := &s.links[i]
		if *c == own {
			kinds++
		}
		for _, m := range [][2]*plane3{{&c.in, &own.in}, {&c.out, &own.out}, {&c.inMass[0], &own.inMass[0]}, {&c.inMass[1], &own.inMass[1]}, {&c.inMass[2], &own.inMass[2]},
			{&c.outMass[0], &own.outMass[0]}, {&c.outMass[1], &own.outMass[1]}, {&c.outMass[2], &own.outMass[2]}} {
			for r := range 3 {
				for k := range 3 {
					// rounding, of what the two motions have on the diagonal
					if size := math.Sqrt(math.Abs(m[1][4*r] * m[1][4*k])); math.Abs(m[0][3*r+k]-m[1][3*r+k]) > 1e-11*size+1e-13*math.Abs(m[1][3*r+k]) {
						t.Errorf("link %d: %g at (%d, %d), by itself %g", i, m[0][3*r+k], r, k, m[1][3*r+k])
					}
				}
			}
		}
		for j := range st.Links[i].N {
			b := &st.Links[i].Beams[j]
			length := math.Hypot(b.X1-b.X0, b.Y1-b.Y0)
			if math.Abs(c.cos[j]-(b.X1-b.X0)/length) > 1e-12 || math.Abs(c.sin[j]-(b.Y1-b.Y0)/length) > 1e-12 {
				t.Errorf("link %d: beam %d along (%g, %g)", i, j, c.cos[j], c.sin[j])
			}
		}
	}
	if n := len(st.Links); kinds == n || n == 0 {
		t.Errorf("%d of %d links computed by themselves", kinds, n)
	}
}
