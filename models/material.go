package models

// Material holds the properties of an isotropic metal at room temperature.
type Material struct {
	Name         string
	Young        float64 // Young's modulus, Pa
	Poisson      float64 // Poisson's ratio
	Density      float64 // kg/m³
	Yield        float64 // 0.2 % proof strength Rp0.2, Pa
	Ultimate     float64 // tensile strength Rm, Pa
	Fatigue      float64 // fully reversed fatigue strength of a smooth specimen, Pa
	FatigueCycle float64 // number of cycles that Fatigue belongs to
	Expansion    float64 // coefficient of thermal expansion, 1/K
	Conductivity float64 // thermal conductivity, W/(m K)
	Source       string  // where the values come from
}
