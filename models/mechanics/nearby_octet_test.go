package mechanics

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/models"
)

// Stages near a nominal one are estimated at all poses side by side as at one after the other: blades a little off in thickness, length and
// angle, some standing on edge, bodies rigid and bending. Rounding of the axial direction, (L/t)² = 1e4 times that of numbers, is left.
func TestNearbySideBySide(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 14))
	for _, layout := range []models.Layout{models.FourArm(), models.FourArm().(models.Elastic).Elastic()} {
		topology := layout.Topology()
		st, other := models.NewStage(topology), models.NewStage(topology)
		design := models.Design{Material: &models.Materials()[0]}
		given := map[string]float64{"travel": 3, "blade_length": 60, "blade_thickness": 0.5, "blade_width": 20}
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
		m := NewModel(topology)
		nominal := NewScratch(m)
		d := NewDynamics(nominal)
		near := NewNearby(d)
		nominal.Prepare(st)
		if v := nominal.Statics(st.Travel); !v.OK() {
			t.Fatal(v.Reason())
		}
		near.TakeStatics()
		own, plain := NewScratch(m), NewScratch(NewModel(topology))
		plain.octet = nil
		worst := 0.0
		for range 30 {
			other.CopyFrom(st)
			for e := range other.Thickness {
				other.Thickness[e] *= 1 + 0.02*rng.NormFloat64()
				other.TipX[e] += 1e-5 * rng.NormFloat64()
				other.TipY[e] += 1e-5 * rng.NormFloat64()
			}
			other.Loads = AddWeight(m, other, Upright(rng.IntN(2)), nil)
			own.Prepare(other)
			plain.Prepare(other)
			got, want := near.Statics(own, st.Travel), near.Statics(plain, st.Travel)
			if got != want || !got.OK() {
				t.Fatalf("%s, one by one %s", got.Reason(), want.Reason())
			}
			if own.octet.lanes(own.octet.move)[3] == 0 {
				t.Fatal("not side by side")
			}
			for i := range own.Poses {
				a, b := &own.Poses[i], &plain.Poses[i]
				for _, c := range []struct {
					name      string
					got, want []float64
				}{
					{"force", a.Force, b.Force}, {"displacement", a.Q, b.Q}, {"axial force", a.Axial, b.Axial}, {"axial", a.P, b.P}, {"axial at the root", a.RootP, b.RootP},
					{"moment", a.RootM, b.RootM}, {"deflection", a.W, b.W}, {"rotation", a.Phi, b.Phi},
					{"stiffness", lower(m, a.K), lower(m, b.K)}, {"drive", a.Drive[:], b.Drive[:]},
				} {
					largest := 0.0
					for _, v := range c.want {
						largest = max(largest, math.Abs(v))
					}
					for k, v := range c.want {
						off := math.Abs(c.got[k]-v) / largest
						if v == c.got[k] {
							continue
						}
						if worst = max(worst, off); !(off <= 1e-10) {
							t.Fatalf("pose %d: %s %d: %g, one by one %g", i, c.name, k, c.got[k], v)
						}
					}
				}
			}
		}
		t.Logf("%s: largest difference %.2g", layout.Name(), worst)
	}
}
