package search

import (
	"context"
	"errors"
)

// sweepBatch is how many points a sweep proposes at a time: enough to keep many
// workers busy, little enough to hold.
const sweepBatch = 1024

// redraws is how often a repeated point is drawn again before the next free
// point in grid order is taken instead.
const redraws = 32

// sweep runs a plan that does not listen to outcomes.
type sweep struct {
	space  Space
	shard  Shard
	total  int64                               // points of the whole plan
	unique bool                                // the plan cannot repeat itself
	draw   func(i int64, try int, u []float64) // point i from 0; try > 0 redraws it
	batch  int
}

func newSweep(s Space, shard Shard, total int64) (*sweep, error) {
	if err := s.Validate(); err != nil {
		return nil, err
	}
	shard, err := shard.normal()
	if err != nil {
		return nil, err
	}
	if total < 1 {
		return nil, errors.New("search: a sweep needs at least one design")
	}
	return &sweep{space: s, shard: shard, total: total, batch: sweepBatch}, nil
}

// Designs is the number of points of this shard, unless the space has fewer.
func (s *sweep) Designs() int64 {
	total := s.total
	if n, ok := s.space.Size(); ok {
		total = min(total, n)
	}
	return (total-int64(s.shard.I))/int64(s.shard.N) + b2i(total >= int64(s.shard.I))
}

func b2i(b bool) int64 {
	if b {
		return 1
	}
	return 0
}

// Run implements Plan.
func (s *sweep) Run(ctx context.Context, batch Batch) (EndedBy, error) {
	var (
		dim  = len(s.space)
		flat = make([]float64, s.batch*dim)
		u    = make([]float64, dim)
		x    = make([]float64, dim)
		p    Proposals
		set  *seen
	)
	if !s.unique {
		set = newSeen(s.space)
	}
	flush := func() error {
		if len(p.Points) == 0 {
			return nil
		}
		if err := ctx.Err(); err != nil {
			return err
		}
		out, err := batch(ctx, &p)
		if err != nil {
			return err
		}
		if len(out) != len(p.Points) {
			return ErrOutcomes
		}
		p.Points, p.IDs = p.Points[:0], p.IDs[:0]
		return nil
	}
	for i := range s.total {
		mine := i%int64(s.shard.N) == int64(s.shard.I-1)
		if set == nil && !mine {
			s.draw(i, -1, u)
			continue
		}
		s.draw(i, 0, u)
		s.space.Decode(u, x)
		if set != nil {
			if set.full() {
				return ended(ByNoPointLeft, flush())
			}
			for try := 1; !set.add(u, x); try++ {
				if try > redraws && set.walk(u, x) {
					break
				}
				s.draw(i, try, u)
				s.space.Decode(u, x)
			}
		}
		if !mine {
			continue
		}
		n := len(p.Points)
		row := flat[n*dim : (n+1)*dim : (n+1)*dim]
		copy(row, x)
		p.Points = append(p.Points, row)
		p.IDs = append(p.IDs, i+1)
		if n+1 == s.batch {
			if err := flush(); err != nil {
				return NotEnded, err
			}
		}
	}
	return ended(ByPlan, flush())
}

func ended(by EndedBy, err error) (EndedBy, error) {
	if err != nil {
		return NotEnded, err
	}
	return by, nil
}

// hasRepeats reports whether distinct points of the unit cube may well decode
// to the same point. A continuous variable of some width tells any two points
// of a sweep apart.
func hasRepeats(s Space) bool {
	for _, v := range s {
		if v.Kind == Continuous && v.To-v.From > 1e-4*max(v.To, -v.From) {
			return false
		}
	}
	return true
}
