package main

import (
	"path/filepath"
	"slices"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// mostFrom is how many designs of another run a search starts from.
const mostFrom = 100

// searchOn returns a brief with the limits of --limit and the designs that --start
// names, and its text: what the run folder keeps, so that it needs neither again.
func searchOn(s streams, brief *configs.Brief, o *runOptions) (*configs.Brief, []byte, error) {
	spec := brief.Spec()
	var every []objective.Measure
	for m := range objective.NumMeasures {
		every = append(every, m)
	}
	bounds, err := parseLimits(objective.Columns(spec.Parameters(), every), o.limits)
	if err != nil {
		return nil, nil, err
	}
	var limits []objective.Limit
	for _, b := range bounds {
		ref, ok := refOf(spec, b.column.Column.Name)
		if !ok {
			return nil, nil, refuse("--limit: %s is no measure or parameter", b.column.Column.Name)
		}
		l := b.limit
		l.Ref = ref
		limits = append(limits, l)
	}
	var start [][]float64
	if o.start != "" {
		if start, err = startFrom(o.start, brief, bounds); err != nil {
			return nil, nil, err
		}
	}
	text := brief.Limited(limits, start)
	again, problems := loadBrief("the brief with --limit and --start", text)
	if len(problems) > 0 {
		return nil, nil, &exitError{exitRefused, problems}
	}
	if o.start != "" {
		taken, more := len(start), ""
		plan, err := again.Plan().New(again.Space(), search.Shard{})
		if e, ok := plan.(*search.Evolve); err == nil && ok && e.Started() < taken {
			taken, more = e.Started(), ": the first generation has no room for more"
			if len(again.Spec().Layouts) > 1 {
				more = ": a layout's part of the first generation has no room for more"
			}
		}
		say(s.err, "starting from %s of %s%s", counted(taken, "design"), o.start, more)
	}
	return again, text, nil
}

// startFrom takes designs of another run's front to start from: first those that
// meet the bounds, then others spread over its front, as far as they lie within the
// brief's ranges.
func startFrom(dir string, brief *configs.Brief, bounds []bound) ([][]float64, error) {
	folder, err := results.Open(dir)
	if err != nil {
		return nil, err
	}
	goals, columns := folder.Manifest().Goals, folder.Columns()
	thinned := func(rows []objective.Row) []objective.Row {
		if len(rows) <= mostFrom {
			return rows
		}
		var out []objective.Row
		for _, i := range search.Thin(objectives(rows, columns, goals), len(goals), mostFrom) {
			out = append(out, rows[i])
		}
		return out
	}
	var rows []objective.Row
	if len(bounds) > 0 && storesAll(columns, bounds) {
		within, err := folder.Front(keeping(bounds, nil))
		if err != nil {
			return nil, err
		}
		rows = thinned(within)
	}
	front, err := folder.Front(nil)
	if err != nil {
		return nil, err
	}
	rows = append(rows, thinned(front)...)
	spec, space := brief.Spec(), brief.Space()
	var start [][]float64
	for i := range rows {
		x := make([]float64, len(spec.Variables))
		if len(start) == mostFrom || !spec.Point(&rows[i], x) || !inSpace(space, x) ||
			slices.ContainsFunc(start, func(y []float64) bool { return search.SamePoint(x, y) }) {
			continue
		}
		start = append(start, x)
	}
	if len(start) == 0 {
		return nil, refuse("--start %s: its front holds no design within the brief's ranges", dir)
	}
	return start, nil
}

// inSpace reports whether a point lies in a space. What its layout lacks is NaN.
func inSpace(space search.Space, x []float64) bool {
	for i, v := range space {
		from, to := v.From, v.To
		if v.Kind == search.Choice {
			from, to = 0, float64(v.Choices-1)
		}
		if x[i] < from || x[i] > to {
			return false
		}
	}
	return true
}

// storesAll reports whether columns have what bounds are on.
func storesAll(columns []objective.Column, bounds []bound) bool {
	return !slices.ContainsFunc(bounds, func(b bound) bool { return results.ColumnNamed(columns, b.column.Column.Name) == nil })
}

// searchOnCommand is the command that searches on under limits, from a run's front.
func searchOnCommand(dir string, limits []string) string {
	words := []string{"flexwright", "run", filepath.Join(dir, "brief.yaml")}
	for _, l := range limits {
		words = append(words, "--limit", l)
	}
	words = append(words, "--start", dir, "--out", freeName(dir))
	return shellQuoted(words...)
}
