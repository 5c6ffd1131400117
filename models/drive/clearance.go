package drive

import "math"

// GapTravel returns the range in m that a gap sensor between driven body and stage must cover: the
// range of the gap over the poses, and the part that the acceleration of what hangs behind the
// guide adds, at the pose where the guide is softest along the axis:
//
//	max gap − min gap + m a/min k
//
// gaps in m and stiffnesses k of the guide along the axis in N/m, one per pose; mass
// in kg, peak acceleration in m/s².
func GapTravel(gap, stiffness []float64, mass, acceleration float64) float64 {
	if len(gap) == 0 || len(gap) != len(stiffness) {
		panic("drive: gaps and stiffnesses")
	}
	low, high, soft := math.Inf(1), math.Inf(-1), math.Inf(1)
	for i, g := range gap {
		low, high, soft = math.Min(low, g), math.Max(high, g), math.Min(soft, stiffness[i])
	}
	return high - low + mass*math.Abs(acceleration)/soft
}

// Margin returns allowed/used, +Inf when nothing is used: of stroke, transverse
// clearance, voltage, force.
func Margin(allowed, used float64) float64 {
	if used == 0 {
		return math.Inf(1)
	}
	return allowed / math.Abs(used)
}

// ThermalDrift returns how far a measuring loop grows, in m: expansion (1/K) × length
// (m) × temperature rise of the frame (K).
func ThermalDrift(expansion, length, rise float64) float64 { return expansion * length * rise }

// WarmBody returns how much a driven body of that length (m) outgrows the frame, in m: expansion (1/K) × length × share
// of the coil's temperature rise (K) that it takes. The gap sensor sees it.
func WarmBody(expansion, length, share, rise float64) float64 {
	return expansion * length * share * rise
}

// DrivenShare is the share of a coil's temperature rise that the body it drives takes where nothing is said: typical, no source.
const DrivenShare = 0.05
