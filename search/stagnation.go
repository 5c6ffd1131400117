package search

// leastGrowth is the growth of the front's hypervolume that counts as progress.
const leastGrowth = 1e-3

// stagnates compares the hypervolume of the front with that of Stagnation
// generations ago, both in shares of their common range. A search without a feasible point goes on.
func (b *breeding) stagnates() bool {
	if b.o.Stagnation == 0 || b.generation < b.marked+b.o.Stagnation {
		return false
	}
	before, now := b.mark, b.feasibleFront()
	b.mark, b.marked = now, b.generation
	growth, ok := Growth(b.objectives, before, now)
	return ok && growth < leastGrowth
}
