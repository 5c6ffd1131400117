// Package conformance tries a layout on random designs: what every layout must
// show before its numbers mean anything. The same checks serve the layouts that
// come with the program and a user's file.
//
// Of each design: bodies are one piece of rectangles that do not overlap, their
// mass without what is mounted is area × thickness × density, fillets in and pockets
// out, and their inertia one that a body can have; each blade's ends sit on faces of its two bodies that are
// wide enough for its fillets; nothing comes closer than the gap at any position of
// the workspace, blades included; the footprint is that of the outlines. Of some:
// every position is in equilibrium and stable, and the stage's support has no
// motion without stiffness; the same with bodies that bend, which have the mass of the
// rigid ones; nothing jumps when a parameter moves a little, and forces, frequencies,
// support, mass and footprint have finite slopes, the same from two steps. A symmetry that
// is claimed is found on every design, and in how the stage gives way to a force.
package conformance
