package diagnosis

import (
	"fmt"

	"flexwright/objective"
)

// missed is the share of the motion's amplitude beyond which a tracking error is worth a sentence.
const missed = 0.05

// drifts is how many times the position noise a thermal drift is that is worth one.
const drifts = 1000

// Loop says in sentences what the numbers of a design's position loop mean; none where it has no loop.
func Loop(d *objective.Detail) (texts []string) {
	n, ok := d.Loop()
	if !ok {
		return nil
	}
	say := func(format string, values ...any) { texts = append(texts, fmt.Sprintf(format, values...)) }
	say("Crossover %.4g Hz: there the loop's gain is 1 at the centre; higher, some pose has |S| beyond its limit or is unstable. "+
		"Bandwidth %.4g Hz: below it the loop makes disturbances smaller (|S| under 0.71) at every pose.", n.Crossover, n.Bandwidth)
	switch {
	case !n.Falls():
		say("The closed loop never falls below -3 dB within what was looked at.")
	case n.ClosedLoop < n.Bandwidth:
		say("Set points are followed to -3 dB up to %.4g Hz only: below the first mode the suspension's stiffness holds the loop's gain near 1, "+
			"so that |T| is near 0.7 there. It says little about disturbances; a feedforward of the stiffness makes up for it.", n.ClosedLoop)
	default:
		say("Set points are followed to -3 dB up to %.4g Hz.", n.ClosedLoop)
	}
	if len(n.Notches) > 0 {
		say("Notches at %s Hz, found for this design, in every controller.", objective.NotchText(n.Notches))
	}
	damped := func(c objective.DampedLoop) string {
		if c.Crossover == 0 {
			return "no crossover holds"
		}
		return fmt.Sprintf("the crossover is %.4g Hz and the bandwidth %.4g Hz", c.Crossover, c.Bandwidth)
	}
	say("With half the damping of every mode %s; with twice the damping %s.", damped(n.Damped[0]), damped(n.Damped[1]))
	if n.Missed > missed {
		say("Without feedforward the motion program (%s, %g Hz) is missed by %.2g %% of its amplitude; with a model of stiffness and mass by %.2g %%.",
			n.Motion.Kind, n.Motion.Frequency, 100*n.Missed, 100*n.MissedFeedforward)
	}
	if n.Drift > drifts*n.Noise {
		say("The thermal drift, %.4g µm, is %.2g times the position noise, %.4g nm: warm-up decides the accuracy, not the loop.", 1e6*n.Drift, n.Drift/n.Noise, 1e9*n.Noise)
	}
	return texts
}

// Missed says of a front how many of its designs miss the motion program by more than a twentieth of its amplitude without feedforward;
// empty where none does or it is not known.
func Missed(s *objective.Spec, front []objective.Row) string {
	most, least, n, known := 0.0, 0.0, 0, 0
	for i := range front {
		share, ok := s.MissedShare(&front[i])
		if !ok {
			continue
		}
		if known++; known == 1 || share < least {
			least = share
		}
		most = max(most, share)
		if share > missed {
			n++
		}
	}
	if n == 0 {
		return ""
	}
	return fmt.Sprintf("without feedforward the motion program is missed by more than %.2g %% of its amplitude in %d of %d designs (%.2g to %.2g %%); with a model of stiffness and mass see tracking_error_feedforward",
		100*missed, n, known, 100*least, 100*most)
}
