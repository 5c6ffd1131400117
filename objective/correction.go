package objective

import (
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/servo"
)

// Correcting is a way in which a built stage was found to differ from its model.
type Correcting uint8

const (
	CorrectThicknessCommon Correcting = iota
	CorrectThickness
	CorrectModulus
	CorrectDensity
	CorrectMountedMass
	CorrectRootStiffness
	CorrectProngStiffness
	CorrectDamping
	CorrectActuatorConstant
	NumCorrecting
)

// CorrectionInfo describes a correction: one row of the table that the brief's keys, the
// unknowns of a fit and their priors are made from. All are differences; a relative one
// of 0.01 makes its quantity 1 % larger.
type CorrectionInfo struct {
	Name    string // key of the brief's section corrections, and of a fit's unknowns
	Unit    models.Unit
	Prior   float64 // standard deviation that a fit assumes, in Unit
	Most    float64 // a larger one, either way, is refused, in Unit
	Of      CorrectionOf
	Meaning string
	Source  string // of the prior
}

// TypicalSource is that of a number of the trade that nobody vouches for.
const TypicalSource = typical

// CorrectionOf is what a correction needs a name of.
type CorrectionOf uint8

const (
	OfStage  CorrectionOf = iota // of the whole stage: no name
	OfBlades                     // a blade, or a body: all blades that end on it
	OfBody
)

// CorrectionTable describes every correction, indexed by [Correcting].
var CorrectionTable = [NumCorrecting]CorrectionInfo{
	CorrectThicknessCommon: {"thickness_common", models.Micrometre, 5, 100, OfStage,
		"added to the thickness of every blade: the wire's offset", TypicalSource},
	CorrectThickness: {"thickness", models.Micrometre, 3, 100, OfBlades,
		"added to the thickness of one blade, or of those of one guide, beside thickness_common", "common practice: a wire cuts to a few µm"},
	CorrectModulus: {"modulus", relative, 0.01, 0.2, OfStage,
		"of Young's modulus of the plate", TypicalSource},
	CorrectDensity: {"density", relative, 0.005, 0.2, OfStage,
		"of the density of the plate", TypicalSource},
	CorrectMountedMass: {"mounted_mass", models.Kilogram, 0.01, 100, OfBody,
		"added to what is mounted on a body: screws, cables, glue", TypicalSource},
	CorrectRootStiffness: {"root_stiffness", relative, 0.1, 0.9, OfStage,
		"of the metal that blades grow from: its turning in the plane as 0.44 t more length at each end for half the stiffness, and what bodies that bend give there", TypicalSource},
	CorrectProngStiffness: {"prong_stiffness", relative, 0.05, 0.9, OfStage,
		"of prongs, feet, backs and guide bodies that bend", TypicalSource},
	CorrectDamping: {"damping", relative, 0.5, 0.95, OfStage,
		"of the damping ratio of the modes", TypicalSource},
	CorrectActuatorConstant: {"actuator_constant", relative, 0.03, 0.5, OfStage,
		"of force and motor constant of the actuators", TypicalSource},
}

// Correction is one of a built stage.
type Correction struct {
	Kind Correcting
	Of   string  // name of what it is of; empty for the whole stage
	By   float64 // SI
}

// Name of a correction with what it is of: "thickness of guide-1".
func (c *Correction) Name() string {
	if c.Of == "" {
		return CorrectionTable[c.Kind].Name
	}
	return CorrectionTable[c.Kind].Name + " of " + c.Of
}

// CorrectionNames lists what corrections of a kind may be of.
func CorrectionNames(t *models.Topology, of CorrectionOf) []string {
	var names []string
	if of == OfStage {
		return nil
	}
	for _, b := range t.Bodies {
		if b.Part == 0 && (b.Held != models.HeldAll || of == OfBlades) {
			names = append(names, b.Name)
		}
	}
	if of == OfBlades {
		for e := range t.Blades {
			names = append(names, t.BladeName(e))
		}
	}
	return names
}

// rootLength is the length, in thicknesses, by which a blade is longer at an end because
// the body that it grows from gives under its moment: 16.67/12π, W. J. O'Donnell, The
// additional deflection of a cantilever due to the elasticity of the support, J. Appl.
// Mech. 27, 1960.
const rootLength = 16.67 / (12 * math.Pi)

// Corrector applies corrections to stages of one topology, in place.
type Corrector struct {
	List   []Correction // By may change between stages
	t      *models.Topology
	blades [][]int // of each of List: the blades that it is of
	body   []int   // the same: the body
}

// NewCorrector returns one for corrections whose names [CorrectionNames] lists.
func NewCorrector(t *models.Topology, list []Correction) *Corrector {
	c := &Corrector{List: slices.Clone(list), t: t, blades: make([][]int, len(list)), body: make([]int, len(list))}
	for k := range list {
		of := CorrectionTable[list[k].Kind].Of
		if of == OfStage {
			continue
		}
		c.body[k] = slices.IndexFunc(t.Bodies, func(b models.BodySpec) bool { return b.Name == list[k].Of })
		for e, b := range t.Blades {
			if t.BladeName(e) == list[k].Of || c.body[k] >= 0 && (t.Whole(b.From) == c.body[k] || t.Whole(b.To) == c.body[k]) {
				c.blades[k] = append(c.blades[k], e)
			}
		}
		if of == OfBody && c.body[k] < 0 || of == OfBlades && c.blades[k] == nil {
			panic("objective: a correction of what the stage has not")
		}
	}
	return c
}

// Apply corrects a stage. What belongs to loop and drive is not in it: see
// [Spec.Correct]. It allocates nothing.
func (c *Corrector) Apply(st *models.Stage) {
	root := 1.0
	for k := range c.List {
		by := c.List[k].By
		switch c.List[k].Kind {
		case CorrectThicknessCommon:
			for e := range st.Thickness {
				thicken(st, e, by)
			}
		case CorrectThickness:
			for _, e := range c.blades[k] {
				thicken(st, e, by)
			}
		case CorrectModulus:
			for e := range st.Young {
				st.Young[e] *= 1 + by
			}
			scaleProngs(st, 1+by)
		case CorrectProngStiffness:
			scaleProngs(st, 1+by)
		case CorrectDensity:
			c.scaleDensity(st, 1+by)
		case CorrectMountedMass:
			c.addMounted(st, c.body[k], by)
		case CorrectRootStiffness:
			root *= 1 + by
		}
	}
	st.RootStiffness = root
	if root == 1 {
		return
	}
	for e := range st.Thickness { // after all thicknesses
		dx, dy := st.TipX[e]-st.RootX[e], st.TipY[e]-st.RootY[e]
		longer := rootLength * st.Thickness[e] * (1/root - 1) / math.Sqrt(dx*dx+dy*dy)
		st.RootX[e], st.RootY[e] = st.RootX[e]-longer*dx, st.RootY[e]-longer*dy
		st.TipX[e], st.TipY[e] = st.TipX[e]+longer*dx, st.TipY[e]+longer*dy
	}
}

// thicken leaves metal: a tenth of the thickness is beyond any real error.
func thicken(st *models.Stage, e int, by float64) {
	st.Thickness[e] = max(st.Thickness[e]+by, 0.1*st.Thickness[e])
}

func scaleProngs(st *models.Stage, factor float64) {
	for e := range st.RootBar {
		st.RootBar[e].Young *= factor
		st.TipBar[e].Young *= factor
	}
	for i := range st.Links {
		for k := range st.Links[i].N {
			st.Links[i].Beams[k].Young *= factor
		}
	}
}

func (c *Corrector) scaleDensity(st *models.Stage, factor float64) {
	for e := range st.Density {
		st.Density[e] *= factor
	}
	for i := range st.Links {
		for k := range st.Links[i].N {
			st.Links[i].Beams[k].Density *= factor
		}
	}
	for i := range st.Mass {
		m, x, y, z := st.Mounted[i], st.MountedX[i], st.MountedY[i], st.MountedZ[i]
		st.AddMass(i, -m, x, y, z)
		st.AddSpread(i, -m*st.MountedSpread[i])
		st.ScaleMass(i, factor)
		st.AddMass(i, m, x, y, z)
		st.AddSpread(i, m*st.MountedSpread[i])
	}
}

// addMounted adds to what is mounted on a body, where that is, or at the body's centre.
func (c *Corrector) addMounted(st *models.Stage, body int, by float64) {
	m, x, y, z := st.Mounted[body], st.MountedX[body], st.MountedY[body], st.MountedZ[body]
	if m == 0 {
		x, y, z = st.X[body], st.Y[body], st.Z[body]
	}
	by = max(by, -m)
	if m == 0 {
		by = max(by, -0.9*st.Mass[body])
	}
	st.AddMass(body, by, x, y, z)
	st.AddSpread(body, by*st.MountedSpread[body])
	if m += by; m >= 0 {
		st.Mounted[body], st.MountedX[body], st.MountedY[body], st.MountedZ[body] = m, x, y, z
	}
	if body == c.t.Stage {
		st.Payload = max(st.Payload+by, 0) // the plate's own metal is not exchanged
	}
}

// leastDamping is what a correction leaves of the damping at least: less is beyond any real error.
const leastDamping = 0.05

// Correct makes the spec that of a built stage: every stage is corrected before it is
// measured, and so are damping, kept inside the range of the loop's settings, and
// actuator. Corrections that the spec has already stay, before these.
func (s *Spec) Correct(list []Correction) {
	s.Corrections = slices.Concat(s.Corrections, list)
	for _, c := range list {
		switch c.Kind {
		case CorrectDamping:
			loop := *s.loop()
			d := &loop.Settings.Damping
			*d = min(max(*d*(1+c.By), leastDamping**d), servo.MaxDamping)
			s.Loop = &loop
		case CorrectActuatorConstant:
			drive := *s.drive()
			if drive.Actuator != nil {
				a := *drive.Actuator
				a.ForceConstant *= 1 + c.By
				a.MotorConstant *= 1 + c.By
				drive.Actuator = &a
			}
			s.Drive = &drive
		}
	}
}

// Combine returns corrections that do what first and then more do.
func Combine(first, more []Correction) []Correction {
	list := slices.Clone(first)
	for _, c := range more {
		k := slices.IndexFunc(list, func(o Correction) bool { return o.Kind == c.Kind && o.Of == c.Of })
		switch {
		case k < 0:
			list = append(list, c)
		case CorrectionTable[c.Kind].Unit.Dimension == models.Number:
			list[k].By = (1+list[k].By)*(1+c.By) - 1
		default:
			list[k].By += c.By
		}
	}
	return list
}

// Write is the correction with its unit.
func (k Correcting) Write(by float64) string {
	info := &CorrectionTable[k]
	if info.Unit.Dimension == models.Number {
		return fmt.Sprintf("%.3g %%", 100*by)
	}
	return fmt.Sprintf("%.3g %s", info.Unit.FromSI(by), info.Unit.Symbol)
}
