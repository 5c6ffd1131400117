// Package drawing turns a design into what a shop cuts: the outline of one plate
// as DXF, a sheet with dimensions, notes and cautions as SVG, and a solid for CAD
// as STEP.
//
//	layout, design, options -> New -> Plate -> WriteDXF, WriteSVG, WriteSTEP
//
// # What is drawn
//
// Bodies are the rectangles from which mass, inertia and clearance were computed
// ([models.Outline]), blades the strips between them; their union is traced into one
// outer contour and one contour per opening. Two things are added:
//
//   - Where a blade meets a body it gets fillets of the design's radius r. A fillet
//     stiffens, so the face is set back by κ r there ([models.FilletStiffening]): the
//     blade is drawn 2 κ r longer than the length that bends. The recess is as wide
//     as the fillets need, or as the whole face where little would be left of it.
//   - Every other inside corner gets a radius that a wire can cut.
//
// Recesses take metal and fillets add some, so that the drawn area differs from the
// one that the masses were computed from: by a few hundredths of a per cent for
// fillets as large as a blade of 0.5 mm is thick, by up to half a per cent for
// fillets of 1.5 mm on a small plate. A test bounds the first; [Plate.Excess] tells
// it for any plate. Holes are extra.
//
// # What is refused
//
// [New] measures the thinnest wall and the narrowest gap on the finished outline,
// looks for intersections, and refuses what cannot be cut with a [RefusalError]
// that says where. It also moves everything to the nine positions of the largest
// range and reports what comes closest ([Plate.FullGap]).
package drawing
