package models

// Parameter is one dimension or mass of a layout, as a brief names it.
type Parameter struct {
	Name    string
	Unit    Unit
	Meaning string
	// Min and Max bound what makes sense, in Unit, both included. A brief
	// outside them is refused.
	Min, Max float64
	// Default, in Unit, when neither fixed nor varied; NaN when DefaultText
	// says how it follows from other parameters or that it must be given.
	Default     float64
	DefaultText string
	// Required: there is no default.
	Required bool
}

// Design is what a layout dimensions a stage from.
type Design struct {
	// Parameters, SI, in the order of [Layout.Parameters]. NaN where the
	// layout's own rule decides; Build replaces NaN by the value it used, as
	// far as it got.
	Parameters []float64
	UpTo       float64     // largest half-range that clearances are drawn for, m; 0: the travel
	Material   *Material   // of the whole plate
	Holes      HolePattern // in the stage
}

// Layout is a way to arrange bodies and blades, dimensioned by parameters.
// Implementations are safe for use by several goroutines at once.
type Layout interface {
	// Name is what a brief calls it.
	Name() string
	// Meaning is one line of description.
	Meaning() string
	// Parameters in a fixed order; the slice is shared and read-only.
	Parameters() []Parameter
	// Topology is shared and read-only.
	Topology() *Topology
	// Build fills s from d without allocating. A verdict of CannotBuild names
	// the inequality that the dimensions violate.
	Build(d *Design, s *Stage) Verdict
	// Outline returns the outlines of all bodies of d, for drawing and clearance
	// checks: as drawn, but for fillets and rounded corners. The face that a blade
	// with fillets of radius r grows from is set back by κ r from where the blade
	// begins ([FilletStiffening]). It allocates.
	Outline(d *Design) ([]Outline, Verdict)
	// NominalMotion writes, for each body of the built stage s, how it moves when the
	// stage is at (x, y) and every guide shares its travel evenly between its halves:
	// what clearances are drawn for. motions has the length of the topology's bodies.
	NominalMotion(s *Stage, x, y float64, motions []Motion)
}

// Rectangle is an axis-aligned rectangle in the plane, X0 < X1, Y0 < Y1, m.
type Rectangle struct{ X0, X1, Y0, Y1 float64 }

// Outline is the shape of one body: the union of rectangles of one thickness, less
// pockets.
type Outline struct {
	Body       int // number in the topology
	Rectangles []Rectangle
	Pockets    []Pocket
}

// Placed is a layout that was read from a text: where a body, or the root of a blade, is
// written there, from 1. Copies are where they are drawn.
type Placed interface {
	BodyPlace(body int) (line, column int)
	BladePlace(blade int) (line, column int)
}

// Thick is a layout whose bodies may be of another thickness than its blades are wide.
type Thick interface {
	// Thicknesses writes those of all bodies of a design that was built, m.
	Thicknesses(d *Design, into []float64)
}

// Stopper is a layout that can limit its own travel.
type Stopper interface {
	// Stops returns what to add to the outlines of bodies so that every arm meets
	// the ground once it is play, m, beyond the largest travel. d must be one that
	// was built.
	Stops(d *Design, play float64) []Outline
}
