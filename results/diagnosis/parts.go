package diagnosis

import (
	"fmt"
	"strings"

	"flexwright/objective"
)

// Parts says in a sentence at which limits the parts of a design fail that do not conform;
// empty where all do, or no share of them was asked for.
func Parts(d *objective.Detail) string {
	if len(d.PartFails) == 0 {
		return ""
	}
	var why []string
	fail := 0
	for _, r := range d.PartFails {
		why = append(why, fmt.Sprintf("%s (%d)", r.Text, r.Parts))
		fail += r.Parts
	}
	verb := "do"
	if fail == 1 {
		verb = "does"
	}
	return fmt.Sprintf("%d of its parts %s not conform, each counted where it fails first, in the order of the measures: %s.", fail, verb, strings.Join(why, ", "))
}

// PartsFailMost is where parts of a stored row fail most: at a measure, or by a status;
// empty where all conform, or that cannot be told.
func PartsFailMost(spec *objective.Spec, row *objective.Row) (name string) {
	defer func() {
		if recover() != nil { // a run makes it a row of status failed
			name = ""
		}
	}()
	own, tolerances := *spec, objective.DefaultTolerances()
	if spec.Tolerances != nil {
		*tolerances = *spec.Tolerances
	}
	tolerances.Always = true
	own.NoScreening, own.Tolerances = true, tolerances
	x := make([]float64, len(own.Variables))
	if !own.Point(row, x) {
		return ""
	}
	e := objective.NewEvaluation(&own)
	e.Evaluate(x)
	if fails := e.PartFails(); len(fails) > 0 {
		return fails[0].Text
	}
	return ""
}
