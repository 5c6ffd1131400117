// Package mechanics says what a stage does: equilibrium at prescribed positions
// of the stage, forces, motions, stresses and stiffnesses over the workspace,
// and natural frequencies.
//
// Model: rigid bodies joined by blades ([flexwright/models/blade]). A [Model]
// is made once per topology and shared; a [Scratch] belongs to one worker and
// is all the memory that a candidate touches. Nothing allocates per candidate.
//
// A [Dynamics] does the same for what happens around the solved poses: natural
// frequencies and shapes in the plane and out of it, what carries the stage out of the
// plane, and how it sags. A [Subdivision] is the same stage with several segments per
// blade, for the same mechanics.
//
// STATICS.md and DYNAMICS.md say how accurate it is.
//
// Unknowns of the equilibrium: x, y and yaw of every moving body, the axial
// force of every blade (eliminated blade by blade), and one force per actuator
// for the prescribed coordinates of the stage.
package mechanics
