// Package expression compiles formulas between dimensions of a layout, such as
//
//	max(8 mm, 10*blade_thickness)
//
// into a flat program that runs without allocation.
//
// # What a formula may hold
//
//   - Numbers with their unit (8 mm, 0.5 kg, 30°) or without one. Names are
//     parameters and derived quantities; a unit stands only behind a number, so
//     that a quantity may be called g or m.
//   - + - * / and parentheses; comparisons < <= > >= == != joined by && || !.
//   - min and max of two or more, abs, sqrt, sin, cos, atan2(y, x), and
//     if(condition, a, b). Both values of an if are computed, one is taken.
//   - fillet_stiffening(radius/thickness), the κ of [models.FilletStiffening]: the
//     face that a blade grows from stands κ radius behind where the blade begins.
//
// The grammar is that of Go expressions, read by go/parser.
//
// # Units
//
// Every value has a dimension ([Powers] of metre, kilogram, second, radian) that
// is known when the formula is compiled: what does not fit together is refused
// where it stands. The angle is a dimension of its own; a/(1 rad) is a plain
// number. A 0 without unit fits everything. Values are in SI.
//
// # Positions
//
// A formula is a [Text] with the line and column of its first character; every
// problem is reported with the position of the operation that it is about, and
// what would be accepted.
package expression
