package search

import (
	"context"
	"errors"
)

// Outcome is what a plan is told about one point.
//
// An evaluation passes stages, the cheap ones first, and may end after the first
// stage of which a limit fails. A plan must be told the same of a point however
// far it was evaluated: of later stages than the one that failed, nothing.
type Outcome struct {
	// Objectives, least is best, finite where Violation is 0. Of a point with a
	// violation they may be nil or not finite.
	Objectives []float64
	// Stage is the number of the first stage of which a limit fails, or that
	// could not be computed: of two infeasible points the one with the greater
	// stage is the better, whatever their violations. It is not read of a
	// feasible point.
	Stage int
	// Violation is that of the limits of the stage that failed: 0 when all limits
	// hold, +Inf where no violation can be measured. Never negative or NaN.
	Violation float64
	// Limits are the scaled signed distances to all limits, stage by stage: at or
	// below 0 where a limit holds, NaN where it is not known; always the same
	// limits in the same order. It may be nil; a surrogate then learns Violation
	// itself.
	Limits []float64
}

// Feasible reports whether all limits hold.
func (o *Outcome) Feasible() bool { return o.Violation == 0 }

// Proposals is one batch of points. The memory belongs to the plan and is
// reused after the call of Batch returns.
type Proposals struct {
	// Generation counts from 1 in Evolve and is 0 in sweeps. Several batches
	// may belong to one generation.
	Generation int
	// IDs number the points of the whole plan from 1 in the order of proposal.
	// A shard keeps the whole plan's numbers.
	IDs []int64
	// Points are the decoded values, one row a point, in the order of the
	// space's variables.
	Points [][]float64
}

// Batch answers the outcomes of the proposed points, in their order. It is the
// only thing a plan calls. An error ends the plan, which returns it unchanged.
type Batch func(ctx context.Context, p *Proposals) ([]Outcome, error)

// Plan proposes points until it ends.
type Plan interface {
	// Run returns why the plan ended, or the error of ctx or of batch.
	Run(ctx context.Context, batch Batch) (EndedBy, error)
	// Designs is the number of points Run proposes if nothing ends it early.
	Designs() int64
}

// EndedBy says why a plan ended by itself.
type EndedBy int

const (
	// NotEnded goes with an error.
	NotEnded EndedBy = iota
	// ByPlan: all points of the plan were proposed.
	ByPlan
	// ByNoPointLeft: every point of a finite space was proposed.
	ByNoPointLeft
	// ByStagnation: the front stopped growing.
	ByStagnation
)

// String returns the name used in run folders.
func (e EndedBy) String() string {
	switch e {
	case ByPlan:
		return "plan"
	case ByNoPointLeft:
		return "no_point_left"
	case ByStagnation:
		return "stagnation"
	}
	return "not_ended"
}

// Shard is one part of a plan that is divided among N processes. The zero
// value is the whole plan.
//
// A sweep gives shard I the points I, I+N, I+2N, ... of the whole plan, so the
// shards together propose exactly the points of the undivided plan. Evolution
// gives each shard a seed of its own, derived from the run's seed and I. In
// both, the ids of shard I are I, I+N, I+2N, ...: no two shards share an id.
type Shard struct {
	I, N int // I from 1 to N
}

func (s Shard) normal() (Shard, error) {
	if s == (Shard{}) {
		return Shard{1, 1}, nil
	}
	if s.N < 1 || s.I < 1 || s.I > s.N {
		return s, errors.New("search: a shard I/N needs 1 <= I <= N")
	}
	return s, nil
}

// ErrOutcomes is returned by a plan whose Batch answered the wrong number of
// outcomes, a feasible point without finite objectives, or a violation that is
// negative or not a number.
var ErrOutcomes = errors.New("search: outcomes do not fit the proposed points")
