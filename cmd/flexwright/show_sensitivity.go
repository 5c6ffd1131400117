package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"flexwright/objective"
)

// sensitivityJSON is what moves the measures of a design, and what spends its limits.
type sensitivityJSON struct {
	// Measure column: parameter column, or tolerances.KEY of a tail: derivative in the
	// columns' units; null where differences give none.
	Derivatives map[string]map[string]*float64 `json:"sensitivity"`
	Budgets     map[string]map[string]float64  `json:"tolerance_budgets"`    // tail column: KEY: part of the tail's distance from the nominal
	Loosest     *float64                       `json:"loosest_thickness_um"` // null where none conforms, where not even 100 µm is too much, and without parts
}

func newSensitivityJSON(spec *objective.Spec, s *objective.Sensitivity) *sensitivityJSON {
	j := &sensitivityJSON{Derivatives: map[string]map[string]*float64{}, Budgets: map[string]map[string]float64{}}
	finite := func(v float64) *float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return nil
		}
		return &v
	}
	for i, m := range s.Measures {
		of := map[string]*float64{}
		for k, p := range spec.Parameters() {
			of[p.Unit.Column(p.Name)] = finite(s.Parameters[i][k])
		}
		j.Derivatives[objective.Table[m].Column()] = of
	}
	for i := range s.Tails {
		c := &s.Tails[i]
		of, budget := map[string]*float64{}, map[string]float64{}
		for k, d := range c.Derivative {
			of["tolerances."+objective.Tolerances[k].Name] = finite(d)
			if c.Budget[k] > 0 {
				budget[objective.Tolerances[k].Name] = c.Budget[k]
			}
		}
		j.Derivatives[objective.Table[c.Measure].Column()] = of
		j.Budgets[objective.Table[c.Measure].Column()] = budget
	}
	j.Loosest = finite(s.LoosestThickness * 1e6)
	return j
}

// mostMovers is how many parameters a page tells of for each measure.
const mostMovers = 4

// printSensitivity writes, for the measures of goals and limits, the parameters that move
// them most, and for each tail what spends it.
func printSensitivity(s streams, spec *objective.Spec, row *objective.Row, r *objective.Sensitivity) error {
	table := newPageTable("measure", "unit", "1 % more of", "changes it by", "derivative", "per")
	for i, m := range r.Measures {
		ref := objective.Ref{Index: int(m)}
		asked := slices.ContainsFunc(spec.Goals, func(g objective.Goal) bool { return g.Ref == ref }) ||
			slices.ContainsFunc(spec.Limits, func(l objective.Limit) bool { return l.Ref == ref })
		if !asked {
			continue
		}
		type mover struct {
			k      int
			effect float64
		}
		var movers []mover
		for k, d := range r.Parameters[i] {
			if effect := 0.01 * d * row.Parameters[k]; effect != 0 && !math.IsNaN(effect) {
				movers = append(movers, mover{k, effect})
			}
		}
		slices.SortStableFunc(movers, func(a, b mover) int { return cmp.Compare(math.Abs(b.effect), math.Abs(a.effect)) })
		name, unit := objective.Table[m].Name, objective.Table[m].Unit.Symbol
		for _, v := range movers[:min(mostMovers, len(movers))] {
			p := &spec.Parameters()[v.k]
			table.row(name, unit, p.Name, fmt.Sprintf("%+.3g", v.effect), fmt.Sprintf("%.4g", r.Parameters[i][v.k]), p.Unit.Symbol)
			name, unit = "", ""
		}
	}
	if err := table.write(s.out); err != nil || r.Tails == nil {
		return err
	}
	if _, err := fmt.Fprintln(s.out); err != nil {
		return err
	}
	table = newPageTable("tail of", "unit", "tolerance", "spends", "derivative", "per")
	for i := range r.Tails {
		c := &r.Tails[i]
		info := &objective.Table[c.Measure.Plain()]
		name, unit := info.Name, info.Unit.Symbol
		for k, d := range c.Derivative {
			if math.IsNaN(d) && c.Budget[k] == 0 {
				continue
			}
			derivative := "-"
			if !math.IsNaN(d) {
				derivative = fmt.Sprintf("%.4g", d)
			}
			t := &objective.Tolerances[k]
			table.row(name, unit, t.Name, fmt.Sprintf("%.0f %%", 100*c.Budget[k]), derivative, t.Unit.Symbol)
			name, unit = "", ""
		}
	}
	if err := table.write(s.out); err != nil {
		return err
	}
	text := fmt.Sprintf("loosest tolerance on thickness with which %.4g %% of the parts conform: ", 100*spec.Tolerances.Share)
	switch v := r.LoosestThickness; {
	case math.IsNaN(v):
		text += "none, the other tolerances alone are too much"
	case math.IsInf(v, 0):
		text += "beyond 100 µm"
	default:
		text += fmt.Sprintf("%.3g µm", v*1e6)
	}
	_, err := fmt.Fprintln(s.out, text)
	return err
}
