package main

import (
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/objective/fit"
)

// mostProposals that the page lists.
const mostProposals = 5

// printFit prints what a fit found as a page.
func printFit(s streams, title string, o *fit.Outcome, front *frontAgain) error {
	p := &textPage{w: s.out}
	p.printf("%s\n", title)
	p.head("WHAT THE STAGE IS")
	t := newPageTable("unknown", "prior", "estimate", "1 sigma", "of the prior")
	for k, u := range o.Unknowns {
		t.row(u.Name(), "± "+u.Kind.Write(u.Prior)+priorMark(u), u.Kind.Write(o.X[k]), u.Kind.Write(o.Sigma(k)), fmt.Sprintf("%.3g %%", 100*o.Sigma(k)/u.Prior))
	}
	p.table(t)
	if slices.ContainsFunc(o.Unknowns, func(u fit.Unknown) bool { return priorMark(u) != "" }) {
		p.paragraph("* typical, no source")
	}
	p.head("HOW WELL IT FITS")
	p.paragraph(o.Quality())
	outliers := o.Outliers()
	for _, i := range outliers {
		p.paragraph(fmt.Sprintf("Line %d contradicts %s: %s, %.1f of its standard deviations off.", o.Measured[i].Line, o.Against(), o.Measured[i].Text(o.Topology), math.Abs(o.Normalised(i))))
	}
	for _, text := range o.Cautions() {
		p.paragraph(text + ".")
	}
	order := make([]int, len(o.Measured))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return -compareAbs(o.Normalised(a), o.Normalised(b))
	})
	t = newPageTable("line", "measured", "predicted", "off by sigma", "quantity")
	for _, i := range order {
		m := &o.Measured[i]
		u := fit.Table[m.Kind].Unit
		t.row(fmt.Sprint(m.Line), withUnit(significant(u.FromSI(m.Value)), u), significant(u.FromSI(o.Predicted[i])), fmt.Sprintf("%+.2f", o.Normalised(i)), m.Text(o.Topology))
	}
	p.table(t)
	p.head("WHAT CANNOT BE TOLD")
	if len(o.Undetermined) == 0 {
		p.paragraph("The measurements tell every unknown, and every combination of them, better than the priors do.")
	}
	for _, text := range o.Undetermined {
		p.paragraph("- " + text + ".")
	}
	p.strongest(o)
	p.head("WHAT TO MEASURE NEXT")
	t = newPageTable("uncertainty", "all shrink by", "most of all", "to", "quantity")
	for i := range o.Next[:min(len(o.Next), mostProposals)] {
		n := &o.Next[i]
		k := leastOf(n.Ratio)
		u := fit.Table[n.Kind].Unit
		t.row(withUnit(fmt.Sprintf("%.2g", u.FromSI(n.Sigma)), u), fmt.Sprintf("%.2g", n.Gain), o.Unknowns[k].Name(), percent(n.Ratio[k]), n.Text(o.Topology))
	}
	p.table(t)
	t = newPageTable("unknown", "1 sigma", "would be", "best told by")
	for k, u := range o.Unknowns {
		if best, ratio, ok := o.Best(k); ok {
			t.row(u.Name(), u.Kind.Write(o.Sigma(k)), u.Kind.Write(ratio*o.Sigma(k)), best.Text(o.Topology))
		}
	}
	if len(t.rows) > 1 {
		p.printf("\n")
		p.table(t)
	}
	p.prediction(o)
	if front != nil {
		p.head("THE FRONT AGAIN")
		p.paragraph(frontText(front))
	}
	return p.err
}

// strongest names the pair of unknowns that are most correlated.
func (p *textPage) strongest(o *fit.Outcome) {
	a, b := 0, 0
	for i := range o.Unknowns {
		for j := range i {
			if a == b || math.Abs(o.Correlation(i, j)) > math.Abs(o.Correlation(a, b)) {
				a, b = i, j
			}
		}
	}
	if a != b {
		p.paragraph(fmt.Sprintf("The estimates of %s and %s hang together most: correlation %.2f.", o.Unknowns[b].Name(), o.Unknowns[a].Name(), o.Correlation(a, b)))
	}
}

// prediction prints the measures with the built stage, those with limits first.
func (p *textPage) prediction(o *fit.Outcome) {
	p.head("WHAT IT MEANS")
	p.paragraph("With the estimate, and an interval that holds the true value with 95 %, the unknowns' covariance propagated linearly.")
	t := newPageTable("measure", "designed", "built", "interval", "unit", "limit")
	for _, limited := range []bool{true, false} {
		for _, c := range o.Prediction {
			info := &objective.Table[c.Measure]
			k := slices.IndexFunc(o.Spec.Limits, func(l objective.Limit) bool {
				return !l.Ref.Parameter && l.Ref.Index == int(c.Measure) && l.HoldsFor(o.Spec.Layouts[0].Name())
			})
			if limited != (k >= 0) {
				continue
			}
			text := ""
			if k >= 0 {
				text = boundText(o.Spec.Limits[k]) + ": " + limitWord(&o.Spec.Limits[k], c)
			}
			interval := "-"
			if !math.IsNaN(c.Sigma) {
				interval = "± " + fmt.Sprintf("%.2g", fit.Interval*c.Sigma)
			}
			designed := "-"
			if !math.IsNaN(c.Nominal) {
				designed = number(c.Nominal)
			}
			t.row(info.Name, designed, number(c.Value), interval, info.Unit.Symbol, text)
		}
	}
	p.table(t)
}

// limitWord says whether a limit is met over the whole interval.
func limitWord(l *objective.Limit, c fit.Prediction) string {
	half := fit.Interval * c.Sigma
	if math.IsNaN(half) {
		half = 0
	}
	switch met := l.Met(c.Value); {
	case l.Met(c.Value-half) && l.Met(c.Value+half):
		return "met"
	case met:
		return "met, not surely"
	case !l.Met(c.Value-half) && !l.Met(c.Value+half):
		return "BROKEN"
	}
	return "BROKEN, not surely"
}

func frontText(f *frontAgain) string {
	text := fmt.Sprintf("Of %s of the run's front, computed again with the corrections, %d are within all limits and %d on their common front.", counted(f.Designs, "design"), f.Feasible, f.Left)
	switch {
	case f.Picked:
		text += " The one that was built is still among the best."
	case f.Better == "":
		text += " The one that was built is not: " + f.why + "."
	default:
		text += fmt.Sprintf(" The one that was built is not: %s. Look at design %s, or search anew with run --corrected.", f.why, f.Better)
	}
	return text
}

func withUnit(text string, u models.Unit) string {
	if u.Symbol == "" {
		return text
	}
	return text + " " + u.Symbol
}

// priorMark of a prior that has no source.
func priorMark(u fit.Unknown) string {
	if u.Source == objective.TypicalSource {
		return " *"
	}
	return ""
}

func compareAbs(a, b float64) int {
	switch {
	case math.Abs(a) < math.Abs(b):
		return -1
	case math.Abs(a) > math.Abs(b):
		return 1
	}
	return 0
}

func leastOf(list []float64) int {
	best := 0
	for k := range list {
		if list[k] < list[best] {
			best = k
		}
	}
	return best
}

// fitJSON is what fit prints for programs: unknowns in the units of their priors,
// measures in those of their columns.
func fitJSON(o *fit.Outcome, front *frontAgain) any {
	type unknown struct {
		Estimate float64 `json:"estimate"`
		Sigma    float64 `json:"sigma"`
		Prior    float64 `json:"prior_sigma"`
		Unit     string  `json:"unit"`
	}
	type predicted struct {
		Value   float64  `json:"value"`
		Sigma   *float64 `json:"sigma"` // null: undefined within a standard deviation
		Nominal *float64 `json:"designed"`
	}
	type proposal struct {
		Quantity string             `json:"quantity"`
		Gain     float64            `json:"gain"`
		Ratio    map[string]float64 `json:"sigma_ratio"`
	}
	orNull := func(v float64) *float64 {
		if math.IsNaN(v) {
			return nil
		}
		return &v
	}
	unknowns, correlations := map[string]unknown{}, map[string]map[string]float64{}
	for k, u := range o.Unknowns {
		unit := objective.CorrectionTable[u.Kind].Unit
		unknowns[u.Name()] = unknown{unit.FromSI(o.X[k]), unit.FromSI(o.Sigma(k)), unit.FromSI(u.Prior), unit.Symbol}
		correlations[u.Name()] = map[string]float64{}
		for j, other := range o.Unknowns {
			correlations[u.Name()][other.Name()] = o.Correlation(k, j)
		}
	}
	residuals := []float64{}
	for i := range o.Measured {
		residuals = append(residuals, o.Normalised(i))
	}
	outliers := []int{}
	for _, i := range o.Outliers() {
		outliers = append(outliers, o.Measured[i].Line)
	}
	next := []proposal{}
	for i := range o.Next {
		n := &o.Next[i]
		ratio := map[string]float64{}
		for k, u := range o.Unknowns {
			ratio[u.Name()] = n.Ratio[k]
		}
		next = append(next, proposal{n.Text(o.Topology), n.Gain, ratio})
	}
	prediction := map[string]predicted{}
	for _, c := range o.Prediction {
		prediction[objective.Table[c.Measure].Column()] = predicted{c.Value, orNull(c.Sigma), orNull(c.Nominal)}
	}
	undetermined := append([]string{}, o.Undetermined...)
	return struct {
		Unknowns     map[string]unknown            `json:"unknowns"`
		Correlations map[string]map[string]float64 `json:"correlations"`
		ChiSquare    float64                       `json:"chi_square"`
		Freedom      int                           `json:"degrees_of_freedom"`
		Probability  float64                       `json:"probability"`
		Residuals    []float64                     `json:"residuals"`
		Outliers     []int                         `json:"outlying_lines"`
		Cautions     []string                      `json:"cautions"`
		Undetermined []string                      `json:"undetermined"`
		Next         []proposal                    `json:"next"`
		Prediction   map[string]predicted          `json:"prediction"`
		Front        *frontAgain                   `json:"front,omitempty"`
	}{unknowns, correlations, o.ChiSquare, o.Freedom, o.Probability, residuals, outliers, append([]string{}, o.Cautions()...), undetermined, next, prediction, front}
}
