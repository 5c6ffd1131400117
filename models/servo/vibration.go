package servo

import "math"

// Criteria are the generic vibration criteria: rms velocity in each third of an octave, m/s, which a
// floor of that class does not exceed. Sources: C. G. Gordon, Generic vibration criteria for
// vibration-sensitive equipment, Proc. SPIE 1619, 1991; IEST-RP-CC012 (F and G).
var Criteria = []struct {
	Name     string
	Velocity float64
}{
	{"VC-A", 50e-6}, {"VC-B", 25e-6}, {"VC-C", 12.5e-6}, {"VC-D", 6.25e-6}, {"VC-E", 3.12e-6}, {"VC-F", 1.56e-6}, {"VC-G", 0.78e-6},
}

// Criterion returns the acceleration that a floor at the criterion has: a velocity v in a band from f 2^(−1/6) to f 2^(1/6) is
// the density
//
//	2πf v/√(f (2^(1/6) − 2^(−1/6)))   m/s²/√Hz
//
// from 1 to 80 Hz; A and B have the acceleration of 8 Hz in every band from 4 to 8 Hz. Outside, where
// the criteria say nothing, the density is held.
func Criterion(name string) (Density, bool) {
	const sixth = 1.122462048309373 // 2^(1/6)
	const band = sixth - 1/sixth
	at := func(f, v float64) float64 { return 2 * math.Pi * f * v / math.Sqrt(f*band) }
	for i, c := range Criteria {
		if c.Name != name {
			continue
		}
		if i < 2 {
			return Density{Hz: []float64{4, 8, 80}, Value: []float64{at(4, 2*c.Velocity), at(8, c.Velocity), at(80, c.Velocity)}}, true
		}
		return Density{Hz: []float64{1, 80}, Value: []float64{at(1, c.Velocity), at(80, c.Velocity)}}, true
	}
	return Density{}, false
}
