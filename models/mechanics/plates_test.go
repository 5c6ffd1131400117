package mechanics

import (
	"bytes"
	"fmt"
	"math"
	"os"
	"slices"
	"testing"

	"flexwright/models"
)

// solidPlate is a whole plate as one elastic solid: quadratic prisms extruded from the
// drawn contour with its fillets, three over the depth, about 1.6 thicknesses along a
// blade; the ring of the frame held, all else elastic, bare; E 71.7 GPa, ν 0.33, 2,810
// kg/m³. A finer mesh lowers frequencies by 0.2 %, kz by 0.3 % and raises motions per
// newton by 0.4 %; the mesh of the blades is itself 0.25 to 0.5 % stiff in modes 1 to 10.
type solidPlate struct {
	values    map[string]float64 // mm; pocketing is a part
	drawn     [2]float64         // lengths between the bodies, of both kinds of guides, mm
	kz        float64            // N/mm
	perNewton [2]float64         // nm at the actuator's point and of the stage
	in, out   []float64          // Hz
}

var solidPlates = map[string]solidPlate{
	"p1": {
		map[string]float64{"travel": 4, "blade_thickness": 0.6, "blade_width": 25, "prong_width": 8, "arm_back_width": 8, "inner_half_spacing": 10, "frame_width": 20, "free_gap": 0.5},
		[2]float64{60.58, 60.58}, 610.89, [2]float64{130592.79, 130509.69},
		[]float64{16.88, 16.88, 90.3, 91.37, 91.39, 91.47, 91.47, 91.58, 93.34, 93.35, 327.5, 450.65, 450.71, 450.71, 655.61, 656.09, 657.88, 657.88},
		[]float64{136.61, 218.84, 218.85, 454.7, 509.66, 592.35},
	},
	"p3": {
		map[string]float64{"travel": 0.6, "blade_thickness": 0.55, "blade_width": 38, "prong_width": 8, "arm_back_width": 8, "inner_half_spacing": 10, "frame_width": 20, "free_gap": 0.5},
		[2]float64{28.531, 28.531}, 8287.99, [2]float64{11142.79, 11118.04},
		[]float64{59.75, 59.75, 290.55, 296.79, 296.95, 297.34, 297.4, 298.04, 304.41, 304.47, 831.64, 1258.75, 1259.07, 1259.07, 1765.69, 1944.45, 1953.5, 1972.77},
		[]float64{531.77, 762.95, 762.98, 1427.08, 1747.08, 2158.99},
	},
	"p5": {
		map[string]float64{"travel": 2, "blade_thickness": 0.45, "blade_width": 12, "prong_width": 5, "arm_back_width": 6, "inner_half_spacing": 8, "frame_width": 20, "free_gap": 0.5},
		[2]float64{45.435, 40.435}, 153.87, [2]float64{229037.79, 228865.75},
		[]float64{25.41, 25.41, 107.01, 108.23, 109.6, 109.6, 129.53, 129.84, 131.68, 131.68, 446.92, 545.1, 545.14, 545.15, 720.28, 720.73, 721.84, 721.84},
		[]float64{138.48, 222.01, 222.01, 444.56, 489.95, 560.84},
	},
}

// build returns the plate with the drawn lengths of the solid, bodies elastic or rigid.
func (p *solidPlate) build(t testing.TB, layout models.Layout) (*models.Topology, *models.Stage) {
	ps := layout.Parameters()
	d := &models.Design{Parameters: make([]float64, len(ps)), Material: &models.Material{Young: 71.7e9, Poisson: 0.33, Density: 2810}}
	for i, q := range ps {
		d.Parameters[i] = math.NaN()
		v, ok := p.values[q.Name]
		switch q.Name {
		case "blade_length":
			v, ok = p.drawn[0], true
		case "ground_blade_length":
			v, ok = p.drawn[1], true
		}
		if ok {
			if q.Name == "blade_length" || q.Name == "ground_blade_length" {
				v -= 2 * models.FilletStiffening(1) * p.values["blade_thickness"]
			}
			d.Parameters[i] = q.Unit.ToSI(v)
		}
	}
	st := models.NewStage(layout.Topology())
	if v := layout.Build(d, st); !v.OK() {
		t.Fatal(v.Reason())
	}
	return layout.Topology(), st
}

// compared are the differences to the solid, ours / solid - 1.
type compared struct {
	in, out           []float64
	kz, behind, stage float64
}

func (p *solidPlate) compare(t testing.TB, layout models.Layout) compared {
	top, st := p.build(t, layout)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	d, pose := dynamics(s)
	if !pose.Verdict.OK() {
		t.Fatal(pose.Verdict.Reason())
	}
	modes := d.NewModes()
	in, out, v := d.Lists(pose, modes)
	if !v.OK() {
		t.Fatal(v.Reason())
	}
	var c compared
	for i, hz := range p.in {
		c.in = append(c.in, in[i]/(2*math.Pi)/hz-1)
	}
	for i, hz := range p.out {
		c.out = append(c.out, out[i]/(2*math.Pi)/hz-1)
	}
	d.Vertical(pose)
	if !d.factorVertical() {
		t.Fatal("unstable")
	}
	at := 3 * s.Model.Node[top.Stage]
	clear(d.column)
	d.column[at] = 1
	s.Model.Pattern.Solve(d.factor, d.column)
	c.kz = 1e-3/d.column[at]/p.kz - 1
	force := make([]float64, s.Model.Unknowns())
	force[3*s.Model.Node[top.Actuators[0].Body]] = 1
	s.Model.Pattern.Solve(pose.Factor, force)
	u, x := force[3*s.Model.Node[top.Actuators[0].Body]]*1e9, force[at]*1e9
	c.behind, c.stage = (u-x)/(p.perNewton[0]-p.perNewton[1])-1, x/p.perNewton[1]-1
	return c
}

// Bodies that bend against whole plates as solids, and rigid ones beside them. The table is kept in
// ELASTIC.md; bounds of the test are what was asked for: 0.6 % in plane 1 to 10 (of which up
// to 0.5 % is the solids' mesh), 4 % in 11 to 14, out of plane 2 % in 1 to 3 and 3 % in 4 to 6,
// 3 % of the stiffness along z, 7 % of what the actuator's point moves against the stage.
func TestElasticPlates(t *testing.T) {
	var w bytes.Buffer
	line := func(format string, a ...any) { fmt.Fprintf(&w, format+"\n", a...) }
	line("# How accurate bodies that bend are")
	line("")
	line("Written by `go test ./models/mechanics -run TestElasticPlates -update`; the test fails when the table differs from what is computed.")
	line("")
	line("Three bare plates `four-arm` against each as one elastic solid: quadratic prisms extruded from the drawn contour, three over the depth, the ring of the")
	line("frame held, 98,000 to 153,000 nodes; a finer mesh lowers frequencies by 0.2 %%, the stiffness along z by 0.3 %%, and raises motions per newton by 0.4 %%; the mesh of the")
	line("blades is 0.25 to 0.5 %% stiff in modes 1 to 10. Same drawn length. ours / solid - 1, %%; of several modes the least and the largest.")
	line("")
	line("| plate (L, t, b, prong, mm) | bodies | in plane 1–10 | 11–14 | out of plane 1–3 | 4–6 | stiffness along z | actuator less stage | stage per newton |")
	line("| --- | --- | --- | --- | --- | --- | --- | --- | --- |")
	for _, name := range []string{"p1", "p3", "p5"} {
		p := solidPlates[name]
		for k, l := range []models.Layout{models.FourArm(), models.FourArm().(models.Elastic).Elastic()} {
			c := p.compare(t, l)
			span := func(v []float64) string {
				return fmt.Sprintf("%+.1f … %+.1f", 100*slices.Min(v), 100*slices.Max(v))
			}
			line("| %.1f × %g × %g, %g | %s | %s | %s | %s | %s | %+.1f | %+.1f | %+.1f |", p.drawn[0], p.values["blade_thickness"], p.values["blade_width"], p.values["prong_width"],
				[]string{"rigid", "elastic"}[k], span(c.in[:10]), span(c.in[10:14]), span(c.out[:3]), span(c.out[3:6]), 100*c.kz, 100*c.behind, 100*c.stage)
			if k == 0 {
				continue
			}
			within := func(what string, limit float64, v ...float64) {
				for _, x := range v {
					if math.Abs(x) > limit {
						t.Errorf("%s: %s off by %+.2f %%", name, what, 100*x)
					}
				}
			}
			within("in plane 1 to 10", 0.006, c.in[:10]...)
			within("in plane 11 to 14", 0.04, c.in[10:14]...)
			within("out of plane 1 to 3", 0.02, c.out[:3]...)
			within("out of plane 4 to 6", 0.03, c.out[3:6]...)
			within("stiffness along z", 0.03, c.kz)
			within("actuator less stage", 0.07, c.behind)
		}
	}
	line("")
	line("Three constants come from solids: the share of a joint that a member reaches into (1/4 of the other's width), the form of a foot's twist, and the compliance of")
	line("roots along the blade, in z and in pitch. All plates have fillets as large as the thickness and no pockets. In the plane 31 unknowns (39 with rigid bodies) have modes of their own, out of it 31.")
	line("Modes 15 to 18, in which prongs swing by themselves, follow and are up to 30 %% high; `body_mode` is 2 to 9 %% below them.")
	const file = "ELASTIC.md"
	if *update {
		if err := os.WriteFile(file, w.Bytes(), 0o666); err != nil {
			t.Fatal(err)
		}
	}
	stored, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(stored, w.Bytes()) {
		t.Errorf("%s differs from what is computed; run with -update and read the difference\n%s", file, w.Bytes())
	}
}

// altered is the elastic plate p1 with a change to topology and stage.
func altered(t testing.TB, change func(top *models.Topology, st *models.Stage)) (*Scratch, *Dynamics) {
	p := solidPlates["p1"]
	top, st := p.build(t, models.FourArm().(models.Elastic).Elastic())
	own := *top
	own.Bodies = slices.Clone(top.Bodies)
	if change != nil {
		change(&own, st)
	}
	s := NewScratch(NewModel(&own))
	d := NewDynamics(s)
	s.Prepare(st)
	d.Prepare()
	return s, d
}

// With members a hundred times stiffer, roots that do not yield and all motions kept, the plate
// is nearly the rigid one: masses, places and inertias of the parts are those of the bodies.
// What bodies that bend change by 60 % (11 to 14) or 10 % (out of the plane) is left to a hundredth;
// masses are the same. (Much stiffer members drown
// the residual in rounding.)
func TestStiffBodiesAreRigid(t *testing.T) {
	s, d := altered(t, func(top *models.Topology, st *models.Stage) {
		for i := range top.Bodies {
			top.Bodies[i].Follows = 0
		}
		for i := range st.Links {
			for k := range st.Links[i].Beams {
				st.Links[i].Beams[k].Young *= 100
			}
		}
		for e := range st.Yields {
			st.Yields[e], st.RootBar[e], st.TipBar[e] = false, models.Bar{}, models.Bar{}
		}
	})
	p := solidPlates["p1"]
	top, st := p.build(t, models.FourArm())
	r := NewScratch(NewModel(top))
	r.Prepare(st)
	rd := NewDynamics(r)
	rd.Prepare()
	for _, at := range [][2]float64{{0, 0}, {0.003, -0.002}} {
		a, b := NewPose(s.Model), NewPose(r.Model)
		s.At(a, at[0], at[1])
		r.At(b, at[0], at[1])
		in, out, v := d.Lists(a, d.NewModes())
		rin, rout, rv := rd.Lists(b, rd.NewModes())
		if !v.OK() || !rv.OK() {
			t.Fatal(v.Reason(), rv.Reason())
		}
		for k := range 14 {
			limit := 1e-3
			if k >= 10 {
				limit = 0.01
			}
			if math.Abs(in[k]/rin[k]-1) > limit {
				t.Errorf("in plane %d: %.4f Hz, rigid %.4f Hz", k+1, in[k]/2/math.Pi, rin[k]/2/math.Pi)
			}
		}
		for k := range 8 {
			if math.Abs(out[k]/rout[k]-1) > 3e-3 {
				t.Errorf("out of plane %d: %.4f Hz, rigid %.4f Hz", k+1, out[k]/2/math.Pi, rout[k]/2/math.Pi)
			}
		}
		for k := range a.Force {
			if math.Abs(a.Force[k]-b.Force[k]) > 2e-4*math.Abs(b.Force[0]) {
				t.Errorf("force %d: %g, rigid %g", k, a.Force[k], b.Force[k])
			}
		}
		q, _ := d.SagOf(a, top.Stage)
		rq, _ := rd.SagOf(b, top.Stage)
		if math.Abs(q[0]/rq[0]-1) > 4e-3 {
			t.Errorf("sag %g, rigid %g", q[0], rq[0])
		}
	}
	elastic, spec := s.Stage, s.Model.Topology
	for i := range top.Bodies {
		if i > 0 { // not the ground
			if whole := elastic.BodyMass(spec, i); math.Abs(whole/st.Mass[i]-1) > 1e-9 {
				t.Errorf("%s: %g kg in parts, %g kg whole", top.Bodies[i].Name, whole, st.Mass[i])
			}
		}
	}
}

// Motions that follow cost little: against all of them kept, at a displaced pose. The modes
// that end bandwidths and the supports' are the same within 0.05 and 0.3 %, arms that swing
// within 3 %.
func TestReductionOfPlates(t *testing.T) {
	s, d := altered(t, nil)
	f, fd := altered(t, func(top *models.Topology, _ *models.Stage) {
		for i := range top.Bodies {
			top.Bodies[i].Follows = 0
		}
	})
	for _, at := range [][2]float64{{0, 0}, {0.004, 0.004}} {
		a, b := NewPose(s.Model), NewPose(f.Model)
		s.At(a, at[0], at[1])
		f.At(b, at[0], at[1])
		in, out, v := d.Lists(a, d.NewModes())
		all, allOut, w := fd.Lists(b, fd.NewModes())
		if !v.OK() || !w.OK() {
			t.Fatal(v.Reason(), w.Reason())
		}
		for k, x := range in[:14] {
			limit := 5e-4
			if k >= 10 {
				limit = 0.03
			}
			// Guyan's modes are never lower
			if e := x/all[k] - 1; e < -1e-9 || e > limit {
				t.Errorf("at %v: in plane %d off by %.3f %%", at, k+1, 100*e)
			}
		}
		for k, x := range out[:6] {
			if e := x/allOut[k] - 1; e < -1e-9 || e > 0.01 {
				t.Errorf("at %v: out of plane %d off by %.3f %%", at, k+1, 100*e)
			}
		}
		// six degrees of freedom at once give the same two lists where nothing is tall
		shapes, v := d.Shapes(a)
		if !v.OK() {
			t.Fatal(v.Reason())
		}
		both := append(append([]float64(nil), in...), out...)
		slices.Sort(both)
		if len(shapes) != len(both) {
			t.Fatalf("%d shapes, %d modes", len(shapes), len(both))
		}
		for k := range 20 {
			if math.Abs(shapes[k].Omega/both[k]-1) > 1e-6 {
				t.Errorf("shape %d: %g, want %g", k, shapes[k].Omega, both[k])
			}
		}
	}
}

// A mass at a height on a plate whose motions follow, against all kept: within 1 % in the
// first modes, which move in the plane and out of it.
func TestHeightsOnElasticPlates(t *testing.T) {
	tall := func(top *models.Topology, st *models.Stage) { st.Mount(top.Stage, 0.5, 0.01, 0, 0.04) }
	s, d := altered(t, tall)
	f, fd := altered(t, func(top *models.Topology, st *models.Stage) {
		tall(top, st)
		for i := range top.Bodies {
			top.Bodies[i].Follows = 0
		}
	})
	a, b := NewPose(s.Model), NewPose(f.Model)
	s.At(a, 0.002, 0)
	f.At(b, 0.002, 0)
	x, y := d.NewModes(), fd.NewModes()
	if v := d.Natural(a, x); !v.OK() {
		t.Fatal(v.Reason())
	}
	if v := fd.Natural(b, y); !v.OK() {
		t.Fatal(v.Reason())
	}
	for k := range 12 {
		if e := x.Omega[k]/y.Omega[k] - 1; math.Abs(e) > 0.01 {
			t.Errorf("mode %d: %.3f Hz, all kept %.3f Hz", k+1, x.Omega[k]/2/math.Pi, y.Omega[k]/2/math.Pi)
		}
		if math.Abs(x.Out[k]-y.Out[k]) > 0.02 {
			t.Errorf("mode %d: share out of the plane %.3f, all kept %.3f", k+1, x.Out[k], y.Out[k])
		}
	}
	for r := range NumRows {
		// what the floor and the actuators do to the stage, of the first two modes
		for k := range 2 {
			u, v := math.Abs(x.Rows[k*NumRows+r]), math.Abs(y.Rows[k*NumRows+r])
			if math.Abs(u-v) > 0.01*(u+v)+1e-3 {
				t.Errorf("mode %d, row %d: %g, all kept %g", k+1, r, u, v)
			}
		}
	}
}

func TestElasticPlatesDoNotAllocate(t *testing.T) {
	s, d := altered(t, nil)
	st := s.Stage
	if n := testing.AllocsPerRun(5, func() {
		s.Prepare(st)
		d.Prepare()
		if v := s.Statics(0.003); !v.OK() {
			t.Fatal(v.Reason())
		}
		if v := d.Frequencies(); !v.OK() {
			t.Fatal(v.Reason())
		}
		if _, _, v := d.Supports(); !v.OK() {
			t.Fatal(v.Reason())
		}
	}); n != 0 {
		t.Errorf("%g allocations", n)
	}
}

// Blades of six segments on bodies that bend: the fine check knows links and bars too.
func TestSubdividedElasticPlate(t *testing.T) {
	s, d := altered(t, nil)
	u := NewSubdivision(s.Model.Topology, 6)
	fs := NewScratch(u.Fine)
	fs.Prepare(u.Fill(s.Stage))
	fd := NewFineDynamics(fs, u, true)
	fd.Prepare()
	for _, at := range [][2]float64{{0, 0}, {0.003, 0.003}} {
		a, b := NewPose(s.Model), NewPose(u.Fine)
		s.At(a, at[0], at[1])
		fs.At(b, at[0], at[1])
		in, out, v := d.Lists(a, d.NewModes())
		fin, fout, w := fd.Lists(b, fd.NewModes())
		if !v.OK() || !w.OK() {
			t.Fatal(v.Reason(), w.Reason())
		}
		for k := range 14 {
			if math.Abs(in[k]/fin[k]-1) > 0.006 {
				t.Errorf("at %v: in plane %d: %g, fine %g", at, k+1, in[k], fin[k])
			}
		}
		for k := range 6 {
			if math.Abs(out[k]/fout[k]-1) > 0.006 {
				t.Errorf("at %v: out of plane %d: %g, fine %g", at, k+1, out[k], fout[k])
			}
		}
	}
}

func benchmarkPlate(b *testing.B, elastic bool, f func(s *Scratch, d *Dynamics, st *models.Stage)) {
	l := models.FourArm()
	if elastic {
		l = l.(models.Elastic).Elastic()
	}
	p := solidPlates["p1"]
	top, st := p.build(b, l)
	s := NewScratch(NewModel(top))
	d := NewDynamics(s)
	s.Prepare(st)
	d.Prepare()
	s.Statics(3e-3)
	b.ReportAllocs()
	for b.Loop() {
		f(s, d, st)
	}
}

func BenchmarkBodies(b *testing.B) {
	for _, elastic := range []bool{false, true} {
		name := map[bool]string{false: "rigid", true: "elastic"}[elastic]
		b.Run("prepare/"+name, func(b *testing.B) {
			benchmarkPlate(b, elastic, func(s *Scratch, d *Dynamics, st *models.Stage) { s.Prepare(st); d.Prepare() })
		})
		b.Run("statics/"+name, func(b *testing.B) {
			benchmarkPlate(b, elastic, func(s *Scratch, d *Dynamics, st *models.Stage) { s.Statics(3e-3) })
		})
		b.Run("frequencies/"+name, func(b *testing.B) {
			benchmarkPlate(b, elastic, func(s *Scratch, d *Dynamics, st *models.Stage) { d.Frequencies() })
		})
		b.Run("supports/"+name, func(b *testing.B) {
			benchmarkPlate(b, elastic, func(s *Scratch, d *Dynamics, st *models.Stage) { d.Supports() })
		})
	}
}
