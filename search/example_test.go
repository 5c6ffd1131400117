package search_test

import (
	"context"
	"fmt"

	"flexwright/search"
)

// Two goals, x and 1/x over a range, with a constraint: x of at least 0.5.
func ExampleNewEvolve() {
	space := search.Space{{Name: "x", From: 0.1, To: 10}}
	plan, err := search.NewEvolve(space, 1, search.EvolveOptions{Population: 20, Generations: 10})
	if err != nil {
		fmt.Println(err)
		return
	}
	archive := search.NewArchive[float64](2)
	answer := func(_ context.Context, p *search.Proposals) ([]search.Outcome, error) {
		out := make([]search.Outcome, len(p.Points))
		for i, point := range p.Points {
			x := point[0]
			out[i].Objectives = []float64{x, 1 / x}
			out[i].Violation = max(0, 0.5-x)
			if out[i].Violation == 0 {
				archive.Add(out[i].Objectives, x)
			}
		}
		return out, nil
	}
	ended, err := plan.Run(context.Background(), answer)
	fmt.Println(ended, err)
	least := 10.0
	for _, x := range archive.Items() {
		least = min(least, x)
	}
	fmt.Println("nothing below the constraint:", least >= 0.5, "- but near it:", least < 0.6)
	// Output:
	// plan <nil>
	// nothing below the constraint: true - but near it: true
}
