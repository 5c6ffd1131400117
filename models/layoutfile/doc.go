// Package layoutfile makes a [models.Layout] of the description that a layout
// file holds: parameters, quantities derived from them, rectangles, blades and
// masses whose positions are formulas.
//
// # What happens to a description
//
//	File -> Compile (compile.go)      every formula into one program, names into
//	                                  numbers, all problems with their positions
//	     -> Layout
//	Layout.Build (build.go)           run the program on the stack, then fill the
//	                                  stage: sections, masses, blades, actuators
//	Layout.Outline, Stops             the same values, as rectangles
//	Layout.NominalMotion (motion.go)  shares of the stage's motion: given, or those
//	                                  of blades that bend and do not stretch
//	Layout.Elastic (members.go)       the same with rectangles that bend as beams
//
// # Copies
//
// What is placed is drawn once, in a frame of its own, and copied to each place of
// a set: mirrored about its own x axis, then turned by quarter turns. A set may be
// of another one: then every place of that is divided further. A name of a body
// that is placed, used by something placed, is the copy at the same place.
//
// Entries that follow each other and are placed alike are copied together: the
// whole run at the first place, then at the second. Bodies and blades are
// numbered in this order.
package layoutfile
