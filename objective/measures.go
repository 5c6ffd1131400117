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
	UsableTravel
	TravelEnd
	NumMeasures
)

const vibration = "S. Timoshenko, D. H. Young, Vibration Problems in Engineering, 3rd ed., 1955"

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
		Meaning: "largest deflection of the stage along z under the weight of everything that moves, lying flat, over the nine poses",
		Formula: "max |z|, K q = weight", Source: "definition"},
	ZStraightness: {Name: "z_straightness", Unit: models.Micrometre, Sense: Least, Step: StepModes,
		Meaning: "range of the stage's z under weight over the nine poses, lying flat",
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
