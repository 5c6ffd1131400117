package report

import (
	"fmt"
	"strings"

	"flexwright/objective"
	"flexwright/results/diagnosis"
)

// end is one end of the front and what ends it.
type end struct {
	Goal   string
	Anchor string
	Design string
	Value  string
	Short  string // one sentence
	Why    string
	Beyond string
}

// ends says of each goal what keeps the front from going farther.
func ends(g *gathered, b *Brief) []end {
	if len(g.front) == 0 {
		return nil
	}
	var out []end
	for k, i := range g.ends() {
		row, goal := &g.front[i], b.Spec.Goals[k]
		best := g.frontObjs[i*len(g.goals)+k]
		e := end{Goal: goal.Sense.String() + " " + label(b.Spec.Name(goal.Ref)), Design: Design{row.Run, row.ID}.String(), Anchor: anchor(Design{row.Run, row.ID}),
			Value: quantity(g.goals[k].sign*best, g.goals[k].column.Unit)}
		limits, ranges := reached(row, b)
		total, causes := g.beyond(k, best, b.Spec)
		switch {
		case len(ranges) > 0 && b.Spec.Name(goal.Ref) == ranges[0].name && len(limits) > 0:
			e.Why = fmt.Sprintf("its own range ends here (%s), and %s", ranges[0].text, limitsText(limits))
		case len(ranges) > 0 && b.Spec.Name(goal.Ref) == ranges[0].name:
			e.Why = "its own range ends here (" + ranges[0].text + ")"
		case len(limits) > 0 && len(ranges) > 0:
			e.Why = limitsText(limits) + ", and " + rangesText(ranges)
		case len(limits) > 0:
			e.Why = limitsText(limits)
		case len(ranges) > 0:
			e.Why = rangesText(ranges) + "; no limit is reached"
		default:
			e.Why = "no limit and no end of a range is reached: the search has found nothing farther yet"
		}
		if what := endOf(row, b.Spec, goal.Ref); what != "" {
			e.Why += "; what ends its own " + label(b.Spec.Name(goal.Ref)) + ": " + what
		}
		e.Short = fmt.Sprintf("%s ends at %s (design %s): %s.", capital(e.Goal), e.Value, e.Design, e.Why)
		switch {
		case total == 0:
			e.Beyond = "No design beyond it was evaluated."
		default:
			var words []string
			for n, c := range causes {
				if n == 3 {
					words = append(words, "others")
					break
				}
				words = append(words, fmt.Sprintf("%s (%s)", c.text, count(c.count)))
			}
			e.Beyond = fmt.Sprintf("%s designs beyond it were evaluated and are not feasible; what rejects them most: %s.", count(total), list(words))
		}
		out = append(out, e)
	}
	return out
}

// endOf is what the evaluation itself says of what ends a measure: the text that
// goes with it, as travel_end with usable_travel. How parts were told ends nothing.
func endOf(row *objective.Row, s *objective.Spec, r objective.Ref) string {
	if r.Parameter {
		return ""
	}
	if text := objective.Table[r.Index].ExplainedBy; text != 0 && text != objective.PartsBy {
		return label(row.Explanation(text))
	}
	return ""
}

// bound is a limit or an end of a range that a design has reached.
type bound struct{ name, text string }

func limitsText(l []bound) string {
	var words []string
	for _, b := range l {
		words = append(words, b.text)
	}
	if len(l) == 1 {
		return words[0] + " is at its limit"
	}
	return list(words) + " are at their limits"
}

func rangesText(l []bound) string {
	var words []string
	for _, b := range l {
		words = append(words, label(b.name)+" is at "+b.text)
	}
	return list(words)
}

// reached lists the limits that a row has used up, and the varied numbers at an end
// of their range, a goal's own first.
func reached(row *objective.Row, b *Brief) (limits, ranges []bound) {
	s := b.Spec
	used, ends := diagnosis.Reached(s, b.Space, row)
	for _, l := range used {
		v, _ := row.Value(l.Ref)
		limits = append(limits, bound{s.Name(l.Ref), fmt.Sprintf("%s (%s, %s)", label(s.Name(l.Ref)), quantity(v, s.Unit(l.Ref).Symbol), bounds(l, s.Unit(l.Ref).Symbol))})
	}
	for _, e := range ends {
		side := "lower"
		if e.Upper {
			side = "upper"
		}
		ranges = append(ranges, bound{e.Name, "the " + side + " end of its range, " + quantity(e.Bound, e.Unit)})
	}
	return limits, ranges
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

func anchor(d Design) string {
	return "design-" + strings.ReplaceAll(d.String(), ":", "-")
}
