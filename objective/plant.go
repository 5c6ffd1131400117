package objective

import (
	"math"
	"slices"

	"flexwright/models/elementary"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// Plant returns the plants of the last stage with the controllers at its crossover; false where no loop was asked
// for, or none holds.
func (d *Detail) Plant() (servo.Export, bool) {
	b := d.bench
	l := b.loop
	if l == nil || !b.reached(StepLoop) || !(l.result.Hz > 0) {
		return servo.Export{}, false
	}
	at := make([][2]float64, mechanics.NumPoses)
	for i, sign := range mechanics.PoseSigns {
		at[i] = [2]float64{float64(sign[0]) * b.stage.Travel, float64(sign[1]) * b.stage.Travel}
	}
	var payload []float64
	for _, mass := range l.spec.Payload {
		if !math.IsNaN(mass) {
			payload = append(payload, mass)
		}
	}
	return l.loop.Export(l.result.Hz, l.plants, at, payload, 1/l.sensed.SampleRate)
}

// Damped returns crossover and bandwidth, Hz, of the last stage with every mode's damping so many times what the brief says, the
// shape found anew; 0 where no crossover holds, false where no loop was asked for.
func (d *Detail) Damped(factor float64) (crossover, bandwidth float64, ok bool) {
	b := d.bench
	l := b.loop
	if l == nil || !b.reached(StepLoop) {
		return 0, 0, false
	}
	settings := l.loop.Settings()
	settings.Damping = min(settings.Damping*factor, 0.2)
	loop, err := servo.NewLoop(settings, mechanics.NumPoses, l.plants[0].Modes, len(l.plants))
	if err != nil {
		return 0, 0, false
	}
	tuned := loop.Tune(l.plants...)
	return tuned.Hz, tuned.Bandwidth, true
}

// ResponseFrequencies are those at which the response of a pose of a plant is worth having: points spread over the
// logarithm, and some around each mode.
func ResponseFrequencies(p *servo.ExportPose, low, high float64, points int) []float64 {
	var list []float64
	for i := range points {
		list = append(list, low*elementary.Exp(math.Log(high/low)*float64(i)/float64(points-1)))
	}
	for k, w := range p.Omega {
		for _, n := range []float64{-6, -2, -0.5, 0, 0.5, 2, 6} {
			if f := w / (2 * math.Pi) * (1 + n*p.Damping[k]); f > low && f < high {
				list = append(list, f)
			}
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// Amplitude is that of the motion program, µm.
func (d *Detail) Amplitude() float64 {
	b := d.bench
	return 1e6 * b.duty.spec.Motion.Motion.Amplitude * b.stage.Travel
}
