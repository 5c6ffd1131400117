package models

// Materials returns the metals that a brief may name, in the order of a table.
// The slice is shared and read-only.
//
// Values marked "typical, no source" are of the order that the trade knows and
// were read nowhere: look them up before a part is released on them. Where a
// source gives a range, one value inside it is taken and the range stands in Source.
func Materials() []Material { return materials[:] }

// MaterialByName finds one of [Materials].
func MaterialByName(name string) (*Material, bool) {
	for i := range materials {
		if materials[i].Name == name {
			return &materials[i], true
		}
	}
	return nil, false
}

var materials = [...]Material{
	{
		Name: "aluminium 7075-T6", Young: 71.7e9, Poisson: 0.33, Density: 2810,
		Yield: 503e6, Ultimate: 572e6, Fatigue: 159e6, FatigueCycle: 5e8,
		Expansion: 23.4e-6, Conductivity: 130,
		Source: "producers' data sheets for 7075-T6 and T651 (E 71.0 to 72 GPa; density 2800 to 2810 kg/m³; Rp0.2; Rm; " +
			"fatigue 158 to 159 MPa, R. R. Moore specimen; expansion 23.4 to 23.6e-6/K; conductivity of T6); number of cycles: typical, no source",
	},
	{
		Name: "aluminium 6061-T6", Young: 68.9e9, Poisson: 0.33, Density: 2700,
		Yield: 276e6, Ultimate: 310e6, Fatigue: 96.5e6, FatigueCycle: 5e8,
		Expansion: 23.6e-6, Conductivity: 167,
		Source: "Aluminum Association data, as printed in producers' data sheets (fatigue: R. R. Moore specimen, fully reversed)",
	},
	{
		Name: "titanium Ti-6Al-4V", Young: 114e9, Poisson: 0.33, Density: 4430,
		Yield: 830e6, Ultimate: 900e6, Fatigue: 510e6, FatigueCycle: 1e7,
		Expansion: 8.6e-6, Conductivity: 6.7,
		Source: "ASM data for annealed bar (E, Poisson's ratio, density, Rp0.2, Rm, fatigue of a smooth specimen); " +
			"expansion and conductivity (6.6 to 7.2 W/(m K)) from other data sheets",
	},
	{
		Name: "maraging steel 18Ni-300", Young: 190e9, Poisson: 0.30, Density: 8000,
		Yield: 1900e6, Ultimate: 2000e6, Fatigue: 700e6, FatigueCycle: 1e7,
		Expansion: 10.5e-6, Conductivity: 22,
		Source: "typical, no source, aged condition (Rp0.2 1900 to 2000 MPa; fatigue 700 to 860 MPa at 1e7; expansion 10 to 11e-6/K; " +
			"conductivity 20 to 25 W/(m K)); that the fatigue ratio is low and falls with strength: review in J. Mater. Eng. Perform., 2021 (abstract)",
	},
	{
		Name: "spring steel C75S", Young: 206e9, Poisson: 0.30, Density: 7850,
		Yield: 1200e6, Ultimate: 1400e6, Fatigue: 490e6, FatigueCycle: 1e7,
		Expansion: 11.5e-6, Conductivity: 48,
		Source: "E and density: a spring maker's table for carbon spring steel; hardened and tempered, Rm within the 1200 to 1900 MPa of EN 10132-4; the rest typical, no source " +
			"(strengths depend on the temper and fall with the thickness of the plate; fatigue taken as 0.35 Rm)",
	},
	{
		Name: "spring stainless 1.4310", Young: 186e9, Poisson: 0.30, Density: 7900,
		Yield: 1100e6, Ultimate: 1300e6, Fatigue: 455e6, FatigueCycle: 1e7,
		Expansion: 16.5e-6, Conductivity: 15,
		Source: "E and density: a spring maker's table for SUS301; cold rolled to 1300 MPa, a class of EN 10151; the rest typical, no source " +
			"(Rp0.2 1000 to 1500 MPa by temper; fatigue 0.35 to 0.45 Rm, 0.35 taken; expansion 16 to 17e-6/K); this temper is strip, not thick plate",
	},
}
