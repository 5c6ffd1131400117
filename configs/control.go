package configs

import (
	"errors"
	"math"
	"sync/atomic"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/servo"
	"flexwright/objective"
)

// Units of what only control and drive know.
var (
	hour             = models.Unit{Symbol: "h", Suffix: "h", Dimension: models.Time, SI: 3600}
	millihenry       = models.Unit{Symbol: "mH", Suffix: "mh", Dimension: models.Inductance, SI: 1e-3}
	motorConstant    = models.Unit{Symbol: "N/√W", Suffix: "n_per_rtw", Dimension: models.MotorConstant, SI: 1}
	forceConstant    = models.Unit{Symbol: "N/A", Suffix: "n_per_a", Dimension: models.ForceConstant, SI: 1}
	kelvinPerWatt    = models.Unit{Symbol: "K/W", Suffix: "k_per_w", Dimension: models.ThermalResistance, SI: 1}
	newtonSecond     = models.Unit{Symbol: "N s/m", Suffix: "n_s_per_m", Dimension: models.Damping, SI: 1}
	currentNoise     = models.Unit{Symbol: "µA/√Hz", Suffix: "ua_per_rthz", Dimension: models.CurrentNoise, SI: 1e-6}
	positionNoise    = models.Unit{Symbol: "pm/√Hz", Suffix: "pm_per_rthz", Dimension: models.LengthNoise, SI: 1e-12}
	accelerationUnit = models.Unit{Symbol: "µm/s²/√Hz", Suffix: "um_per_s2_per_rthz", Dimension: models.AccelerationNoise, SI: 1e-6}
)

var moving = []string{"circle", "raster", "steps"}

// controlSections are what a brief says of loop, actuators, motion and noise.
var controlSections = []Field{
	{Name: "loop", Kind: KindGroup, Meaning: "the position loops of the driven axes, of which crossover, bandwidth and margins are computed", Fields: []Field{
		{Name: "sensor", Kind: KindChoice, Choices: []string{"stage", "arm", "split"}, Default: "stage",
			Meaning: "stage: encoder on the driven body plus gap sensor from there to the stage; arm: encoder only; split: stage below split_frequency, encoder above"},
		{Name: "split_frequency", Kind: KindQuantity, Unit: models.Hertz, Min: 0.1, Max: 1000, Default: "10 Hz", When: "sensor", Is: []string{"split"},
			Meaning: "where the sensors cross over, first order"},
		{Name: "damping", Kind: KindQuantity, Min: 1e-4, Max: servo.MaxDamping, Default: "0.002",
			Meaning: "damping ratio of every mode (monolithic metal: 0.0005 to 0.005)"},
		{Name: "delay", Kind: KindQuantity, Unit: models.Microsecond, Min: 0, Max: 1e5, Default: "150 µs",
			Meaning: "sampling, computing and amplifier together: 1.5 samples at 10 kHz"},
		{Name: "tune", Kind: KindChoice, Choices: []string{"on", "off"}, Default: "on",
			Meaning: "on: the controller's shape is looked for in a list; off: the ratios below, 10, 3, 3 and 10 where they are absent"},
		{Name: "prefer", Kind: KindChoice, Choices: []string{"following", "bandwidth"}, Default: "following", When: "tune", Is: []string{"on"},
			Meaning: "following: of the shapes with no less bandwidth than the first, those that follow set points up to their bandwidth come before the others, then the largest bandwidth counts; bandwidth: it alone counts, as where a feedforward does the following"},
		{Name: "integrator_ratio", Kind: KindRange, Min: 0.5, Max: 1000, Meaning: "crossover over the integrator's corner; with tune: on the range it is looked for in, 1 to 10 where it is absent"},
		{Name: "lead_ratio", Kind: KindRange, Min: 0, Max: 100, Meaning: "crossover over the lead's zero; with tune: on the range, 2 to 5 where it is absent"},
		{Name: "taming_ratio", Kind: KindQuantity, Min: 0.1, Max: 1000, Default: "3", When: "tune", Is: []string{"off"}, Meaning: "the lead's pole over the crossover; with tune: on it is lead_ratio"},
		{Name: "low_pass_ratio", Kind: KindRange, Min: 0.1, Max: 1e6, Meaning: "the low-pass over the crossover; with tune: on the range, 5 to 20 where it is absent"},
		{Name: "notches", Kind: KindGroups, Default: "[]", Meaning: "notches at fixed frequencies, the same at all poses", Fields: []Field{
			{Name: "frequency", Kind: KindQuantity, Unit: models.Hertz, Min: 0.1, Max: 1e5, Required: true, Meaning: "of the notch"},
			{Name: "width", Kind: KindQuantity, Min: 0.01, Max: 2, Default: "0.3", Meaning: "between the -3 dB points, of the frequency"},
			{Name: "depth", Kind: KindQuantity, Min: 0, Max: 1, Default: "0.1", Meaning: "gain at the frequency"},
		}},
		{Name: "auto_notch", Kind: KindInteger, Min: 0, Max: servo.MaxAutoNotches, Default: "0", Meaning: "most notches that are added per design, each at the mode that ends the crossover, where it stays within frequency_spread at every pose and the loop gets better"},
		{Name: "sensitivity_limit", Kind: KindQuantity, Min: 1.05, Max: 10, Default: "2", Meaning: "largest |S| allowed at every pose (2 is 6 dB)"},
		{Name: "frequency_spread", Kind: KindQuantity, Written: "%", Min: 0, Max: 0.3, Default: "3 %", Meaning: "the loop must hold with all mode frequencies this much lower and higher, too"},
		{Name: "payload_least", Kind: KindQuantity, Unit: models.Kilogram, Min: 0, Max: 1000, Meaning: "the loop must hold with this mass instead of stage_added_mass, too"},
		{Name: "payload_most", Kind: KindQuantity, Unit: models.Kilogram, Min: 0, Max: 1000, Meaning: "the loop must hold with this mass instead of stage_added_mass, too"},
		{Name: "other_axis", Kind: KindChoice, Choices: []string{"closed", "open"}, Default: "closed", Meaning: "the other axis's loop while one is judged; of no consequence where one axis is driven"},
		{Name: "lowest", Kind: KindQuantity, Unit: models.Hertz, Min: 0.1, Max: 1000, Default: "5 Hz", Meaning: "lowest crossover tried"},
		{Name: "ceiling", Kind: KindQuantity, Unit: models.Hertz, Min: 1, Max: 10000, Default: "500 Hz", Meaning: "highest crossover tried"},
		{Name: "feedforward_stiffness_error", Kind: KindQuantity, Written: "%", Min: 0, Max: 1, Default: "1 %", Meaning: "by how much the model that a feedforward commands forces from misses the stiffness (tracking_error_feedforward)"},
		{Name: "feedforward_mass_error", Kind: KindQuantity, Written: "%", Min: 0, Max: 1, Default: "1 %", Meaning: "by how much it misses the mass"},
		{Name: "rule_divisor", Kind: KindQuantity, Min: 1, Max: 100, Default: "3", Meaning: "divisor of mode_rule, the rule of thumb that the crossover is compared with"},
	}},
	{Name: "actuator", Kind: KindGroup, Meaning: "the voice coil of each axis; its moving mass and the pull of its magnet are part of the stage, and it must not be overloaded (default limits)", Fields: []Field{
		{Name: "class", Kind: KindChoice, Choices: append([]string{"none", "own"}, actuatorNames()...), Default: "none",
			Meaning: "none; own: the keys below; or a generic one, named by its continuous force in N"},
		{Name: "motor_constant", Kind: KindQuantity, Unit: motorConstant, Min: 0.01, Max: 1e4, Required: true, When: "class", Is: []string{"own"}, Meaning: "force per root of dissipated power at 20 °C"},
		{Name: "force_constant", Kind: KindQuantity, Unit: forceConstant, Min: 0.01, Max: 1e4, Required: true, When: "class", Is: []string{"own"}, Meaning: "force per current in the middle of the stroke"},
		{Name: "peak_force", Kind: KindQuantity, Unit: models.Newton, Min: 0.01, Max: 1e5, Required: true, When: "class", Is: []string{"own"}, Meaning: "largest force"},
		{Name: "stroke", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.1, Max: 1000, Required: true, When: "class", Is: []string{"own"}, Meaning: "usable stroke from end to end, as data sheets give it"},
		{Name: "thermal_resistance", Kind: KindQuantity, Unit: kelvinPerWatt, Min: 0.001, Max: 1000, Required: true, When: "class", Is: []string{"own"}, Meaning: "coil to ambient"},
		{Name: "inductance", Kind: KindQuantity, Unit: millihenry, Min: 0, Max: 1000, Default: "1 mH", When: "class", Is: []string{"own"}, Meaning: "of the coil"},
		{Name: "max_voltage", Kind: KindQuantity, Unit: models.Volt, Min: 0.1, Max: 1e4, Default: "48 V", When: "class", Is: []string{"own"}, Meaning: "of the amplifier"},
		{Name: "moving_mass", Kind: KindQuantity, Unit: models.Kilogram, Min: 0, Max: 100, Default: "0 kg", When: "class", Is: []string{"own"}, Meaning: "of its moving part, added to each driven body at the actuator's point, beside what the layout's parameters mount there"},
		{Name: "stiffness_along", Kind: KindQuantity, Unit: models.NewtonPerMm, Min: -1000, Max: 1000, Default: "0 N/mm", When: "class", Is: []string{"own"}, Meaning: "of the magnet along the stroke; negative drives away from the middle"},
		{Name: "stiffness_across", Kind: KindQuantity, Unit: models.NewtonPerMm, Min: -1000, Max: 1000, Default: "0 N/mm", When: "class", Is: []string{"own"}, Meaning: "of the magnet across the stroke"},
		{Name: "force_fall_off", Kind: KindQuantity, Written: "%", Min: 0, Max: 0.9, Default: "10 %", When: "class", Is: []string{"own"}, Meaning: "loss of force constant at the end of the stroke"},
		{Name: "clearance", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.001, Max: 100, Default: "0.3 mm", When: "class", Is: []string{"own"}, Meaning: "motion across the stroke allowed on either side"},
		{Name: "amplifier", Kind: KindChoice, Choices: []string{"current", "voltage"}, Default: "current", When: "class", Is: append([]string{"own"}, actuatorNames()...),
			Meaning: "current: adds no damping; voltage: adds the square of the motor constant between the actuator's parts"},
		{Name: "loop_length", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.1, Max: 10000, Meaning: "of the measuring loop that grows with the frame's temperature; half the plate where it is absent"},
		{Name: "arm_heating", Kind: KindQuantity, Written: "%", Min: 0, Max: 1, Default: "5 %", Meaning: "share of a coil's temperature rise that the body it drives takes: that grows, which the gap sensor sees"},
		{Name: "frame_resistance", Kind: KindQuantity, Unit: kelvinPerWatt, Min: 0, Max: 1000, Default: "0.5 K/W", Meaning: "temperature rise of the frame per watt in the coils"},
	}},
	{Name: "motion", Kind: KindGroup, Meaning: "the motion program that force, heat and gap are computed for", Fields: []Field{
		{Name: "kind", Kind: KindChoice, Choices: []string{"circle", "raster", "hold", "steps"}, Default: "circle",
			Meaning: "circle: each axis sinusoidal; raster: lines with rounded turns; hold: at rest where the force is largest; steps: point to point between the ends"},
		{Name: "amplitude", Kind: KindQuantity, Written: "%", Min: 0.01, Max: 1, Default: "100 %", Meaning: "of the travel"},
		{Name: "frequency", Kind: KindQuantity, Unit: models.Hertz, Min: 1e-4, Max: 1000, Default: "1 Hz", When: "kind", Is: moving,
			Meaning: "turns, lines forth and back, or steps forth and back per second"},
		{Name: "phase", Kind: KindQuantity, Unit: models.Degree, Min: -360, Max: 360, Default: "90 °", When: "kind", Is: []string{"circle", "steps"},
			Meaning: "by which y lags x, of a cycle"},
		{Name: "turn", Kind: KindQuantity, Written: "%", Min: 0.01, Max: 1, Default: "20 %", When: "kind", Is: []string{"raster"}, Meaning: "part of the time spent turning"},
		{Name: "lines", Kind: KindInteger, Min: 2, Max: 1000, Default: "20", When: "kind", Is: []string{"raster"}, Meaning: "of the raster"},
		{Name: "moving", Kind: KindQuantity, Written: "%", Min: 0.01, Max: 1, Default: "50 %", When: "kind", Is: []string{"steps"}, Meaning: "part of the time spent moving"},
		{Name: "damping", Kind: KindQuantity, Unit: newtonSecond, Min: 0, Max: 1e5, Default: "0 N s/m", Meaning: "mechanical, of each axis"},
		{Name: "life", Kind: KindQuantity, Unit: hour, Min: 0, Max: 1e6, Default: "1000 h", Meaning: "how long the program runs in all"},
	}},
	{Name: "noise", Kind: KindGroup, Meaning: "what disturbs the position, one-sided amplitude densities; a table, where there is one, takes the level's place",
		Fields: append(append(append(append(
			densityFields("amplifier", "current noise of the amplifier", currentNoise, "0.3 µA/√Hz"),
			densityFields("encoder", "encoder", positionNoise, "30 pm/√Hz")...),
			densityFields("gap_sensor", "gap sensor between driven body and stage", positionNoise, "75 pm/√Hz")...),
			floorFields()...),
			Field{Name: "encoder_step", Kind: KindQuantity, Unit: models.Nanometre, Min: 0, Max: 1e6, Default: "0 nm", Meaning: "resolution of the encoder"},
			Field{Name: "converter_bits", Kind: KindInteger, Min: 0, Max: 32, Default: "16", Meaning: "of the force command, from minus to plus peak force; 0: none"},
			Field{Name: "lowest", Kind: KindQuantity, Unit: models.Hertz, Min: 1e-6, Max: 1000, Default: "0.1 Hz", Meaning: "lower end of the band"},
			Field{Name: "sample_rate", Kind: KindQuantity, Unit: models.Hertz, Min: 10, Max: 1e7, Default: "10 kHz", Meaning: "of the controller; the band ends at half of it"},
		)},
}

// floorFields takes a vibration criterion by its name, too.
func floorFields() []Field {
	f := densityFields("floor", "acceleration of the frame", accelerationUnit, "VC-E")
	f[0].Meaning += ", or a generic vibration criterion by its name (velocity in thirds of an octave; VC-E: 3.1 µm/s)"
	for _, c := range servo.Criteria {
		f[0].Choices = append(f[0].Choices, c.Name)
	}
	return f
}

// densityFields returns the two fields of a spectrum.
func densityFields(name, meaning string, unit models.Unit, level string) []Field {
	return []Field{
		{Name: name, Kind: KindQuantity, Unit: unit, Min: 0, Max: 1e12, Default: level, Meaning: meaning},
		{Name: name + "_table", Kind: KindGroups, Default: "[]", Meaning: meaning + ", as a table interpolated on logarithmic axes", Fields: []Field{
			{Name: "frequency", Kind: KindQuantity, Unit: models.Hertz, Min: 1e-6, Max: 1e7, Required: true, Meaning: "ascending"},
			{Name: "level", Kind: KindQuantity, Unit: unit, Min: 1e-9, Max: 1e12, Required: true, Meaning: "density at this frequency"},
		}},
	}
}

func actuatorNames() []string {
	var names []string
	for _, a := range drive.Catalogue {
		names = append(names, a.Name)
	}
	return names
}

// loop reads the sections loop and noise.
func (b *Brief) loop() *objective.LoopSpec {
	s, n := b.Section("loop"), b.Section("noise")
	l := objective.DefaultLoop()
	set := &l.Settings
	set.Sensor, _ = servo.ParseSensor(s.Text("sensor"))
	if s.Has("split_frequency") {
		set.SplitFrequency = s.SI("split_frequency")
	}
	set.Damping, set.Delay = s.SI("damping"), s.SI("delay")
	set.Shapes = nil
	if s.Text("tune") == "on" {
		set.BandwidthFirst = s.Text("prefer") == "bandwidth"
		set.Shapes = servo.Shapes(ratio(s, "integrator_ratio", 1, 10), ratio(s, "lead_ratio", 2, 5), ratio(s, "low_pass_ratio", 5, 20))
		first := set.Shapes[0]
		set.IntegratorRatio, set.LeadRatio, set.TamingRatio, set.LowPassRatio = first.Integrator, first.Lead, first.Taming, first.LowPass
	} else {
		set.IntegratorRatio, set.LeadRatio = ratio(s, "integrator_ratio", 10, 10).From, ratio(s, "lead_ratio", 3, 3).From
		set.TamingRatio, set.LowPassRatio = s.SI("taming_ratio"), ratio(s, "low_pass_ratio", 10, 10).From
	}
	set.Notches = nil
	for _, g := range s.Groups("notches") {
		set.Notches = append(set.Notches, servo.Notch{Frequency: g.SI("frequency"), Width: g.SI("width"), Depth: g.SI("depth")})
	}
	set.AutoNotches = s.Int("auto_notch")
	set.SensitivityLimit = s.SI("sensitivity_limit")
	set.Scales = []float64{1}
	if spread := s.SI("frequency_spread"); spread > 0 {
		set.Scales = []float64{1, 1 - spread, 1 + spread}
	}
	set.OtherAxisOpen = s.Text("other_axis") == "open"
	set.From, set.Ceiling = s.SI("lowest"), s.SI("ceiling")
	l.Payload = [2]float64{s.SI("payload_least"), s.SI("payload_most")}
	l.RuleDivisor = s.SI("rule_divisor")
	l.StiffnessError, l.MassError = s.SI("feedforward_stiffness_error"), s.SI("feedforward_mass_error")

	l.Current = spectrum(n, "amplifier")
	l.Noise.Encoder, l.Noise.Gap, l.Noise.Floor = spectrum(n, "encoder"), spectrum(n, "gap_sensor"), spectrum(n, "floor")
	l.Noise.EncoderStep = n.SI("encoder_step")
	l.ConverterBits = n.Int("converter_bits")
	l.Noise.Low, l.Noise.SampleRate = n.SI("lowest"), n.SI("sample_rate")
	return l
}

// ratio is a range of the section, or its default.
func ratio(s *Section, name string, from, to float64) servo.Range {
	if a, b := s.Range(name); !math.IsNaN(a) {
		return servo.Range{From: a, To: b}
	}
	return servo.Range{From: from, To: to}
}

func spectrum(s *Section, name string) servo.Density {
	d, named := servo.Criterion(s.Word(name))
	if !named {
		d = servo.Density{Level: s.SI(name)}
	}
	if len(s.Groups(name+"_table")) > 0 {
		d = servo.Density{}
	}
	for _, g := range s.Groups(name + "_table") {
		d.Hz = append(d.Hz, g.SI("frequency"))
		d.Value = append(d.Value, g.SI("level"))
	}
	return d
}

// drive reads the sections actuator and motion.
func (b *Brief) drive() (*objective.DriveSpec, error) {
	a, m := b.Section("actuator"), b.Section("motion")
	d := objective.DefaultDrive()
	switch class := a.Text("class"); class {
	case "none":
	case "own":
		d.Actuator = &drive.Actuator{Name: class,
			MotorConstant: a.SI("motor_constant"), ForceConstant: a.SI("force_constant"), Inductance: a.SI("inductance"),
			MaxVoltage: a.SI("max_voltage"), PeakForce: a.SI("peak_force"), Stroke: a.SI("stroke"), MovingMass: a.SI("moving_mass"),
			StiffnessAlong: a.SI("stiffness_along"), StiffnessAcross: a.SI("stiffness_across"), FallOff: a.SI("force_fall_off"),
			ThermalResistance: a.SI("thermal_resistance"), CoilLimit: 120, Ambient: drive.Reference, Clearance: a.SI("clearance"),
		}
	default:
		own, ok := drive.ByName(class)
		if !ok {
			panic("configs: class of actuator without data")
		}
		d.Actuator = &own
	}
	if d.Actuator != nil {
		d.Actuator.VoltageAmplifier = a.Text("amplifier") == "voltage"
	}
	if a.Has("loop_length") {
		d.LoopLength = a.SI("loop_length")
	}
	d.FrameResistance = a.SI("frame_resistance")
	d.DrivenShare = a.SI("arm_heating")

	kind, _ := drive.ParseKind(m.Text("kind"))
	motion := drive.DefaultMotion(kind)
	motion.Amplitude = m.SI("amplitude")
	if m.Has("frequency") {
		motion.Frequency = m.SI("frequency")
	}
	if m.Has("phase") {
		motion.Phase = m.SI("phase")
	}
	if m.Has("turn") {
		motion.Turn, motion.Lines = m.SI("turn"), m.Int("lines")
	}
	if m.Has("moving") {
		motion.Turn = m.SI("moving")
	}
	program, err := programOf(motion)
	if err == nil && d.Actuator != nil {
		err = d.Actuator.Validate()
	}
	d.Motion = program
	d.Damping, d.Life = m.SI("damping"), m.SI("life")/hour.SI
	return d, err
}

// lastProgram is the one that was computed last: a brief asks for its own several times.
var lastProgram atomic.Pointer[drive.Program]

func programOf(m drive.Motion) (*drive.Program, error) {
	if p := lastProgram.Load(); p != nil && p.Motion == m {
		return p, nil
	}
	p, err := m.Program()
	if err == nil {
		lastProgram.Store(p)
	}
	return p, err
}

// checkControl refuses what loop, actuator, motion and noise say against one another,
// and measures that need an actuator where there is none.
func (l *load) checkControl() {
	if len(l.problems) > 0 {
		return // sections that were refused have no values
	}
	loop := l.loop()
	if err := loop.Settings.Validate(); err != nil {
		l.refuseAll(l.Section("loop").place, "a loop without contradiction", err)
	}
	if err := errors.Join(loop.Noise.Validate(), loop.Current.Validate()); err != nil {
		l.refuseAll(l.Section("noise").place, "spectra in ascending order of frequency, a band that is not empty", err)
	}
	if s := l.Section("loop"); s.Text("tune") == "off" {
		for _, name := range []string{"integrator_ratio", "lead_ratio", "low_pass_ratio"} {
			if from, to := s.Range(name); from < to {
				l.refuse(s.value(name, KindRange).place, "one value, or tune: on", "%s is a range with tune: off", name)
			}
		}
	}
	if low, high := loop.Payload[0], loop.Payload[1]; low > high {
		l.refuse(l.Section("loop").place, "payload_least below payload_most", "payload_least is above payload_most")
	}
	d, err := l.drive()
	if err != nil {
		l.refuseAll(l.Section("actuator").place, "an actuator and a motion without contradiction", err)
		return
	}
	for i, g := range l.goals {
		l.checkNeeds(g.Ref, l.goalPlaces[i], d, nil)
	}
	for i, limit := range l.limits {
		l.checkNeeds(limit.Ref, l.limitPlaces[i], d, limit.Layouts)
	}
	for i, m := range l.also {
		l.checkNeeds(objective.Ref{Index: int(m)}, l.alsoPlaces[i], d, nil)
	}
	l.checkActuator(d)
}

func (l *load) refuseAll(at place, accepted string, err error) {
	if joined, ok := err.(interface{ Unwrap() []error }); ok {
		for _, e := range joined.Unwrap() {
			l.refuseAll(at, accepted, e)
		}
		return
	}
	l.refuse(at, accepted, "%v", err)
}

// named reports whether a goal or a limit of the brief is on a measure.
func (b *Brief) named(m objective.Measure) bool {
	ref := objective.Ref{Index: int(m)}
	for _, g := range b.goals {
		if g.Ref == ref {
			return true
		}
	}
	for _, l := range b.limits {
		if l.Ref == ref {
			return true
		}
	}
	return false
}
