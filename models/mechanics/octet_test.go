package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
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
