package search

import (
	"context"
	"math"
	"slices"
	"testing"
)

// kinds is two objectives over three kinds of things. That of kind 2 are the best in the
// end, but most of them break a limit, and the first ones that do not are worse than
// what the others begin with.
var kindsSpace = Space{
	{Name: "kind", Kind: Choice, Choices: 3, Apart: true}, {From: 0, To: 1}, {From: 0, To: 1}, {From: 0, To: 1},
	{Name: "only of kind 2", From: 0, To: 1, Of: []int{2}},
}

func kinds(x []float64) Outcome {
	off := math.Abs(x[2]-0.7) + math.Abs(x[3]-0.2)
	switch x[0] {
	case 0:
		return Outcome{Objectives: []float64{x[1], 1.3 - x[1] + 0.1*off}}
	case 1:
		return Outcome{Objectives: []float64{x[1], 1.2 - x[1] + 0.3*off}}
	}
	off += math.Abs(x[4] - 0.9)
	if g := off - 0.2; g > 0 {
		return Outcome{Violation: g, Limits: []float64{g}}
	}
	return Outcome{Objectives: []float64{x[1], 1.1 - x[1] + 4*off}, Limits: []float64{off - 0.2}}
}

// best is the hypervolume of the feasible points of a kind, to (1, 2).
func best(points [][]float64, kind float64) float64 {
	var objs []float64
	for _, x := range points {
		if o := kinds(x); x[0] == kind && o.Feasible() {
			objs = append(objs, o.Objectives...)
		}
	}
	return Hypervolume(objs, 2, []float64{1, 2})
}

// One search finds of each kind what a search of its own finds with a third of the
// designs, in all over a few seeds; a choice that is not apart loses much of the slow one.
func TestNichesKeepSlowStarters(t *testing.T) {
	const population, generations, seeds = 60, 30, 4
	search := func(s Space, population int, seed uint64, answer func([]float64) Outcome) (points [][]float64) {
		var ids []int64
		p := must(t)(NewEvolve(s, seed, EvolveOptions{Population: population, Generations: generations, Surrogate: seed == 1}))
		if _, err := p.Run(t.Context(), answered(&ids, &points, answer)); err != nil {
			t.Fatal(err)
		}
		for i, id := range ids {
			if id != int64(i+1) {
				t.Fatalf("point %d has id %d", i, id)
			}
		}
		return points
	}
	plain := slices.Clone(kindsSpace)
	plain[0].Apart = false
	var got, want, without [3]float64
	for seed := uint64(1); seed <= seeds; seed++ {
		one, mixed := search(kindsSpace, population, seed, kinds), search(plain, population, seed, kinds)
		if len(one) != population*generations || repeats(one) != 0 {
			t.Fatalf("%d points, %d twice", len(one), repeats(one))
		}
		for kind := range 3 {
			var own [][]float64
			search(kindsSpace[1:], population/3, seed, func(x []float64) Outcome {
				y := append([]float64{float64(kind)}, x...)
				own = append(own, y)
				return kinds(y)
			})
			got[kind] += best(one, float64(kind))
			want[kind] += best(own, float64(kind))
			without[kind] += best(mixed, float64(kind))
		}
	}
	for kind := range 3 {
		if got[kind] < 0.95*want[kind] {
			t.Errorf("kind %d: hypervolume %.4f, searched by itself %.4f", kind, got[kind], want[kind])
		}
	}
	if without[2] > 0.9*want[2] {
		t.Errorf("the slow kind: hypervolume %.4f without niches, searched by itself %.4f: the problem is too easy", without[2], want[2])
	}
	t.Log(got, want, without)
}

// A variable of one kind alone stands in the middle elsewhere; a finite space ends when
// each kind has no point left, of which there are as many as the plan says.
func TestNichesOfFiniteSpaces(t *testing.T) {
	s := Space{{Kind: Choice, Choices: 2, Apart: true}, {Kind: Choice, Choices: 5}, {Kind: Stepped, From: 0, To: 1, Step: 0.05, Of: []int{1}}}
	p := must(t)(NewEvolve(s, 1, EvolveOptions{Population: 12, Generations: 50}))
	_, points, by := record(t, p)
	if by != ByNoPointLeft || len(points) != 5+5*21 || p.Designs() != 110 || repeats(points) != 0 {
		t.Error(by, len(points), p.Designs(), repeats(points))
	}
	for _, x := range points {
		if x[0] == 0 && x[2] != 0.5 {
			t.Fatalf("%v: kind 0 has no third variable", x)
		}
	}
	// Too few to breed from in each kind: one population.
	p = must(t)(NewEvolve(s, 1, EvolveOptions{Population: 7, Generations: 50}))
	if _, points, by := record(t, p); by != ByNoPointLeft || len(points) != 2*5*21 {
		t.Error(by, len(points))
	}
}

// An even share stays with a kind until its front has settled; then what it has
// on the common front counts.
func TestNichesShareOut(t *testing.T) {
	n := newNiches(kindsSpace, 1, EvolveOptions{Population: 60, Generations: 100}, 0, func(p *Proposals) ([]Outcome, error) {
		out := make([]Outcome, len(p.Points))
		for i, x := range p.Points {
			out[i] = kinds(x)
		}
		return out, nil
	})
	if err := n.first(); err != nil {
		t.Fatal(err)
	}
	for range 60 {
		if err := n.next(); err != nil {
			t.Fatal(err)
		}
		sum := 0
		for k, s := range n.share {
			sum += s
			if !n.settled[k] && s < 20 {
				t.Fatalf("generation %d: kind %d breeds %d before it has settled", n.generation, k, s)
			}
			if s > 0 && len(n.list[k].parents) != max(s, leastIsland) {
				t.Fatalf("generation %d: kind %d keeps %d parents of a share of %d", n.generation, k, len(n.list[k].parents), s)
			}
		}
		if sum != 60 {
			t.Fatalf("generation %d: %d children", n.generation, sum)
		}
	}
	if !n.settled[0] || n.share[0] != 0 || n.share[2] < 50 {
		t.Errorf("in the end kinds breed %v, settled %v", n.share, n.settled)
	}
}

// Islands of niches exchange the parents of each kind, and find the same again.
func TestNichesOnIslands(t *testing.T) {
	o := EvolveOptions{Population: 48, Generations: 12}
	run := func() (all [][][]float64) {
		_, all = archipelagoOf(t, kindsSpace, kinds, 2, 0, o)
		return all
	}
	a, b := run(), run()
	for i := range a {
		if len(a[i]) != 24*12 {
			t.Errorf("island %d: %d designs", i+1, len(a[i]))
		}
		for k, x := range a[i] {
			if !slices.Equal(x, b[i][k]) {
				t.Fatalf("island %d: point %d differs", i+1, k)
			}
		}
	}
	start := [][]float64{{2, 0.5, 0.7, 0.2, 0.9}, {0, 0.25, 0.5, 0.5, math.NaN()}}
	p := must(t)(NewEvolve(kindsSpace, 1, EvolveOptions{Population: 12, Generations: 1, Start: start}))
	var ids []int64
	var points [][]float64
	if _, err := p.Run(context.Background(), answered(&ids, &points, kinds)); err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(points[8], start[0]) || !slices.Equal(points[0], []float64{0, 0.25, 0.5, 0.5, 0.5}) {
		t.Errorf("starts with %v and %v", points[0], points[8])
	}
}

// A layout takes as many designs to begin with as its part of the first generation has places.
func TestStarted(t *testing.T) {
	apart := Space{
		{Name: "kind", Kind: Choice, Choices: 2, Apart: true},
		{Name: "x", Kind: Continuous, From: 0, To: 1},
	}
	start := func(kinds ...float64) (list [][]float64) {
		for i, k := range kinds {
			list = append(list, []float64{k, float64(i) / 10})
		}
		return list
	}
	for _, c := range []struct {
		space Space
		start [][]float64
		want  int
	}{
		{apart, start(0, 0, 0, 0, 0, 0, 0, 1), 6},
		{apart[1:], [][]float64{{0}, {0.1}, {0.2}}, 3},
		{apart[1:], slices.Repeat([][]float64{{0.5}}, 30), 10},
	} {
		e, err := NewEvolve(c.space, 1, EvolveOptions{Population: 10, Start: c.start})
		if err != nil {
			t.Fatal(err)
		}
		if got := e.Started(); got != c.want {
			t.Errorf("%d of %d, want %d", got, len(c.start), c.want)
		}
	}
}
