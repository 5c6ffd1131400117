package layoutfile

import (
	"flexwright/models"
	"flexwright/models/expression"
)

// Text is a formula, or a name, with its position.
type Text = expression.Text

// File is the description of a layout, as it stands in a file. Formulas and names
// are not checked. A nil *Text is absent.
type File struct {
	Name, Meaning string
	Position      Text // of the whole, for what is missing
	Parameters    []Parameter
	Derived       []Derived
	Requirements  []Requirement
	Places        []Places
	Bodies        []Body
	Blades        []Blade
	Stage         *Text
	Actuators     []Actuator
	Sensors       []Sensor // none: axes are read where they are pushed
	Idle          []Text   // bodies
	Symmetry      []models.Symmetry
	Stops         []Stop
	// Incomplete: parts were refused, so that what is missing may be in them
	Incomplete bool
}

// Parameter is a parameter of the layout; its Default is NaN where Rule has it or
// it must be given.
type Parameter struct {
	models.Parameter
	Name  Text // the same, with its position
	Rule  *Text
	Known bool // its unit is; else it is one that was refused, whose name is taken
}

// Derived names a formula.
type Derived struct{ Name, Formula Text }

// Requirement is a comparison that must hold, and what is said where it does not:
// {left} and {right} in the sentence stand for its two sides.
type Requirement struct{ Condition, Sentence Text }

// Places is a set of places. Of is the set that it divides further, nil for a set
// of the plate.
type Places struct {
	Name Text
	Of   *Text
	At   []Place
}

// Place mirrors about the x axis of its frame (y to -y), then turns by quarter
// turns, counter-clockwise.
type Place struct {
	Mirror bool
	Turn   int
}

// Body is a union of rectangles that do not overlap, with masses on it.
type Body struct {
	Name       Text
	Fixed      bool
	Placed     *Text
	Names      []Text // of the copies; NAME-1, NAME-2 … without
	Rectangles []Rectangle
	Thickness  *Text
	Masses     []Mass
	Moves      *[2]float64 // shares of the stage's motion along x and y of its frame; found where it is nil
}

// Rectangle of a body, possibly copied within it.
type Rectangle struct {
	X0, X1, Y0, Y1 Text
	Placed         *Text
	// Member is the name of one that bends, Held the side where it is held, by the end
	// of the member On, or by its body where that is nil.
	Member, On *Text
	Held       Side
}

// Mass is a point mass on a body: at its centroid, at mid-plane, on every copy,
// unless said otherwise.
type Mass struct {
	Mass    Text
	X, Y    *Text
	Height  *Text
	Size    *Text // diameter of an even disc; a point where it is absent
	On      []int // numbers of the copies, from 1
	Payload bool  // may be exchanged
}

// Blade is a leaf spring from its root on one body.
type Blade struct {
	From, To         Text
	Placed           *Text
	X, Y             Text // root
	Along            Text // x, -x, y, -y or an angle
	Length           Text
	Thickness, Width *Text
	Fillet           *Text
}

// Actuator pushes a body at a point of the body's frame; the driven body is read
// there unless a sensor says otherwise.
type Actuator struct {
	Body   Text
	From   *Text // the body that it pushes from; nil: the ground
	Axis   models.Axis
	X, Y   Text
	Height *Text
}

// Stop is what is added to a body so that something meets it beyond the travel.
type Stop struct {
	Body Text
	Rectangle
}
