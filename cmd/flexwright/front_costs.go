package main

import (
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
	"flexwright/search"
)

const (
	relaxation     = 0.1  // by which --costs moves a bound
	mostReevaluate = 5000 // screened designs that --costs evaluates in full
)

// relaxed is one limit moved or gone, and the designs that this lets in.
type relaxed struct {
	limits []objective.Limit
	extra  []float64 // their objectives
}

// limitCost is what one limit costs, as JSON: the bound, the share by which the
// front's hypervolume grows and the designs let in, when the bound is a tenth
// looser and when it is gone.
type limitCost struct {
	Column         string   `json:"column"`
	AtLeast        *float64 `json:"at_least,omitempty"`
	AtMost         *float64 `json:"at_most,omitempty"`
	GainLooser     float64  `json:"gain_looser"`
	DesignsLooser  int      `json:"designs_looser"`
	GainWithout    float64  `json:"gain_without"`
	DesignsWithout int      `json:"designs_without"`
}

// printCosts prints, for every limit of the run, how much the front's
// hypervolume would grow if its bound moved by a tenth, or were gone: from the
// rows, of which those that were screened and that the change lets in so far are
// evaluated in full now. Goals count as shares of the present front's range; the
// reference point is a tenth of it beyond the worst.
func printCosts(s streams, folder *results.Folder, spec *objective.Spec, asJSON bool) error {
	if spec == nil {
		return refuse("--costs needs the limits of one run; this folder has none, or several")
	}
	base, err := folder.Front(nil)
	if err != nil {
		return err
	}
	if len(base) == 0 {
		if asJSON {
			return writeJSON(s.out, []limitCost{})
		}
		_, err := fmt.Fprintln(s.out, "no feasible design: no front to compare with")
		return err
	}
	variants := make([]relaxed, 0, 2*len(spec.Limits))
	for i, l := range spec.Limits {
		for _, by := range []float64{relaxation, math.Inf(1)} {
			v := relaxed{limits: slices.Clone(spec.Limits)}
			v.limits[i].AtLeast -= by * unit(l.AtLeast)
			v.limits[i].AtMost += by * unit(l.AtMost)
			variants = append(variants, v)
		}
	}
	left, err := letIn(folder, spec, variants)
	if err != nil {
		return err
	}
	m := len(spec.Goals)
	front := make([]float64, 0, m*len(base))
	for i := range base {
		front = append(front, make([]float64, m)...)
		spec.Objectives(&base[i], front[m*i:])
	}
	over := search.RangesOf(m, front)
	volume := func(extra []float64) float64 { return over.Hypervolume(slices.Concat(front, extra)) }
	present := volume(nil)
	t := newPageTable("limit", "bound", "gain if 10 % looser", "designs", "gain without it", "designs")
	list := make([]limitCost, 0, len(spec.Limits))
	for i, l := range spec.Limits {
		var gain [2]float64
		for k := range 2 {
			gain[k] = volume(variants[2*i+k].extra)/present - 1
		}
		looser, without := len(variants[2*i].extra)/m, len(variants[2*i+1].extra)/m
		c := limitCost{Column: spec.Column(l.Ref), GainLooser: gain[0], DesignsLooser: looser, GainWithout: gain[1], DesignsWithout: without}
		if !math.IsInf(l.AtLeast, 0) {
			c.AtLeast = &l.AtLeast
		}
		if !math.IsInf(l.AtMost, 0) {
			c.AtMost = &l.AtMost
		}
		list = append(list, c)
		t.row(spec.LimitName(&l), boundText(l)+" "+spec.Unit(l.Ref).Symbol,
			fmt.Sprintf("%.2f %%", 100*gain[0]), fmt.Sprint(looser), fmt.Sprintf("%.2f %%", 100*gain[1]), fmt.Sprint(without))
	}
	if asJSON {
		return writeJSON(s.out, list)
	}
	if err := t.write(s.out); err != nil {
		return err
	}
	fmt.Fprintln(s.out, `
Growth of the front's hypervolume by designs of this run that the change lets
in. The search kept away from what the limits forbid: a lower bound.`)
	if left > 0 {
		fmt.Fprintf(s.out, "%d screened designs more were not evaluated.\n", left)
	}
	return nil
}

// unit is what a share of a bound is taken of: its magnitude, or 1.
func unit(bound float64) float64 {
	if bound == 0 {
		return 1
	}
	return math.Abs(bound)
}

// letIn gathers the designs that each variant of the limits lets in. It returns
// how many screened ones it left alone.
func letIn(folder *results.Folder, spec *objective.Spec, variants []relaxed) (left int, err error) {
	again, evaluated := diagnosis.Reevaluate(spec), 0
	objectives := make([]float64, len(spec.Goals))
	for row, err := range folder.Rows() {
		if err != nil {
			return 0, err
		}
		r := &row
		if r.Feasible || r.Status != models.Solved && r.Status != models.Screened {
			continue
		}
		hopeful := slices.ContainsFunc(variants, func(v relaxed) bool { return withinComputed(r, v.limits) })
		if !hopeful {
			continue
		}
		if r.Status == models.Screened {
			if evaluated == mostReevaluate {
				left++
				continue
			}
			evaluated++
			var ok bool
			if r, ok = again(r); !ok {
				continue
			}
		}
		spec.Objectives(r, objectives)
		for i := range variants {
			if meets(r, variants[i].limits) {
				variants[i].extra = append(variants[i].extra, objectives...)
			}
		}
	}
	return left, nil
}

// withinComputed reports whether what was computed of a row meets limits.
func withinComputed(r *objective.Row, limits []objective.Limit) bool {
	for i := range limits {
		v, ok := r.Judged(&limits[i])
		if ok && !limits[i].Met(v) {
			return false
		}
	}
	return true
}
