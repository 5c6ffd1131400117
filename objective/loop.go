package objective

import (
	"math"
	"slices"
	"strconv"
	"strings"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// LoopSpec is what a brief says of the position loop and of what disturbs it.
type LoopSpec struct {
	Settings    servo.Settings // of the actuator, the damping is set here
	RuleDivisor float64        // N of [ModeRule]
	// Payload is the least and the largest mass on the stage, kg, that the loop must
	// hold with besides stage_added_mass itself, a disc as large; NaN: no such case. It sits
	// at the stage's centre of mass.
	Payload [2]float64

	StiffnessError, MassError float64 // by which a feedforward's model misses them

	Noise         servo.Disturbances // Amplifier and FullScale are set here, from what follows and the actuator
	Current       servo.Density      // of the amplifier, A/√Hz
	ConverterBits int                // of its command, from −peak to +peak force of the actuator; 0: no converter
}

// DefaultLoop returns the loop of a silent brief: [servo.Default], a divisor of three,
// and noise of common practice: a linear current amplifier, 16 bits, an encoder of 30
// pm/√Hz, a capacitive gap sensor of 75 pm/√Hz (a maker's figure for 500 µm range), a
// floor of VC-E, 10 kHz; the controller's shape is found among [servo.ShapeList].
func DefaultLoop() *LoopSpec {
	l := &LoopSpec{Settings: servo.Default(), RuleDivisor: 3, Payload: [2]float64{math.NaN(), math.NaN()}, StiffnessError: 0.01, MassError: 0.01,
		Noise: servo.Disturbances{
			Encoder: servo.Density{Level: 30e-12}, Gap: servo.Density{Level: 75e-12},
			Low: 0.1, SampleRate: 10e3,
		},
		Current: servo.Density{Level: 0.3e-6}, ConverterBits: 16,
	}
	l.Settings.Shapes = servo.ShapeList
	l.Noise.Floor, _ = servo.Criterion("VC-E")
	return l
}

// loopMemory is what the loop of one bench needs.
type loopMemory struct {
	spec    *LoopSpec
	loop    *servo.Loop
	plants  []*servo.Plant
	spare   *mechanics.Modes // of a payload's extreme
	other   models.Stage     // the stage with another payload
	inertia [4][]float64     // of its bodies: mass, about x, y, z
	sensed  servo.Disturbances

	keep    bool    // the shape, whatever the stage
	braking float64 // of the actuators as listed, N s/m

	// of the last stage
	result                servo.Result
	shape                 servo.Shape
	bandwidth, closedLoop float64 // Hz
	// computed when first asked for
	marginsOK, budgetOK bool
	atCrossover         servo.Margins
	budget              servo.Budget
}

func newLoopMemory(spec *Spec, d *mechanics.Dynamics) *loopMemory {
	drive := spec.drive()
	wanted := false
	for _, m := range spec.Measures {
		wanted = wanted || Table[m].Step == StepLoop || Table[m].Needs&NeedsLoop != 0
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
	settings := spec.LoopSettings(d.Topology())
	poses := len(d.Modes)
	loop, err := servo.NewLoop(settings, poses, modes, sets)
	if err != nil {
		panic("objective: loop settings that were not validated: " + err.Error())
	}
	m.loop, m.shape, m.braking = loop, settings.Shape(), settings.ActuatorDamping
	for range sets {
		p := servo.NewPlant(poses, modes)
		if d.Topology().Sensors != nil {
			p.Apart, p.Point = true, make([]float64, len(p.Stage))
		}
		m.plants = append(m.plants, p)
	}
	for k := range m.inertia {
		m.inertia[k] = make([]float64, len(d.Topology().Bodies))
	}
	m.sensed = m.spec.Noise
	if a := drive.Actuator; a != nil {
		m.sensed.Amplifier = m.spec.Current.Times(a.ForceConstant)
		if m.sensed.ConverterBits = m.spec.ConverterBits; m.sensed.ConverterBits > 0 {
			m.sensed.FullScale = 2 * a.PeakForce
		}
	}
	for k := range d.Topology().Actuators {
		m.sensed.NoGap[k] = d.Topology().ReadAlone(k)
	}
	return m
}

// HasLoop reports whether a number of a position loop is computed.
func (s *Spec) HasLoop() bool {
	return slices.ContainsFunc(s.Measures, func(m Measure) bool { return Table[m].Needs&NeedsLoop != 0 })
}

func (s *Spec) loop() *LoopSpec {
	if s.Loop != nil {
		return s.Loop
	}
	return DefaultLoop()
}

// take copies the modes of a pose into a plant, along the driven axes.
func take(p *servo.Plant, pose, axes int, m *mechanics.Modes) {
	p.Modes = m.Count
	copy(p.Omega[pose*m.Count:], m.Omega[:m.Count])
	for k := range m.Count {
		row := m.Rows[k*m.Width : (k+1)*m.Width]
		n := 2 * (pose*m.Count + k)
		p.Force[n], p.Force[n+1] = row[mechanics.RowActuator], row[mechanics.RowActuator+1]
		p.Arm[n], p.Arm[n+1] = m.Encoder(k, 0), m.Encoder(k, 1)
		p.Stage[n], p.Stage[n+1] = m.Sensed(k, 0), m.Sensed(k, 1)
		if p.Point != nil {
			p.Point[n], p.Point[n+1] = row[mechanics.RowPointX], row[mechanics.RowPointY]
		}
		if axes == 1 {
			p.Stage[n+1] = 0
		}
		p.Floor[n], p.Floor[n+1] = row[mechanics.RowFloorX], row[mechanics.RowFloorY]
	}
}

// fillPlants takes the modes of the poses, and those of the stage with the
// payload's extremes.
func (b *Bench) fillPlants(l *loopMemory) models.Verdict {
	return b.fillPlantsAt(l, allPoses[:len(b.dynamics.Modes)])
}

// allPoses are the numbers of the poses.
var allPoses = [mechanics.NumPoses]int{0, 1, 2, 3, 4, 5, 6, 7, 8}

// fillPlantsAt is fillPlants of some poses alone.
func (b *Bench) fillPlantsAt(l *loopMemory, poses []int) models.Verdict {
	l.loop.UsePoses(len(poses))
	l.plants[0].Poses = len(poses)
	for k, i := range poses {
		take(l.plants[0], k, b.axes(), &b.dynamics.Modes[i])
	}
	set := 1
	for _, mass := range l.spec.Payload {
		if math.IsNaN(mass) {
			continue
		}
		l.other = *b.stage
		l.other.Mass, l.other.Ix, l.other.Iy, l.other.Iz = l.inertia[0], l.inertia[1], l.inertia[2], l.inertia[3]
		for k, from := range [...][]float64{b.stage.Mass, b.stage.Ix, b.stage.Iy, b.stage.Iz} {
			copy(l.inertia[k], from)
		}
		more := mass - b.stage.Payload
		l.other.Mass[b.topology.Stage] += more
		l.other.AddSpread(b.topology.Stage, more*b.stage.PayloadSpread)
		l.other.Payload = mass
		if v := b.payloadModes(l, l.plants[set], poses); !v.OK() {
			return v
		}
		set++
	}
	return models.Verdict{}
}

// payloadModes fills a plant with the modes of a stage that differs from the one
// measured by its payload only. Lying flat it has the same equilibria.
func (b *Bench) payloadModes(l *loopMemory, plant *servo.Plant, list []int) models.Verdict {
	p := b.probe
	p.mount(&l.other)
	poses := b.scratch.Poses
	if p.up != mechanics.Flat {
		if v := p.scratch.Statics(l.other.Travel); !v.OK() {
			return v
		}
		poses = p.scratch.Poses
	}
	p.dynamics.Prepare()
	plant.Poses = len(list)
	for k, i := range list {
		if v := p.dynamics.Natural(&poses[i], l.spare); !v.OK() {
			v.Index = i
			return v
		}
		take(plant, k, b.axes(), l.spare)
	}
	return models.Verdict{}
}

// solveLoop finds the highest crossover that holds.
func (b *Bench) solveLoop() models.Verdict {
	l := b.loop
	l.loop.SetDamping(l.spec.Settings.Damping * b.damping)
	l.sensed.Constant = b.constant
	if l.braking > 0 {
		// of both axes' actuators, whose constants are a few per cent apart in a part, the mean
		l.loop.SetActuatorDamping(l.braking * 0.5 * (b.constant[0]*b.constant[0] + b.constant[1]*b.constant[1]))
	}
	if b.near != nil {
		return b.estimateLoop()
	}
	if v := b.fillPlants(l); !v.OK() {
		return v
	}
	if l.keep || len(l.spec.Settings.Shapes) == 0 && l.spec.Settings.AutoNotches == 0 {
		l.loop.Use(l.shape)
		l.result = l.loop.Crossover(l.plants...)
		l.bandwidth, l.closedLoop = math.NaN(), math.NaN()
		if l.result.Hz > 0 {
			l.bandwidth, l.closedLoop, _ = l.loop.Frequencies(l.result.Hz)
		}
	} else {
		tuned := l.loop.Tune(l.plants...)
		l.result, l.shape, l.bandwidth, l.closedLoop = tuned.Result, tuned.Shape, tuned.Bandwidth, tuned.ClosedLoop
	}
	l.marginsOK, l.budgetOK = false, false
	return models.Verdict{}
}

// KeepShape makes the controller of the stages measured next that of the stage
// measured last, with the crossover found anew: parts with errors have the nominal design's.
func (b *Bench) KeepShape(keep bool) {
	if b.loop != nil {
		b.loop.keep = keep
	}
}

// crossover is the highest that holds, Hz; NaN where none does.
func (l *loopMemory) crossover() float64 { return l.found(l.result.Hz) }

// found is a number of the loop; NaN where no crossover holds.
func (l *loopMemory) found(v float64) float64 {
	if l.result.Hz > 0 {
		return v
	}
	return math.NaN()
}

// notches returns the frequencies of those found for the last stage, Hz. It allocates.
func (l *loopMemory) notches() (hz []float64) {
	for _, n := range l.loop.Found() {
		hz = append(hz, n.Frequency)
	}
	return hz
}

// NotchText writes frequencies of notches.
func NotchText(hz []float64) string {
	var words []string
	for _, f := range hz {
		words = append(words, strconv.FormatFloat(f, 'f', -1, 64))
	}
	return strings.Join(words, ", ")
}

// foundNotches is the text of notches_found.
func (b *Bench) foundNotches() string {
	if !b.reached(StepLoop) || !(b.loop.result.Hz > 0) {
		return ""
	}
	return NotchText(b.loop.notches())
}

// margins at the crossover; NaN without one.
func (l *loopMemory) margins() *servo.Margins {
	if !l.marginsOK {
		l.marginsOK = true
		ok := false
		if l.result.Hz > 0 {
			l.atCrossover, ok = l.loop.Margins(l.result.Hz)
		}
		if nan := math.NaN(); !ok {
			l.atCrossover = servo.Margins{Phase: nan, Gain: nan, Peak: nan, MinusHz: nan, Position: [2]float64{nan, nan}}
		}
	}
	return &l.atCrossover
}

// noise of the worse axis, m; NaN without a crossover.
func (l *loopMemory) noise() float64 {
	if l.result.Hz == 0 {
		return math.NaN()
	}
	if !l.budgetOK {
		l.budget, l.budgetOK = l.loop.Noise(l.result.Hz, &l.sensed)
	}
	if !l.budgetOK {
		return math.NaN()
	}
	return max(l.budget.Total[0], l.budget.Total[1])
}
