package mechanics

import (
	"math"
	"testing"

	"flexwright/models"
)

// Shares of compliance against what they mean: metal of one kind that is softer by a part ε
// makes the compliance larger by ε times its share (Castigliano), and all shares make 1. At
// the corner forces of the pose are in the tangent too, which change with the metal.
func TestShares(t *testing.T) {
	layout := models.OnMount(models.FourArm().(models.Elastic).Elastic(), models.Mount{Z: 2e7, XY: 3e6})
	plate := solidPlates["p1"]
	const eps = 1e-4
	soften := map[Member]func(st *models.Stage){
		MemberRoot: func(st *models.Stage) { st.RootStiffness = 1 / (1 + eps) },
		MemberProng: func(st *models.Stage) {
			for i := range st.Links {
				for k := range st.Links[i].N {
					if b := &st.Links[i].Beams[k]; !b.Back {
						b.Young /= 1 + eps
					}
				}
			}
			for i := range st.RootBar {
				st.RootBar[i].Young /= 1 + eps
			}
		},
		MemberBack: func(st *models.Stage) {
			for i := range st.Links {
				for k := range st.Links[i].N {
					if b := &st.Links[i].Beams[k]; b.Back {
						b.Young /= 1 + eps
					}
				}
			}
		},
		MemberGuide: func(st *models.Stage) {
			for i := range st.TipBar {
				st.TipBar[i].Young /= 1 + eps
			}
		},
		MemberMount: func(st *models.Stage) {
			for k := range st.Springs[0] {
				st.Springs[0][k] /= 1 + eps
			}
		},
		MemberBlade: func(st *models.Stage) { // their roots have a modulus of their own
			st.RootStiffness = 1 + eps
			for i := range st.Young {
				st.Young[i] /= 1 + eps
			}
		},
	}
	solve := func(change func(st *models.Stage)) (drive, support [2]Shares) {
		top, st := plate.build(t, layout)
		if change != nil {
			change(st)
		}
		s := NewScratch(NewModel(top))
		s.Prepare(st)
		if v := s.Statics(st.Travel); !v.OK() {
			t.Fatal(v.Reason())
		}
		d := NewDynamics(s)
		d.Prepare()
		for k, pose := range [2]int{0, 5} {
			drive[k] = d.DriveShares(&s.Poses[pose], 0)
			support[k], _ = d.SupportShares(&s.Poses[pose])
		}
		return drive, support
	}
	drive, support := solve(nil)
	for k := range 2 {
		t.Logf("drive %.4f, support %.4f", drive[k].Of, support[k].Of)
	}
	for m, change := range soften {
		softD, softS := solve(change)
		for k, tolerance := range [2]float64{1e-3, 0.02} { // of all; the second order of eps, geometric parts
			if got := (softD[k].Compliance/drive[k].Compliance - 1) / eps; math.Abs(got-drive[k].Of[m]) > tolerance {
				t.Errorf("pose %d, along the drive: %s have %.4f, softened %.4f", k, m, drive[k].Of[m], got)
			}
			if got := (softS[k].Compliance/support[k].Compliance - 1) / eps; math.Abs(got-support[k].Of[m]) > tolerance {
				t.Errorf("pose %d, along z: %s have %.4f, softened %.4f", k, m, support[k].Of[m], got)
			}
		}
	}
}
