package search

import (
	"context"
	"math"
	"slices"
	"sync"
	"testing"
)

// mail is what islands have published, by island and generation.
type mail struct {
	mu      sync.Mutex
	came    *sync.Cond
	letters map[[2]int][]Migrant
}

type post struct {
	*mail
	island int
	alone  int // from this generation on nothing arrives
}

func (p post) Publish(_ context.Context, generation int, members []Migrant) error {
	p.mu.Lock()
	p.letters[[2]int{p.island, generation}] = members
	p.mu.Unlock()
	p.came.Broadcast()
	return nil
}

func (p post) Await(_ context.Context, generation, island int) ([]Migrant, error) {
	if p.alone > 0 && generation >= p.alone {
		return nil, nil
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	for p.letters[[2]int{island, generation}] == nil {
		p.came.Wait()
	}
	return p.letters[[2]int{island, generation}], nil
}

// archipelago runs n islands at the same time and returns their points.
func archipelago(t *testing.T, n, alone int, o EvolveOptions) (ids [][]int64, points [][][]float64) {
	t.Helper()
	return archipelagoOf(t, bowlSpace, bowl, n, alone, o)
}

func archipelagoOf(t *testing.T, s Space, answer func([]float64) Outcome, n, alone int, o EvolveOptions) (ids [][]int64, points [][][]float64) {
	t.Helper()
	m := &mail{letters: map[[2]int][]Migrant{}}
	m.came = sync.NewCond(&m.mu)
	ids, points = make([][]int64, n), make([][][]float64, n)
	var wg sync.WaitGroup
	for i := range n {
		o.Shard, o.Exchange = Shard{i + 1, n}, post{m, i + 1, alone}
		p := must(t)(NewEvolve(s, 5, o))
		wg.Go(func() {
			if by, err := p.Run(context.Background(), answered(&ids[i], &points[i], answer)); err != nil || by != ByPlan || int64(len(points[i])) != p.Designs() {
				t.Error(by, err, len(points[i]), p.Designs())
			}
		})
	}
	wg.Wait()
	return ids, points
}

func TestIslandsAreOneSearch(t *testing.T) {
	o := EvolveOptions{Population: 42, Generations: 20}
	ids, a := archipelago(t, 4, 0, o)
	_, b := archipelago(t, 4, 0, o)
	_, alone := archipelago(t, 4, 3, o)
	seen := map[int64]bool{}
	designs := 0
	for i := range a {
		designs += len(a[i])
		if n := len(a[i]) / 20; n != 10 && n != 11 {
			t.Errorf("island %d has %d members", i+1, n)
		}
		for k, id := range ids[i] {
			if want := int64(i + 1 + 4*k); id != want || seen[id] {
				t.Fatalf("island %d: id %d, want %d", i+1, id, want)
			}
			seen[id] = true
			if !slices.Equal(a[i][k], b[i][k]) {
				t.Fatalf("island %d: point %d depends on when islands ran", i+1, k)
			}
		}
		if slices.Equal(a[i][len(a[i])-1], alone[i][len(a[i])-1]) {
			t.Errorf("island %d: what arrives has no effect", i+1)
		}
	}
	if designs != 42*20 {
		t.Errorf("%d designs, the plan has %d", designs, 42*20)
	}
	if _, err := NewEvolve(bowlSpace, 1, EvolveOptions{Population: 11, Shard: Shard{1, 3}}); err == nil {
		t.Error("islands too small to breed")
	}
}

// A member that arrives with objectives better than any can be stays a parent, and
// its point is not proposed here; one that does not fit is refused.
func TestImmigrants(t *testing.T) {
	best := Migrant{Point: []float64{0.5, 0.5, 0.5}, Outcome: Outcome{Objectives: []float64{-1, -1}}}
	n := newNiches(bowlSpace, 1, EvolveOptions{Population: 8, Generations: 5, Shard: Shard{1, 1}}, -1, func(p *Proposals) ([]Outcome, error) {
		out := make([]Outcome, len(p.Points))
		for i, x := range p.Points {
			out[i] = bowl(x)
		}
		return out, nil
	})
	if err := n.first(); err != nil {
		t.Fatal(err)
	}
	b := n.list[0]
	before := b.portfolio
	if err := n.immigrate([]Migrant{best, best}); err != nil {
		t.Fatal(err)
	}
	if p := b.parents[0]; len(b.parents) != 8 || p.violation != 0 || p.objectives[0] != -1 || b.portfolio != before {
		t.Errorf("%d parents, the first %+v", len(b.parents), p)
	}
	x := slices.Clone(best.Point)
	u := make([]float64, 3)
	bowlSpace.Encode(x, u)
	if b.seen.add(u, x) {
		t.Error("the point may be proposed again")
	}
	for _, bad := range []Migrant{
		{Point: []float64{1}}, {Point: []float64{0, 0, 1}, Outcome: Outcome{Violation: math.NaN()}},
		{Point: []float64{0, 0, 0.9}, Outcome: Outcome{Objectives: []float64{1}}},
	} {
		if err := n.immigrate([]Migrant{bad}); err != ErrOutcomes {
			t.Errorf("%+v: %v", bad, err)
		}
		b.children = nil
	}
}

// Each island receives from each other one in turn, never from itself, and no
// island is received from twice at one exchange.
func TestNeighbours(t *testing.T) {
	for _, n := range []int{2, 3, 8} {
		for exchange := range n - 1 {
			from := map[int]bool{}
			for i := 1; i <= n; i++ {
				k := neighbour(i, n, exchange)
				if k == i || k < 1 || k > n || from[k] {
					t.Fatalf("%d islands, exchange %d: %d receives from %d", n, exchange, i, k)
				}
				from[k] = true
			}
		}
	}
	count := 0
	for g := range 100_000 {
		if Exchanges(g) {
			count++
		}
	}
	if !Exchanges(1) || !Exchanges(20) || count < 100 || count > 250 {
		t.Errorf("%d exchanges in 100,000 generations", count)
	}
}
