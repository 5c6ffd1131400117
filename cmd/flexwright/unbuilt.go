package main

import (
	"fmt"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
)

// unbuiltAfter is after how many designs, none of which can be built, a run says why.
const unbuiltAfter = 200

// unbuiltWatch looks at the first designs of a run.
type unbuiltWatch struct {
	spec   *objective.Spec
	say    func(text string)
	points [][]float64
	done   bool
}

func (w *unbuiltWatch) observe(rows []objective.Row) {
	for i := range rows {
		if w.done {
			return
		}
		if rows[i].Status != models.CannotBuild {
			w.done = true
			return
		}
		x := make([]float64, len(w.spec.Variables))
		if w.spec.Point(&rows[i], x) {
			w.points = append(w.points, x)
		}
		if len(w.points) == unbuiltAfter {
			w.done = true
			if text := unbuiltText(w.spec, w.points); text != "" {
				w.say(text)
			}
		}
	}
}

// unbuiltText says why none of the points can be built; empty where one can.
func unbuiltText(spec *objective.Spec, points [][]float64) string {
	u, ok := diagnosis.WhyUnbuilt(spec, points)
	if !ok {
		return ""
	}
	text := fmt.Sprintf("none of the first %s can be built; %d fail the same inequality, the nearest: %s", counted(u.Designs, "design"), u.Fails, u.Reason)
	switch {
	case u.Variable == "":
		return text + "; nothing that varies moves it"
	case u.More:
		return text + "; more " + u.Variable + " moves it most"
	}
	return text + "; less " + u.Variable + " moves it most"
}

// firstPoints are the design vectors of the first rows of a folder.
func firstPoints(folder *results.Folder, spec *objective.Spec) ([][]float64, error) {
	var points [][]float64
	for row, err := range folder.Rows() {
		if err != nil {
			return nil, err
		}
		x := make([]float64, len(spec.Variables))
		if spec.Point(&row, x) {
			points = append(points, x)
		}
		if len(points) == unbuiltAfter {
			break
		}
	}
	return points, nil
}
