package main

import (
	"math"
	"slices"
	"strings"

	"flexwright/configs"
	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
)

// storedColumn is a column that --limit and --sort may name.
type storedColumn struct {
	objective.Column
	results.Number // named as the column where that is neither measure nor parameter
}

// findColumn finds a stored number by the name of its measure or parameter, or
// of its column.
func findColumn(columns []objective.Column, name string) (storedColumn, error) {
	var known []string
	for _, c := range columns {
		if c.Kind != objective.Float || c.Name == "solve_us" || c.Name == "violation" {
			continue
		}
		n, _ := results.NumberOf(c.Name)
		if name == n.Name || name == c.Name {
			return storedColumn{c, n}, nil
		}
		known = append(known, n.Name)
	}
	if m, ok := objective.ByName(name); ok && !objective.Table[m].Explains() {
		return storedColumn{}, refuse("%s is not stored in this run\nalso: [%s] in the brief stores it; show computes it for one design of such a brief\nthe run has %s", name, name, strings.Join(known, ", "))
	}
	return storedColumn{}, refuse("%s is not stored in this run%s\nit has %s", name, configs.DidYouMean(name, known), strings.Join(known, ", "))
}

// bound is one --limit.
type bound struct {
	column storedColumn
	limit  objective.Limit
}

// parseLimits reads the values of --limit.
func parseLimits(columns []objective.Column, texts []string) ([]bound, error) {
	var bounds []bound
	for _, text := range texts {
		words := strings.Fields(text)
		if len(words) < 3 || words[1] != "at_most" && words[1] != "at_least" {
			return nil, refuse("--limit '%s': expected 'MEASURE at_most QUANTITY' or 'MEASURE at_least QUANTITY', such as 'peak_stress at_most 120 MPa'", text)
		}
		c, err := findColumn(columns, limited(words[0], words[1] == "at_most"))
		if err != nil {
			return nil, err
		}
		v, err := configs.ParseQuantity(strings.Join(words[2:], " "), c.Number.Unit)
		if err != nil {
			return nil, refuse("--limit '%s': %w", text, err)
		}
		l := objective.Limit{AtLeast: math.Inf(-1), AtMost: v}
		if words[1] == "at_least" {
			l = objective.Limit{AtLeast: v, AtMost: math.Inf(1)}
		}
		bounds = append(bounds, bound{c, l})
	}
	return bounds, nil
}

// limited is the number that a limit is on: of a tail, against the sense of its measure, the other
// tail, as in a brief.
func limited(name string, atMost bool) string {
	n, _ := results.NumberOf(name)
	if m, ok := objective.ByName(n.Name); ok && m != m.Plain() && !m.IsOtherTail() && atMost == (objective.Table[m].Sense == objective.Most) {
		return objective.Table[m.Plain().OtherTail()].Name
	}
	return name
}

// replace puts the bounds in the place of the limits on the same numbers, the
// other side of which stands. It reports whether any became looser.
func replace(spec *objective.Spec, bounds []bound) (limits []objective.Limit, looser bool) {
	limits = slices.Clone(spec.Limits)
	for _, b := range bounds {
		for i := range limits {
			l := &limits[i]
			if spec.Column(l.Ref) != b.column.Column.Name {
				continue
			}
			if !math.IsInf(b.limit.AtMost, 1) {
				looser = looser || b.limit.AtMost > l.AtMost
				l.AtMost = b.limit.AtMost
			}
			if !math.IsInf(b.limit.AtLeast, -1) {
				looser = looser || b.limit.AtLeast < l.AtLeast
				l.AtLeast = b.limit.AtLeast
			}
		}
	}
	return limits, looser
}

// meets reports whether a fully evaluated row meets limits.
func meets(r *objective.Row, limits []objective.Limit) bool {
	if r.Status != models.Solved {
		return false
	}
	for i := range limits {
		if v, ok := r.Judged(&limits[i]); !ok || !limits[i].Met(v) {
			return false
		}
	}
	return true
}

// limitedFront is the front under the run's limits, with bounds in the place of
// its own. A looser bound lets in rows that were evaluated in full; how many
// were screened, so that nobody knows, is said.
func limitedFront(s streams, folder *results.Folder, spec *objective.Spec, bounds []bound, where []condition) ([]objective.Row, error) {
	if len(bounds)+len(where) == 0 {
		return folder.Front(nil)
	}
	keep, needed := keeping(bounds, where), neededFor(folder, bounds, where)
	if spec == nil || len(bounds) == 0 {
		return folder.Front(keep, needed...)
	}
	limits, looser := replace(spec, bounds)
	if !looser {
		return folder.Front(keep, needed...)
	}
	needed = append(needed, "status")
	for i := range limits {
		needed = append(needed, spec.Column(limits[i].Ref))
	}
	screened := 0
	rows, err := folder.FrontOf(func(r *objective.Row) bool {
		if r.Status == models.Screened {
			screened++
		}
		return meets(r, limits) && keep(r)
	}, needed...)
	if err == nil && screened > 0 {
		say(s.err, "a limit looser than the run's: %s screened before evaluated in full, not counted", counted(screened, "design"))
	}
	return rows, err
}

// neededFor lists the stored columns that bounds and conditions look at, and those
// that tell designs apart.
func neededFor(folder *results.Folder, bounds []bound, where []condition) []string {
	names := []string{"run", "id"}
	for i := range bounds {
		names = append(names, bounds[i].column.Column.Name)
	}
	for i := range where {
		names = append(names, where[i].column.Name)
	}
	columns := folder.Columns()
	return slices.DeleteFunc(names, func(name string) bool { return results.ColumnNamed(columns, name) == nil })
}
