package main

import (
	"fmt"

	"flexwright/objective"
)

// loop says in words what the numbers of the position loop mean for this design.
func (p *textPage) loop() {
	m := &p.d.Row.Measures
	crossover, ok := m.Get(objective.Crossover)
	if !ok {
		return
	}
	bandwidth, _ := m.Get(objective.Bandwidth)
	closed, follows := m.Get(objective.ClosedLoopFrequency)
	p.head("THE POSITION LOOP IN WORDS")
	p.paragraph(fmt.Sprintf("Crossover %s Hz: there the loop's gain is 1 at the centre; higher, some pose has |S| beyond its limit or is unstable. Bandwidth %s Hz: below it the loop makes disturbances smaller (|S| under 0.71) at every pose.", number(crossover), number(bandwidth)))
	switch {
	case !follows:
		p.paragraph("The closed loop never falls below -3 dB within what was looked at.")
	case closed < crossover/3:
		p.paragraph(fmt.Sprintf("Set points are followed to -3 dB up to %s Hz only: below the first mode the suspension's stiffness holds the loop's gain near 1, so that |T| is near 0.7 there. It says little about disturbances; a feedforward of the stiffness makes up for it.", number(closed)))
	default:
		p.paragraph(fmt.Sprintf("Set points are followed to -3 dB up to %s Hz.", number(closed)))
	}
	if half, halfBand, ok := p.d.Damped(0.5); ok {
		twice, twiceBand, _ := p.d.Damped(2)
		p.paragraph(fmt.Sprintf("With half the damping of every mode the crossover is %s Hz and the bandwidth %s Hz, with twice the damping %s and %s Hz.", number(half), number(halfBand), number(twice), number(twiceBand)))
	}
	amplitude := p.d.Amplitude()
	if miss, ok := m.Get(objective.TrackingError); ok && miss > 0.05*amplitude {
		p.paragraph(fmt.Sprintf("Without feedforward the motion program is missed by %s %% of its amplitude.", number(100*miss/amplitude)))
	}
	noise, okNoise := m.Get(objective.PositionNoise)
	if drift, ok := m.Get(objective.ThermalDrift); ok && okNoise && drift*1e3 > 1e3*noise {
		p.paragraph(fmt.Sprintf("The thermal drift, %s µm, is %s times the position noise: warm-up decides the accuracy, not the loop.", number(drift), number(drift*1e3/noise)))
	}
}
