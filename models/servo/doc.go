// Package servo says what a position loop makes of a stage: the highest
// crossover that holds at every pose, its margins, and the position noise.
//
// The stage is given as plain numbers: at each pose the undamped in-plane modes
// and, mode by mode, how strongly each force moves it and each sensor sees it
// ([Plant]). All modes belong in it: a truncated set moves the resonances'
// background and with it the crossover.
//
//   - [Plant]: modal data at the poses, for one payload.
//   - [Settings]: sensor, controller shape, delay, notches, limits.
//   - [Loop]: scratch memory; [Loop.Crossover], [Loop.Tune], [Loop.Frequencies],
//     [Loop.Margins], [Loop.Noise], [Loop.Tracking], [Loop.Feedforward].
//   - [Shape], [ShapeList], [Loop.Found]: what of the controller is found, its notches too.
//   - [Export]: plant and controllers to take away.
//   - [Disturbances], [Budget]: what shakes the stage, and by how much each
//     moves it.
//   - [ModeRule]: the rule of thumb on a mode frequency, for comparison.
//
// # Units
//
// SI, angular frequencies in rad/s; frequencies in Hz where the name says so.
// Mass-normalised mode shapes have the unit kg^-1/2.
//
// # Sources
//
// Loop shape, margins and noise by frequency integration: R. Munnig Schmidt, G.
// Schitter, A. Rankers, The Design of High Performance Mechatronics, ch. 3, 4 and 8.
// The 2×2 loop with the second axis closed, and the encirclement count: J. M.
// Maciejowski, Multivariable Feedback Design, 1989, ch. 2.
package servo
