package search

import (
	"math/rand/v2"
	"slices"
	"testing"
)

// Worked by hand: on a line the point of the smallest gap goes first, and gaps
// grow as points go.
func TestCrowdingLineByHand(t *testing.T) {
	objs := []float64{0, 10, 1, 9, 2, 8, 5, 5, 6, 4, 10, 0}
	members := []int{0, 1, 2, 3, 4, 5}
	var s crowding
	// Gaps 2, 4, 4, 5 of 10 in each objective for the inner points: (1,9) goes,
	// then of 5, 4, 5 (5,5). Kept: the ends, then (2,8) and (6,4) with 6 and 8.
	s.thin(objs, 2, members, 4)
	if want := []int{0, 5, 4, 2, 3, 1}; !slices.Equal(members, want) {
		t.Errorf("%v, want %v", members, want)
	}
}

// Worked by hand: moved to the others' worse objectives, the second point is 0.1
// from the first, and no other is as near.
func TestCrowdingShiftByHand(t *testing.T) {
	objs := []float64{0, 1, 0.5, 0.1, 0.9, 0.6, 1, 0, 0.4, 0.4, 0.3, 1}
	members := []int{0, 1, 2, 3}
	var s crowding
	// From point 1 to point 0: objective 2 is worse by 0.1, objective 3 better
	// or worse by 0.1 x the range 0.6; from 0 to 1 both 0.1.
	s.thin(objs, 3, members, 3)
	if members[3] != 0 && members[3] != 1 {
		t.Errorf("%v: one of the pair 0, 1 must go", members)
	}
}

// Halving a front of many points keeps the number asked for, each once, and
// spreads as well as comparing all: the least distance between kept neighbours
// is far above that of a random choice.
func TestCrowdingManyPoints(t *testing.T) {
	r := rand.New(rand.NewPCG(1, 2))
	const n, keep, m = 2000, 300, 3
	objs := sphere(r, n, m)
	members := make([]int, n)
	for i := range members {
		members[i] = i
	}
	var s crowding
	s.thin(objs, m, members, keep)
	sorted := slices.Clone(members)
	slices.Sort(sorted)
	for i := range sorted {
		if sorted[i] != i {
			t.Fatal("members are lost")
		}
	}
	closest := func(kept []int) float64 {
		best := 9.0
		for a, i := range kept {
			for _, j := range kept[:a] {
				best = min(best, cube3(objs[i*m:i*m+m], objs[j*m:j*m+m]))
			}
		}
		return best
	}
	random := make([]int, keep)
	for i := range random {
		random[i] = i
	}
	if a, b := closest(members[:keep]), closest(random); a < 100*b {
		t.Errorf("closest pair %v, of a random choice %v (third powers)", a, b)
	}
}

func TestPortfolioFollowsSuccess(t *testing.T) {
	var p portfolio
	p.reset()
	sum := func() (s float64) {
		for _, x := range p.share {
			s += x
		}
		return s
	}
	// 1e-15: four shares are added.
	if s := sum(); s < 1-1e-15 || s > 1+1e-15 || p.share[opBisect] != 0 {
		t.Errorf("shares %v at the start", p.share)
	}
	var children, next []*design
	for i := range 30 {
		c := &design{operator: operator(i % 3), parent: &design{}}
		children = append(children, c)
		if c.operator == opPartly {
			next = append(next, c)
		}
	}
	p.learn(children, next, len(next))
	if p.share[opPartly] < 0.8 || p.share[opBinary] < minShare || sum() > 1+1e-15 {
		t.Errorf("shares %v after only %d succeeds", p.share, opPartly)
	}
	next[0].beyond = []float64{0}
	p.learn(children, next, len(next))
	if p.share[opBisect] < minShare {
		t.Errorf("no bisection with a point beyond a limit: %v", p.share)
	}
}
