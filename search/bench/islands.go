package bench

import (
	"context"
	"errors"
	"sync"

	"flexwright/search"
	"flexwright/search/problems"
)

// playIslands is play with the population divided among islands, which run at the
// same time and exchange members in memory.
func playIslands(ctx context.Context, p *problems.Problem, evaluations int, seed uint64, o search.EvolveOptions, islands int) (score, error) {
	o.Generations = (evaluations + populationOf(o) - 1) / populationOf(o)
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var (
		mail = newMail()
		lock sync.Mutex // of the tally
		t    = tally{front: search.NewArchive[struct{}](p.Objectives), mark: cpuTime()}
		wg   sync.WaitGroup
	)
	for i := 1; i <= islands; i++ {
		o.Shard, o.Exchange = search.Shard{I: i, N: islands}, post{mail, i}
		plan, err := search.NewEvolve(p.Space, seed, o)
		if err != nil {
			return score{}, err
		}
		batch := func(_ context.Context, b *search.Proposals) ([]search.Outcome, error) {
			lock.Lock()
			defer lock.Unlock()
			return t.answer(b, builtIn{p}, p.Objectives, evaluations)
		}
		wg.Go(func() {
			if _, err := plan.Run(ctx, batch); err != nil && !errors.Is(err, errSpent) {
				cancel(err)
			}
			mail.close(i)
		})
	}
	wg.Wait()
	if err := context.Cause(ctx); err != nil {
		return score{}, err
	}
	t.outside += cpuTime() - t.mark
	return t.score(p), nil
}

// mail holds what islands have published.
type mail struct {
	mu      sync.Mutex
	came    *sync.Cond
	letters map[[2]int][]search.Migrant // by island and generation
	closed  map[int]bool                // islands that publish no more
}

func newMail() *mail {
	m := &mail{letters: map[[2]int][]search.Migrant{}, closed: map[int]bool{}}
	m.came = sync.NewCond(&m.mu)
	return m
}

func (m *mail) close(island int) {
	m.mu.Lock()
	m.closed[island] = true
	m.mu.Unlock()
	m.came.Broadcast()
}

// post is one island's search.Exchange.
type post struct {
	*mail
	island int
}

func (p post) Publish(_ context.Context, generation int, members []search.Migrant) error {
	p.mu.Lock()
	p.letters[[2]int{p.island, generation}] = members
	p.mu.Unlock()
	p.came.Broadcast()
	return nil
}

func (p post) Await(_ context.Context, generation, island int) ([]search.Migrant, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	for {
		if members, ok := p.letters[[2]int{island, generation}]; ok || p.closed[island] {
			return members, nil
		}
		p.came.Wait()
	}
}
