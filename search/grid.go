package search

import "math"

// GridOptions of NewGrid.
type GridOptions struct {
	// PerVariable is the number of values of a variable without steps, both
	// ends included; 1 takes the middle. Defaults to 5.
	PerVariable int
	Shard       Shard
}

// NewGrid plans every combination of values: all values of stepped variables
// and choices, PerVariable evenly spaced values of the others. The last
// variable changes fastest.
func NewGrid(s Space, o GridOptions) (Plan, error) {
	if o.PerVariable <= 0 {
		o.PerVariable = 5
	}
	if err := s.Validate(); err != nil {
		return nil, err
	}
	var (
		counts = make([]int64, len(s))
		total  = int64(1)
	)
	for d, v := range s {
		n, ok := v.Values()
		if !ok {
			n = o.PerVariable
		}
		counts[d] = int64(n)
		if total > math.MaxInt64/counts[d] {
			total = math.MaxInt64
		} else {
			total *= counts[d]
		}
	}
	w, err := newSweep(s, o.Shard, total)
	if err != nil {
		return nil, err
	}
	w.unique = true
	w.draw = func(i int64, try int, u []float64) {
		if try < 0 {
			return
		}
		for d := len(s) - 1; d >= 0; d-- {
			k := float64(i % counts[d])
			i /= counts[d]
			switch n := float64(counts[d]); {
			case s[d].Kind != Continuous || n == 1:
				u[d] = (k + 0.5) / n
			default:
				u[d] = k / (n - 1)
			}
		}
	}
	return w, nil
}
