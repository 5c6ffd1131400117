// Package objective turns what the mechanics computes for one candidate into
// engineering numbers (measures), and those into goals, limits and a score.
//
// Measures, parameters and bounds are in the units of their columns, the ones
// that are stored: what is scored is what a reader of the rows can score again,
// bit for bit. Below this package everything is SI.
package objective
