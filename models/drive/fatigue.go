package drive

// FatigueFactor is the part of a listed fatigue strength that is relied on: lists are mean
// curves of smooth specimens, half of which fail earlier (common practice).
const FatigueFactor = 0.7

// Goodman returns by what factor both stresses may grow before they meet Goodman's line
//
//	σ_a/(0.7 σ_f) + σ_m/σ_u = 1
//
// amplitude σ_a and mean σ_m of the stress at the worst point, stress concentration
// included; σ_f the listed fully reversed strength, σ_u the tensile strength, all in
// Pa. A compressive mean counts as none. Source: Peterson and Pilkey, Stress
// Concentration Factors, ch. 1. Valid for metals below yield and for as many cycles as
// σ_f was listed for; beyond, aluminium has no endurance limit. +Inf without stress.
func Goodman(amplitude, mean, strength, ultimate float64) float64 {
	return Margin(1, amplitude/(FatigueFactor*strength)+max(mean, 0)/ultimate)
}

// Cycles returns how many stress cycles a program makes in so many hours: each cycle of the
// motion bends the blades once forth and once back. For Hold it is 0.
func (p *Program) Cycles(hours float64) float64 {
	if p.Motion.Kind == Hold {
		return 0
	}
	return p.Motion.Frequency * 3600 * hours
}
