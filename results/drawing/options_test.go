package drawing

import "flexwright/models"

// defaults are the options of a brief that says nothing about the drawing.
func defaults() Options {
	mm := models.Millimetre.ToSI
	return Options{
		Kerf: mm(0.3), MinimumWall: mm(0.3), CornerRadius: mm(0.2), StartHole: mm(1),
		MountingDiameter: mm(6.6), Payload: models.HolePattern{Pitch: mm(25), Diameter: mm(4.2)}, StopPlay: mm(0.2),
	}
}
