package mechanics

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"flexwright/models"
)

// readReference builds the reference stage from testdata/reference/four_arm.json
// (its provenance: the README beside it).
func readReference(t testing.TB) (*models.Topology, *models.Stage) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/four_arm.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct {
		Bodies []struct {
			Name     string
			Position []float64 `json:"position_m"`
			Mass     float64   `json:"mass_kg"`
			Inertia  []float64 `json:"inertia_kg_m2"`
			Fixed    bool
		}
		Blades []struct {
			From, To  string
			Root      [2]float64 `json:"root_m"`
			Tip       [2]float64 `json:"tip_m"`
			Thickness float64    `json:"thickness_m"`
			Width     float64    `json:"width_m"`
			Young     float64    `json:"youngs_modulus_pa"`
			Poisson   float64    `json:"poisson_ratio"`
			Density   float64    `json:"density_kg_m3"`
			Factor    float64    `json:"bending_factor"`
		}
		Stage     string
		Actuators []struct{ Body, Axis string }
	}
	if err := json.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	top := &models.Topology{}
	number := map[string]int{}
	for i, b := range f.Bodies {
		number[b.Name] = i
		var held models.Held
		if b.Fixed {
			held = models.HeldAll
		}
		top.Bodies = append(top.Bodies, models.BodySpec{Name: b.Name, Held: held})
	}
	for _, b := range f.Blades {
		top.Blades = append(top.Blades, models.BladeSpec{From: number[b.From], To: number[b.To]})
	}
	for _, a := range f.Actuators {
		axis := models.AxisX
		if a.Axis == "y" {
			axis = models.AxisY
		}
		top.Actuators = append(top.Actuators, models.ActuatorSpec{Body: number[a.Body], Axis: axis})
		top.Driven = append(top.Driven, number[a.Body])
	}
	top.Stage = number[f.Stage]
	st := models.NewStage(top)
	for i, b := range f.Bodies {
		st.X[i], st.Y[i] = b.Position[0], b.Position[1]
		if !b.Fixed {
			st.Mass[i], st.Ix[i], st.Iy[i], st.Iz[i] = b.Mass, b.Inertia[0], b.Inertia[1], b.Inertia[2]
		}
	}
	for i, b := range f.Blades {
		st.RootX[i], st.RootY[i], st.TipX[i], st.TipY[i] = b.Root[0], b.Root[1], b.Tip[0], b.Tip[1]
		st.Thickness[i], st.Width[i], st.Young[i], st.Poisson[i] = b.Thickness, b.Width, b.Young, b.Poisson
		st.Density[i], st.BendingFactor[i] = b.Density, b.Factor
	}
	for k, a := range top.Actuators {
		st.ActX[k], st.ActY[k] = st.X[a.Body], st.Y[a.Body]
	}
	return top, st
}

type expected struct {
	X         float64               `json:"x_m"`
	Y         float64               `json:"y_m"`
	Force     [2]float64            `json:"force_n"`
	Bodies    map[string][3]float64 `json:"bodies"`
	InPlaneHz []float64             `json:"in_plane_hz"`
}

func readExpected(t testing.TB) []expected {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/four_arm_expected.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct{ Positions []expected }
	if err := json.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	return f.Positions
}

// The reference stage at its six positions, against eight geometrically
// nonlinear segments per blade. Tolerances are the goals that the README beside
// the data states for one chord-frame element per blade.
func TestReferenceStatics(t *testing.T) {
	top, st := readReference(t)
	s := NewScratch(NewModel(top))
	s.Prepare(st)
	pose := NewPose(s.Model)
	for _, want := range readExpected(t) {
		s.At(pose, want.X, want.Y)
		if !pose.Verdict.OK() {
			t.Fatalf("(%g, %g): %s", want.X, want.Y, pose.Verdict.Reason())
		}
		check := func(what string, got, want, relative, absolute float64) {
			d := math.Abs(got - want)
			state := "ok"
			if d > relative*math.Abs(want) && d > absolute {
				t.Errorf("%s = %.9g, want %.9g", what, got, want)
				state = "FAIL"
			}
			t.Logf("(%g, %g) %-24s %14.7g %14.7g  off %9.2g  %8.4f %%  %s", pose.X, pose.Y, what, got, want, got-want, 100*d/math.Abs(want), state)
		}
		target := [2]float64{want.X, want.Y}
		for k := range 2 {
			if target[k] != 0 {
				check("force", pose.Force[k], want.Force[k], 0.0005, 0)
			} else {
				check("idle force", pose.Force[k], want.Force[k], 0, 1e-5)
			}
		}
		for b, body := range top.Bodies {
			w := want.Bodies[body.Name]
			q := pose.Q[3*b : 3*b+3]
			for axis := range 2 {
				check(body.Name+" "+models.Axis(axis).String(), q[axis], w[axis], 0.0005, 0.02e-6)
			}
			if b == top.Stage {
				check("stage yaw", q[2], w[2], 0, 0.2e-6)
			} else {
				check(body.Name+" yaw", q[2], w[2], 0.01, 1e-6)
			}
		}
		for k, a := range top.Actuators {
			w := want.Bodies[top.Bodies[a.Body].Name]
			q := pose.Q[3*a.Body : 3*a.Body+3]
			if target[k] != 0 {
				check("lost motion", q[k]-target[k], w[k]-target[k], 0.001, 0)
			}
			check("cross motion", q[1-k], w[1-k], 0, 0.02e-6)
		}
		t.Logf("steps %d", pose.Steps)
	}
}
