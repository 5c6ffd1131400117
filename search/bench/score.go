package bench

import (
	"context"
	"errors"
	"math"
	"time"

	"flexwright/search"
	"flexwright/search/problems"
)

// maxPoints is how many points of a front are scored and written.
const maxPoints = 100

// score is one run of the search on one problem.
type score struct {
	ratio     float64   // hypervolume over the front's; NaN if that is unknown
	cpuPerRow float64   // processor time outside the evaluation, µs a point
	front     []float64 // objectives of at most maxPoints points
	rows      int
}

// evaluator answers a batch of points; the objectives of out have their length.
type evaluator interface {
	evaluate(points [][]float64, out []search.Outcome) error
}

var errSpent = errors.New("bench: budget spent")

// play runs the default search until it has proposed so many points.
func play(ctx context.Context, p *problems.Problem, e evaluator, evaluations int, seed uint64, o search.EvolveOptions) (score, error) {
	o.Generations = (evaluations + populationOf(o) - 1) / populationOf(o)
	plan, err := search.NewEvolve(p.Space, seed, o)
	if err != nil {
		return score{}, err
	}
	t := tally{front: search.NewArchive[struct{}](p.Objectives), mark: cpuTime()}
	batch := func(_ context.Context, b *search.Proposals) ([]search.Outcome, error) {
		return t.answer(b, e, p.Objectives, evaluations)
	}
	if _, err := plan.Run(ctx, batch); err != nil && !errors.Is(err, errSpent) {
		return score{}, err
	}
	t.outside += cpuTime() - t.mark
	return t.score(p), nil
}

// tally is what has been evaluated.
type tally struct {
	front   *search.Archive[struct{}]
	rows    int
	outside time.Duration // processor time outside the evaluation
	mark    time.Duration // when the last began
}

// answer evaluates a batch of points, as many as are left of the budget.
func (t *tally) answer(b *search.Proposals, e evaluator, m, evaluations int) ([]search.Outcome, error) {
	t.outside += cpuTime() - t.mark
	defer func() { t.mark = cpuTime() }()
	n := min(len(b.Points), evaluations-t.rows)
	out := make([]search.Outcome, n)
	flat := make([]float64, n*m)
	for i := range out {
		out[i].Objectives = flat[i*m : (i+1)*m : (i+1)*m]
	}
	if err := e.evaluate(b.Points[:n], out); err != nil {
		return nil, err
	}
	t.rows += n
	for i := range out {
		if out[i].Feasible() {
			t.front.Add(out[i].Objectives, struct{}{})
		}
	}
	if n < len(b.Points) {
		return nil, errSpent
	}
	return out, nil
}

func (t *tally) score(p *problems.Problem) score {
	m := p.Objectives
	s := score{rows: t.rows, cpuPerRow: float64(t.outside.Nanoseconds()) / 1e3 / float64(max(t.rows, 1)), ratio: math.NaN()}
	objs := t.front.Objectives()
	s.front = pick(objs, m, search.Thin(objs, m, maxPoints))
	if p.Hypervolume > 0 {
		s.ratio = ratio(p, s.front)
	}
	return s
}

func populationOf(o search.EvolveOptions) int {
	if o.Population > 0 {
		return o.Population
	}
	return 100
}

func pick(objs []float64, m int, rows []int) []float64 {
	picked := make([]float64, 0, len(rows)*m)
	for _, i := range rows {
		picked = append(picked, objs[i*m:(i+1)*m]...)
	}
	return picked
}

// ratio is the hypervolume of the points in z over the front's.
func ratio(p *problems.Problem, objs []float64) float64 {
	m := p.Objectives
	z := search.Ranges{Low: p.Ideal, High: p.Nadir}.Normalised(objs)
	return search.Hypervolume(z, m, search.Reference(m)) / p.Hypervolume
}

// builtIn evaluates a problem of ours.
type builtIn struct{ p *problems.Problem }

func (b builtIn) evaluate(points [][]float64, out []search.Outcome) error {
	c := b.p.Constraints
	g := make([]float64, len(points)*c)
	for i, x := range points {
		b.p.Evaluate(x, out[i].Objectives, g[i*c:(i+1)*c])
		judge(&out[i], g[i*c:(i+1)*c])
	}
	return nil
}
