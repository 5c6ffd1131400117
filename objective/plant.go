package objective

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/drive"
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
	at := make([][2]float64, l.plants[0].Poses)
	for i, sign := range mechanics.PoseSigns[:len(at)] {
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

// LoopNumbers are what there is to say of a design's position loop beside its measures.
type LoopNumbers struct {
	Crossover, Bandwidth, ClosedLoop float64       // Hz; the last infinite where |T| never falls below −3 dB
	Notches                          []float64     // Hz, those found for this design
	Damped                           [2]DampedLoop // with half and twice the damping of every mode
	Motion                           drive.Motion
	Missed, MissedFeedforward        float64 // tracking error in the motion, of its amplitude
	Noise, Drift                     float64 // m; NaN where one of the two is not known
}

// DampedLoop is a loop with another damping, its shape found anew, in Hz; 0 where no crossover holds.
type DampedLoop struct{ Factor, Crossover, Bandwidth float64 }

// Falls reports whether the closed loop falls below −3 dB at all.
func (n *LoopNumbers) Falls() bool { return !math.IsInf(n.ClosedLoop, 1) }

// Loop returns the numbers of the last stage's loop; false where none was asked for, or none holds. It allocates.
func (d *Detail) Loop() (n LoopNumbers, ok bool) {
	b := d.bench
	l := b.loop
	if l == nil || !b.reached(StepLoop) || !(l.result.Hz > 0) {
		return n, false
	}
	nan := math.NaN()
	n = LoopNumbers{Crossover: l.result.Hz, Bandwidth: l.bandwidth, ClosedLoop: l.closedLoop, Notches: l.notches(),
		Damped: [2]DampedLoop{b.damped(0.5), b.damped(2)}, Motion: b.duty.spec.Motion.Motion, Noise: nan, Drift: nan}
	amplitude := b.duty.spec.Motion.Motion.Amplitude * b.stage.Travel
	n.Missed, n.MissedFeedforward = b.trackingError()/amplitude, b.trackingFeedforward()/amplitude
	if !b.reached(StepDrive) {
		return n, true
	}
	if a := b.duty.spec.Actuator; a != nil && !math.IsNaN(b.stage.Material.Expansion) && !math.IsInf(b.duty.power(), 0) {
		n.Noise, n.Drift = l.noise(), b.thermalDrift()
	}
	return n, true
}

// damped is the loop of the last stage with every mode's damping so many times what the brief says.
func (b *Bench) damped(factor float64) DampedLoop {
	l := b.loop
	settings := b.spec.LoopSettings(b.topology)
	settings.Damping = min(settings.Damping*factor, servo.MaxDamping)
	loop, err := servo.NewLoop(settings, l.plants[0].Poses, l.plants[0].Modes, len(l.plants))
	if err != nil {
		panic("objective: loop settings that were not validated: " + err.Error())
	}
	tuned := loop.Tune(l.plants...)
	return DampedLoop{factor, tuned.Hz, tuned.Bandwidth}
}

// MissedShare is the tracking error of a row without feedforward, of the motion's amplitude; false where it is not stored.
func (s *Spec) MissedShare(r *Row) (share float64, ok bool) {
	miss, ok := r.Measures.Get(TrackingError)
	k := slices.IndexFunc(s.Parameters(), func(p models.Parameter) bool { return p.Name == "travel" })
	if !ok || k < 0 {
		return 0, false
	}
	travel := s.Parameters()[k].Unit.ToSI(r.Parameters[k])
	return Table[TrackingError].Unit.ToSI(miss) / (travel * s.drive().Motion.Motion.Amplitude), true
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
