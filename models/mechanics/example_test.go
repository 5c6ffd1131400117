package mechanics_test

import (
	"fmt"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// A body on two parallel blades, 50 mm long, pushed 1 mm across them: the force is
// nearly 2 · 12 E I / L³, I = b t³/12.
func ExampleScratch_At() {
	topology := &models.Topology{
		Bodies:    []models.BodySpec{{Name: "ground", Held: models.HeldAll}, {Name: "stage"}},
		Blades:    []models.BladeSpec{{From: 0, To: 1}, {From: 0, To: 1}},
		Stage:     1,
		Actuators: []models.ActuatorSpec{{Body: 1, Axis: models.AxisX}},
	}
	stage := models.NewStage(topology) // all that is not set here is NaN
	stage.X[0], stage.Y[0] = 0, 0
	stage.X[1], stage.Y[1], stage.Mass[1], stage.Ix[1], stage.Iy[1], stage.Iz[1] = 0, 0.05, 0.5, 1e-4, 1e-4, 1e-4
	stage.ActX[0], stage.ActY[0] = 0, 0.05
	for i, x := range []float64{-0.02, 0.02} {
		stage.RootX[i], stage.RootY[i], stage.TipX[i], stage.TipY[i] = x, 0, x, 0.05
		stage.Thickness[i], stage.Width[i] = 0.5e-3, 10e-3
		stage.Young[i], stage.Poisson[i], stage.Density[i] = 70e9, 0.33, 2700
		stage.BendingFactor[i] = 1 // a narrow blade
	}
	scratch := mechanics.NewScratch(mechanics.NewModel(topology))
	scratch.Prepare(stage)
	pose := mechanics.NewPose(scratch.Model)
	scratch.At(pose, 1e-3, 0)
	fmt.Println(pose.Verdict.Status)
	fmt.Printf("%.2f N; 24 E I / L³ x 1 mm is %.2f N\n", pose.Force[0], 24*70e9*(10e-3*0.125e-9/12)/(0.05*0.05*0.05)*1e-3)
	// Output:
	// solved
	// 1.40 N; 24 E I / L³ x 1 mm is 1.40 N
}
