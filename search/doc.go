// Package search decides where to look next in a design space.
//
// It knows variables, points and outcomes, and nothing of what is being
// designed: the same plans run on flexure stages and on test problems. It
// imports nothing else of this module.
//
// # Words
//
// A design space is a list of variables. A point is one value for each of
// them. A plan proposes points in batches and is told their outcomes: the
// objectives (least is best) and the total violation of the limits (zero when
// all hold). A point is feasible when its violation is zero.
//
// # Plans
//
//	Grid            every combination of a few values of each variable
//	LatinHypercube  each variable's range cut into as many strata as designs
//	Sobol           the low-discrepancy sequence of Sobol, Joe and Kuo
//	Evolve          evolution towards the non-dominated front
//
// A plan is a pure function of the space, the seed, its options and the
// outcomes told so far. An interrupted run therefore goes on by running the
// plan again from its beginning with a Batch that answers from what is stored.
// No plan proposes the same point twice in a run.
//
// # Fronts
//
// Rank, Front, Hypervolume, Knee and Thin are plain functions on objectives
// stored row after row in one slice. A point a dominates b when a is no worse in
// every objective and better in at least one.
package search
