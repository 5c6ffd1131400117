package fit

import (
	"fmt"
	"strings"

	"flexwright/models"
)

// Kind is what was measured.
type Kind uint8

const (
	Force Kind = iota
	Stiffness
	Frequency
	OutOfPlaneFrequency
	Damping
	Yaw
	Motion
	LostMotion
	Sag
	Mass
	Thickness
	Response
	ResponsePhase
	OpenLoop
	OpenLoopPhase
	ClosedLoop
	ClosedLoopPhase
	NumKinds
)

// Subject is what a quantity is of.
type Subject uint8

const (
	OfAxis       Subject = iota // x or y
	OfRank                      // 1, 2, …: the number of a mode, ascending
	OfMode                      // a rank, the axis that the mode is guided along, or the body that moves most in it
	OfBody                      // a body
	OfMass                      // a body, or the plate
	OfBladeAlone                // a blade
)

// Info describes a kind: one row of the table that the keys of a file of measurements
// are made from.
type Info struct {
	Name    string // key, whose value says of what
	Unit    models.Unit
	Of      Subject
	Placed  bool // measured with the stage somewhere
	Hz      bool // at a frequency
	Along   bool // along an axis
	Loop    bool // needs the position loop
	Meaning string
}

// MicrometrePerNewton is the unit of responses.
var MicrometrePerNewton = models.Unit{Symbol: "µm/N", Suffix: "um_per_n", Dimension: models.Compliance, SI: 1e-6}

// Table describes every kind, indexed by [Kind].
var Table = [NumKinds]Info{
	Force:               {Name: "force", Unit: models.Newton, Of: OfAxis, Placed: true, Meaning: "force of the actuator that holds the stage there; by: current, where it is the current times the constant of the data sheet"},
	Stiffness:           {Name: "stiffness", Unit: models.NewtonPerMm, Of: OfAxis, Placed: true, Meaning: "change of that force with the stage's position along the axis, the other axis held"},
	Frequency:           {Name: "frequency", Unit: models.Hertz, Of: OfMode, Placed: true, Meaning: "natural frequency in the plane, actuators free: by rank, of the mode guided along x or y, or of the mode with the largest share of its kinetic energy in a body"},
	OutOfPlaneFrequency: {Name: "out_of_plane_frequency", Unit: models.Hertz, Of: OfRank, Placed: true, Meaning: "natural frequency out of the plane, by rank"},
	Damping:             {Name: "damping", Unit: models.One, Of: OfRank, Placed: true, Meaning: "damping ratio of a mode in the plane, by rank"},
	Yaw:                 {Name: "yaw", Unit: models.Microradian, Of: OfBody, Placed: true, Meaning: "rotation of a body in the plane"},
	Motion:              {Name: "motion", Unit: models.Millimetre, Of: OfBody, Placed: true, Along: true, Meaning: "displacement of a body along an axis: of a body that an encoder reads, there; of another, of its centre of mass"},
	LostMotion:          {Name: "lost_motion", Unit: models.Micrometre, Of: OfAxis, Placed: true, Meaning: "what the encoder of the axis reads less the stage, along the axis"},
	Sag:                 {Name: "sag", Unit: models.Micrometre, Of: OfBody, Placed: true, Meaning: "how far a body hangs below the plane under the weight of all that moves, the stage lying flat"},
	Mass:                {Name: "mass", Unit: models.Kilogram, Of: OfMass, Meaning: "of a body with what is mounted on it, or of the whole plate as it was cut, bare"},
	Thickness:           {Name: "thickness", Unit: models.Millimetre, Of: OfBladeAlone, Meaning: "of a blade, by microscope"},
	Response:            {Name: "response", Unit: MicrometrePerNewton, Of: OfAxis, Placed: true, Hz: true, Loop: true, Meaning: "magnitude of the position at the loop's sensor over the commanded force, loops open"},
	ResponsePhase:       {Name: "response_phase", Unit: models.Degree, Of: OfAxis, Placed: true, Hz: true, Loop: true, Meaning: "its phase, without the loop's delay"},
	OpenLoop:            {Name: "open_loop", Unit: models.One, Of: OfAxis, Placed: true, Hz: true, Loop: true, Meaning: "magnitude of controller times plant, with the controller that the design's model has, the other axis open"},
	OpenLoopPhase:       {Name: "open_loop_phase", Unit: models.Degree, Of: OfAxis, Placed: true, Hz: true, Loop: true, Meaning: "its phase, with the loop's delay"},
	ClosedLoop:          {Name: "closed_loop", Unit: models.One, Of: OfAxis, Placed: true, Hz: true, Loop: true, Meaning: "magnitude of L/(1 + L) with that open loop L"},
	ClosedLoopPhase:     {Name: "closed_loop_phase", Unit: models.Degree, Of: OfAxis, Placed: true, Hz: true, Loop: true, Meaning: "its phase"},
}

// KindNamed finds a kind.
func KindNamed(name string) (Kind, bool) {
	for k := range Table {
		if Table[k].Name == name {
			return Kind(k), true
		}
	}
	return 0, false
}

// Plate stands for the whole plate where a mass is of no body.
const Plate = -1

// Quantity is what is measured, and where.
type Quantity struct {
	Kind    Kind
	Axis    models.Axis // of what is of an axis
	Rank    int         // from 1, of what is of a rank; 0: the mode guided along Axis, or that of Body
	Guided  bool        // of the mode guided along Axis
	Body    int         // of what is of a body; [Plate]
	Blade   int         // of what is of a blade
	At      [2]float64  // position of the stage, m
	Along   models.Axis
	Hz      float64
	Current bool // a force known by the current
}

// Measurement is a quantity with its value, SI.
type Measurement struct {
	Quantity
	Value, Sigma float64
	Line         int // in the file
}

// Text is the quantity in words: "force x at (4, 0) mm".
func (q *Quantity) Text(t *models.Topology) string {
	info := &Table[q.Kind]
	var b strings.Builder
	b.WriteString(info.Name + " ")
	switch {
	case info.Of == OfAxis:
		b.WriteString(q.Axis.String())
	case info.Of == OfRank || info.Of == OfMode && q.Rank > 0:
		fmt.Fprint(&b, q.Rank)
	case q.Guided:
		b.WriteString("of the mode guided along " + q.Axis.String())
	case info.Of == OfBladeAlone:
		b.WriteString("of " + t.BladeName(q.Blade))
	case q.Body == Plate:
		b.WriteString("of the plate")
	default:
		b.WriteString("of " + t.Bodies[q.Body].Name)
	}
	if info.Along {
		b.WriteString(" along " + q.Along.String())
	}
	if q.Current {
		b.WriteString(" by current")
	}
	if info.Hz {
		fmt.Fprintf(&b, " at %.4g Hz", q.Hz)
	}
	if info.Placed {
		fmt.Fprintf(&b, " at (%.4g, %.4g) mm", 1e3*q.At[0], 1e3*q.At[1])
	}
	return b.String()
}
