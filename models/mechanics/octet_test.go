package mechanics

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"flexwright/models"
	"flexwright/models/blade"
)

// Poses iterated side by side are those found one after the other, or have its verdict: random stages, most with blades that are asked for more
// than they can do, lying and standing, bodies rigid and bending.
func TestSideBySideIsOneByOne(t *testing.T) {
	rng := rand.New(rand.NewPCG(31, 4))
	for _, layout := range []models.Layout{models.FourArm(), models.FourArm().(models.Elastic).Elastic()} {
		topology := layout.Topology()
		m := NewModel(topology)
		st := models.NewStage(topology)
		own, plain := NewScratch(m), NewScratch(m)
		settled, solved, failed, worst := 0, 0, map[models.Status]int{}, 0.0
		for range 400 {
			design := models.Design{Material: &models.Materials()[rng.IntN(len(models.Materials()))]}
			given := map[string][2]float64{"travel": {0.5, 8}, "blade_length": {20, 90}, "blade_thickness": {0.2, 1.2}, "blade_width": {5, 40}}
			for _, p := range layout.Parameters() {
				v := p.Default
				if r, ok := given[p.Name]; ok {
					v = r[0] + (r[1]-r[0])*rng.Float64()
				}
				design.Parameters = append(design.Parameters, p.Unit.ToSI(v))
			}
			if !layout.Build(&design, st).OK() {
				continue
			}
			for k := range st.ActX {
				st.ActX[k] += 0.01 * rng.NormFloat64()
				st.ActY[k] += 0.01 * rng.NormFloat64()
			}
			st.Loads = AddWeight(m, st, Upright(rng.IntN(3)), nil)
			own.Prepare(st)
			plain.Prepare(st)
			plain.octet = nil
			got, want := own.Statics(st.Travel), plain.Statics(st.Travel)
			if got.Status != want.Status || got.Index != want.Index || got.Reason() != want.Reason() {
				t.Errorf("%s, one by one %s", got.Reason(), want.Reason())
				continue
			}
			if own.Poses[0].Verdict.OK() && own.octet.solve(own, st.Travel) {
				settled++
				spread := slices.Clone(own.Poses)
				for i := range spread {
					p := &spread[i]
					p.P, p.W, p.K, p.TipM, p.link = slices.Clone(p.P), slices.Clone(p.W), slices.Clone(p.K), slices.Clone(p.TipM), slices.Clone(p.link)
				}
				own.octet.spreadPlain(own)
				for i := 1; i < len(spread); i++ {
					p, q := &spread[i], &own.Poses[i]
					if !slices.Equal(p.P, q.P) || !slices.Equal(p.W, q.W) || !slices.Equal(lower(m, p.K), lower(m, q.K)) || !slices.Equal(p.TipM, q.TipM) || !slices.Equal(p.link, q.link) {
						t.Fatalf("pose %d copied otherwise in plain Go", i)
					}
				}
			}
			if !want.OK() {
				failed[want.Status]++
				continue
			}
			solved++
			for i := range own.Poses {
				a, b := &own.Poses[i], &plain.Poses[i]
				if a.X != b.X || a.Y != b.Y {
					t.Fatalf("pose %d at another place", i)
				}
				for _, c := range []struct {
					name      string
					got, want []float64
				}{
					{"force", a.Force, b.Force}, {"displacement", a.Q, b.Q}, {"axial force", a.Axial, b.Axial}, {"axial", a.P, b.P}, {"axial at the root", a.RootP, b.RootP},
					{"moment", a.RootM, b.RootM}, {"moment at the tip", a.TipM, b.TipM}, {"deflection", a.W, b.W}, {"rotation", a.Phi, b.Phi},
					{"stiffness", a.K, b.K}, {"factor", lower(m, a.Factor), lower(m, b.Factor)}, {"drive", a.Drive[:], b.Drive[:]},
				} {
					largest := 0.0
					for _, v := range c.want {
						largest = max(largest, math.Abs(v))
					}
					for k, v := range c.want {
						d := math.Abs(c.got[k]-v) / largest
						if v != c.got[k] {
							worst = max(worst, d)
						}
						if !(d <= 1e-9) && v != c.got[k] {
							t.Fatalf("pose %d: %s %d: %g, one by one %g", i, c.name, k, c.got[k], v)
						}
					}
				}
			}
		}
		t.Logf("%s: %d solved, failed %v, %d settled side by side, largest difference %.2g", layout.Name(), solved, failed, settled, worst)
		if solved < 50 || settled < solved {
			t.Errorf("%d solved, %d settled side by side", solved, settled)
		}
	}
}

// lower is a matrix over the pattern without what is above the diagonal of its diagonal blocks.
func lower(m *Model, a []float64) (list []float64) {
	for e, v := range a {
		if e >= 9*len(m.Body) || e%9%4 == 0 || e%9 == 3 || e%9 > 5 {
			list = append(list, v)
		}
	}
	return list
}

// A blade that is like one before it is prepared as it would be alone, and one that differs in any of its sizes is like none.
func TestLikeBlades(t *testing.T) {
	layout := models.FourArm().(models.Elastic).Elastic()
	m := NewModel(layout.Topology())
	st := models.NewStage(layout.Topology())
	design := models.Design{Material: &models.Materials()[0]}
	given := map[string]float64{"travel": 4, "blade_length": 60, "blade_thickness": 0.6, "blade_width": 20}
	for _, p := range layout.Parameters() {
		v, ok := given[p.Name]
		if !ok {
			v = p.Default
		}
		design.Parameters = append(design.Parameters, p.Unit.ToSI(v))
	}
	if v := layout.Build(&design, st); !v.OK() {
		t.Fatal(v.Reason())
	}
	const e = 20
	s := NewScratch(m)
	for i, change := range []func(){
		func() {}, func() { st.Thickness[e] *= 1.01 }, func() { st.Width[e] *= 1.01 }, func() { st.Young[e] *= 1.01 }, func() { st.Poisson[e] *= 1.01 },
		func() { st.Density[e] *= 1.01 }, func() { st.Fillet[e] *= 1.01 }, func() { st.BendingFactor[e] = 1.01 }, func() { st.StretchFactor[e] = 1.01 },
		func() { st.Yields[e] = !st.Yields[e] }, func() { st.RootBar[e].Height += 1e-3 }, func() { st.TipBar[e].Length += 1e-3 },
		func() { st.TipX[e] += 1e-4; st.TipY[e] += 1e-4 },
	} {
		was := models.NewStage(layout.Topology())
		was.CopyFrom(st)
		change()
		s.Prepare(st)
		if alone := s.Like(e) == e; alone != (i > 0) {
			t.Errorf("change %d: blade %d is like %d", i, e, s.Like(e))
		}
		for k := range s.Section {
			dx, dy := st.TipX[k]-st.RootX[k], st.TipY[k]-st.RootY[k]
			want := blade.NewSection(math.Sqrt(dx*dx+dy*dy), st.Thickness[k], st.Width[k], st.Young[k], st.Poisson[k], st.BendingFactor[k], st.StretchFactor[k])
			root, tip := bladeEnds(st, k, k)
			want.Soften(root.axial + tip.axial)
			if s.Section[k] != want {
				t.Fatalf("change %d: blade %d is not what it is alone", i, k)
			}
		}
		st.CopyFrom(was)
	}
}
