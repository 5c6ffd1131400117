// Package estimate finds unknowns of a model from measurements with standard
// uncertainties, where each unknown has a prior: nonlinear least squares, how sure the
// answer is, what the measurements cannot tell apart, and which further one would tell
// most. It knows numbers only.
//
// Scaled, z_j = x_j/s_j with the prior's standard deviation s_j and e_i = (y_i − f_i(x))/σ_i,
// the estimate is the least of
//
//	χ² = Σ e_i² + Σ z_j²
//
// where priors are measurements of 0 (A. Tarantola, Inverse Problem Theory, 2005, section
// 3.2). Of a linear model with normal errors, and unknowns drawn from the priors, χ² at
// the least has the chi-square distribution of as many degrees of freedom as there are
// measurements.
package estimate
