package blade

// Section holds the constants of one blade that its in-plane mechanics needs.
type Section struct {
	Length float64 // clamp to clamp, m
	EI     float64 // bending stiffness with the clamped-strip factor, N m²
	EA     float64 // stretching stiffness, N
	C0     float64 // EI/(EA L²), the axial flexibility of the straight blade over that of bending
}

// NewSection returns the constants of a rectangular blade:
//
//	EI = f E b t³/12,  EA = E b t
//
// length L, thickness t (in plane), width b in m, young E in Pa; factor is f,
// see [StripFactor]. All must be positive.
func NewSection(length, thickness, width, young, factor float64) Section {
	ei := factor * young * width * thickness * thickness * thickness / 12
	ea := young * width * thickness
	return Section{Length: length, EI: ei, EA: ea, C0: ei / (ea * length * length)}
}
