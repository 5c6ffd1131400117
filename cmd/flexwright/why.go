package main

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
)

// whyNone is what front and run print where no design is to be listed.
type whyNone struct {
	Front []struct{}         `json:"front"` // empty
	Why   *diagnosis.Summary `json:"why"`   // null where the folder's limits are not known
}

// rejections tells why rows do not fit: under the limits of the folder's brief, with
// bounds in the place of its own; or, computed with corrections, those of the front. It is
// nil where there are no limits of one brief.
func (v *frontView) rejections() (*diagnosis.Summary, error) {
	if v.spec == nil {
		return nil, nil
	}
	t := diagnosis.New(v.limited, v.brief.Space(), diagnosis.Reevaluate(v.limited))
	if v.again != nil {
		for i := range v.again.rows {
			t.Add(&v.again.rows[i])
		}
		return t.Summary(), nil
	}
	for row, err := range v.folder.Rows() {
		if err != nil {
			return nil, err
		}
		if len(v.bounds) > 0 {
			v.limited.Score(&row) // under other limits than its own
		}
		t.Add(&row)
	}
	return t.Summary(), nil
}

// under returns a spec with bounds in the place of its limits, or beside them.
func under(spec *objective.Spec, bounds []bound) *objective.Spec {
	out := *spec
	out.Limits, _ = replace(spec, bounds)
	for _, b := range bounds {
		if ref, ok := refOf(spec, b.column.Column.Name); ok && !slices.ContainsFunc(out.Limits, func(l objective.Limit) bool { return l.Ref == ref }) {
			l := b.limit
			l.Ref = ref
			out.Limits = append(out.Limits, l)
		}
	}
	return &out
}

// refOf finds what a column holds.
func refOf(spec *objective.Spec, column string) (objective.Ref, bool) {
	if m, ok := results.MeasureOf(column); ok {
		return objective.Ref{Index: int(m)}, true
	}
	for i, p := range spec.Parameters() {
		if p.Unit.Column(p.Name) == column {
			return objective.Ref{Parameter: true, Index: i}, true
		}
	}
	return objective.Ref{}, false
}

// printNone prints that there is no design to list, and why.
func (v *frontView) printNone(s streams) error {
	why, err := v.rejections()
	if err != nil {
		return err
	}
	if v.options.json {
		return writeJSON(s.out, whyNone{[]struct{}{}, why})
	}
	if _, err := fmt.Fprintln(s.out, "no feasible design"); err != nil || why == nil {
		return err
	}
	if why.Designs > 0 && why.Statuses[models.CannotBuild.String()] == why.Designs {
		points, err := firstPoints(v.folder, v.spec)
		if err != nil {
			return err
		}
		for _, l := range wrap(unbuiltText(v.spec, points), pageWidth) {
			fmt.Fprintln(s.out, l)
		}
		return nil
	}
	return printRejections(s, why)
}

func printRejections(s streams, why *diagnosis.Summary) error {
	p := func(format string, args ...any) { fmt.Fprintf(s.out, format, args...) }
	if others := statusesText(why); others != "" {
		p("of %s: %s\n", counted(why.Designs, "design"), others)
	}
	if len(why.Limits) > 0 && why.Limits[0].Judged > 0 {
		p("\n")
		t := newPageTable("limit", "bound", "rejects", "alone", "best", "first fits at")
		for _, l := range why.Limits {
			if l.Judged == 0 {
				t.row(l.Name, limitText(l.AtLeast, l.AtMost, l.Unit), "-", "-", "-", "no design got as far")
				continue
			}
			best := "-"
			if l.Best != nil {
				best = number(*l.Best)
			}
			first := ""
			if l.First != nil {
				first = fmt.Sprintf("%s (gives way by %s)", number(*l.First), percent(*l.GiveWay))
			}
			t.row(l.Name, limitText(l.AtLeast, l.AtMost, l.Unit), fmt.Sprintf("%d of %d", l.Rejects, l.Judged), fmt.Sprint(l.Alone), best, first)
		}
		if err := t.write(s.out); err != nil {
			return err
		}
		p("\nrejects: of the designs that got as far; alone: evaluated in full, all else met.\n")
	}
	for _, pair := range why.Pairs {
		p("no design meets both %s (%d do) and %s (%d do)\n", pair.First, pair.MeetFirst, pair.Second, pair.MeetSecond)
	}
	if len(why.Nearest) > 0 {
		p("\n")
		t := newPageTable("nearest", "violation", "fails")
		for _, d := range why.Nearest {
			id := fmt.Sprint(d.ID)
			if d.Run > 0 {
				id = fmt.Sprintf("%d:%d", d.Run, d.ID)
			}
			t.row(id, number(d.Violation), failsText(d))
		}
		if err := t.write(s.out); err != nil {
			return err
		}
	}
	for _, e := range why.AtEnd {
		p("at the end of its range in %d of the %d nearest: %s\n", e.Number, e.Of, endText(e))
	}
	return nil
}

func endText(e diagnosis.End) string {
	side := "lower"
	if e.Upper {
		side = "upper"
	}
	return strings.TrimSpace(fmt.Sprintf("%s, %s end %s %s", e.Name, side, number(e.Bound), e.Unit))
}

// statusesText counts the designs of each status, the most frequent first.
func statusesText(why *diagnosis.Summary) string {
	var names []string
	for name := range why.Statuses {
		names = append(names, name)
	}
	slices.SortFunc(names, func(a, b string) int {
		if d := why.Statuses[b] - why.Statuses[a]; d != 0 {
			return int(d)
		}
		return strings.Compare(a, b)
	})
	for i, name := range names {
		names[i] = fmt.Sprintf("%d %s", why.Statuses[name], name)
	}
	return strings.Join(names, ", ")
}

func failsText(d diagnosis.Design) string {
	var fails []string
	for _, f := range d.Fails {
		sign := "≤"
		if f.AtLeast {
			sign = "≥"
		}
		value := "undefined"
		if f.Value != nil {
			value = number(*f.Value)
		}
		text := strings.TrimSpace(fmt.Sprintf("%s %s, wanted %s %s %s", f.Name, value, sign, number(f.Bound), f.Unit))
		if f.Parts != "" {
			text += fmt.Sprintf(" (parts fail at %s most)", f.Parts)
		}
		fails = append(fails, text)
	}
	if len(fails) == 0 {
		return d.Status
	}
	return strings.Join(fails, "; ")
}

// limitText writes bounds, of which one may be absent.
func limitText(atLeast, atMost *float64, unit string) string {
	l := objective.Limit{AtLeast: math.Inf(-1), AtMost: math.Inf(1)}
	if atLeast != nil {
		l.AtLeast = *atLeast
	}
	if atMost != nil {
		l.AtMost = *atMost
	}
	return strings.TrimSpace(boundText(l) + " " + unit)
}
