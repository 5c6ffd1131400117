// Package blade is the mechanics of one leaf spring (blade), clamped at both
// ends: energy, force and tangent in the plane of its motion, and its
// flexibility out of that plane when bent.
//
// A blade has length L, thickness t (in plane) and width b (out of plane), in
// metres. Its root belongs to one body, its tip to another. SI throughout.
package blade
