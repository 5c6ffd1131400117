package search

import (
	"context"
	"errors"
	"fmt"
	"math/bits"
	"slices"
	"strings"
	"testing"
)

// record runs a plan on a batch that answers one objective and keeps the points.
func record(t *testing.T, p Plan) (ids []int64, points [][]float64, by EndedBy) {
	t.Helper()
	by, err := p.Run(context.Background(), func(_ context.Context, b *Proposals) ([]Outcome, error) {
		out := make([]Outcome, len(b.Points))
		for i, x := range b.Points {
			ids = append(ids, b.IDs[i])
			points = append(points, slices.Clone(x))
			out[i].Objectives = []float64{x[0], -x[0]}
		}
		return out, nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return ids, points, by
}

func must(t *testing.T) func(Plan, error) Plan {
	return func(p Plan, err error) Plan {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
}

func cube(dim int) Space {
	s := make(Space, dim)
	for d := range s {
		s[d] = Variable{Name: fmt.Sprint("x", d), From: 0, To: 1}
	}
	return s
}

func repeats(points [][]float64) int {
	set := map[string]bool{}
	for _, x := range points {
		set[fmt.Sprint(x)] = true
	}
	return len(points) - len(set)
}

var mixed = Space{
	{Name: "a", Kind: Stepped, From: 0, To: 1, Step: 0.25},
	{Name: "b", Kind: Choice, Choices: 3},
	{Name: "c", Kind: Stepped, From: 1, To: 8, Step: 1},
}

func TestGridOrder(t *testing.T) {
	s := Space{{From: 0, To: 1}, {Kind: Choice, Choices: 2}, {From: 1, To: 100, Log: true}}
	ids, points, by := record(t, must(t)(NewGrid(s, GridOptions{PerVariable: 3})))
	if by != ByPlan || len(points) != 18 || ids[0] != 1 || ids[17] != 18 {
		t.Fatal(by, len(points), ids)
	}
	if repeats(points) != 0 {
		t.Error("a grid repeats a point")
	}
	for i, want := range [][]float64{{0, 0, 1}, {0, 0, 10}, {0, 0, 100}, {0, 1, 1}} {
		// 1e-14: the middle of a logarithmic range goes through exp.
		for d, w := range want {
			if diff := points[i][d] - w; diff > 1e-14*w || diff < -1e-14*w {
				t.Errorf("point %d: %v, want %v", i, points[i], want)
			}
		}
	}
	if p := must(t)(NewGrid(cube(3), GridOptions{})); p.Designs() != 125 {
		t.Errorf("5 values by default: %d designs", p.Designs())
	}
}

// The first points of the sequence in three dimensions, as printed by the
// program that accompanies the direction numbers of Joe and Kuo.
func TestSobolPublishedPoints(t *testing.T) {
	want := [][]float64{
		{0, 0, 0}, {0.5, 0.5, 0.5}, {0.75, 0.25, 0.25}, {0.25, 0.75, 0.75},
		{0.375, 0.375, 0.625}, {0.875, 0.875, 0.125}, {0.625, 0.125, 0.875},
		{0.125, 0.625, 0.375}, {0.1875, 0.3125, 0.9375}, {0.6875, 0.8125, 0.4375},
	}
	q, u := newSobolSequence(3), make([]float64, 3)
	for i, w := range want {
		if q.next(u); !slices.Equal(u, w) {
			t.Errorf("point %d: %v, want %v", i, u, w)
		}
	}
	// A plan is the sequence, each coordinate shifted by bits of its own.
	_, points, _ := record(t, must(t)(NewSobol(cube(3), 1, SampleOptions{Designs: 10})))
	bits := func(x float64) uint32 { return uint32(x * (1 << sobolBits)) }
	for d := range 3 {
		shift := bits(points[0][d])
		if shift == 0 {
			t.Errorf("variable %d is not shifted", d)
		}
		for i, w := range want {
			if bits(points[i][d])^shift != bits(w[d]) {
				t.Errorf("point %d: %v is no shifted %v", i, points[i][d], w[d])
			}
		}
	}
}

// Every coordinate of 2^k points visits every interval of length 2^-k once
// (Sobol 1967), shifted.
func TestSobolIsBalanced(t *testing.T) {
	for _, seed := range []uint64{1, 7} {
		_, points, _ := record(t, must(t)(NewSobol(cube(SobolDims), seed, SampleOptions{Designs: 256})))
		for d := range SobolDims {
			var hit [256]bool
			for _, x := range points {
				hit[int(x[d]*256)] = true
			}
			if slices.Contains(hit[:], false) {
				t.Errorf("seed %d: an interval of variable %d is empty", seed, d)
			}
		}
	}
}

// What the paper asks of each line: a primitive polynomial (x generates all
// 2^s-1 nonzero residues), initial numbers odd and m_k < 2^k.
func TestSobolTable(t *testing.T) {
	lines := strings.Fields(strings.ReplaceAll(strings.TrimSpace(joeKuo), "\n", " / "))
	var rows [][]uint64
	row := []uint64{}
	for _, f := range append(lines, "/") {
		if f == "/" {
			rows, row = append(rows, row), nil
			continue
		}
		var v uint64
		if _, err := fmt.Sscan(f, &v); err != nil {
			t.Fatal(err)
		}
		row = append(row, v)
	}
	if len(rows) != SobolDims-1 {
		t.Fatalf("%d lines", len(rows))
	}
	for i, r := range rows {
		s, a, m := r[0], r[1], r[2:]
		if uint64(len(m)) != s {
			t.Fatalf("line %d: degree %d, %d numbers", i, s, len(m))
		}
		for k, v := range m {
			if v%2 == 0 || bits.Len64(v) > k+1 {
				t.Errorf("line %d: m_%d = %d", i, k+1, v)
			}
		}
		poly := 1<<s | a<<1 | 1
		x, order := uint64(1), uint64(0)
		for {
			x <<= 1
			if x>>s&1 == 1 {
				x ^= poly
			}
			if order++; x == 1 || order > 1<<s {
				break
			}
		}
		if order != 1<<s-1 {
			t.Errorf("line %d: the polynomial is not primitive", i)
		}
	}
}

func TestLatinHypercubeFillsEveryStratum(t *testing.T) {
	for _, n := range []int64{1, 2, 7, 100} {
		_, points, _ := record(t, must(t)(NewLatinHypercube(cube(4), 5, SampleOptions{Designs: n})))
		for d := range 4 {
			hit := make([]bool, n)
			for _, x := range points {
				hit[int(x[d]*float64(n))] = true
			}
			if slices.Contains(hit, false) {
				t.Errorf("%d designs: a stratum of variable %d is empty", n, d)
			}
		}
	}
}

func TestPermuteIsAPermutation(t *testing.T) {
	for n := uint64(1); n < 300; n++ {
		hit := make([]bool, n)
		for i := range n {
			hit[permute(i, n, n*77)] = true
		}
		if slices.Contains(hit, false) {
			t.Fatalf("not onto for n = %d", n)
		}
	}
}

func TestSweepsNeverRepeat(t *testing.T) {
	for name, p := range map[string]Plan{
		"latin": must(t)(NewLatinHypercube(mixed, 3, SampleOptions{Designs: 110})),
		"sobol": must(t)(NewSobol(mixed, 3, SampleOptions{Designs: 110})),
		"grid":  must(t)(NewGrid(mixed, GridOptions{})),
	} {
		_, points, by := record(t, p)
		if repeats(points) != 0 || by != ByPlan || int64(len(points)) != p.Designs() {
			t.Errorf("%s: %d points, %d repeats, ended by %v", name, len(points), repeats(points), by)
		}
	}
	for name, p := range map[string]Plan{
		"latin": must(t)(NewLatinHypercube(mixed, 3, SampleOptions{Designs: 1000})),
		"sobol": must(t)(NewSobol(mixed, 3, SampleOptions{Designs: 1000})),
	} {
		_, points, by := record(t, p)
		if len(points) != 120 || repeats(points) != 0 || by != ByNoPointLeft {
			t.Errorf("%s: %d of 120 points, ended by %v", name, len(points), by)
		}
	}
}

func TestShardsMakeTheWhole(t *testing.T) {
	plans := map[string]func(Shard) (Plan, error){
		"grid": func(s Shard) (Plan, error) { return NewGrid(mixed, GridOptions{Shard: s}) },
		"latin": func(s Shard) (Plan, error) {
			return NewLatinHypercube(cube(2), 4, SampleOptions{Designs: 101, Shard: s})
		},
		"latin, steps": func(s Shard) (Plan, error) { return NewLatinHypercube(mixed, 4, SampleOptions{Designs: 101, Shard: s}) },
		"sobol":        func(s Shard) (Plan, error) { return NewSobol(cube(2), 4, SampleOptions{Designs: 101, Shard: s}) },
		"sobol, steps": func(s Shard) (Plan, error) { return NewSobol(mixed, 4, SampleOptions{Designs: 101, Shard: s}) },
	}
	for name, plan := range plans {
		_, whole, _ := record(t, must(t)(plan(Shard{})))
		count := 0
		for i := range 3 {
			p := must(t)(plan(Shard{i + 1, 3}))
			ids, points, _ := record(t, p)
			count += len(points)
			if int64(len(points)) != p.Designs() {
				t.Errorf("%s: shard %d announces %d designs and proposes %d", name, i+1, p.Designs(), len(points))
			}
			for k, id := range ids {
				if id != int64(i+1+3*k) || !slices.Equal(points[k], whole[id-1]) {
					t.Fatalf("%s: shard %d point %d has id %d and differs from the whole plan's", name, i+1, k, id)
				}
			}
		}
		if count != len(whole) {
			t.Errorf("%s: shards propose %d of %d points", name, count, len(whole))
		}
	}
}

func TestSweepPassesErrorsOn(t *testing.T) {
	stop := errors.New("stop")
	p := must(t)(NewGrid(cube(2), GridOptions{}))
	if _, err := p.Run(context.Background(), func(context.Context, *Proposals) ([]Outcome, error) { return nil, stop }); err != stop {
		t.Error(err)
	}
	if _, err := p.Run(context.Background(), func(context.Context, *Proposals) ([]Outcome, error) { return nil, nil }); err != ErrOutcomes {
		t.Error(err)
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := p.Run(ctx, nil); err != context.Canceled {
		t.Error(err)
	}
	for _, s := range []Shard{{0, 3}, {4, 3}, {1, 0}} {
		if _, err := NewGrid(cube(2), GridOptions{Shard: s}); err == nil {
			t.Errorf("shard %v passes", s)
		}
	}
}

// A Latin hypercube of a million designs is proposed without being held.
func BenchmarkLatinMillionDesigns(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		p, err := NewLatinHypercube(cube(10), 1, SampleOptions{Designs: 1e6})
		if err != nil {
			b.Fatal(err)
		}
		out := make([]Outcome, sweepBatch)
		if _, err := p.Run(context.Background(), func(_ context.Context, p *Proposals) ([]Outcome, error) {
			return out[:len(p.Points)], nil
		}); err != nil {
			b.Fatal(err)
		}
	}
}

// A longer plan goes on from a shorter one: rows that are there stay.
func TestPlansAreLengthened(t *testing.T) {
	for _, space := range []Space{cube(3), mixed} {
		for name, plan := range map[string]func(times int64) (Plan, error){
			"sobol": func(times int64) (Plan, error) { return NewSobol(space, 4, SampleOptions{Designs: 20 * times}) },
			"evolve": func(times int64) (Plan, error) {
				return NewEvolve(space, 4, EvolveOptions{Population: 20, Generations: int(times)})
			},
		} {
			_, short, _ := record(t, must(t)(plan(2)))
			_, long, _ := record(t, must(t)(plan(5)))
			if len(short) != 40 || len(long) != 100 || repeats(long) != 0 {
				t.Fatal(name, len(short), len(long), repeats(long))
			}
			for i := range short {
				if !slices.Equal(short[i], long[i]) {
					t.Fatalf("%s: design %d is %v in a longer plan, %v in a shorter", name, i, long[i], short[i])
				}
			}
		}
	}
}
