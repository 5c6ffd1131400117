// Package mechanics says what a stage does: equilibrium at prescribed positions
// of the stage, forces, motions, stresses and stiffnesses over the workspace,
// and natural frequencies.
//
// Model: rigid bodies joined by blades ([flexwright/models/blade]). A [Model]
// is made once per topology and shared; a [Scratch] belongs to one worker and
// is all the memory that a candidate touches. Nothing allocates per candidate.
//
// Unknowns of the equilibrium: x, y and yaw of every moving body, the axial
// force of every blade (eliminated blade by blade), and one force per actuator
// for the prescribed coordinates of the stage.
package mechanics
