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
func (n *niches) migrate(ctx context.Context, x Exchange) error {
	var members []Migrant
	for k, b := range n.list {
		for _, p := range b.parents {
			m := Migrant{Point: make([]float64, len(n.space))}
			n.decode(k, p, m.Point)
			m.Outcome = Outcome{Objectives: p.objectives, Stage: p.stage, Violation: p.violation, Limits: p.limits}
			members = append(members, m)
		}
	}
	if err := x.Publish(ctx, n.generation, members); err != nil {
		return err
	}
	from := neighbour(n.o.Shard.I, n.o.Shard.N, n.exchanges)
	n.exchanges++
	members, err := x.Await(ctx, n.generation, from)
	if err != nil || len(members) == 0 {
		return err
	}
	return n.immigrate(members)
}

// immigrate selects the parents anew with members of another island among them.
func (n *niches) immigrate(members []Migrant) error {
	out := make([][]Outcome, len(n.list))
	for i := range members {
		m := &members[i]
		if len(m.Point) != len(n.space) {
			return ErrOutcomes
		}
		k := n.of(m.Point)
		b := n.list[k]
		c := &b.designs(1)[0]
		b.space.Encode(n.own(k, m.Point), c.u)
		b.space.Decode(c.u, b.x)
		if !b.seen.add(c.u, b.x) {
			continue // proposed here, or here before
		}
		b.children = append(b.children, c)
		out[k] = append(out[k], m.Outcome)
	}
	for k, b := range n.list {
		learned := b.portfolio // what others bred says nothing of our operators
		if !b.told(out[k]) {
			return ErrOutcomes
		}
		b.portfolio = learned
	}
	return nil
}
