package blade

// Section holds the constants of one blade that its in-plane mechanics needs.
type Section struct {
	Length float64 // clamp to clamp, m
	EI     float64 // stiffness of bending into an S, with the clamped-strip factor, N m²
	Arc    float64 // that of bending into an arc, over EI
	EA     float64 // stretching stiffness, N
	// How much it shortens as it bends into an S, over its length and the square of the
	// rotation of its ends against the chord: 1/10 of a beam; into an arc: 1/6
	ShortS, ShortArc float64
	C0               float64 // EI/(EA L²), the axial flexibility of the straight blade over that of bending
}

// NewSection returns the constants of a rectangular blade of the length L,
// thickness t (in plane) and width b in m, young E in Pa:
//
//	EI = f E b t³/12,  Arc = fa/f,  EA = fs E b t
//
// with the factors f of [BendingFactor], fa of [ArcFactor] and fs of
// [ClampStretchFactor]; it shortens as [ClampShortening] says. A factor that is not 0 is a
// beam's, which stands for both f and fa and shortens as a beam; the given stretch is fs then. Sizes that are not positive panic.
func NewSection(length, thickness, width, young, poisson, factor, stretch float64) Section {
	ea := young * width * thickness
	arc, short, shortArc := 1.0, 0.0, 0.0
	if factor == 0 {
		factor = BendingFactor(length, thickness, width, poisson)
		arc = ArcFactor(length, thickness, width, poisson) / factor
		short, shortArc = ClampShortening(width/length, factor, arc*factor)
		stretch = ClampStretchFactor(width/length, poisson)
	}
	ea *= stretch
	ei := factor * young * width * thickness * thickness * thickness / 12
	return Section{Length: length, EI: ei, Arc: arc, EA: ea, ShortS: (1 + short) / 10, ShortArc: (1 + shortArc) / 6, C0: ei / (ea * length * length)}
}

// Soften adds the axial flexibility c, m/N, of what holds the blade's ends.
func (s *Section) Soften(c float64) { s.C0 += c * s.EI / (s.Length * s.Length * s.Length) }
