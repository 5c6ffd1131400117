// Package drawing turns a design into what a shop cuts: the outline of one plate
// as DXF, a sheet with dimensions, notes and cautions as SVG, and a solid for CAD
// as STEP.
//
//	layout, design, options -> New -> Plate -> WriteDXF, WriteSVG, WriteSTEP
//
// # What is drawn
//
// Bodies are the rectangles and pockets from which mass, inertia and clearance were
// computed ([models.Outline]), blades the strips between them; their union is traced
// into one outer contour and one contour per opening. Two things are added:
//
//   - Where a blade meets a body it gets fillets of the design's radius r. The face
//     that it grows from stands back by κ r ([models.FilletStiffening]): the blade is
//     drawn 2 κ r longer than the length that bends. The layout's outlines have their
//     faces there, and its masses count the fillets.
//   - Every other inside corner gets a radius that a wire can cut. This is the only
//     metal that the masses do not know: a test bounds it.
//
// The payload's holes are part of the evaluated stage too; mounting holes are in the
// frame, which stands still.
//
// # What is refused
//
// [New] measures the thinnest wall and the narrowest gap on the finished outline,
// looks for intersections, and refuses what cannot be cut with a [RefusalError]
// that says where. It also moves everything to the nine positions of the largest
// range and reports what comes closest ([Plate.FullGap]).
package drawing
