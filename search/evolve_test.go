package search

import (
	"context"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
)

// bowl has two objectives, the squared distances from (0,0,0) and (1,0,0), a
// limit x0 + x1 >= 0.2 and no measurable violation below x1 = -0.9.
func bowl(x []float64) Outcome {
	if x[1] < -0.9 {
		return Outcome{Violation: math.Inf(1)}
	}
	if g := 0.2 - x[0] - x[1]; g > 0 {
		return Outcome{Violation: g}
	}
	var a, b float64
	for d, v := range x {
		a += v * v
		if d == 0 {
			v--
		}
		b += v * v
	}
	return Outcome{Objectives: []float64{a, b}}
}

func bowlBatch(ids *[]int64, points *[][]float64) Batch { return answered(ids, points, bowl) }

// answered is a batch that records what it is asked.
func answered(ids *[]int64, points *[][]float64, answer func([]float64) Outcome) Batch {
	return func(_ context.Context, p *Proposals) ([]Outcome, error) {
		out := make([]Outcome, len(p.Points))
		for i, x := range p.Points {
			*ids = append(*ids, p.IDs[i])
			*points = append(*points, slices.Clone(x))
			out[i] = answer(x)
		}
		return out, nil
	}
}

var bowlSpace = Space{{From: -1, To: 1}, {From: -1, To: 1}, {Kind: Stepped, From: -1, To: 1, Step: 0.1}}

func TestEvolveIsAFunctionOfSeed(t *testing.T) {
	run := func(seed uint64) (ids []int64, points [][]float64) {
		p := must(t)(NewEvolve(bowlSpace, seed, EvolveOptions{Population: 20, Generations: 15}))
		by, err := p.Run(context.Background(), bowlBatch(&ids, &points))
		if err != nil || by != ByPlan || int64(len(points)) != p.Designs() || len(points) != 300 {
			t.Fatal(by, err, len(points))
		}
		return ids, points
	}
	ids, a := run(5)
	_, b := run(5)
	_, c := run(6)
	for i := range a {
		if !slices.Equal(a[i], b[i]) {
			t.Fatalf("point %d differs between two runs", i)
		}
		if ids[i] != int64(i+1) {
			t.Fatalf("point %d has id %d", i, ids[i])
		}
	}
	if slices.Equal(a[299], c[299]) {
		t.Error("the seed has no effect")
	}
	if repeats(a) != 0 {
		t.Error("a point is proposed twice")
	}
}

// On the front between the two centres sqrt(f1) + sqrt(f2) = 1, their distance.
func TestEvolveFindsTheFront(t *testing.T) {
	var ids []int64
	var points [][]float64
	p := must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 40, Generations: 40}))
	if _, err := p.Run(context.Background(), bowlBatch(&ids, &points)); err != nil {
		t.Fatal(err)
	}
	near := 0
	for _, x := range points[len(points)-200:] {
		if o := bowl(x); o.Feasible() && math.Sqrt(o.Objectives[0])+math.Sqrt(o.Objectives[1]) < 1.02 {
			near++
		}
	}
	if near < 80 {
		t.Errorf("%d of the last 200 points are near the front", near)
	}
}

func TestEvolveEndsWhenNoPointIsLeft(t *testing.T) {
	p := must(t)(NewEvolve(mixed, 1, EvolveOptions{Population: 50, Generations: 50}))
	ids, points, by := record(t, p)
	if by != ByNoPointLeft || len(points) != 120 || repeats(points) != 0 || p.Designs() != 120 || len(ids) != 120 {
		t.Error(by, len(points), repeats(points), p.Designs())
	}
}

func TestEvolveStart(t *testing.T) {
	start := [][]float64{{0.25, 0.5, 0.32}, {0.25, 0.5, 0.3}, {-0.5, 1, 1}}
	p := must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 10, Generations: 1, Start: start}))
	_, points, _ := record(t, p)
	if want := []float64{0.25, 0.5, 0.3}; !slices.Equal(points[0], want) {
		t.Errorf("first point %v, want %v", points[0], want)
	}
	if !slices.Equal(points[2], start[2]) || len(points) != 10 {
		t.Errorf("third point %v, want %v", points[2], start[2])
	}
	if _, err := NewEvolve(bowlSpace, 1, EvolveOptions{Start: [][]float64{{1}}}); err == nil {
		t.Error("a start point of wrong length passes")
	}
}

func TestEvolveStagnates(t *testing.T) {
	var ids []int64
	var points [][]float64
	p := must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 40, Generations: 1000, Stagnation: 10}))
	by, err := p.Run(context.Background(), bowlBatch(&ids, &points))
	if err != nil || by != ByStagnation || len(points) > 40*300 {
		t.Fatal(by, err, len(points))
	}
	// A search without a feasible point goes on.
	p = must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 10, Generations: 50, Stagnation: 5}))
	if by, err := p.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
		out := make([]Outcome, len(p.Points))
		for i := range out {
			out[i].Violation = math.Inf(1)
		}
		return out, nil
	}); by != ByPlan || err != nil {
		t.Error(by, err)
	}
}

func TestEvolveShards(t *testing.T) {
	seen := map[int64]bool{}
	var first []string
	for i := range 3 {
		ids, points, _ := record(t, must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 14, Generations: 3, Shard: Shard{i + 1, 3}})))
		first = append(first, fmt.Sprint(points[0]))
		for _, id := range ids {
			if seen[id] {
				t.Fatalf("id %d twice", id)
			}
			seen[id] = true
		}
	}
	if first[0] == first[1] || first[1] == first[2] {
		t.Error("shards search alike")
	}
}

func TestEvolvePassesErrorsOn(t *testing.T) {
	stop := errors.New("stop")
	for _, at := range []int{1, 3} {
		calls := 0
		p := must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 10}))
		_, err := p.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
			if calls++; calls == at {
				return nil, stop
			}
			return make1(p), nil
		})
		if err != stop || calls != at {
			t.Errorf("call %d: %v after %d calls", at, err, calls)
		}
		calls = 0
		_, err = p.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
			if calls++; calls == at {
				panic("boom")
			}
			return make1(p), nil
		})
		var fault *Panic
		if !errors.As(err, &fault) || fault.Value != "boom" || !strings.Contains(err.Error(), "evolve_test.go") {
			t.Errorf("call %d: %v", at, err)
		}
	}
	ctx, cancel := context.WithCancel(context.Background())
	p := must(t)(NewEvolve(bowlSpace, 1, EvolveOptions{Population: 10}))
	_, err := p.Run(ctx, func(_ context.Context, p *Proposals) ([]Outcome, error) {
		cancel()
		return make1(p), nil
	})
	if err != context.Canceled {
		t.Error(err)
	}
	for _, bad := range []Outcome{
		{Violation: math.NaN()}, {Violation: -1}, {}, {Objectives: []float64{math.NaN(), 0}}, {Objectives: []float64{1, math.Inf(1)}},
	} {
		_, err := p.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
			out := make1(p)
			out[3] = bad
			return out, nil
		})
		if err != ErrOutcomes {
			t.Errorf("%+v: %v", bad, err)
		}
	}
}

func make1(p *Proposals) []Outcome {
	out := make([]Outcome, len(p.Points))
	for i := range out {
		out[i].Objectives = []float64{p.Points[i][0], -p.Points[i][0]}
	}
	return out
}
