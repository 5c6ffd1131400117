package main

import (
	"context"
	"runtime"

	"flexwright/configs"
	"flexwright/objective"
	"flexwright/search"
)

// correctedHelp is that of the flag of the verbs that take one.
const correctedHelp = "`file` that fit --out wrote: compute every design with these corrections, in the place of the brief's"

// correctedBrief returns a brief with the corrections of a file, and its text; reload
// reads that as the brief itself was read.
func correctedBrief(s streams, brief *configs.Brief, path string, reload func(name string, data []byte) (*configs.Brief, configs.Problems)) (*configs.Brief, []byte, error) {
	name, data, err := readInput(s, path)
	if err != nil {
		return nil, nil, err
	}
	text, problems := brief.Corrected(name, data)
	if len(problems) == 0 {
		brief, problems = reload("the brief with "+name, text)
	}
	if len(problems) > 0 {
		return nil, nil, &exitError{exitRefused, problems}
	}
	return brief, text, nil
}

// again are designs of a front, evaluated with corrections.
type again struct {
	rows     []objective.Row // all, in their order
	feasible int             // of them, under the limits of the run
	front    []int           // of rows, those that are on the front now
}

// evaluateAgain evaluates stored designs by a spec, in parallel.
func evaluateAgain(spec *objective.Spec, stored []objective.Row) *again {
	a := &again{rows: make([]objective.Row, len(stored))}
	pool := search.NewPool(runtime.GOMAXPROCS(0))
	evaluations := make([]*objective.Evaluation, pool.Workers())
	_, panics := pool.Do(context.Background(), len(stored), func(worker, i int) {
		if evaluations[worker] == nil {
			evaluations[worker] = objective.NewEvaluation(spec)
		}
		x := make([]float64, len(spec.Variables))
		if !spec.Point(&stored[i], x) {
			a.rows[i] = stored[i]
			a.rows[i].Feasible = false
			return
		}
		e := evaluations[worker]
		e.Evaluate(x)
		e.Fill(&a.rows[i])
		a.rows[i].ID, a.rows[i].Run, a.rows[i].Island, a.rows[i].Generation = stored[i].ID, stored[i].Run, stored[i].Island, stored[i].Generation
	})
	if len(panics) > 0 {
		panic(panics[0])
	}
	archive := search.NewArchive[int](len(spec.Goals))
	point := make([]float64, len(spec.Goals))
	for i := range a.rows {
		if a.rows[i].Feasible {
			a.feasible++
			spec.Objectives(&a.rows[i], point)
			archive.Add(point, i)
		}
	}
	a.front = archive.Items()
	return a
}

// correctedFront evaluates designs of a front again with the corrections of a file, and
// returns those that are left of it.
func (v *frontView) correctedFront(s streams, rows []objective.Row) ([]objective.Row, error) {
	if v.brief == nil {
		return nil, refuse("--corrected: %s holds runs of several briefs", v.folder.Dir())
	}
	brief, _, err := correctedBrief(s, v.brief, v.options.corrected, func(name string, data []byte) (*configs.Brief, configs.Problems) {
		return loadStored(v.folder, name, data)
	})
	if err != nil {
		return nil, err
	}
	v.brief, v.spec = brief, brief.Spec()
	v.limited = under(v.spec, v.bounds)
	a := evaluateAgain(v.limited, rows)
	v.again = a
	say(s.err, "%s of the front computed with the corrections of %s: %d within all limits, %d of them on their common front",
		counted(len(rows), "design"), v.options.corrected, a.feasible, len(a.front))
	list := make([]objective.Row, 0, len(a.front))
	for _, i := range a.front {
		list = append(list, a.rows[i])
	}
	return list, nil
}
