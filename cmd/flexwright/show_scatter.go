package main

import (
	"fmt"
	"math"
	"strings"

	"flexwright/objective"
)

// scatterJSON is what the tolerances do to a design as show prints it.
type scatterJSON struct {
	Tolerances map[string]float64        `json:"tolerances"` // standard deviations, SI; those that are not 0
	Share      float64                   `json:"share"`
	Samples    int                       `json:"samples"`
	Seed       uint64                    `json:"seed"`
	Unsolved   int                       `json:"unsolved"`
	Conforming float64                   `json:"conforming_parts"`
	Interval   [2]float64                `json:"conforming_parts_interval"`
	Reasons    []failJSON                `json:"reasons"`
	Measures   map[string]scatterMeasure `json:"measures"`
}

type failJSON struct {
	Reason string `json:"reason"`
	Parts  int    `json:"parts"`
}

// scatterMeasure is a measure of parts; null where there is no such number.
type scatterMeasure struct {
	Nominal  *float64    `json:"nominal"`
	Mean     *float64    `json:"mean"`
	Tail     *float64    `json:"tail"`
	Interval [2]*float64 `json:"tail_interval"`
}

func failsJSON(reasons []objective.FailReason) []failJSON {
	list := []failJSON{}
	for _, r := range reasons {
		list = append(list, failJSON{r.Text, r.Parts})
	}
	return list
}

func newScatterJSON(s *objective.Scatter) *scatterJSON {
	j := &scatterJSON{Tolerances: map[string]float64{}, Share: s.Spec.Share, Samples: s.Spec.Samples, Seed: s.Spec.Seed, Unsolved: s.Unsolved,
		Conforming: float64(s.Conforming) / float64(s.Spec.Samples), Interval: [2]float64{s.Low, s.High}, Reasons: failsJSON(s.Reasons), Measures: map[string]scatterMeasure{}}
	for k, sigma := range s.Spec.Sigma {
		if sigma != 0 {
			j.Tolerances[objective.Tolerances[k].Name] = sigma
		}
	}
	finite := func(v float64) *float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil
		}
		return &v
	}
	for i := range s.Measures {
		c := &s.Measures[i]
		j.Measures[objective.Table[c.Measure].Column()] = scatterMeasure{finite(c.Nominal), finite(c.Mean), finite(c.Tail), [2]*float64{finite(c.Low), finite(c.High)}}
	}
	return j
}

// printScatter writes the parts of a design: what errs, how many conform and why the
// others do not, then every measure.
func printScatter(s streams, r *objective.Scatter) error {
	text := fmt.Sprintf("Normal errors; %s. %d of %d conform, that is, are solved and meet every limit on a plain measure: a share between %.3g %% and %.3g %% (95 %% confidence).",
		r.Spec, r.Conforming, r.Spec.Samples, 100*r.Low, 100*r.High)
	if len(r.Reasons) > 0 {
		var why []string
		for _, f := range r.Reasons {
			why = append(why, fmt.Sprintf("%s (%d)", f.Text, f.Parts))
		}
		text += " The others fail at: " + strings.Join(why, ", ") + "."
	}
	text += fmt.Sprintf(" The tail is what %.4g %% of the parts are no worse than; between low and high it lies with 95 %% confidence, whatever the distribution.", 100*r.Spec.Share)
	if _, err := fmt.Fprintln(s.out, strings.Join(wrap(text, pageWidth), "\n")); err != nil {
		return err
	}
	number := func(v float64) string {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return "-"
		}
		return fmt.Sprintf("%.4g", v) // fits the page
	}
	table := newPageTable("measure", "nominal", "mean", "tail", "low", "high", "unit")
	for i := range r.Measures {
		c := &r.Measures[i]
		info := &objective.Table[c.Measure]
		table.row(info.Name, number(c.Nominal), number(c.Mean), number(c.Tail), number(c.Low), number(c.High), info.Unit.Symbol)
	}
	return table.write(s.out)
}
