package models

import "slices"

// Symmetry is a motion of the plane that a layout's plate is the same after: its outlines
// and its blades. What is mounted on it, and which arms are driven, may differ.
type Symmetry uint8

// The symmetries that a layout may claim.
const (
	MirrorX     Symmetry = iota // about the x axis
	MirrorY                     // about the y axis
	HalfTurn                    // by 180°
	QuarterTurn                 // by 90°
)

var symmetryNames = [...]string{"mirror x", "mirror y", "half turn", "quarter turn"}

// String returns the name that layout files use.
func (s Symmetry) String() string { return symmetryNames[s] }

// SymmetryByName is the inverse of [Symmetry.String].
func SymmetryByName(name string) (Symmetry, bool) {
	i := slices.Index(symmetryNames[:], name)
	return Symmetry(max(i, 0)), i >= 0
}

// SymmetryNames are all of them.
func SymmetryNames() []string { return symmetryNames[:] }

// Apply takes a point to its image.
func (s Symmetry) Apply(x, y float64) (float64, float64) {
	switch s {
	case MirrorX:
		return x, -y
	case MirrorY:
		return -x, y
	case HalfTurn:
		return -x, -y
	}
	return -y, x
}

// Symmetric is a layout that claims symmetries.
type Symmetric interface{ Symmetries() []Symmetry }

// Mirrors reports whether the motion turns the plane over, so that a yaw changes its sign.
func (s Symmetry) Mirrors() bool { return s == MirrorX || s == MirrorY }
