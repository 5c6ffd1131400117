// Package models says what a stage is: bodies, blades, actuators, material,
// and the layouts that dimension them from a few parameters.
//
// # Units
//
// One unit system holds in the whole module: SI (metre, kilogram, second,
// newton, pascal, radian, kelvin, watt). The only other units are those of the
// design vector and of the stored columns, which are named by a [Unit] and
// converted in [Unit.ToSI] and [Unit.FromSI].
//
// # Signs and axes
//
//	 y                 Bodies move in the plane: x, y and yaw (counter-
//	 |                 clockwise, about z, which points out of the plane).
//	 |                 Out of plane they have z, roll (about x) and pitch
//	 +---- x           (about y). Tension in a blade is positive.
//	z out of page
//
// # Glossary
//
//   - blade: a leaf spring, clamped to a root body and a tip body, its width
//     out of plane.
//   - body: a rigid part; ground is a fixed one.
//   - stage: the body that carries the payload.
//   - arm: a body between an actuator (or nothing) and the stage; driven or idle.
//   - guide body: the intermediate body of a double parallelogram.
//   - pose: one of the positions of the stage at which everything is evaluated.
//   - travel: half the range, so that the stage moves over the square of ±travel.
package models
