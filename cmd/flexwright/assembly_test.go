package main

import (
	"math"
	"math/rand/v2"
	"testing"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
)

const exportBrief = `
layout: four-arm
material: aluminium 7075-T6
fix: {stage_added_mass: 0.5 kg, stage_added_mass_height: 12 mm, stage_added_mass_offset_x: 3 mm, arm_added_mass: 0.1 kg, arm_added_mass_height: 4 mm, actuator_tangential_offset: 2 mm}
vary:
  travel:          {from: 1 mm, to: 6 mm}
  blade_length:    {from: 30 mm, to: 80 mm}
  blade_thickness: {from: 0.3 mm, to: 0.9 mm}
  blade_width:     {from: 8 mm, to: 30 mm}
actuator: {class: own, motor_constant: 10 N/√W, force_constant: 20 N/A, peak_force: 500 N, stroke: 16 mm, thermal_resistance: 0.1 K/W,
  moving_mass: 0.22 kg, stiffness_along: -0.3 N/mm, stiffness_across: -0.2 N/mm}
goals: {first_frequency: most, travel: most}
`

// What is written as an assembly is what was evaluated, the actuators' mass and
// stiffness included: solved anew it gives the forces and frequencies of 200 random
// designs within 1e-9, at the centre and at a corner.
func TestExportEqualsShow(t *testing.T) {
	brief, problems := configs.Load("brief.yaml", []byte(exportBrief), models.Layouts(), models.Materials())
	if problems != nil {
		t.Fatal(problems)
	}
	rng := rand.New(rand.NewPCG(31, 7))
	space := brief.Space()
	u, x := make([]float64, len(space)), make([]float64, len(space))
	worst, solved := 0.0, 0
	for range 200 {
		for i := range u {
			u[i] = rng.Float64()
		}
		space.Decode(u, x)
		spec := brief.Spec()
		spec.Pin(x)
		d := objective.NewDetail(spec)
		if !d.Row.Status.OK() {
			continue
		}
		solved++
		topology, stage, problems := configs.LoadAssembly("design.json", configs.WriteAssembly(d.Topology, d.Stage))
		if problems != nil {
			t.Fatal(problems)
		}
		s := newSolver(topology, stage, 1, 6, false)
		for _, p := range []int{0, 5} {
			pose := &d.Poses[p]
			got := s.at([2]float64{pose.Pose.X, pose.Pose.Y})
			if got.Status != models.Solved.String() {
				t.Fatalf("%v: %s %s", x, got.Status, got.Reason)
			}
			compare := func(what string, a, b []float64, scale float64) {
				for k := range min(len(a), len(b), 6) {
					off := math.Abs(a[k]-b[k]) / max(math.Abs(b[k]), scale)
					worst = max(worst, off)
					if !(off <= 1e-9) {
						t.Errorf("%v, position %d: %s %d is %v, show has %v", x, p, what, k+1, a[k], b[k])
					}
				}
			}
			// at the centre the forces are nothing but rounding
			compare("force", got.Force, pose.Pose.Force, 1)
			compare("frequency in plane", got.InPlane, pose.InPlane, 0)
			compare("frequency out of plane", got.OutOfPlane, pose.OutOfPlane, 0)
		}
	}
	t.Logf("%d designs solved, largest difference %.1e", solved, worst)
	if solved < 100 {
		t.Errorf("only %d designs solved: the comparison says little", solved)
	}
}
