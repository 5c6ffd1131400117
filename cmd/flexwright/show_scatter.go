package main

import (
	"fmt"

	"flexwright/objective"
)

// scatterJSON is the effect of the blades' thickness errors as show prints it.
type scatterJSON struct {
	Sigma    float64                   `json:"thickness_sigma_m"`
	Samples  int                       `json:"samples"`
	Seed     uint64                    `json:"seed"`
	Unsolved int                       `json:"unsolved"`
	Measures map[string]scatterMeasure `json:"measures"`
}

type scatterMeasure struct {
	Mean float64 `json:"mean"`
	Tail float64 `json:"p95"` // 95 % of the samples are no worse
}

func newScatterJSON(t *objective.Tolerance) *scatterJSON {
	j := &scatterJSON{t.Sigma, t.Samples, t.Seed, t.Unsolved, map[string]scatterMeasure{}}
	for m, s := range t.Scatter {
		if s.Computed {
			j.Measures[objective.Table[m].Column()] = scatterMeasure{s.Mean, s.Tail}
		}
	}
	return j
}

func printScatter(s streams, row *objective.Row, t *objective.Tolerance) error {
	fmt.Fprintf(s.out, "%s, every blade's thickness off by a normal error of %s µm; %d not solved\n",
		counted(t.Samples, "sample"), significant(t.Sigma*1e6), t.Unsolved)
	table := newPageTable("measure", "nominal", "mean", "95 % no worse than", "unit")
	for m, scatter := range t.Scatter {
		if !scatter.Computed {
			continue
		}
		nominal, _ := row.Measures.Get(objective.Measure(m))
		info := &objective.Table[m]
		table.row(info.Name, significant(nominal), significant(scatter.Mean), significant(scatter.Tail), info.Unit.Symbol)
	}
	return table.write(s.out)
}
