package main

import (
	"context"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"

	"flexwright/objective"
	"flexwright/results"
)

// fineCheck returns what adds the fine check to the front of a run. It says on
// the messages' stream what it found.
func fineCheck(s streams, spec *objective.Spec, designs func() int64) results.Refine {
	return func(ctx context.Context, front []objective.Row) ([]objective.Column, error) {
		found := map[int64]objective.FineResult{}
		worst, flagged := objective.FineResult{Worst: -1}, []string{}
		var at int64
		fine := objective.NewFine(spec)
		for _, i := range spec.FineChoice(front, designs()) {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			r, ok := fine.CheckRow(&front[i])
			if !ok {
				continue
			}
			found[front[i].ID] = r
			if r.Flagged() {
				flagged = append(flagged, fmt.Sprint(front[i].ID))
			}
			if r.Worst >= 0 && (worst.Worst < 0 || r.Difference > worst.Difference) {
				worst, at = r, front[i].ID
			}
		}
		if len(found) > 0 {
			text := ""
			if worst.Worst >= 0 {
				text = fmt.Sprintf(": largest difference %s (%s of design %d)", percent(worst.Difference), objective.Table[worst.Worst].Name, at)
			}
			say(s.err, "fine check of %s with %d segments per blade%s", counted(len(found), "design"), objective.FineSegments, text)
		}
		if len(flagged) > 0 {
			say(s.err, "not to be believed, off by more than %g %%: design %s", 100*objective.FineBound, strings.Join(flagged, ", "))
		}
		printSampled(s, found)
		return spec.FineColumns(found), nil
	}
}

// printSampled says how far derivatives were from parts that were solved.
func printSampled(s streams, found map[int64]objective.FineResult) {
	designs, largest := 0, 0.0
	var far []string
	for _, id := range slices.Sorted(maps.Keys(found)) {
		r := found[id]
		if len(r.Parts) > 0 {
			designs++
		}
		for _, p := range r.Parts {
			by := "has no value by one of both"
			if !math.IsInf(p.Off, 1) {
				by, largest = percent(p.Off), max(largest, p.Off)
			}
			if p.Off > objective.PartsBound {
				far = append(far, fmt.Sprintf("%s of design %d (%s)", objective.Table[p.Measure].Name, id, by))
			}
		}
	}
	if designs == 0 {
		return
	}
	say(s.err, "parts of %s solved: measures of parts by derivatives are off by at most %s of the tail's distance from the nominal", counted(designs, "design"), percent(largest))
	if len(far) > 0 {
		say(s.err, "off by more than %g %%, the columns fine_… of the front have what the solved parts say: %s", 100*objective.PartsBound, strings.Join(far, ", "))
	}
}

// fineJSON is the fine check of one design as show prints it.
type fineJSON struct {
	Segments   int                `json:"segments"`
	Status     string             `json:"status"`
	Reason     string             `json:"reason,omitempty"`
	Measures   map[string]float64 `json:"measures"`
	Difference map[string]float64 `json:"differences"`
	Bound      float64            `json:"bound"`
	Flagged    bool               `json:"flagged"`
}

func newFineJSON(r *objective.FineResult) *fineJSON {
	j := &fineJSON{Segments: objective.FineSegments, Status: r.Verdict.Status.String(), Reason: r.Verdict.Reason(),
		Measures: map[string]float64{}, Difference: map[string]float64{}, Bound: objective.FineBound, Flagged: r.Flagged()}
	for m := range objective.NumMeasures {
		if v, ok := r.Fine.Get(m); ok && m.Compared() {
			j.Measures[objective.Table[m].Column()] = v
			if d, ok := r.DifferenceOf(m); ok {
				j.Difference[objective.Table[m].Column()] = d
			}
		}
	}
	return j
}

func printFine(s streams, r *objective.FineResult) error {
	fmt.Fprintf(s.out, "%d segments per blade: %s\n", objective.FineSegments, r.Verdict.Status)
	if !r.Verdict.OK() {
		_, err := fmt.Fprintln(s.out, r.Verdict.Reason())
		return err
	}
	t := newPageTable("measure", "fast", "fine", "unit", "difference")
	for m := range objective.NumMeasures {
		d, ok := r.DifferenceOf(m)
		if !ok {
			continue
		}
		fast, _ := r.Fast.Get(m)
		fine, _ := r.Fine.Get(m)
		mark := fmt.Sprintf("%.4f %%", 100*d)
		if d > objective.FineBound {
			mark += " FLAGGED"
		}
		t.row(objective.Table[m].Name, significant(fast), significant(fine), objective.Table[m].Unit.Symbol, mark)
	}
	return t.write(s.out)
}
