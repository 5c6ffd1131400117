package servo

// Plant is the modal data of one stage with one payload at its poses:
//
//	P_ij(s) = Σ_k out_ki in_kj / (s² + 2 ζ ω_k s + ω_k²)
//
// from force j (x, y) to output i (x, y). The arrays are flat, pose by pose, the
// centre first, and mode by mode. Modes of one pose are in ascending order of frequency, their number is the
// same at all poses. The arrays may be longer than needed.
type Plant struct {
	Poses, Modes int

	Omega []float64 // rad/s, Poses×Modes, ≥ 0; 0 is a rigid-body mode
	Force []float64 // shape at the force on each axis, along it, Poses×Modes×2, kg^-1/2
	Arm   []float64 // shape as the encoders read it, on the driven bodies, Poses×Modes×2, kg^-1/2
	Stage []float64 // shape as encoders and gap sensors together read the stage, Poses×Modes×2, kg^-1/2
	// Point is the shape at the point of interest on the stage, whose noise counts, likewise; nil: it is what Stage is.
	Point []float64
	Apart bool      // encoders do not read where the actuators push; else Arm is Force
	Floor []float64 // modal participation φᵀM e of a floor acceleration along x, y, Poses×Modes×2, kg^1/2
}

// NewPlant returns a plant with zeroed arrays. It panics unless there is at
// least one pose and one mode.
func NewPlant(poses, modes int) *Plant {
	if poses < 1 || modes < 1 {
		panic("servo: a plant needs a pose and a mode")
	}
	n := poses * modes
	return &Plant{
		Poses: poses, Modes: modes,
		Omega: make([]float64, n),
		Force: make([]float64, 2*n), Arm: make([]float64, 2*n),
		Stage: make([]float64, 2*n), Floor: make([]float64, 2*n),
	}
}

func (p *Plant) check(poses, most int) {
	n := p.Poses * p.Modes
	if p.Poses != poses || p.Modes < 1 || p.Modes > most || len(p.Omega) < n || len(p.Force) < 2*n ||
		len(p.Arm) < 2*n || len(p.Stage) < 2*n || len(p.Floor) < 2*n {
		panic("servo: plant and loop differ in size")
	}
	for pose := range poses {
		last := 0.0
		for _, w := range p.Omega[pose*p.Modes : (pose+1)*p.Modes] {
			if !(w >= last) {
				panic("servo: mode frequencies must be ascending and not negative")
			}
			last = w
		}
	}
}

// Sensor is the combination of position sensors that the loop is closed on.
type Sensor uint8

const (
	SensorStage Sensor = iota // encoder on the arm plus gap sensor from arm to stage: the stage itself
	SensorArm                 // encoder on the arm only
	SensorSplit               // stage below the split frequency, arm above, first-order crossover
	numSensor
)

var sensorNames = [numSensor]string{"stage", "arm", "split"}

// String returns the word used in briefs and tables.
func (s Sensor) String() string {
	if s >= numSensor {
		panic("servo: unknown sensor")
	}
	return sensorNames[s]
}

// ParseSensor is the inverse of [Sensor.String].
func ParseSensor(text string) (Sensor, bool) {
	for i, name := range sensorNames {
		if name == text {
			return Sensor(i), true
		}
	}
	return 0, false
}
