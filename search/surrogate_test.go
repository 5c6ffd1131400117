package search

import (
	"context"
	"math"
	"slices"
	"testing"
)

// valley has its front at x0 in [0, 1] with all others at 0.3, sqrt(f1) +
// sqrt(f2) = 1, behind a limit at 0.1 of the second half.
func valley(x []float64) Outcome {
	var far float64
	for _, v := range x[1:] {
		far += (v - 0.3) * (v - 0.3)
	}
	o := Outcome{
		Objectives: []float64{x[0]*x[0] + far, (1-x[0])*(1-x[0]) + far},
		Limits:     []float64{0.1 - x[len(x)-1], far - 2},
	}
	for _, g := range o.Limits {
		o.Violation += max(g, 0)
	}
	return o
}

// nearest is the median of sqrt(f1) + sqrt(f2) over the front of the last 60 points.
func nearest(t *testing.T, e *Evolve, tell func(Outcome) Outcome) float64 {
	t.Helper()
	var last []float64
	_, err := e.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
		out := make([]Outcome, len(p.Points))
		for i, x := range p.Points {
			out[i] = tell(valley(x))
			if o := valley(x); o.Violation == 0 {
				last = append(last, math.Sqrt(o.Objectives[0])+math.Sqrt(o.Objectives[1]))
			}
		}
		return out, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	last = last[max(0, len(last)-60):]
	slices.Sort(last)
	return last[len(last)/2]
}

func TestSurrogateGetsThereSooner(t *testing.T) {
	same := func(o Outcome) Outcome { return o }
	for name, tell := range map[string]func(Outcome) Outcome{
		"limits": same,
		"stage by stage": func(o Outcome) Outcome {
			if g := o.Limits[0]; g > 0 {
				return Outcome{Stage: 1, Violation: g, Limits: []float64{g, math.NaN()}}
			}
			o.Stage = 2
			return o
		},
		"nothing where the cheap limit fails": func(o Outcome) Outcome {
			if o.Limits[0] > 0 {
				return Outcome{Stage: 0, Violation: 1, Limits: []float64{math.NaN(), math.NaN()}}
			}
			o.Stage = 1
			return o
		},
		"violation only": func(o Outcome) Outcome {
			o.Limits = nil
			return o
		},
		"nothing of points with a violation": func(o Outcome) Outcome {
			if o.Violation > 0 {
				return Outcome{Violation: math.Inf(1)}
			}
			return o
		},
	} {
		options := EvolveOptions{Population: 40, Generations: 8}
		plain, err := NewEvolve(cube(8), 3, options)
		if err != nil {
			t.Fatal(err)
		}
		options.Surrogate = true
		model, err := NewEvolve(cube(8), 3, options)
		if err != nil {
			t.Fatal(err)
		}
		a, b := nearest(t, plain, tell)-1, nearest(t, model, tell)-1
		// 320 evaluations of quadratic functions of eight variables, which have
		// 45 coefficients each: the model knows them, plain evolution does not.
		if b > a/3 || b < 0 {
			t.Errorf("%s: %v above the front with, %v without a surrogate", name, b, a)
		}
	}
}

// Neither chance nor the number of workers decides what is proposed.
func TestSurrogateIsAFunctionOfSeed(t *testing.T) {
	s := append(cube(3), mixed...)
	run := func(pool *Pool) (points [][]float64) {
		e, err := NewEvolve(s, 2, EvolveOptions{Population: 30, Generations: 5, Surrogate: true, Pool: pool})
		if err != nil {
			t.Fatal(err)
		}
		if _, err := e.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
			out := make([]Outcome, len(p.Points))
			for i, x := range p.Points {
				points = append(points, slices.Clone(x))
				out[i] = valley([]float64{x[0], x[1], x[2], x[3], x[4] / 2, x[5] / 8})
			}
			return out, nil
		}); err != nil {
			t.Fatal(err)
		}
		return points
	}
	a, b := run(nil), run(NewPool(3))
	if len(a) != 150 || repeats(a) != 0 {
		t.Errorf("%d points, %d repeats", len(a), repeats(a))
	}
	for i := range a {
		if !slices.Equal(a[i], b[i]) {
			t.Fatalf("point %d differs between two runs", i)
		}
		for d, v := range s {
			if _, ok := v.Values(); ok && v.Value(v.number(v.Encode(a[i][d]))) != a[i][d] {
				t.Fatalf("point %d: %v is no value of variable %s", i, a[i][d], v.Name)
			}
		}
	}
}
