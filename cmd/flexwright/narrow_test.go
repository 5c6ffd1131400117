package main

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"flexwright/objective"
	"flexwright/search"
)

// Briefs of which one design in a thousand and in ten thousand is feasible:
// search/README.md says how that was measured, and of how many seeds a feasible
// design is found within 4,800. Here one seed of each is tried.
func TestNarrowBriefs(t *testing.T) {
	found := errors.New("found")
	for _, name := range []string{"narrow.yaml", "narrower.yaml"} {
		data, err := os.ReadFile(filepath.Join("..", "..", "testdata", "search", name))
		if err != nil {
			t.Fatal(err)
		}
		brief, problems := loadBrief(name, data)
		if len(problems) > 0 {
			t.Fatal(problems)
		}
		spec, plan := brief.Spec(), brief.Plan()
		evaluation := objective.NewEvaluation(spec)
		plan.Seed = 1
		evolve, err := plan.New(brief.Space(), search.Shard{})
		if err != nil {
			t.Fatal(err)
		}
		if n := evolve.Designs(); n != 4800 {
			t.Fatalf("%s: %d designs", name, n)
		}
		designs := 0
		_, err = evolve.Run(context.Background(), func(_ context.Context, p *search.Proposals) ([]search.Outcome, error) {
			out := make([]search.Outcome, len(p.Points))
			for i, x := range p.Points {
				row := objective.Row{Parameters: make([]float64, len(spec.Parameters()))}
				spec.Propose(x, &row)
				evaluation.Evaluate(x)
				evaluation.Fill(&row)
				out[i].Objectives = make([]float64, len(spec.Goals))
				spec.Outcome(&row, &out[i])
				if designs++; out[i].Feasible() {
					return nil, found
				}
			}
			return out, nil
		})
		if err != found {
			t.Errorf("%s, seed %d: %v, no feasible design in %d", name, plan.Seed, err, designs)
		}
	}
}
