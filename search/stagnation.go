package search

// Growth of a front's hypervolume that counts as progress of a run, and as that of a
// niche, which is judged over so many generations.
const (
	leastGrowth   = 1e-3
	settledGrowth = 1e-2
	settledOver   = 10
)

// progress is a front, to be compared with that of some generations later.
type progress struct {
	front      []float64
	generation int
}

// still reports whether the hypervolume of the front grew by less than least, both in
// shares of their common range, since the last look so many generations ago; false
// before it is time to look, and where there was no front.
func (p *progress) still(generation, over, objectives int, now func() []float64, least float64) bool {
	if generation < p.generation+over {
		return false
	}
	before := p.front
	p.front, p.generation = now(), generation
	growth, ok := Growth(objectives, before, p.front)
	return ok && growth < least
}
