package search

// leastGrowth is the growth of the front's hypervolume that counts as progress.
const leastGrowth = 1e-3

// stagnates compares the hypervolume of the front with that of Stagnation
// generations ago, both in shares of their common range. A search without a feasible point goes on.
func (b *breeding) stagnates() bool {
	if b.o.Stagnation == 0 || b.generation < b.marked+b.o.Stagnation {
		return false
	}
	m := b.objectives
	now := b.feasibleFront()
	if m > 3 { // a hundred points show growth; more cost much
		now = gather(now, m, Thin(now, m, 100))
	}
	before := b.mark
	b.mark, b.marked = now, b.generation
	if len(before) == 0 || len(now) == 0 {
		return false
	}
	r := RangesOf(m, before, now)
	return r.Hypervolume(now) < (1+leastGrowth)*r.Hypervolume(before)
}
