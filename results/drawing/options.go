package drawing

import "flexwright/models"

// Options are what a drawing leaves to the user. Lengths in m.
type Options struct {
	Kerf         float64 // width of the cut: gaps must not be narrower, inside corners not sharper than half of it
	WirePath     bool    // also draw the path of the wire's centre, half the kerf away from the metal
	MinimumWall  float64 // thinner metal is refused
	CornerRadius float64 // of inside corners that carry no blade; at least half the kerf; more than the free gap takes from the clearance
	StartHole    float64 // diameter of the hole that the wire is threaded through, one per cut; 0: none

	MountingHoles    int                // 0, 4 (corners of the frame) or 8 (middles of its sides too)
	MountingDiameter float64            // diameter
	Payload          models.HolePattern // in the stage

	CutSpeed float64 // of the cut along the contours, m/s; 0: unknown

	Stops    bool    // bosses on the frame that moving bodies meet beyond their travel
	StopPlay float64 // from full travel to the stop
}
