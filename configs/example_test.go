package configs_test

import (
	"fmt"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
)

// A brief becomes a spec, and a point of its space a row with every measure.
func ExampleLoad() {
	const text = `
layout: four-arm
material: aluminium 7075-T6
fix: {travel: 2 mm, blade_thickness: 0.5 mm, blade_width: 20 mm}
vary: {blade_length: {from: 40 mm, to: 80 mm}}
goals: {first_frequency: most}
limits: {peak_stress: {at_most: 160 MPa}}
`
	brief, problems := configs.Load("stage.yaml", []byte(text), models.Layouts(), models.Materials())
	if len(problems) > 0 {
		fmt.Println(problems)
		return
	}
	spec := brief.Spec()
	evaluation := objective.NewEvaluation(spec)
	var row objective.Row
	var stress [2]float64
	for i, length := range []float64{45, 60} {
		evaluation.Evaluate([]float64{length})
		evaluation.Fill(&row)
		stress[i], _ = row.Measures.Get(objective.PeakStress)
		fmt.Printf("blades of %g mm: %s, feasible %v\n", length, row.Status, row.Feasible)
	}
	fmt.Println("longer blades are bent less:", stress[1] < stress[0])
	// Output:
	// blades of 45 mm: solved, feasible true
	// blades of 60 mm: solved, feasible true
	// longer blades are bent less: true
}
