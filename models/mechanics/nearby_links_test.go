package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

// Links that are scaled from those of a stage beside are those that are computed anew.
func TestLinksBeside(t *testing.T) {
	layout, ok := models.LayoutByName("four-arm")
	if !ok {
		t.Fatal("no layout")
	}
	layout = layout.(models.Elastic).Elastic()
	topology := layout.Topology()
	st, other := models.NewStage(topology), models.NewStage(topology)
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
	other.CopyFrom(st)
	for i := range other.Links {
		for k := range other.Links[i].N {
			b := &other.Links[i].Beams[k]
			b.Depth, b.Young, b.Density = b.Depth+50e-6, 1.02*b.Young, 0.99*b.Density
		}
	}
	for i := range topology.Bodies {
		other.AddMass(i, 0.03, st.X[i]+0.01, st.Y[i]-0.02, 0)
	}
	nominal := NewScratch(NewModel(topology))
	nominal.Prepare(st)
	beside, anew := NewScratch(nominal.Model), NewScratch(nominal.Model)
	beside.Beside(&Nearby{of: nominal})
	beside.Prepare(other)
	anew.Prepare(other)
	if len(anew.links) == 0 || beside.links[0].out != (plane3{}) {
		t.Fatal("nothing was scaled")
	}
	for i := range anew.links {
		got, want := &beside.links[i], &anew.links[i]
		compare := func(what string, got, want *plane3) {
			most := 0.0
			for _, v := range want {
				most = max(most, math.Abs(v))
			}
			for k, v := range want {
				if math.Abs(got[k]-v) > 1e-10*most {
					t.Errorf("link %d, %s %d: %g, anew %g", i, what, k, got[k], v)
				}
			}
		}
		compare("stiffness", &got.in, &want.in)
		for k := range got.inMass {
			compare("mass", &got.inMass[k], &want.inMass[k])
		}
	}
}
