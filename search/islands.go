package search

import "context"

// Migrant is a design on its way to another island: its decoded values and what
// its island was told about them.
type Migrant struct {
	Point   []float64
	Outcome Outcome
}

// Exchange carries designs between islands: see [EvolveOptions].
//
// A plan calls Publish and then Await at the generations that [Exchanges] names,
// in order, so that no island waits for one that waits for it. When a run is
// repeated, Await must answer what it answered the first time; Publish is given
// the same as then.
type Exchange interface {
	// Publish offers members of this island to others. They are not kept.
	Publish(ctx context.Context, generation int, members []Migrant) error
	// Await returns what another island published at that generation, or nothing
	// when this island is to go on alone.
	Await(ctx context.Context, generation, island int) ([]Migrant, error)
}

// Exchanges reports whether islands exchange members after a generation: after
// each one at first, later each time their number has grown by a twentieth, so that
// a long search exchanges some 250 times in a million generations.
func Exchanges(generation int) bool {
	g := firstExchange
	for g < generation {
		g += max(everyExchange, g/exchangeGrowth)
	}
	return g == generation
}

const (
	firstExchange  = 1
	everyExchange  = 1
	exchangeGrowth = 20
	// leastIsland is how many members an island needs to breed from.
	leastIsland = 4
)

// neighbour is the island that island i of n receives from at an exchange, the first
// being number 0: each of the others in turn.
func neighbour(i, n, exchange int) int {
	step := 1 + exchange%(n-1)
	return (i-1+step)%n + 1
}

// migrate gives the parents to others and takes theirs in.
func (b *breeding) migrate(ctx context.Context, x Exchange) error {
	n := b.o.Shard.N
	members := make([]Migrant, len(b.parents))
	for i, p := range b.parents {
		m := &members[i]
		m.Point = make([]float64, len(b.space))
		b.space.Decode(p.u, m.Point)
		m.Outcome = Outcome{Objectives: p.objectives, Stage: p.stage, Violation: p.violation, Limits: p.limits}
	}
	if err := x.Publish(ctx, b.generation, members); err != nil {
		return err
	}
	from := neighbour(b.o.Shard.I, n, b.exchanges)
	b.exchanges++
	members, err := x.Await(ctx, b.generation, from)
	if err != nil || len(members) == 0 {
		return err
	}
	return b.immigrate(members)
}

// immigrate selects the parents anew with members of another island among them.
func (b *breeding) immigrate(members []Migrant) error {
	list := b.designs(len(members))
	var out []Outcome
	for i := range members {
		m := &members[i]
		if len(m.Point) != len(b.space) {
			return ErrOutcomes
		}
		c := &list[i]
		b.space.Encode(m.Point, c.u)
		b.space.Decode(c.u, b.x)
		if !b.seen.add(c.u, b.x) {
			continue // proposed here, or here before
		}
		b.children = append(b.children, c)
		out = append(out, m.Outcome)
	}
	if !tell(b.children, out, &b.objectives) {
		return ErrOutcomes
	}
	if b.model != nil {
		b.model.remember(b.children)
	}
	if len(b.children) > 0 {
		learned := b.portfolio // what others bred says nothing of our operators
		b.survive()
		b.portfolio = learned
	}
	return nil
}
