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
	StepStatics             // nine poses, stress
	StepModes               // natural frequencies
	StepLoop                // bandwidth, noise
	StepDrive               // motion program, force, heat
	StepTravel              // usable travel: many statics
	NumSteps
)

// Info describes a measure: one row of the table that the columns, the brief's
// accepted names and the help are made from.
type Info struct {
	Name    string
	Unit    models.Unit
	Sense   Sense
	Step    Step
	Text    bool // the column holds text; not usable as a goal or a limit
	OnName  bool // computed only when the brief names it
	Meaning string
	Formula string
	Source  string
}

// Column is the name of the measure's column.
func (i *Info) Column() string { return i.Unit.Column(i.Name) }

const (
	FirstFrequency Measure = iota
	WorstFrequency
	LowestUnwanted
	FrequencySpread
	OutOfPlaneFrequency
	BladeMode
	SupportStiffness
	Sag
	ZStraightness
	Tilt
	AbbeError
	PeakStress
	YieldMargin
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
	Bandwidth
	BandwidthEnd
	ModeRule
	OutOfPlaneRatio
	BladeModeRatio
	PhaseMargin
	GainMargin
	SensitivityPeak
	ClosedLoopFrequency
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
	TrackingLag
	ThermalDrift
	FatigueMargin
	LoadCycles
	CycleMargin
	UsableTravel
	TravelEnd
	NumMeasures
)

const vibration = "S. Timoshenko, D. H. Young, Vibration Problems in Engineering, 3rd ed., 1955"

const mechatronics = "R. Munnig Schmidt, G. Schitter, A. Rankers, The Design of High Performance Mechatronics, ch. 3, 4 and 8"

const voiceCoil = "G. Gogue, J. Stupak, Voice-coil actuators"

const beamColumns = "S. P. Timoshenko, J. M. Gere, Theory of Elastic Stability, 2nd ed., 1961, ch. 1 (beam-columns)"

// Table describes every measure, indexed by [Measure].
var Table = [NumMeasures]Info{
	FirstFrequency: {Name: "first_frequency", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest in-plane natural frequency at the centre, actuators free",
		Formula: "least f with det(K - (2 pi f)^2 M) = 0, blade mass consistent",
		Source:  vibration},
	WorstFrequency: {Name: "worst_frequency", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest in-plane natural frequency over the nine poses, actuators free",
		Formula: "min over poses of the least f with det(K - (2 pi f)^2 M) = 0", Source: vibration},
	LowestUnwanted: {Name: "lowest_unwanted", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest natural frequency over the nine poses, in or out of the plane, that is not the guided mode along x or y",
		Formula: "min over poses and modes but the two with the largest share phi^2/omega^2 of the stage's compliance along x, along y", Source: vibration},
	FrequencySpread: {Name: "frequency_spread", Unit: models.One, Sense: Least, Step: StepModes,
		Meaning: "how much the guided modes change over the nine poses, the larger of both axes",
		Formula: "(largest - least) / at the centre", Source: "definition"},
	OutOfPlaneFrequency: {Name: "out_of_plane_frequency", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "lowest natural frequency out of the plane over the nine poses",
		Formula: "least f with det(K - (2 pi f)^2 M) = 0 in z, roll and pitch, half of each blade's mass at each end", Source: vibration},
	BladeMode: {Name: "blade_mode", Unit: models.Hertz, Sense: Most, Step: StepModes,
		Meaning: "least natural frequency of a blade between its clamps, over blades and poses",
		Formula: "min of 1.028 t/L^2 sqrt(E/density) sqrt(1 + p/(4 pi^2)), p = P L^2/EI", Source: vibration},
	SupportStiffness: {Name: "support_stiffness", Unit: models.NewtonPerMm, Sense: Most, Step: StepModes,
		Meaning: "least stiffness of the stage along z over the nine poses: force at its origin over its deflection there, tilt free",
		Formula: "min of 1 / (K^-1)zz", Source: "V. Z. Vlasov, Thin-Walled Elastic Beams (torsion with restrained warping)"},
	Sag: {Name: "sag", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "largest deflection of the stage along z under the weight of everything that moves, over the nine poses; little when it stands",
		Formula: "max |z|, K q = weight", Source: "definition"},
	ZStraightness: {Name: "z_straightness", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "range of the stage's z under weight over the nine poses",
		Formula: "max z - min z", Source: "definition"},
	Tilt: {Name: "tilt", Unit: models.Microradian, Sense: Least, Step: StepModes,
		Meaning: "range of the stage's roll or pitch under weight over the nine poses, the larger",
		Formula: "max - min", Source: "definition"},
	AbbeError: {Name: "abbe_error", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "largest motion of the point of interest against the stage's origin by its rotations, over the nine poses, from the centre's",
		Formula: "max |rotation x offset|", Source: "E. Abbe's principle"},
	PeakStress: {Name: "peak_stress", Unit: models.Megapascal, Sense: Least, Step: StepStatics,
		Meaning: "largest stress at any blade end over the nine poses, with the fillet's stress concentration",
		Formula: "max of Kt |M| t / (2 I) + |P| / A",
		Source:  "W. D. Pilkey, Peterson's Stress Concentration Factors; Roark's Formulas for Stress and Strain, table 17.1"},
	YieldMargin: {Name: "yield_margin", Unit: models.One, Sense: Most, Step: StepStatics,
		Meaning: "proof strength over the peak stress; 1e6 where there is no stress",
		Formula: "Rp0.2 / peak_stress", Source: "common practice"},
	ParasiticYaw: {Name: "parasitic_yaw", Unit: models.Microradian, Sense: Least, Step: StepStatics,
		Meaning: "largest rotation of the stage over the nine poses (nominal: symmetry cancels it only in a perfect part)",
		Formula: "max |yaw of the stage|", Source: beamColumns},
	ArmYaw: {Name: "arm_yaw", Unit: models.Microradian, Sense: Least, Step: StepStatics,
		Meaning: "largest rotation of a driven arm over the nine poses (nominal)",
		Formula: "max |yaw of arm 1, arm 2|", Source: beamColumns},
	LostMotion: {Name: "lost_motion", Unit: models.Micrometre, Sense: Least, Step: StepStatics,
		Meaning: "largest difference between an arm's motion at its actuator and the stage's along the same axis, over the nine poses",
		Formula: "max of |u1 - x|, |v2 - y|", Source: beamColumns},
	IsolationAlong: {Name: "isolation_along", Unit: models.Micrometre, Sense: Least, Step: StepStatics,
		Meaning: "what the other axis's travel does to an actuator along its stroke, over the nine poses (nominal)",
		Formula: "max of |v2(x,y) - v2(0,y)|, |u1(x,y) - u1(x,0)|", Source: beamColumns},
	IsolationAcross: {Name: "isolation_across", Unit: models.Micrometre, Sense: Least, Step: StepStatics,
		Meaning: "motion of an actuator across its stroke, over the nine poses (nominal)",
		Formula: "max of |u2|, |v1|", Source: beamColumns},
	DriveForce: {Name: "drive_force", Unit: models.Newton, Sense: Least, Step: StepStatics,
		Meaning: "largest static actuator force over the nine poses and both axes",
		Formula: "max of |F1|, |F2|", Source: beamColumns},
	CrossForce: {Name: "cross_force", Unit: models.Newton, Sense: Least, Step: StepStatics,
		Meaning: "change of one axis's force by the other axis's travel, over the nine poses (nominal)",
		Formula: "max of |Fy(x,y) - Fy(0,y)|, |Fx(x,y) - Fx(x,0)|", Source: beamColumns},
	DriveStiffness: {Name: "drive_stiffness", Unit: models.NewtonPerMm, Sense: Least, Step: StepStatics,
		Meaning: "least stiffness along a driven axis over the nine poses, the other axis held",
		Formula: "min of dFx/dx, dFy/dy", Source: beamColumns},
	BucklingMargin: {Name: "buckling_margin", Unit: models.One, Sense: Most, Step: StepStatics,
		Meaning: "least ratio of a blade's critical load (clamped, sway free) to its compression over the nine poses; 1e6 where none is compressed",
		Formula: "min of pi^2 f E I / (max(-P, 0) L^2)", Source: beamColumns},
	Footprint: {Name: "footprint", Unit: models.Millimetre, Sense: Least, Step: StepBuild,
		Meaning: "longer side of the plate", Formula: "2 H", Source: "geometry of the layout"},
	StageMass: {Name: "stage_mass", Unit: models.Kilogram, Sense: Least, Step: StepBuild,
		Meaning: "mass of the stage with what is mounted on it, without blades", Formula: "area x width x density x (1 - pocketing) + added mass", Source: "geometry of the layout"},
	ArmMass: {Name: "arm_mass", Unit: models.Kilogram, Sense: Least, Step: StepBuild,
		Meaning: "mass of the heaviest driven arm with what is mounted on it, without blades", Formula: "area x width x density x (1 - pocketing) + added mass", Source: "geometry of the layout"},
	MovingMass: {Name: "moving_mass", Unit: models.Kilogram, Sense: Least, Step: StepBuild,
		Meaning: "mass of everything that moves: bodies with what is mounted on them, and blades", Formula: "sum over moving bodies + sum over blades of density x L t b", Source: "geometry of the layout"},
	ThinnestBlade: {Name: "thinnest_blade", Unit: models.Millimetre, Sense: Most, Step: StepBuild,
		Meaning: "least blade thickness", Formula: "min t", Source: "geometry of the layout"},
	BladeSlenderness: {Name: "blade_slenderness", Unit: models.One, Sense: Least, Step: StepBuild,
		Meaning: "largest ratio of a blade's length to its thickness", Formula: "max L / t", Source: "geometry of the layout"},
	BladeAspect: {Name: "blade_aspect", Unit: models.One, Sense: Least, Step: StepBuild,
		Meaning: "largest ratio of a blade's width to its thickness: how deep the wire cuts a thin wall", Formula: "max b / t", Source: "geometry of the layout"},
	Bandwidth: {Name: "bandwidth", Unit: models.Hertz, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "highest crossover of both axes' loops at which, at the nine poses, with the mode frequencies scaled and with the payload's extremes, each axis alone is stable and with the other axis's loop closed it is stable with |S| within its limit; 0 where none is",
		Formula: "max wc/(2 pi), |C P| = 1 at wc at the centre, the same C at all poses, all modes in P", Source: mechatronics},
	BandwidthEnd: {Name: "bandwidth_end", Unit: models.One, Step: StepLoop, Text: true, OnName: true,
		Meaning: "what ends the bandwidth: reason, pose, mode, axis", Formula: "the first case that fails above it", Source: "definition"},
	ModeRule: {Name: "mode_rule", Unit: models.Hertz, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "the rule of thumb on mode frequencies, for comparison with bandwidth: it knows neither coupling nor sign of a mode",
		Formula: "lowest_unwanted / rule_divisor", Source: "common practice"},
	OutOfPlaneRatio: {Name: "out_of_plane_ratio", Unit: models.One, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "lowest natural frequency out of the plane over the bandwidth; 1e6 where that is 0",
		Formula: "out_of_plane_frequency / bandwidth", Source: "common practice: at least 3"},
	BladeModeRatio: {Name: "blade_mode_ratio", Unit: models.One, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "least natural frequency of a blade between its clamps over the bandwidth; 1e6 where that is 0",
		Formula: "blade_mode / bandwidth", Source: "common practice: at least 3"},
	PhaseMargin: {Name: "phase_margin", Unit: models.Degree, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "least phase margin at the bandwidth, over poses and axes, the other axis's loop closed; 0 without bandwidth",
		Formula: "min |180 + arg L| where |L| = 1", Source: mechatronics},
	GainMargin: {Name: "gain_margin", Unit: models.One, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "least factor, up or down, on the gain at the bandwidth that makes an axis unstable, over poses and axes, the other axis's loop closed; 1 without bandwidth, at most 1e6",
		Formula: "min of |L|, 1/|L| where L is real and negative, the one above 1", Source: mechatronics},
	SensitivityPeak: {Name: "sensitivity_peak", Unit: models.One, Sense: Least, Step: StepLoop, OnName: true,
		Meaning: "largest |S| at the bandwidth over poses and axes with nominal mode frequencies; 1e6 without bandwidth",
		Formula: "max |1/(1 + L)|", Source: mechatronics},
	ClosedLoopFrequency: {Name: "closed_loop_frequency", Unit: models.Hertz, Sense: Most, Step: StepLoop, OnName: true,
		Meaning: "lowest frequency at which the closed loop falls below -3 dB, over poses and axes, at the bandwidth; far below it where the suspension holds the loop gain down under the first mode; 0 without",
		Formula: "least f with |L/(1 + L)| < 1/sqrt 2", Source: mechatronics},
	PositionNoise: {Name: "position_noise", Unit: models.Nanometre, Sense: Least, Step: StepLoop, OnName: true,
		Meaning: "rms position error of the stage, the worse axis at its worst pose, from amplifier, converter, encoder, gap sensor and floor, the loop closed at the bandwidth (open where that is 0)",
		Formula: "sqrt of the integral of sum |H|^2 G df from 0.1 Hz to half the sample rate", Source: mechatronics},
	PeakForce: {Name: "peak_force", Unit: models.Newton, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "largest actuator force of the motion program, the worse axis",
		Formula: "max |m a + c v + F(x, y) + k u|", Source: voiceCoil},
	RMSForce: {Name: "rms_force", Unit: models.Newton, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "rms actuator force of the motion program, the worse axis", Formula: "sqrt of the mean of F^2", Source: voiceCoil},
	ForceMargin: {Name: "force_margin", Unit: models.One, Sense: Most, Step: StepDrive, OnName: true,
		Meaning: "peak force of the actuator, weakened at the end of the travel, over peak_force", Formula: "F_peak (1 - fall_off (T/stroke)^2) / peak_force", Source: voiceCoil},
	CoilTemperatureRise: {Name: "coil_temperature_rise", Unit: models.Kelvin, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "temperature rise of the warmer coil in the motion program", Formula: "Rth P0 / (1 - 0.00393 Rth P0), P0 = mean of (F/Km)^2", Source: voiceCoil},
	DrivePower: {Name: "drive_power", Unit: models.Watt, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "power dissipated by both coils, warm", Formula: "sum of P0 (1 + 0.00393 rise)", Source: voiceCoil},
	DriveVoltage: {Name: "drive_voltage", Unit: models.Volt, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "peak voltage of the motion program with the warm coil, the worse axis", Formula: "max |R i + L di/dt + Kf v|", Source: voiceCoil},
	VoltageMargin: {Name: "voltage_margin", Unit: models.One, Sense: Most, Step: StepDrive, OnName: true,
		Meaning: "largest voltage of the amplifier over drive_voltage", Formula: "U_max / drive_voltage", Source: voiceCoil},
	StrokeMargin: {Name: "stroke_margin", Unit: models.One, Sense: Most, Step: StepDrive, OnName: true,
		Meaning: "half the actuator's stroke over its largest motion along it, over poses", Formula: "stroke / max |u|", Source: "definition"},
	TransverseMargin: {Name: "transverse_margin", Unit: models.One, Sense: Most, Step: StepDrive, OnName: true,
		Meaning: "the actuator's transverse clearance over its largest motion across its stroke, over poses; at most 1e6", Formula: "clearance / isolation_across", Source: "definition"},
	GapTravel: {Name: "gap_travel", Unit: models.Micrometre, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "range that a gap sensor between arm and stage has to cover: over poses, and what acceleration adds, the worse axis",
		Formula: "max (u1 - x) - min (u1 - x) + m a / min k", Source: "definition"},
	GapTarget: {Name: "gap_target", Unit: models.Millimetre, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "length of a gap sensor's target that the cross travel sweeps, without the probe's own size", Formula: "range of the stage's motion across the probe", Source: "definition"},
	TrackingError: {Name: "tracking_error", Unit: models.Micrometre, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "error of following a sine of the program's amplitude and frequency without feedforward, the worst pose and axis, at the bandwidth; the amplitude itself without",
		Formula: "max |S| x amplitude", Source: mechatronics},
	TrackingLag: {Name: "tracking_lag", Unit: models.Degree, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "largest phase lag of the position behind a sine of the program's frequency, at the bandwidth; 180 without", Formula: "-arg L/(1 + L)", Source: mechatronics},
	ThermalDrift: {Name: "thermal_drift", Unit: models.Micrometre, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "growth of the measuring loop by the heat of both coils in the frame", Formula: "expansion x loop_length x frame_resistance x drive_power", Source: "definition"},
	FatigueMargin: {Name: "fatigue_margin", Unit: models.One, Sense: Most, Step: StepDrive, OnName: true,
		Meaning: "factor on the stress of the motion program, taken as fully reversed, up to Goodman's line with 0.7 of the listed strength; of a held stage, as mean stress. It holds for the number of cycles that the strength is listed for; at most 1e6",
		Formula: "1 / (s_a / (0.7 s_f) + s_m / s_u)", Source: "W. D. Pilkey, Peterson's Stress Concentration Factors, ch. 1"},
	LoadCycles: {Name: "load_cycles", Unit: models.One, Sense: Least, Step: StepDrive, OnName: true,
		Meaning: "stress cycles of the motion program over its life", Formula: "frequency x life", Source: "definition"},
	CycleMargin: {Name: "cycle_margin", Unit: models.One, Sense: Most, Step: StepDrive, OnName: true,
		Meaning: "number of cycles that the material's fatigue strength is listed for over load_cycles; below 1 fatigue_margin does not hold; at most 1e6", Formula: "listed cycles / load_cycles", Source: "definition"},
	UsableTravel: {Name: "usable_travel", Unit: models.Millimetre, Sense: Most, Step: StepTravel, OnName: true,
		Meaning: "largest half-range within which all nine poses are solved and meet the limits on statics and stress",
		Formula: "largest R <= up_to such that every r <= R holds at the nine poses of +-r", Source: "definition"},
	TravelEnd: {Name: "travel_end", Unit: models.One, Step: StepTravel, Text: true, OnName: true,
		Meaning: "what ends the usable travel: a measure, a status, or up_to", Formula: "the first limit that fails beyond R", Source: "definition"},
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

// Measures holds the measures of one candidate, in the units of their columns.
type Measures struct {
	value    [NumMeasures]float64
	computed [(NumMeasures + 63) / 64]uint64
}

// Reset forgets everything.
func (m *Measures) Reset() { m.computed = [len(m.computed)]uint64{} }

// Set stores a value, in the unit of the measure's column. NaN is a fault.
func (m *Measures) Set(k Measure, v float64) {
	if v != v {
		panic("objective: NaN measure " + Table[k].Name)
	}
	m.value[k] = v
	m.computed[k/64] |= 1 << (k % 64)
}

// SetSI stores a value given in SI.
func (m *Measures) SetSI(k Measure, v float64) { m.Set(k, Table[k].Unit.FromSI(v)) }

// Get returns a value, in the unit of its column, and whether it was computed.
func (m *Measures) Get(k Measure) (float64, bool) {
	if m.computed[k/64]>>(k%64)&1 == 0 {
		return 0, false
	}
	return m.value[k], true
}
