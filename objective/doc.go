// Package objective turns what the mechanics computes for one stage into engineering
// numbers (measures), and those into goals, limits and a score.
//
// Measures, parameters and bounds are in the units of their columns, the ones
// that are stored: what is scored is what a reader of the rows can score again,
// bit for bit. Below this package everything is SI.
//
// What is where:
//
//   - [Spec]: a brief without its text: variables, goals, limits, conditions; spec.go.
//   - [Evaluation]: from a design vector to measures and verdict; evaluation.go.
//   - [Bench]: measures any stage of a topology, step by step, and changes none: bench.go;
//     [Want] says which measures, and when a stage is no longer worth it: want.go.
//   - [Table]: every measure, with the function that computes it, its needs, meaning,
//     formula and source: measures.go. The steps, in their order: build.go, statics.go,
//     dynamics.go, loop.go, drive.go, usable.go.
//   - [Row] and its columns, what is stored of a design: row.go, fill.go.
//   - [Limit], violation and feasibility: score.go; what the search is told: outcome.go.
//   - [Detail], one design with everything on the way: detail.go; budgets, maps over the
//     workspace, curves of the loop: budget.go, static_budgets.go, maps.go, loop_curves.go.
//   - [Fine], the check with several segments per blade: fine.go.
//   - Parts with errors: [Tolerance] and [ToleranceSpec], what errs: tolerance.go; a part is
//     one more stage on a bench: parts.go; the measures of parts behind [Table]: tails.go;
//     [Scatter], what they say of one design, with intervals: scatter.go, interval.go.
package objective
