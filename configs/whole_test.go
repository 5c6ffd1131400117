package configs_test

import (
	"os"
	"slices"
	"testing"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
)

// Six designs of the front of range_against_bandwidth, from one end to the other: travel, blade length,
// thickness and width, mm; pockets; mass on the arms, kg.
var frontDesigns = [][]float64{
	{6.1, 100, 0.65, 34.4, 0.349, 0.085},
	{5.17, 100, 0.944, 40, 0.35, 0.05},
	{4.08, 100, 1.185, 33.7, 0.35, 0.05},
	{2.64, 75.1, 1.027, 33.3, 0.35, 0.053},
	{1.67, 59.8, 0.914, 37.5, 0.349, 0.055},
	{0.80, 30.6, 0.600, 36.5, 0.347, 0.050},
}

// BenchmarkWhole times candidates of the example with all its measures, up to a step and as a whole: with
// rigid bodies and a controller of fixed shape, and as a silent brief has it.
func BenchmarkWhole(b *testing.B) {
	text, err := os.ReadFile("examples/range_against_bandwidth.yaml")
	if err != nil {
		b.Fatal(err)
	}
	for _, kind := range []struct{ name, more string }{
		{"rigid-fixed", "bodies: rigid\nloop: {tune: off}\n"},
		{"elastic-fixed", "loop: {tune: off}\n"},
		{"elastic-tuned", ""},
	} {
		for _, step := range []struct {
			name string
			last objective.Step
		}{
			{"statics", objective.StepStatics}, {"modes", objective.StepModes}, {"whole", objective.NumSteps},
		} {
			b.Run(kind.name+"/"+step.name, func(b *testing.B) {
				brief, problems := configs.Load("brief.yaml", []byte(string(text)+kind.more), models.Layouts(), models.Materials())
				if len(problems) > 0 {
					b.Fatal(problems)
				}
				spec := brief.Spec()
				spec.NoScreening = true
				spec.Measures = slices.DeleteFunc(spec.Measures, func(m objective.Measure) bool {
					info := &objective.Table[m]
					return info.Step > step.last || info.Needs&objective.NeedsLoop != 0 && step.last < objective.StepLoop
				})
				e := objective.NewEvaluation(spec)
				for _, x := range frontDesigns {
					if e.Evaluate(x); !e.Verdict.OK() {
						b.Fatal(e.Verdict.Reason())
					}
				}
				b.ReportAllocs()
				n := 0
				for b.Loop() {
					e.Evaluate(frontDesigns[n%len(frontDesigns)])
					n++
				}
			})
		}
	}
}
