package objective

import (
	"slices"

	"flexwright/models"
	"flexwright/models/servo"
)

// Built returns the stage of a pinned spec's design, actuators mounted, corrected as the
// spec says, in memory of its own; the verdict says why there is none.
func Built(spec *Spec) (*models.Topology, *models.Stage, models.Verdict) {
	plain := *spec
	plain.Measures = nil // neither loop nor parts
	e := NewEvaluation(&plain)
	v := e.build(nil)
	return e.Layout().Topology(), e.Stage(), v
}

// LoopSettings are those of the spec's loop of a topology, what its actuators brake included.
func (s *Spec) LoopSettings(t *models.Topology) servo.Settings {
	settings := s.loop().Settings
	settings.OneAxis = len(t.Actuators) == 1
	if a := s.drive().Actuator; a != nil {
		settings.ActuatorDamping = a.Damping()
	}
	return settings
}

// FixShape makes the shape of the controller that was found for the last candidate that of
// a spec, which then looks for none.
func (e *Evaluation) FixShape(s *Spec) {
	b := e.Bench()
	if b.loop == nil || !b.reached(StepLoop) {
		return
	}
	loop, shape := *s.loop(), b.loop.shape
	loop.Settings.IntegratorRatio, loop.Settings.LeadRatio = shape.Integrator, shape.Lead
	loop.Settings.TamingRatio, loop.Settings.LowPassRatio = shape.Taming, shape.LowPass
	loop.Settings.Shapes, loop.Settings.AutoNotches = nil, 0
	loop.Settings.Notches = append(slices.Clone(loop.Settings.Notches), b.loop.loop.Found()...)
	s.Loop = &loop
}
