package diagnosis

import (
	"cmp"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/objective"
)

// Unbuilt is why no design of a sample can be built: the inequality that fails most
// often, and the varied parameter that moves it most.
type Unbuilt struct {
	Designs  int    // that were looked at
	Fails    int    // of them, this inequality
	Reason   string // of the design that comes nearest
	Variable string // empty where none moves it
	More     bool   // more of the variable brings it nearer, else less
}

// WhyUnbuilt looks at points of which none can be built. It reports false when one
// can, or is stopped by something else than its dimensions.
//
// The parameter is the one whose value correlates most with the gap of the
// inequality, value less bound, over the points that it stops.
func WhyUnbuilt(spec *objective.Spec, points [][]float64) (Unbuilt, bool) {
	evaluation := objective.NewEvaluation(spec)
	byFormat := map[string][]int{}
	gaps, reasons := make([]float64, len(points)), make([]string, len(points))
	for i, x := range points {
		evaluation.Evaluate(x)
		v := evaluation.Verdict
		if v.Status != models.CannotBuild {
			return Unbuilt{}, false
		}
		byFormat[v.Format] = append(byFormat[v.Format], i)
		gaps[i], reasons[i] = v.Value-v.Bound, v.Reason()
	}
	var stopped []int
	for _, list := range byFormat {
		if len(list) > len(stopped) || len(list) == len(stopped) && list[0] < stopped[0] {
			stopped = list
		}
	}
	if len(stopped) == 0 {
		return Unbuilt{}, false
	}
	nearest := slices.MinFunc(stopped, func(i, k int) int { return cmp.Compare(math.Abs(gaps[i]), math.Abs(gaps[k])) })
	u := Unbuilt{Designs: len(points), Fails: len(stopped), Reason: reasons[nearest]}
	// Value below bound or above it: nearer means the gap towards 0
	sign := 1.0
	if gaps[nearest] > 0 {
		sign = -1
	}
	strongest := 0.0
	for k, variable := range spec.Variables {
		if variable.Target != objective.TargetParameter {
			continue
		}
		r := correlation(stopped, func(i int) float64 { return points[i][k] }, func(i int) float64 { return sign * gaps[i] })
		if math.Abs(r) > math.Abs(strongest) {
			strongest = r
			u.Variable, u.More = spec.Name(objective.Ref{Parameter: true, Index: variable.Index}), r > 0
		}
	}
	return u, true
}

// correlation of two numbers over a list (Pearson); 0 where one does not vary.
func correlation(list []int, x, y func(int) float64) float64 {
	n := float64(len(list))
	var mx, my float64
	for _, i := range list {
		mx, my = mx+x(i)/n, my+y(i)/n
	}
	var xx, yy, xy float64
	for _, i := range list {
		a, b := x(i)-mx, y(i)-my
		xx, yy, xy = xx+a*a, yy+b*b, xy+a*b
	}
	if xx == 0 || yy == 0 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}
