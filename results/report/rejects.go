package report

import (
	"fmt"
	"math"
	"strings"

	"flexwright/objective"
	"flexwright/results/diagnosis"
)

// rejects tells which limits reject how many designs; where nothing fits, also
// what comes nearest and what stands in its way.
func (p *page) rejects(g *gathered) {
	if g.rejected == nil {
		return
	}
	s := g.rejected.Summary()
	p.Rejects = &table{Caption: "Which limits reject how many designs",
		Head: numberHead(head("number", "limit", "judged", "rejects", "share", "", "alone", "best", "first fits at"), 1, 2, 3, 4, 6, 7, 8),
		Foot: "Judged: designs that got as far as this limit. Alone: evaluated in full, with every other limit met. Best: the value of any design that is farthest within the limit, or least beyond. First fits at: where the bound would have to be for one design more, all other limits as they are. Of the designs that failed a cheap limit, the thousand that came nearest were evaluated in full for this table."}
	for _, l := range s.Limits {
		part := 0.0
		if l.Judged > 0 {
			part = float64(l.Rejects) / float64(l.Judged)
		}
		first := known(l.First)
		if l.GiveWay != nil {
			first += " (" + number(100**l.GiveWay) + "\u202f%)"
		}
		p.Rejects.add(text(label(l.Name)), value(bounds(limitOf(&l), l.Unit)), value(count(l.Judged)), value(count(l.Rejects)),
			value(share(l.Rejects, l.Judged)), bar(part), value(count(l.Alone)), value(known(l.Best)), value(first))
	}
	if s.Feasible > 0 {
		return
	}
	for _, pair := range s.Pairs {
		p.Excluding = append(p.Excluding, fmt.Sprintf("No design meets both %s (%s do) and %s (%s do).", label(pair.First), count(pair.MeetFirst), label(pair.Second), count(pair.MeetSecond)))
	}
	for _, e := range s.AtEnd {
		side := "lower"
		if e.Upper {
			side = "upper"
		}
		p.Excluding = append(p.Excluding, fmt.Sprintf("%s stands at the %s end of its range, %s, in %d of the %d nearest designs.", capital(label(e.Name)), side, quantity(e.Bound, e.Unit), e.Number, e.Of))
	}
	if len(s.Nearest) > 0 {
		p.Nearest = &table{Caption: "The nearest designs", Head: numberHead(head("design", "violation", "fails"), 1)}
	}
	for _, d := range s.Nearest {
		p.Nearest.add(text(Design{d.Run, d.ID}.String()), value(number(d.Violation)), text(fails(&d)))
	}
}

func known(v *float64) string {
	if v == nil {
		return "–"
	}
	return number(*v)
}

func limitOf(l *diagnosis.Limit) *objective.Limit {
	out := &objective.Limit{AtLeast: math.Inf(-1), AtMost: math.Inf(1)}
	if l.AtLeast != nil {
		out.AtLeast = *l.AtLeast
	}
	if l.AtMost != nil {
		out.AtMost = *l.AtMost
	}
	return out
}

func fails(d *diagnosis.Design) string {
	var words []string
	for _, f := range d.Fails {
		bound := "at most"
		if f.AtLeast {
			bound = "at least"
		}
		what := "is undefined"
		if f.Value != nil {
			what = quantity(*f.Value, f.Unit)
		}
		words = append(words, fmt.Sprintf("%s %s, wanted %s %s", label(f.Name), what, bound, quantity(f.Bound, f.Unit)))
		if f.Parts != "" {
			words[len(words)-1] += fmt.Sprintf(" (parts fail at %s most)", label(f.Parts))
		}
	}
	return strings.Join(words, "; ")
}
