package objective

import (
	"fmt"
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// LoopSpec is what a brief says of the position loop and of what disturbs it.
type LoopSpec struct {
	Settings    servo.Settings // Centre is set here, the first of mechanics.PoseSigns, and the actuator's damping
	RuleDivisor float64        // N of [ModeRule]
	// Payload is the least and the largest mass on the stage, kg, that the loop must
	// hold with besides stage_added_mass itself; NaN: no such case. It sits at the
	// stage's centre of mass.
	Payload [2]float64

	Noise         servo.Disturbances // Amplifier and FullScale are set here, from what follows and the actuator
	Current       servo.Density      // of the amplifier, A/√Hz
	ConverterBits int                // of its command, from −peak to +peak force of the actuator; 0: no converter
}

// DefaultLoop returns the loop of a silent brief: [servo.Default], a divisor of three,
// and noise of common practice: a linear current amplifier, 16 bits, an encoder of 30
// pm/√Hz, a capacitive gap sensor of 75 pm/√Hz (a maker's figure for 500 µm range), a
// quiet laboratory floor, 10 kHz.
func DefaultLoop() *LoopSpec {
	l := &LoopSpec{Settings: servo.Default(), RuleDivisor: 3, Payload: [2]float64{math.NaN(), math.NaN()},
		Noise: servo.Disturbances{
			Encoder: servo.Density{Level: 30e-12}, Gap: servo.Density{Level: 75e-12}, Floor: servo.Density{Level: 1e-5},
			Low: 0.1, SampleRate: 10e3,
		},
		Current: servo.Density{Level: 0.3e-6}, ConverterBits: 16,
	}
	return l
}

// LoopLimits are the limits of common practice that hold where a brief names the
// bandwidth: what the loop does not see, motion out of the plane and the blades' own
// modes, stays away from it.
var LoopLimits = []Limit{
	{Ref: Ref{Index: int(OutOfPlaneRatio)}, AtLeast: 3, AtMost: math.Inf(1), Default: true},
	{Ref: Ref{Index: int(BladeModeRatio)}, AtLeast: 3, AtMost: math.Inf(1), Default: true},
}

// loopMemory is what the loop of one worker and layout needs.
type loopMemory struct {
	spec   *LoopSpec
	loop   *servo.Loop
	plants []*servo.Plant
	spare  *mechanics.Modes // of a payload's extreme
	noise  servo.Disturbances

	// of the last candidate
	done   bool
	result servo.Result
	// filled where the spec wants them
	margins servo.Margins
	budget  servo.Budget
}

func newLoopMemory(spec *Spec, d *mechanics.Dynamics) *loopMemory {
	drive := spec.drive()
	wanted := false
	for _, m := range spec.Measures {
		wanted = wanted || Table[m].Step == StepLoop || Table[m].Step == StepDrive
	}
	if !wanted {
		return nil
	}
	m := &loopMemory{spec: spec.loop(), spare: d.NewModes()}
	modes := len(m.spare.Omega)
	sets := 1
	for _, mass := range m.spec.Payload {
		if !math.IsNaN(mass) {
			sets++
		}
	}
	settings := m.spec.Settings
	settings.Centre = 0
	if drive.Actuator != nil {
		settings.ActuatorDamping = drive.Actuator.Damping()
	}
	loop, err := servo.NewLoop(settings, mechanics.NumPoses, modes, sets)
	if err != nil {
		panic("objective: loop settings that were not validated: " + err.Error())
	}
	m.loop = loop
	for range sets {
		m.plants = append(m.plants, servo.NewPlant(mechanics.NumPoses, modes))
	}
	m.noise = m.spec.Noise
	if a := drive.Actuator; a != nil {
		m.noise.Amplifier = m.spec.Current.Times(a.ForceConstant)
		if m.noise.ConverterBits = m.spec.ConverterBits; m.noise.ConverterBits > 0 {
			m.noise.FullScale = 2 * a.PeakForce
		}
	}
	return m
}

func (s *Spec) loop() *LoopSpec {
	if s.Loop != nil {
		return s.Loop
	}
	return DefaultLoop()
}

// take copies the modes of a pose into a plant.
func take(p *servo.Plant, pose int, m *mechanics.Modes) {
	p.Modes = m.Count
	copy(p.Omega[pose*m.Count:], m.Omega[:m.Count])
	for k := range m.Count {
		row := m.Rows[k*mechanics.NumRows : (k+1)*mechanics.NumRows]
		n := 2 * (pose*m.Count + k)
		p.Force[n], p.Force[n+1] = row[mechanics.RowActuator], row[mechanics.RowActuator+1]
		p.Arm[n], p.Arm[n+1] = p.Force[n], p.Force[n+1]
		p.Stage[n], p.Stage[n+1] = row[mechanics.RowPointX], row[mechanics.RowPointY]
		p.Floor[n], p.Floor[n+1] = row[mechanics.RowFloorX], row[mechanics.RowFloorY]
	}
}

// fillPlants takes the modes of the nine poses, and solves them again with the
// payload's extremes.
func (e *Evaluation) fillPlants(l *loopMemory) models.Verdict {
	d, st := e.Dynamics(), e.solved
	for i := range d.Modes {
		take(l.plants[0], i, &d.Modes[i])
	}
	stage := e.Scratch().Model.Topology.Stage
	nominal := st.Mass[stage]
	present := e.payload()
	set := 1
	var worst models.Verdict
	for _, mass := range l.spec.Payload {
		if math.IsNaN(mass) {
			continue
		}
		st.Mass[stage] = nominal + mass - present
		d.Prepare()
		for i := range d.Modes {
			if v := d.Natural(&e.Scratch().Poses[i], l.spare); !v.OK() {
				v.Index = i
				worst = worst.Worse(v)
				break
			}
			take(l.plants[set], i, l.spare)
		}
		set++
	}
	if set > 1 {
		st.Mass[stage] = nominal
		d.Prepare()
	}
	return worst
}

// payload is the stage_added_mass of the candidate, kg; 0 where the layout has no such
// parameter.
func (e *Evaluation) payload() float64 {
	for i, p := range e.Spec.Parameters() {
		if p.Name == "stage_added_mass" {
			return e.design.Parameters[i]
		}
	}
	return 0
}

// collectLoop fills the measures of the loop.
func (e *Evaluation) collectLoop() models.Verdict {
	l := e.loop[e.layout]
	m := &e.Measures
	if v := e.fillPlants(l); !v.OK() {
		return v
	}
	l.result = l.loop.Bandwidth(l.plants...)
	l.done = true
	hz := l.result.Hz
	m.SetSI(Bandwidth, hz)
	unwanted, _ := m.Get(LowestUnwanted)
	m.SetSI(ModeRule, servo.ModeRule(unwanted, l.spec.RuleDivisor))
	out, _ := m.Get(OutOfPlaneFrequency)
	blade, _ := m.Get(BladeMode)
	m.SetSI(OutOfPlaneRatio, capped(out, hz))
	m.SetSI(BladeModeRatio, capped(blade, hz))
	if e.wants(PhaseMargin) || e.wants(GainMargin) || e.wants(SensitivityPeak) || e.wants(ClosedLoopFrequency) {
		l.margins = servo.Margins{Gain: 1, Peak: uncapped}
		if hz > 0 {
			l.margins, _ = l.loop.Margins(hz)
		}
		m.SetSI(PhaseMargin, l.margins.Phase)
		m.SetSI(GainMargin, min(l.margins.Gain, uncapped))
		m.SetSI(SensitivityPeak, min(l.margins.Peak, uncapped))
		m.SetSI(ClosedLoopFrequency, min(l.margins.MinusHz, uncapped))
	}
	if e.wants(PositionNoise) {
		l.budget, _ = l.loop.Noise(hz, &l.noise)
		m.SetSI(PositionNoise, max(l.budget.Total[0], l.budget.Total[1]))
	}
	return models.Verdict{}
}

// capped is the ratio a/b, at most 1e6.
func capped(a, b float64) float64 {
	if a >= uncapped*b {
		return uncapped
	}
	return a / b
}

// loopEnd says what ends the bandwidth of the last candidate; empty where it was not computed.
func (e *Evaluation) loopEnd() string {
	if _, ok := e.Measures.Get(Bandwidth); !ok {
		return ""
	}
	r := &e.loop[e.layout].result
	if r.Reason == servo.Ceiling || r.Reason == servo.Unseen {
		return r.Reason.String()
	}
	sign := mechanics.PoseSigns[r.Pose]
	text := fmt.Sprintf("%s of %s at (%+g, %+g) travel", r.Reason, [2]string{"x", "y"}[r.Axis], sign[0], sign[1])
	if r.Mode >= 0 {
		text += fmt.Sprintf(", %.4g Hz, near mode %d of %.4g Hz", r.At, r.Mode+1, r.ModeHz)
	}
	if r.Scale != 1 {
		text += fmt.Sprintf(" (frequencies x %g)", r.Scale)
	}
	if r.Set > 0 {
		text += fmt.Sprintf(" (payload %g kg)", e.loop[e.layout].payloadOf(r.Set))
	}
	return text
}

// payloadOf returns the payload of a plant after the first.
func (l *loopMemory) payloadOf(set int) float64 {
	for _, mass := range l.spec.Payload {
		if !math.IsNaN(mass) {
			if set--; set == 0 {
				return mass
			}
		}
	}
	return math.NaN()
}
