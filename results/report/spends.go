package report

import (
	"html/template"
	"slices"

	"flexwright/objective"
)

// toleranceBars draws what spends the tails of the limited measures of a pinned design: a bar each,
// of the tolerances' shares in the square of the tail's distance from the nominal value. Empty where
// the brief does not ask about parts.
func toleranceBars(s *objective.Spec) template.HTML {
	if s.Tolerances == nil || !slices.ContainsFunc(s.Measures, objective.Measure.OfParts) {
		return ""
	}
	own, tolerances := *s, *s.Tolerances
	tolerances.Samples = min(tolerances.Samples, mostSamples)
	own.Tolerances = &tolerances
	return drawBars(objective.ToleranceBudgets(&own, true))
}

// drawBars draws the bars and, below, what their colours stand for: the tolerances that spend a
// fiftieth of some tail, the largest shares first where they are named.
func drawBars(tails []objective.TailSensitivity) template.HTML {
	const width, left, right, top, row, bar, key, seen = 500.0, 150.0, 6.0, 4.0, 22.0, 14.0, 160.0, 0.02
	tails = slices.DeleteFunc(slices.Clone(tails), func(t objective.TailSensitivity) bool { return slices.Max(t.Budget[:]) == 0 })
	if len(tails) == 0 {
		return ""
	}
	var shown []int
	for k := range objective.Tolerances {
		if slices.ContainsFunc(tails, func(t objective.TailSensitivity) bool { return t.Budget[k] >= seen }) {
			shown = append(shown, k)
		}
	}
	lines := (len(shown) + 2) / 3
	height := top + row*float64(len(tails)) + 8 + 18*float64(lines)
	var out svg
	out.put(`<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="what each tolerance spends of each tail">`, short(width), short(height))
	for i := range tails {
		t := &tails[i]
		y := top + row*float64(i)
		out.text(left-6, y+bar-2, "tick end", label(objective.Table[t.Measure.Plain()].Name))
		x := left
		for at, k := range shown {
			w := t.Budget[k] * (width - left - right)
			if w < 0.5 {
				continue
			}
			out.put(`<rect x="%s" y="%s" width="%s" height="%s" fill="var(--c%d)"><title>%s %s</title></rect>`, short(x), short(y), short(w), short(bar), at%12,
				label(objective.Tolerances[k].Name), percent(t.Budget[k]))
			x += w
		}
	}
	for at, k := range shown {
		x, y := 4+key*float64(at%3), top+row*float64(len(tails))+8+18*float64(at/3)
		out.put(`<rect x="%s" y="%s" width="10" height="10" fill="var(--c%d)"/>`, short(x), short(y), at%12)
		out.text(x+15, y+9, "tick", label(objective.Tolerances[k].Name))
	}
	out.put(`</svg>`)
	return out.html()
}
