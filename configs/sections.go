package configs

import (
	"slices"

	"flexwright/models"
)

// Sections are the keys of a brief beside layout, material, materials, fix,
// vary, goals and limits, which name parameters and measures and have their own
// readers. To add one, add a row: see the package comment.
var Sections = slices.Concat(plainSections, controlSections)

var plainSections = []Field{
	{Name: "title", Kind: KindText, Meaning: "what the stage is for"},
	{Name: "workspace", Kind: KindGroup, Meaning: "where the stage moves", Fields: []Field{
		{Name: "travel", Kind: KindQuantity, Unit: models.Millimetre,
			Meaning: "half-range T: every limit must hold at the nine poses of the square ±T, or the three of ±T where one axis is driven; here, under fix or under vary"},
		{Name: "up_to", Kind: KindQuantity, Unit: models.Millimetre,
			Meaning: "largest half-range tried for usable_travel, for which clearances are drawn; the travel where it is absent"},
	}},
	{Name: "bodies", Kind: KindChoice, Choices: []string{"elastic", "rigid"}, Default: "elastic",
		Meaning: "whether prongs, feet, backs, guide bodies and the roots of blades bend, in the plane and out of it"},
	{Name: "orientation", Kind: KindChoice, Choices: []string{"flat", "x_up", "y_up"}, Default: "flat",
		Meaning: "how the stage stands: lying flat, where weight bends it out of its plane, or with an axis up, where weight loads the drive"},
	{Name: "ground_mount", Kind: KindGroup, Meaning: "springs that the frame stands on, a quarter under each corner of the footprint: the frame moves on them in statics, weight and modes, against a base that carries actuators and sensors; rigid where a key is absent", Fields: []Field{
		{Name: "stiffness_z", Kind: KindQuantity, Unit: models.NewtonPerMm, Min: 1, Max: 1e8, Meaning: "of all four together out of the plane; about x and y they hold with half the footprint's longer side"},
		{Name: "stiffness_xy", Kind: KindQuantity, Unit: models.NewtonPerMm, Min: 1, Max: 1e8, Meaning: "of all four together along x, and along y; about z likewise"},
	}},
	{Name: "point_of_interest", Kind: KindGroup, Meaning: "where the stage's position matters, from the stage's centre", Fields: []Field{
		{Name: "x", Kind: KindQuantity, Unit: models.Millimetre, Min: -500, Max: 500, Default: "0 mm", Meaning: "along x"},
		{Name: "y", Kind: KindQuantity, Unit: models.Millimetre, Min: -500, Max: 500, Default: "0 mm", Meaning: "along y"},
		{Name: "height", Kind: KindQuantity, Unit: models.Millimetre, Min: -500, Max: 500, Default: "0 mm", Meaning: "above the plate's mid-plane"},
	}},
	tolerancesSection,
	correctionsSection,
	{Name: "drawing", Kind: KindGroup, Meaning: "what draw leaves to the user", Fields: []Field{
		{Name: "kerf", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.02, Max: 3, Default: "0.3 mm",
			Meaning: "width of the cut: narrower gaps, and inside corners sharper than half of it, are refused (wire of 0.25 mm: common practice)"},
		{Name: "wire_path", Kind: KindSwitch, Default: "off",
			Meaning: "also draw the path of the wire's centre, half the kerf away from the metal"},
		{Name: "minimum_wall", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.01, Max: 10, Default: "0.3 mm",
			Meaning: "thinner metal is refused (common practice)"},
		{Name: "corner_radius", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.01, Max: 5, Default: "0.2 mm",
			Meaning: "of inside corners that carry no blade; at least half the kerf; more than the free gap takes from the clearance"},
		{Name: "start_hole", Kind: KindQuantity, Unit: models.Millimetre, Min: 0, Max: 10, Default: "1 mm",
			Meaning: "diameter of the hole that the wire is threaded through, one per opening; 0 mm: none"},
		{Name: "mounting_holes", Kind: KindChoice, Choices: []string{"0", "4", "8"}, Default: "0",
			Meaning: "holes in the frame: 4 in its corners, 8 in the middles of its sides too"},
		{Name: "mounting_diameter", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.5, Max: 50, Default: "6.6 mm",
			Meaning: "their diameter"},
		{Name: "payload_holes", Kind: KindGrid, Min: 0, Max: 50, Default: "0",
			Meaning: "rows x columns of holes in the middle of the stage; their metal is not part of the evaluated mass, and pockets keep off them"},
		{Name: "payload_pitch", Kind: KindQuantity, Unit: models.Millimetre, Min: 1, Max: 500, Default: "25 mm",
			Meaning: "between their centres"},
		{Name: "payload_diameter", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.5, Max: 50, Default: "4.2 mm",
			Meaning: "their diameter"},
		{Name: "cut_speed", Kind: KindQuantity, Unit: models.MillimetrePerMinute, Min: 0.01, Max: 1e5,
			Meaning: "of one pass along the contours, for the cutting time on the sheet"},
		{Name: "stops", Kind: KindSwitch, Default: "off",
			Meaning: "bosses on the frame that moving bodies meet beyond their travel"},
		{Name: "stop_play", Kind: KindQuantity, Unit: models.Millimetre, Min: 0.01, Max: 10, Default: "0.2 mm",
			Meaning: "from full travel to the stop"},
	}},
	{Name: "search", Kind: KindGroup, Meaning: "how designs are proposed", Fields: []Field{
		{Name: "method", Kind: KindChoice, Choices: []string{"evolve", "latin", "sobol", "grid"}, Default: "evolve",
			Meaning: "evolve: multi-objective evolution. Samples that fill the space: sobol evenly in all variables at once, best in a power of two of designs, and may be lengthened at will; latin evenly in each variable alone, for any number of designs and many variables. grid: every combination"},
		{Name: "seed", Kind: KindInteger, Min: 0, Max: 1<<53 - 1, Default: "1", When: "method", Is: []string{"evolve", "latin", "sobol"},
			Meaning: "start of the random sequence"},
		{Name: "population", Kind: KindInteger, Min: 4, Max: 100000, Default: "100", When: "method", Is: []string{"evolve"},
			Meaning: "designs in a generation"},
		{Name: "generations", Kind: KindInteger, Min: 1, Max: 10000000, Default: "100", When: "method", Is: []string{"evolve"},
			Meaning: "generations, the first one included"},
		{Name: "surrogate", Kind: KindSwitch, Choices: []string{"auto"}, Default: "auto", When: "method", Is: []string{"evolve"},
			Meaning: "learn from the rows so far which designs to evaluate; auto: in plans of up to 20000 designs"},
		{Name: "screen", Kind: KindSwitch,
			Meaning: "leave the rest of a design uncomputed once a cheap limit fails; on for evolve, off for sweeps, where it is absent"},
		{Name: "stagnation", Kind: KindInteger, Min: 0, Max: 10000000, Default: "0", When: "method", Is: []string{"evolve"},
			Meaning: "end when the front's hypervolume, or of one goal the best value, grew by less than 0.1 % in so many generations; 0: never"},
		{Name: "designs", Kind: KindInteger, Min: 1, Max: 1 << 40, Default: "1000", When: "method", Is: []string{"latin", "sobol"},
			Meaning: "number of designs"},
		{Name: "per_variable", Kind: KindInteger, Min: 1, Max: 1000000, Default: "5", When: "method", Is: []string{"grid"},
			Meaning: "values of each variable that has no steps and no choices"},
	}},
}

// Units of material properties: SI, so that a property is the number that the
// mechanics uses.
var (
	pascal      = models.Unit{Symbol: "Pa", Suffix: "pa", Dimension: models.Stress, SI: 1}
	density     = models.Unit{Symbol: "kg/m³", Suffix: "kg_m3", Dimension: models.Density, SI: 1}
	perKelvin   = models.Unit{Symbol: "1/K", Suffix: "per_k", Dimension: models.Expansion, SI: 1}
	conductance = models.Unit{Symbol: "W/(m K)", Suffix: "w_per_m_k", Dimension: models.Conductivity, SI: 1}
)

// property is a field of a material with its place in [models.Material].
type property struct {
	Field
	at func(*models.Material) *float64
}

// properties of a user's material. Ranges are those of engineering metals, with
// room on both sides.
var properties = []property{
	{Field{Name: "youngs_modulus", Kind: KindQuantity, Unit: pascal, Written: "GPa", Min: 1e9, Max: 1e12, Required: true,
		Meaning: "Young's modulus"}, func(m *models.Material) *float64 { return &m.Young }},
	{Field{Name: "poisson_ratio", Kind: KindQuantity, Min: 0, Max: 0.49, Required: true,
		Meaning: "Poisson's ratio"}, func(m *models.Material) *float64 { return &m.Poisson }},
	{Field{Name: "density", Kind: KindQuantity, Unit: density, Min: 500, Max: 25000, Required: true,
		Meaning: "density"}, func(m *models.Material) *float64 { return &m.Density }},
	{Field{Name: "yield_strength", Kind: KindQuantity, Unit: pascal, Written: "MPa", Min: 1e6, Max: 1e10, Required: true,
		Meaning: "0.2 % proof strength"}, func(m *models.Material) *float64 { return &m.Yield }},
	{Field{Name: "ultimate_strength", Kind: KindQuantity, Unit: pascal, Written: "MPa", Min: 1e6, Max: 1e10,
		Meaning: "tensile strength; unknown where it is absent"}, func(m *models.Material) *float64 { return &m.Ultimate }},
	{Field{Name: "fatigue_strength", Kind: KindQuantity, Unit: pascal, Written: "MPa", Min: 1e6, Max: 1e10,
		Meaning: "fully reversed fatigue strength of a smooth specimen; unknown where it is absent"}, func(m *models.Material) *float64 { return &m.Fatigue }},
	{Field{Name: "fatigue_cycles", Kind: KindQuantity, Min: 1e3, Max: 1e12,
		Meaning: "number of cycles that fatigue_strength belongs to"}, func(m *models.Material) *float64 { return &m.FatigueCycle }},
	{Field{Name: "expansion", Kind: KindQuantity, Unit: perKelvin, Written: "ppm/K", Min: 1e-8, Max: 1e-4,
		Meaning: "coefficient of thermal expansion; unknown where it is absent"}, func(m *models.Material) *float64 { return &m.Expansion }},
	{Field{Name: "conductivity", Kind: KindQuantity, Unit: conductance, Min: 0.1, Max: 1000,
		Meaning: "thermal conductivity; unknown where it is absent"}, func(m *models.Material) *float64 { return &m.Conductivity }},
}

// materialFields are the keys of a material: its properties and their source.
var materialFields = func() []Field {
	fields := make([]Field, 0, len(properties)+1)
	for _, p := range properties {
		fields = append(fields, p.Field)
	}
	return append(fields, Field{Name: "source", Kind: KindText, Meaning: "where the values come from"})
}()
