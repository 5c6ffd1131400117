package objective

import "flexwright/models"

// Measure is one engineering number of a candidate.
type Measure int

// Sense is the direction in which a measure gets better.
type Sense uint8

const (
	Least Sense = iota // smaller is better
	Most               // larger is better
)

// String returns the brief's word.
func (s Sense) String() string {
	if s == Most {
		return "most"
	}
	return "least"
}

// Step is the part of the evaluation that a measure comes from, in the order
// in which they run; a limit on an early one spares the later ones.
type Step uint8

const (
	StepBuild   Step = iota // from the dimensions alone
	StepStatics             // poses, stress
	StepModes               // natural frequencies
	StepLoop                // crossover, bandwidth, noise
	StepDrive               // motion program, force, heat
	StepTravel              // usable travel: many statics
	StepParts               // parts with errors: all of the above, many times
	NumSteps
)

// Needs are what a measure cannot be computed without, beside the stage itself.
type Needs uint16

const (
	NeedsActuator    Needs = 1 << iota // the data of an actuator
	NeedsHeat                          // a coil whose temperature is bounded
	NeedsLoop                          // the position loop
	NeedsMotion                        // the motion program
	NeedsCycles                        // a motion program that moves
	NeedsFatigue                       // fatigue and tensile strength of the material
	NeedsFatigueLife                   // the number of cycles that its fatigue strength is listed for
	NeedsExpansion                     // its coefficient of thermal expansion
	NeedsTwoAxes                       // a stage that is driven along x and y
	NeedsOneAxis                       // a stage that is driven along x alone
)

// Info describes a measure: one row of the table that the columns, the brief's
// accepted names, the help and the evaluation are made from.
//
// Value computes it from what the bench has computed up to Step, in SI; NaN or ±Inf
// where it is undefined, which is null in every file. A measure whose column is a
// text has Text instead; it may allocate, and explains the measures that name it in
// ExplainedBy.
type Info struct {
	Name        string
	Unit        models.Unit
	Sense       Sense
	Step        Step
	Needs       Needs
	OnName      bool // computed only when the brief names it
	Unbounded   bool // null means that nothing bounds it: it meets any lower limit
	Meaning     string
	Formula     string
	Source      string
	Detail      bool    // says where or at what another measure is decided, as its texts do: no goal, no limit, no tail
	ExplainedBy Measure // the text that says what decided it; 0 (no text): none
	Value       func(b *Bench) float64
	Text        func(b *Bench) string
}

// IsText reports whether the column holds text.
func (i *Info) IsText() bool { return i.Text != nil }

// Explains reports whether the measure only says what decides another: a text or a detail
// of one, not usable as a goal or a limit.
func (i *Info) Explains() bool { return i.Text != nil || i.Detail }

// Column is the name of the measure's column.
func (i *Info) Column() string { return i.Unit.Column(i.Name) }

const (
	FirstFrequency Measure = iota
	WorstFrequency
	LowestUnwanted
	FrequencySpread
	OutOfPlaneFrequency
	BladeMode
	BodyMode
	SupportStiffness
	Sag
	ZStraightness
	Tilt
	AbbeError
	PeakStress
	YieldMargin
	BodyYieldMargin
	ParasiticYaw
	ArmYaw
	LostMotion
	IsolationAlong
	IsolationAcross
	DriveForce
	CrossForce
	DriveStiffness
	BucklingMargin
	Footprint
	StageMass
	ArmMass
	MovingMass
	ThinnestBlade
	BladeSlenderness
	BladeAspect
	Crossover
	CrossoverEnd
	CrossoverEndAxis
	CrossoverEndX
	CrossoverEndY
	CrossoverEndFrequency
	CrossoverEndMode
	CrossoverEndModeFrequency
	CrossoverEndScale
	CrossoverEndPayload
	Bandwidth
	ClosedLoopFrequency
	IntegratorRatio
	LeadRatio
	LowPassRatio
	NotchesFound
	ModeRule
	OutOfPlaneRatio
	BladeModeRatio
	BodyModeRatio
	PhaseMargin
	GainMargin
	SensitivityPeak
	PositionNoise
	PeakForce
	RMSForce
	ForceMargin
	CoilTemperatureRise
	DrivePower
	DriveVoltage
	VoltageMargin
	StrokeMargin
	TransverseMargin
	GapTravel
	GapTarget
	TrackingError
	TrackingErrorFeedforward
	TrackingLag
	ThermalDrift
	FatigueMargin
	LoadCycles
	CycleMargin
	UsableTravel
	TravelEnd
	ArcMotion
	SensorError
	ConformingParts
	PartsBy
	numPlain // the tails follow: see withTails
)

const vibration = "S. Timoshenko, D. H. Young, Vibration Problems in Engineering, 3rd ed., 1955"

const mechatronics = "R. Munnig Schmidt, G. Schitter, A. Rankers, The Design of High Performance Mechatronics, ch. 3, 4 and 8"

const voiceCoil = "G. Gogue, J. Stupak, Voice-coil actuators"

const beamColumns = "S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., 1961, ch. 1 (beam-columns)"

// Table describes every measure, indexed by [Measure].
var Table = withTails([numPlain]Info{
	FirstFrequency: {Name: "first_frequency", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest in-plane natural frequency at the centre, actuators free",
		Formula: "least f with det(K - (2 pi f)^2 M) = 0, blade mass consistent",
		Source:  vibration,
		Value:   func(b *Bench) float64 { return b.modal.first }},
	WorstFrequency: {Name: "worst_frequency", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest in-plane natural frequency over the poses, actuators free",
		Formula: "min over poses of the least f with det(K - (2 pi f)^2 M) = 0", Source: vibration,
		Value: func(b *Bench) float64 { return b.modal.worst }},
	LowestUnwanted: {Name: "lowest_unwanted", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest natural frequency over the poses, in or out of the plane, that is not the guided mode along x or y",
		Formula: "min over poses and modes but the two with the largest share phi^2/omega^2 of the stage's compliance along x, along y", Source: vibration,
		Value: func(b *Bench) float64 { return b.modal.unwanted }},
	FrequencySpread: {Name: "frequency_spread", Unit: models.One, Sense: Least, Step: StepModes,
		Meaning: "how much the guided modes change over the poses, the larger of the axes",
		Formula: "(largest - least) / at the centre", Source: "definition",
		Value: func(b *Bench) float64 { return b.modal.spread }},
	OutOfPlaneFrequency: {Name: "out_of_plane_frequency", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest natural frequency out of the plane over the poses",
		Formula: "least f with det(K - (2 pi f)^2 M) = 0 in z, roll and pitch, half of each blade's mass at each end", Source: vibration,
		Value: func(b *Bench) float64 { return b.modal.outOfPlane }},
	BladeMode: {Name: "blade_mode", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "least natural frequency of a blade between its clamps, over blades and poses",
		Formula: "min of 1.028 t/L^2 sqrt(E/density) sqrt(1 + p/(4 pi^2)), p = P L^2/EI", Source: vibration,
		Value: func(b *Bench) float64 { return b.modal.blade }},
	BodyMode: {Name: "body_mode", Unit: models.Hertz, Sense: Most, Step: StepModes, Unbounded: true,
		Meaning: "least natural frequency of a part of a body by itself: of one that bends, with what stands on it, held where it begins, carrying halves of the blades that end on it; none where bodies are rigid",
		Formula: "min of f with det(C M - 1/(2 pi f)^2) = 0, C flexibility at the part's end, M the mass moved there, in and out of the plane", Source: "S. P. Timoshenko's beams; " + vibration,
		Value: func(b *Bench) float64 { return b.modal.body }},
	SupportStiffness: {Name: "support_stiffness", Unit: models.NewtonPerMm, Sense: Most, Step: StepModes,
		Meaning: "least stiffness of the stage along z over the poses: force at its origin over its deflection there, tilt free",
		Formula: "min of 1 / (K^-1)zz", Source: "V. Z. Vlasov, Thin-Walled Elastic Beams (torsion with restrained warping)",
		Value: func(b *Bench) float64 { return b.modal.support }},
	Sag: {Name: "sag", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "largest deflection of the stage along z under the weight of everything that moves, over the poses; little when it stands",
		Formula: "max |z|, K q = weight", Source: "definition",
		Value: func(b *Bench) float64 { return b.modal.sag }},
	ZStraightness: {Name: "z_straightness", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "range of the stage's z under weight over the poses",
		Formula: "max z - min z", Source: "definition",
		Value: func(b *Bench) float64 { return b.modal.straightness }},
	Tilt: {Name: "tilt", Unit: models.Microradian, Sense: Least, Step: StepModes,
		Meaning: "range of the stage's roll or pitch under weight over the poses, the larger",
		Formula: "max - min", Source: "definition",
		Value: func(b *Bench) float64 { return b.modal.tilt }},
	AbbeError: {Name: "abbe_error", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "largest motion of the point of interest against the stage's origin by its rotations, over the poses, from the centre's",
		Formula: "max |rotation x offset|", Source: "E. Abbe's principle",
		Value: func(b *Bench) float64 { return b.modal.abbe }},
	PeakStress: {Name: "peak_stress", Unit: models.Megapascal, Sense: Least, Step: StepStatics,
		Meaning: "largest stress (von Mises) at any blade end over the poses, with the fillet's stress concentration",
		Formula: "max of sqrt(1 - nu + nu^2) (Kt |M| t / (2 I) + |P| / A)",
		Source:  "W. D. Pilkey, Peterson's Stress Concentration Factors; Roark's Formulas for Stress and Strain, table 17.1",
		Value:   func(b *Bench) float64 { return b.static.stress }},
	YieldMargin: {Name: "yield_margin", Unit: models.One, Sense: Most, Step: StepStatics, Unbounded: true,
		Meaning: "proof strength over the peak stress; null where there is no stress",
		Formula: "Rp0.2 / peak_stress", Source: "common practice",
		Value: func(b *Bench) float64 { return b.stage.Material.Yield / b.static.stress }},
	BodyYieldMargin: {Name: "body_yield_margin", Unit: models.One, Sense: Most, Step: StepStatics, Unbounded: true,
		Meaning: "proof strength over the largest nominal stress in prongs, feet and other beams of bodies over the poses, without what corners add; null where bodies are rigid",
		Formula: "Rp0.2 / max(|N| / (b h) + 6 |M| / (b h^2))", Source: "S. P. Timoshenko, Strength of Materials, part I",
		Value: func(b *Bench) float64 { return b.stage.Material.Yield / b.static.body }},
	ParasiticYaw: {Name: "parasitic_yaw", Unit: models.Microradian, Sense: Least, Step: StepStatics,
		Meaning: "largest rotation of the stage over the poses (nominal: symmetry cancels it only in a perfect part)",
		Formula: "max |yaw of the stage|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.yaw }},
	ArmYaw: {Name: "arm_yaw", Unit: models.Microradian, Sense: Least, Step: StepStatics,
		Meaning: "largest rotation of a driven body over the poses (nominal)",
		Formula: "max |yaw of the driven bodies|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.armYaw }},
	LostMotion: {Name: "lost_motion", Unit: models.Micrometre, Sense: Least, Step: StepStatics,
		Meaning: "largest difference between what the encoder of an axis reads, at the actuator unless the layout says otherwise, and the stage's motion along it, over the poses",
		Formula: "max of |u1 - x|, |v2 - y|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.lost }},
	IsolationAlong: {Name: "isolation_along", Unit: models.Micrometre, Sense: Least, Step: StepStatics,
		Meaning: "what the other axis's travel does to an actuator along its stroke, over the poses (nominal)",
		Formula: "max of |v2(x,y) - v2(0,y)|, |u1(x,y) - u1(x,0)|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.along }},
	IsolationAcross: {Name: "isolation_across", Unit: models.Micrometre, Sense: Least, Step: StepStatics,
		Meaning: "motion of an actuator across its stroke, over the poses (nominal)",
		Formula: "max of |u2|, |v1|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.across }},
	DriveForce: {Name: "drive_force", Unit: models.Newton, Sense: Least, Step: StepStatics,
		Meaning: "largest static actuator force over the poses and axes",
		Formula: "max of |F1|, |F2|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.force }},
	CrossForce: {Name: "cross_force", Unit: models.Newton, Sense: Least, Step: StepStatics,
		Meaning: "change of one axis's force by the other axis's travel, over the poses (nominal)",
		Formula: "max of |Fy(x,y) - Fy(0,y)|, |Fx(x,y) - Fx(x,0)|", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.cross }},
	DriveStiffness: {Name: "drive_stiffness", Unit: models.NewtonPerMm, Sense: Least, Step: StepStatics,
		Meaning: "least stiffness along a driven axis over the poses, the other axis held",
		Formula: "min of dFx/dx, dFy/dy", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.stiffness }},
	BucklingMargin: {Name: "buckling_margin", Unit: models.One, Sense: Most, Step: StepStatics, Unbounded: true,
		Meaning: "least ratio of a blade's critical load (clamped, sway free) to its compression over the poses; null where none is compressed: then every limit on it holds",
		Formula: "min of pi^2 f E I / (max(-P, 0) L^2)", Source: beamColumns,
		Value: func(b *Bench) float64 { return b.static.buckling }},
	Footprint: {Name: "footprint", Unit: models.Millimetre, Sense: Least, Step: StepBuild,
		Meaning: "longer side of the plate", Formula: "2 H", Source: "geometry of the layout",
		Value: func(b *Bench) float64 { return b.stage.Frame }},
	StageMass: {Name: "stage_mass", Unit: models.Kilogram, Sense: Least, Step: StepBuild,
		Meaning: "mass of the stage with what is mounted on it, without blades", Formula: "area x width x density x (1 - pocketing) + added mass", Source: "geometry of the layout",
		Value: func(b *Bench) float64 { return b.stage.BodyMass(b.topology, b.topology.Stage) }},
	ArmMass: {Name: "arm_mass", Unit: models.Kilogram, Sense: Least, Step: StepBuild,
		Meaning: "mass of the heaviest driven body with what is mounted on it, without blades", Formula: "area x width x density x (1 - pocketing) + added mass", Source: "geometry of the layout",
		Value: (*Bench).armMass},
	MovingMass: {Name: "moving_mass", Unit: models.Kilogram, Sense: Least, Step: StepBuild,
		Meaning: "mass of everything that moves: bodies with what is mounted on them, and blades", Formula: "sum over moving bodies + sum over blades of density x L t b", Source: "geometry of the layout",
		Value: (*Bench).movingMass},
	ThinnestBlade: {Name: "thinnest_blade", Unit: models.Millimetre, Sense: Most, Step: StepBuild,
		Meaning: "least blade thickness", Formula: "min t", Source: "geometry of the layout",
		Value: (*Bench).thinnestBlade},
	BladeSlenderness: {Name: "blade_slenderness", Unit: models.One, Sense: Least, Step: StepBuild,
		Meaning: "largest ratio of a blade's length to its thickness", Formula: "max L / t", Source: "geometry of the layout",
		Value: (*Bench).slenderness},
	BladeAspect: {Name: "blade_aspect", Unit: models.One, Sense: Least, Step: StepBuild,
		Meaning: "largest ratio of a blade's width to its thickness: how deep the wire cuts a thin wall", Formula: "max b / t", Source: "geometry of the layout",
		Value: (*Bench).aspect},
	Crossover: {Name: "crossover", Unit: models.Hertz, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "highest crossover of the axes' loops at which, at all poses, with the mode frequencies scaled and with the payload's extremes, each axis alone is stable and, with the other axis's loop closed where there is one, stable with |S| within its limit; null where none is",
		Formula: "max wc/(2 pi), |C P| = 1 at wc at the centre, the same C at all poses, all modes in P", Source: mechatronics,
		ExplainedBy: CrossoverEnd, Value: func(b *Bench) float64 { return b.loop.crossover() }},
	CrossoverEnd: {Name: "crossover_end", Unit: models.One, Step: StepLoop, OnName: true,
		Meaning: "what ends the crossover, as a fixed phrase: " + crossoverEnds, Formula: "the first case that fails above it", Source: "definition",
		Text: (*Bench).loopEnd},
	CrossoverEndAxis: {Name: "crossover_end_axis", Unit: models.One, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "axis whose loop fails first above the crossover", Formula: "as crossover_end", Source: "definition",
		Text: (*Bench).loopEndAxis},
	CrossoverEndX: {Name: "crossover_end_x", Unit: models.One, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "where it fails first, along x in shares of the travel", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.endAt(0) }},
	CrossoverEndY: {Name: "crossover_end_y", Unit: models.One, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "where it fails first, along y in shares of the travel", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.endAt(1) }},
	CrossoverEndFrequency: {Name: "crossover_end_frequency", Unit: models.Hertz, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "frequency of the largest sensitivity there; null where instability belongs to none", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.nearEnd(b.loop.result.At) }},
	CrossoverEndMode: {Name: "crossover_end_mode", Unit: models.One, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "number of the mode nearest to that frequency at that pose, from 1", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.nearEnd(float64(b.loop.result.Mode + 1)) }},
	CrossoverEndModeFrequency: {Name: "crossover_end_mode_frequency", Unit: models.Hertz, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "natural frequency of that mode, scaled", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.nearEnd(b.loop.result.ModeHz) }},
	CrossoverEndScale: {Name: "crossover_end_scale", Unit: models.One, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "factor on the mode frequencies with which it fails first", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.atEnd(b.loop.result.Scale) }},
	CrossoverEndPayload: {Name: "crossover_end_payload", Unit: models.Kilogram, Step: StepLoop, OnName: true, Detail: true,
		Meaning: "payload with which it fails first; null where it is stage_added_mass", Formula: "as crossover_end", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.endPayload() }},
	Bandwidth: {Name: "bandwidth", Unit: models.Hertz, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "frequency up to which the loop holds errors down: where |S| first rises to -3 dB, at the crossover, the least over poses, axes, scales of the mode frequencies and the payload's extremes; null without a crossover",
		Formula: "min f with |1/(1 + L)| = 1/sqrt 2", Source: "S. Skogestad and I. Postlethwaite, Multivariable Feedback Control, 2005, section 2.4.5",
		ExplainedBy: CrossoverEnd, Value: func(b *Bench) float64 { return b.loop.found(b.loop.bandwidth) }},
	ClosedLoopFrequency: {Name: "closed_loop_frequency", Unit: models.Hertz, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "lowest frequency at which the closed loop falls below -3 dB, over poses and axes, at the crossover; far below it where the suspension holds the loop gain down under the first mode",
		Formula: "least f with |L/(1 + L)| < 1/sqrt 2", Source: mechatronics,
		ExplainedBy: CrossoverEnd, Value: func(b *Bench) float64 { return b.loop.found(b.loop.closedLoop) }},
	IntegratorRatio: {Name: "integrator_ratio", Unit: models.One, Sense: Least, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "crossover over the integrator's corner, of the controller found", Formula: "of the list's shapes that follow set points up to the bandwidth, where one does with no less bandwidth than the fixed shape, that with the largest bandwidth", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.found(b.loop.shape.Integrator) }},
	LeadRatio: {Name: "lead_ratio", Unit: models.One, Sense: Least, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "crossover over the lead's zero, of the controller found", Formula: "as integrator_ratio", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.found(b.loop.shape.Lead) }},
	LowPassRatio: {Name: "low_pass_ratio", Unit: models.One, Sense: Least, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "the low-pass over the crossover, of the controller found", Formula: "as integrator_ratio", Source: "definition",
		Value: func(b *Bench) float64 { return b.loop.found(b.loop.shape.LowPass) }},
	NotchesFound: {Name: "notches_found", Unit: models.One, Step: StepLoop, OnName: true,
		Meaning: "frequencies in Hz of the notches that loop.auto_notch added, in every controller", Formula: "the mode that ends the crossover, where it stays within the frequency spread at every pose", Source: "definition",
		Text: (*Bench).foundNotches},
	ModeRule: {Name: "mode_rule", Unit: models.Hertz, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "the rule of thumb on mode frequencies, for comparison with crossover: it knows neither coupling nor sign of a mode",
		Formula: "lowest_unwanted / rule_divisor", Source: "common practice",
		Value: func(b *Bench) float64 { return b.modal.unwanted / b.loop.spec.RuleDivisor }},
	OutOfPlaneRatio: {Name: "out_of_plane_ratio", Unit: models.One, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "lowest natural frequency out of the plane over the crossover",
		Formula: "out_of_plane_frequency / crossover", Source: "common practice: at least 3",
		Value: func(b *Bench) float64 { return b.modal.outOfPlane / b.loop.crossover() }},
	BladeModeRatio: {Name: "blade_mode_ratio", Unit: models.One, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "least natural frequency of a blade between its clamps over the crossover",
		Formula: "blade_mode / crossover", Source: "common practice: at least 3",
		Value: func(b *Bench) float64 { return b.modal.blade / b.loop.crossover() }},
	BodyModeRatio: {Name: "body_mode_ratio", Unit: models.One, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true, Unbounded: true,
		Meaning: "least natural frequency of a part of a body by itself over the crossover; none where bodies are rigid",
		Formula: "body_mode / crossover", Source: "common practice: at least 3",
		Value: func(b *Bench) float64 { return b.modal.body / b.loop.crossover() }},
	PhaseMargin: {Name: "phase_margin", Unit: models.Degree, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "least phase margin at the crossover, over poses and axes, the other axis's loop closed where there is one",
		Formula: "min |180 + arg L| where |L| = 1", Source: mechatronics,
		Value: func(b *Bench) float64 { return b.loop.margins().Phase }},
	GainMargin: {Name: "gain_margin", Unit: models.One, Sense: Most, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "least factor, up or down, on the gain at the crossover that makes an axis unstable, over poses and axes, the other axis's loop closed where there is one",
		Formula: "min of |L|, 1/|L| where L is real and negative, the one above 1", Source: mechatronics,
		Value: func(b *Bench) float64 { return b.loop.margins().Gain }},
	SensitivityPeak: {Name: "sensitivity_peak", Unit: models.One, Sense: Least, Step: StepLoop, Needs: NeedsLoop, OnName: true,
		Meaning: "largest |S| at the crossover over poses and axes with nominal mode frequencies",
		Formula: "max |1/(1 + L)|", Source: mechatronics,
		Value: func(b *Bench) float64 { return b.loop.margins().Peak }},
	PositionNoise: {Name: "position_noise", Unit: models.Nanometre, Sense: Least, Step: StepLoop, Needs: NeedsActuator | NeedsLoop, OnName: true,
		Meaning: "rms position error of the stage, the worse axis at its worst pose, from amplifier, converter, encoder, gap sensor and floor, the loop closed at the crossover",
		Formula: "sqrt of the integral of sum |H|^2 G df from 0.1 Hz to half the sample rate", Source: mechatronics,
		Value: func(b *Bench) float64 { return b.loop.noise() }},
	PeakForce: {Name: "peak_force", Unit: models.Newton, Sense: Least, Step: StepDrive, Needs: NeedsMotion, OnName: true,
		Meaning: "largest actuator force of the motion program, the worse axis",
		Formula: "max |m a + c v + F(x, y) + k u|", Source: voiceCoil,
		Value: func(b *Bench) float64 { return b.duty.peakForce() }},
	RMSForce: {Name: "rms_force", Unit: models.Newton, Sense: Least, Step: StepDrive, Needs: NeedsMotion, OnName: true,
		Meaning: "rms actuator force of the motion program, the worse axis", Formula: "sqrt of the mean of F^2", Source: voiceCoil,
		Value: func(b *Bench) float64 { return b.duty.rmsForce() }},
	ForceMargin: {Name: "force_margin", Unit: models.One, Sense: Most, Step: StepDrive, Needs: NeedsActuator | NeedsMotion, OnName: true,
		Meaning: "peak force of the actuator, weakened at the end of the travel, over peak_force", Formula: "F_peak (1 - fall_off (2 T/stroke)^2) / peak_force", Source: voiceCoil,
		Value: (*Bench).forceMargin},
	CoilTemperatureRise: {Name: "coil_temperature_rise", Unit: models.Kelvin, Sense: Least, Step: StepDrive, Needs: NeedsActuator | NeedsHeat | NeedsMotion, OnName: true,
		Meaning: "temperature rise of the warmer coil in the motion program", Formula: "Rth P0 / (1 - 0.00393 Rth P0), P0 = mean of (F/Km)^2", Source: voiceCoil,
		Value: func(b *Bench) float64 { return b.duty.rise() }},
	DrivePower: {Name: "drive_power", Unit: models.Watt, Sense: Least, Step: StepDrive, Needs: NeedsActuator | NeedsHeat | NeedsMotion, OnName: true,
		Meaning: "power dissipated by the coils, warm", Formula: "sum of P0 (1 + 0.00393 rise)", Source: voiceCoil,
		Value: func(b *Bench) float64 { return b.duty.power() }},
	DriveVoltage: {Name: "drive_voltage", Unit: models.Volt, Sense: Least, Step: StepDrive, Needs: NeedsActuator | NeedsHeat | NeedsMotion, OnName: true,
		Meaning: "peak voltage of the motion program with the warm coil, the worse axis", Formula: "max |R i + L di/dt + Kf v|", Source: voiceCoil,
		Value: func(b *Bench) float64 { return b.duty.voltage() }},
	VoltageMargin: {Name: "voltage_margin", Unit: models.One, Sense: Most, Step: StepDrive, Needs: NeedsActuator | NeedsHeat | NeedsMotion, OnName: true,
		Meaning: "largest voltage of the amplifier over drive_voltage", Formula: "U_max / drive_voltage", Source: voiceCoil,
		Value: func(b *Bench) float64 { return b.duty.actuator.MaxVoltage / b.duty.voltage() }},
	StrokeMargin: {Name: "stroke_margin", Unit: models.One, Sense: Most, Step: StepDrive, Needs: NeedsActuator, OnName: true,
		Meaning: "half the actuator's total stroke over its largest motion along it, over poses", Formula: "stroke / (2 max |u|)", Source: "definition",
		Value: (*Bench).strokeMargin},
	TransverseMargin: {Name: "transverse_margin", Unit: models.One, Sense: Most, Step: StepDrive, Needs: NeedsActuator, OnName: true,
		Meaning: "the actuator's transverse clearance over its largest motion across its stroke, over poses", Formula: "clearance / isolation_across", Source: "definition",
		Value: func(b *Bench) float64 { return b.duty.actuator.Clearance / b.static.across }},
	GapTravel: {Name: "gap_travel", Unit: models.Micrometre, Sense: Least, Step: StepDrive, Needs: NeedsMotion, OnName: true,
		Meaning: "range that a gap sensor between the driven body and the stage has to cover: over poses, what acceleration adds, and by how much the warm driven body outgrows the frame, the worse axis",
		Formula: "max (u1 - x) - min (u1 - x) + m a / min k + expansion x length x arm_heating x rise", Source: "definition",
		Value: func(b *Bench) float64 { return b.duty.gapTravel }},
	GapTarget: {Name: "gap_target", Unit: models.Millimetre, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "length of a gap sensor's target that the cross travel sweeps, without the probe's own size", Formula: "range of the stage's motion across the probe", Source: "definition",
		Value: func(b *Bench) float64 { return b.duty.gapTarget }},
	TrackingError: {Name: "tracking_error", Unit: models.Micrometre, Sense: Least, Step: StepLoop, Needs: NeedsLoop | NeedsMotion, OnName: true,
		Meaning: "error of following a sine of the program's amplitude and frequency without feedforward, the worst pose, axis and scale of the mode frequencies, at the crossover",
		Formula: "max |S| x amplitude", Source: mechatronics,
		Value: (*Bench).trackingError},
	TrackingErrorFeedforward: {Name: "tracking_error_feedforward", Unit: models.Micrometre, Sense: Least, Step: StepLoop, Needs: NeedsLoop | NeedsMotion, OnName: true,
		Meaning: "the same with the force of a model of stiffness and mass added, each as far off as the brief says (1 %), the worst of the signs; all axes moving",
		Formula: "max row sum of |(I + P C)^-1 (I - P (K (1 +- dk) - M (1 +- dm) w^2))| x amplitude", Source: mechatronics,
		Value: (*Bench).trackingFeedforward},
	TrackingLag: {Name: "tracking_lag", Unit: models.Degree, Sense: Least, Step: StepLoop, Needs: NeedsLoop | NeedsMotion, OnName: true,
		Meaning: "largest phase lag of the position behind a sine of the program's frequency, at the crossover", Formula: "-arg L/(1 + L)", Source: mechatronics,
		Value: (*Bench).trackingLag},
	ThermalDrift: {Name: "thermal_drift", Unit: models.Micrometre, Sense: Least, Step: StepDrive, Needs: NeedsActuator | NeedsHeat | NeedsMotion | NeedsExpansion, OnName: true,
		Meaning: "growth of the measuring loop by the heat of the coils in the frame", Formula: "expansion x loop_length x frame_resistance x drive_power", Source: "definition",
		Value: (*Bench).thermalDrift},
	FatigueMargin: {Name: "fatigue_margin", Unit: models.One, Sense: Most, Step: StepDrive, Needs: NeedsMotion | NeedsFatigue, OnName: true,
		Meaning: "factor on amplitude and mean of the stress along the motion program, at the worst end of a blade, up to Goodman's line with 0.7 of the listed strength; of a held stage, as mean stress. It holds for the number of cycles that the strength is listed for",
		Formula: "1 / (s_a / (0.7 s_f) + s_m / s_u)", Source: "W. D. Pilkey, Peterson's Stress Concentration Factors, ch. 1",
		Value: (*Bench).fatigueMargin},
	LoadCycles: {Name: "load_cycles", Unit: models.One, Sense: Least, Step: StepDrive, Needs: NeedsMotion, OnName: true,
		Meaning: "stress cycles of the motion program over its life", Formula: "frequency x life", Source: "definition",
		Value: func(b *Bench) float64 { return b.duty.cycles() }},
	CycleMargin: {Name: "cycle_margin", Unit: models.One, Sense: Most, Step: StepDrive, Needs: NeedsMotion | NeedsCycles | NeedsFatigueLife, OnName: true,
		Meaning: "number of cycles that the material's fatigue strength is listed for over load_cycles; below 1 fatigue_margin does not hold", Formula: "listed cycles / load_cycles", Source: "definition",
		Value: func(b *Bench) float64 { return b.stage.Material.FatigueCycle / b.duty.cycles() }},
	UsableTravel: {Name: "usable_travel", Unit: models.Millimetre, Sense: Most, Step: StepTravel, OnName: true,
		Meaning: "largest half-range within which all poses are solved and meet the limits on statics and stress",
		Formula: "largest R <= up_to such that every r <= R holds at the poses of +-r", Source: "definition",
		ExplainedBy: TravelEnd, Value: func(b *Bench) float64 { return b.travel.good }},
	TravelEnd: {Name: "travel_end", Unit: models.One, Step: StepTravel, OnName: true,
		Meaning: "what ends the usable travel: a measure, a status, or up_to", Formula: "the first limit that fails beyond R", Source: "definition",
		Text: (*Bench).travelEnd},
	ArcMotion: {Name: "arc_motion", Unit: models.Micrometre, Sense: Least, Step: StepStatics, Needs: NeedsOneAxis, OnName: true,
		Meaning: "largest motion of a single-axis stage across its travel: the arc of blades that shorten as they bend",
		Formula: "max of |y|", Source: "definition",
		Value: func(b *Bench) float64 { return b.static.arc }},
	SensorError: {Name: "sensor_error", Unit: models.Micrometre, Sense: Least, Step: StepStatics, OnName: true,
		Meaning: "largest difference between what the loop's sensor reads along an axis and the motion of the point of interest, over the poses, from the centre's: turns times the distance to where the axis is read; 0 where encoder and gap sensor read the point of interest",
		Formula: "max |reading - motion|", Source: "E. Abbe's principle",
		Value: func(b *Bench) float64 { return b.sensorError() }},
	ConformingParts: {Name: "conforming_parts", Unit: models.One, Sense: Most, Step: StepParts, OnName: true,
		Meaning: "share of the parts that are solved and meet every limit that is on a plain measure",
		Formula: "parts that conform / parts, each measured like the design, with errors by the tolerances", Source: "definition",
		ExplainedBy: PartsBy, Value: func(b *Bench) float64 { return b.parts.conforming }},
	PartsBy: {Name: "parts_by", Unit: models.One, Step: StepParts, OnName: true,
		Meaning: "how parts were measured: samples, each solved like the design, or derivatives of the design, with loops judged at the poses that come near the limit in the design, around its crossover, and other limits that it meets by half of their bound taken as met by all", Formula: "derivatives where every tail and every closer limit has them", Source: "definition",
		Text: (*Bench).partsBy},
})

func init() { // what one axis does to the other
	for m := range NumMeasures {
		if of := m.Plain(); of == CrossForce || of == IsolationAlong {
			Table[m].Needs |= NeedsTwoAxes
		}
	}
}

// Suits reports whether a stage of a topology can have the measure: whether it has as
// many driven axes as that needs.
func (m Measure) Suits(t *models.Topology) bool {
	two := len(t.Actuators) == 2
	return !(Table[m].Needs&NeedsTwoAxes != 0 && !two || Table[m].Needs&NeedsOneAxis != 0 && two)
}

// ByName finds a measure.
func ByName(name string) (Measure, bool) {
	for m := range Table {
		if Table[m].Name == name {
			return Measure(m), true
		}
	}
	return 0, false
}

// texts lists the measures that are texts, in the order of the table; textAt is
// their number in it.
var texts, textAt = func() (list []Measure, at [NumMeasures]int) {
	for m := range Table {
		if Table[m].IsText() {
			at[m] = len(list)
			list = append(list, Measure(m))
		}
	}
	return list, at
}()
