package drive_test

import (
	"math"
	"testing"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/mechanics"
)

// The interpolated force against the equilibrium itself, at positions between the nine
// poses, for a four-arm plate whose blades bend by a twentieth of their length (half
// the travel each): what field.go says of its accuracy, with and without slopes.
func TestFieldAgainstStatics(t *testing.T) {
	layout := models.FourArm()
	material, _ := models.MaterialByName("aluminium 7075-T6")
	design := models.Design{Material: material}
	for _, p := range layout.Parameters() {
		v := math.NaN()
		switch p.Name {
		case "travel":
			v = 5e-3
		case "blade_length":
			v = 50e-3
		case "blade_thickness":
			v = 0.5e-3
		case "blade_width":
			v = 20e-3
		}
		design.Parameters = append(design.Parameters, v)
	}
	stage := models.NewStage(layout.Topology())
	if v := layout.Build(&design, stage); !v.OK() {
		t.Fatal(v.Reason())
	}
	s := mechanics.NewScratch(mechanics.NewModel(layout.Topology()))
	s.Prepare(stage)
	if v := s.Statics(stage.Travel); !v.OK() {
		t.Fatal(v.Reason())
	}
	f := drive.Field{Travel: stage.Travel}
	for i := range s.Poses {
		sign := mechanics.PoseSigns[i]
		n := 3*(int(sign[1])+1) + int(sign[0]) + 1
		p := &s.Poses[i]
		for axis := range 2 {
			f.Force[axis][n] = p.Force[axis]
			f.Slope[axis][n] = [2]float64{p.Drive[2*axis], p.Drive[2*axis+1]}
		}
	}
	plain := f
	f.Prepare()
	pose := mechanics.NewPose(s.Model)
	largest, worst, worstPlain := 0.0, 0.0, 0.0
	for i := -5; i <= 5; i++ {
		for j := -5; j <= 5; j++ {
			x, y := float64(i)/5*stage.Travel, float64(j)/5*stage.Travel
			s.At(pose, x, y)
			if !pose.Verdict.OK() {
				t.Fatal(pose.Verdict.Reason())
			}
			fx, fy := f.At(x, y)
			px, py := plain.At(x, y)
			largest = math.Max(largest, math.Abs(pose.Force[0]))
			worst = math.Max(worst, math.Max(math.Abs(fx-pose.Force[0]), math.Abs(fy-pose.Force[1])))
			worstPlain = math.Max(worstPlain, math.Max(math.Abs(px-pose.Force[0]), math.Abs(py-pose.Force[1])))
		}
	}
	t.Logf("largest force %.2f N, error %.4f %% with slopes, %.3f %% without", largest, 100*worst/largest, 100*worstPlain/largest)
	if worst > 1e-5*largest || worstPlain > 1.5e-3*largest { // twice and one and a half times what field.go says
		t.Errorf("errors %g N and %g N of %g N", worst, worstPlain, largest)
	}
}

// Exact for what it is said to be exact for.
func TestFieldPolynomial(t *testing.T) {
	const travel = 3e-3
	force := func(x, y float64) float64 {
		x, y = x/travel, y/travel
		return (1+x)*(1+x)*(1-x)*(2+x*x)*(1+y-2*y*y) + (x*x-x)*y*y*y*(2-y*y)
	}
	f := drive.Field{Travel: travel}
	const h = 1e-8
	for n := range 9 {
		x, y := travel*float64(n%3-1), travel*float64(n/3-1)
		f.Force[0][n] = force(x, y)
		f.Slope[0][n] = [2]float64{(force(x+h, y) - force(x-h, y)) / (2 * h), (force(x, y+h) - force(x, y-h)) / (2 * h)}
	}
	f.Prepare()
	for x := -travel; x <= travel; x += travel / 7 {
		for y := -travel; y <= travel; y += travel / 7 {
			if got, _ := f.At(x, y); math.Abs(got-force(x, y)) > 1e-7 { // differences of slopes: 1e-16/1e-8 × 3e-3
				t.Errorf("(%g, %g): %g, want %g", x, y, got, force(x, y))
			}
		}
	}
}
