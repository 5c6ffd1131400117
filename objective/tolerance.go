package objective

import (
	"fmt"
	"math"
	"strings"

	"flexwright/models"
)

// Tolerance is a way in which a part differs from its drawing.
type Tolerance uint8

const (
	ToleranceThickness Tolerance = iota
	ToleranceThicknessCommon
	ToleranceThicknessTaper
	ToleranceThicknessBow
	ToleranceLength
	ToleranceWidth
	ToleranceRootPosition
	ToleranceRootAngle
	ToleranceModulus
	ToleranceDensity
	ToleranceMountedMass
	ToleranceMountedOffset
	ToleranceDamping
	ToleranceActuatorConstant
	NumTolerances
)

// ToleranceInfo describes a tolerance: one row of the table that the brief's keys and
// the help are made from.
type ToleranceInfo struct {
	Name    string // key of the brief's section tolerances
	Unit    models.Unit
	Default float64 // standard deviation, in Unit
	Most    float64 // a larger one is refused, in Unit
	Meaning string
	Source  string // of the default
}

const typical = "typical, no source"

// relative tolerances are plain numbers: 0.01 is 1 %.
var relative = models.One

// Tolerances describes every tolerance, indexed by [Tolerance]. All are standard
// deviations of normal errors about 0.
var Tolerances = [NumTolerances]ToleranceInfo{
	ToleranceThickness: {"thickness", models.Micrometre, 3, 100,
		"of each blade's thickness, on its own", "common practice: a wire cuts to a few µm"},
	ToleranceThicknessCommon: {"thickness_common", models.Micrometre, 2, 100,
		"of the thickness of all blades of a part together: the wire's offset, the batch", typical},
	ToleranceThicknessTaper: {"thickness_taper", models.Micrometre, 1, 100,
		"of a blade's thickness at its root less that at its tip, even between them", typical},
	ToleranceThicknessBow: {"thickness_bow", models.Micrometre, 1, 100,
		"of the thickness in the middle of the plate's depth less that at its faces, of all blades of a part together: the wire bows; even blades that are two thirds of it thicker are equal to first order", typical},
	ToleranceLength: {"length", models.Micrometre, 10, 1000,
		"of each blade's length", typical},
	ToleranceWidth: {"width", models.Micrometre, 20, 1000,
		"of the plate's thickness: the width of all blades of a part together, and the mass of its bodies with it", typical},
	ToleranceRootPosition: {"root_position", models.Micrometre, 5, 1000,
		"of each end of each blade across the blade", typical},
	ToleranceRootAngle: {"root_angle", models.Microradian, 100, 20000,
		"of the blade's centreline against its chord, at each end: a blade that is slightly bent as it is cut", typical},
	ToleranceModulus: {"modulus", relative, 0.01, 0.2,
		"of Young's modulus of the plate", typical},
	ToleranceDensity: {"density", relative, 0.005, 0.2,
		"of the density of the plate", typical},
	ToleranceMountedMass: {"mounted_mass", relative, 0.01, 0.5,
		"of what is mounted on each body", typical},
	ToleranceMountedOffset: {"mounted_offset", models.Millimetre, 0.1, 50,
		"of where its centre of mass is, along x and along y each", typical},
	ToleranceDamping: {"damping", relative, 0.1, 0.5,
		"of the damping ratio of all modes of a part together", typical},
	ToleranceActuatorConstant: {"actuator_constant", relative, 0.02, 0.2,
		"of motor constant, force constant and peak force of each actuator, of the same coil; the loop makes up for it by its gain, its force noise goes with it, and a voltage amplifier brakes with the mean of the squares of both axes' constants", typical},
}

// write is a standard deviation with its unit, from SI.
func (t Tolerance) write(sigma float64) string {
	u := Tolerances[t].Unit
	if u.Dimension == models.Number {
		return fmt.Sprintf("%.4g %%", 100*sigma)
	}
	return fmt.Sprintf("%.4g %s", u.FromSI(sigma), u.Symbol)
}

// ToleranceSpec is what a brief says of parts as they are made.
type ToleranceSpec struct {
	Sigma   [NumTolerances]float64 // standard deviations, SI
	Share   float64                // of the parts that a tail is no worse than
	Samples int                    // parts per design
	Seed    uint64
	// Sampled has every part solved, also where derivatives of the design could tell.
	Sampled bool
	// Always measures parts of every design that is solved, as sweeps and show do; else
	// of those that meet all limits but those on parts.
	Always bool
}

// DefaultTolerances are those that hold where a brief has no section tolerances.
func DefaultTolerances() *ToleranceSpec {
	s := &ToleranceSpec{Share: 0.95, Samples: 100, Seed: 1}
	for k := range Tolerances {
		s.Sigma[k] = Tolerances[k].Unit.ToSI(Tolerances[k].Default)
	}
	return s
}

func (s *Spec) tolerances() *ToleranceSpec {
	if s.Tolerances != nil {
		return s.Tolerances
	}
	return DefaultTolerances()
}

// Rank is the number, from 1, of the order statistic of n parts that is the tail:
// ceil(share n), against rounding of the product.
func (s *ToleranceSpec) Rank() int { return int(math.Ceil(s.Share*float64(s.Samples) - 1e-9)) }

// Answerable reports whether the samples can tell the tail from the worst of them: at
// least one part has to lie beyond it.
func (s *ToleranceSpec) Answerable() bool { return s.Rank() < s.Samples }

// String says what errs and how the parts are counted, as columns tell it.
func (s *ToleranceSpec) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "share %g %% of %d parts, seed %d, standard deviations:", 100*s.Share, s.Samples, s.Seed)
	for k, sigma := range s.Sigma {
		if sigma != 0 {
			b.WriteString(" " + Tolerances[k].Name + " " + Tolerance(k).write(sigma) + ",")
		}
	}
	return strings.TrimSuffix(strings.TrimSuffix(b.String(), ","), ":")
}
