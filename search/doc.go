// Package search decides where to look next in a design space.
//
// It knows variables, points and outcomes, and nothing of what is being
// designed: the same plans run on flexure stages and on test problems. It
// imports nothing else of this module.
//
// # The problem
//
// A design space is a list of variables: continuous, stepped, or a choice of
// things without order. A point x is one value for each. Wanted are the points
// that no other dominates:
//
//	minimise f_1(x) ... f_m(x)  subject to  g_j(x) <= 0,
//
// where a dominates b when f_k(a) <= f_k(b) for every k and less for one. An
// evaluation is expensive and passes stages, each with limits of its own; it may
// end after the first stage of which a limit fails. Its [Outcome] names that
// stage, the violation of its limits, the objectives, and each distance g_j as far
// as it is known.
//
// A plan proposes points in batches and is told their outcomes. It is a pure
// function of the space, the seed, its options and those outcomes, so that an
// interrupted run goes on by running the plan again from its beginning with a
// [Batch] that answers from what is stored. No plan proposes a point twice.
//
// # Samples
//
// Three plans do not listen to outcomes. [NewGrid] takes every combination of a
// few values, for two or three variables. [NewSobol] fills the space evenly in all
// variables together, best with a power of two of points; it can be lengthened at
// any time, and is the choice for sensitivities and for what-depends-on-what.
// [NewLatinHypercube] is even in each variable alone, for any number of points and
// any number of variables, and grows in whole multiples.
//
// # Evolution
//
// [NewEvolve] keeps a population of N parents. A generation breeds N children,
// evaluates them, and keeps the best N of parents and children (elitism, as in K.
// Deb, A. Pratap, S. Agarwal and T. Meyarivan, A fast and elitist multiobjective
// genetic algorithm: NSGA-II, IEEE Trans. Evol. Comput. 6, 2002). The file names are
// its parts:
//
//   - The first generation (breeding.go) is a Latin hypercube, after the starting
//     points if there are any.
//   - Merit (selection.go, rank.go) is constrained dominance. A feasible point
//     dominates every infeasible one. Of two infeasible ones the one that failed
//     at a later stage is better, and of one stage the one with less violation: what
//     a point fails first is all that is known of it for certain. Within the first
//     20 generations a small violation of a fully known point counts as none, down to
//     zero (epsilon-constrained ranking).
//   - Crowding (crowding.go) orders the points of one front, and thins the front that
//     does not fit. With one or two objectives the point with the least gap between
//     its neighbours goes, again and again; with more the point that is nearest to
//     being dominated (shift-based density).
//   - Parents are drawn by binary tournament in that order. Four operators breed
//     (variation.go): simulated binary crossover with polynomial mutation,
//     differential evolution of all or of some variables, whose difference is taken
//     from neighbours on the front, and bisection between a feasible point and an
//     infeasible child of it, which walks to the edge of the feasible region.
//   - Adaptive operator selection (portfolio.go) shares the children out among the
//     operators by the squares of their rates of success: of children that reached
//     the first front, older generations counting 0.8 times the next.
//   - A surrogate (surrogate.go, rbf.go), where it is on, proposes a quarter to nine
//     tenths of the children, as its own success goes: cubic radial basis functions
//     of objectives and limits through the parents and the latest points, 300 at
//     most, searched by the same breeding; proposed is what adds most hypervolume. It
//     costs about a millisecond a point and pays up to [SurrogateDesigns] designs.
//   - Stagnation (stagnation.go) ends a run when the hypervolume of the first front
//     has grown by less than 0.1 % over a number of generations.
//   - Niches (niches.go): the values of a choice that is [Variable.Apart] breed apart,
//     each in its own variables, and are judged by their fronts alone. Each keeps an even
//     share of the designs until its front has grown by less than 1 % over ten
//     generations; what such ones leave goes where the front of all has its members.
//   - Islands (islands.go) are parts of one population on several machines: they
//     breed apart and exchange their parents at fixed generations.
//
// The loop over generations and the population are eaopt's: an individual's genome
// is a design (design.go), whose Crossover and Mutate are the operators, and breeding
// is its model (evolve.go). Random numbers are those of a stream of the seed and the
// generation's number (stream.go), so that nothing depends on timing.
//
// # Fronts
//
// [Archive] keeps the non-dominated of any number of points in bounded memory;
// [Front], [Rank], [Hypervolume], [Knee], [Thin] and [EpsilonFront] are plain
// functions on objectives stored row after row in one slice. Where objectives of
// different units meet they are taken as shares of their [Ranges], and hypervolumes
// to the one [Reference] point. [Growth] and [LastQuarter] say how settled a front is.
package search
