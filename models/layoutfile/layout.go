package layoutfile

import "flexwright/models"

// Layout is a compiled layout file. It implements [models.Layout] and
// [models.Stopper], and is read-only.
type Layout struct {
	name, meaning string
	source        []byte
	parameters    []models.Parameter
	topology      *models.Topology

	program program
	settled []int // per parameter: the register with its rule applied
	watched []watched
	demands []demand
	travel  int // register

	shapes    []shape
	blades    []blade
	actuators []actuator
	sensors   []sensing // of each actuator's axis; nil: read where it is pushed
	stops     []stop
	moves     []move // per body
	bending   *elastic
	symmetry  []models.Symmetry
	turning   bool // a body turns: its share depends on the dimensions
	bodyAt    []position
	bladeAt   []position
}

// position in the file, from 1.
type position struct{ line, column int }

// watched is a register that has to be a number.
type watched struct {
	register int
	format   string
}

// demand is a requirement with its sentence.
type demand struct {
	left, right int
	atLeast     bool
	scale       float64 // from SI to what the sentence says
	format      string
}

// shape is a body as it is drawn: once, for all its copies.
type shape struct {
	boxes     []box
	thickness int // register
	masses    []mass
	roots     []root
	stage     bool // carries the payload's holes
	bodies    []int
	frames    []frame
	drawn     int // number of the body in the file
	fixed     bool
	// formats of the verdicts when a rectangle is turned inside out, when there is none
	inverted, empty string
}

// box is a rectangle with the places it is copied to within its body.
type box struct {
	x0, x1, y0, y1 int // registers
	frames         []frame
	side           Side // where it is held, of a member; else 0
	on             int  // of a member: the rectangle that holds it; -1: its body
}

type mass struct {
	mass, x, y, height, size int    // registers; -1: the centroid, mid-plane, a point
	on                       []bool // per copy
	payload                  bool
}

type blade struct {
	x, y, length, thickness, width, fillet int // registers; fillet -1: none
	dx, dy                                 float64
	cos, sin                               int // registers of the direction; -1: dx, dy
	numbers                                []int
	frames                                 []frame
	format                                 string // of the verdict when it has no length, thickness or width
}

type actuator struct {
	x, y, height int // registers; height -1: mid-plane
	frame        frame
}

type stop struct {
	body int
	box  box
}

// move is a body's motion per unit of the stage's: its origin goes by xx x + xy y along
// x, and it turns by tx x + ty y.
type move struct {
	xx, xy, yx, yy float64
	tx, ty         float64 // rad/m
	given          bool    // by the file
}

// Name is what a brief calls it.
func (l *Layout) Name() string { return l.name }

// Meaning is one line of description.
func (l *Layout) Meaning() string { return l.meaning }

// Parameters in the order of the file.
func (l *Layout) Parameters() []models.Parameter { return l.parameters }

// Topology of every candidate.
func (l *Layout) Topology() *models.Topology { return l.topology }

// Symmetries implements [models.Symmetric].
func (l *Layout) Symmetries() []models.Symmetry { return l.symmetry }

// BodyPlace implements [models.Placed].
func (l *Layout) BodyPlace(body int) (line, column int) {
	return l.bodyAt[body].line, l.bodyAt[body].column
}

// BladePlace implements [models.Placed]: where its root is written.
func (l *Layout) BladePlace(blade int) (line, column int) {
	return l.bladeAt[blade].line, l.bladeAt[blade].column
}

// Source is the file that the layout was read from.
func (l *Layout) Source() []byte { return l.source }

// NominalMotion implements [models.Layout]: each body moves by its shares of the
// stage's motion. st is not needed where no body turns.
func (l *Layout) NominalMotion(st *models.Stage, x, y float64, motions []models.Motion) {
	moves := l.moves
	if l.turning {
		moves, _ = l.follow(st)
	}
	for i, m := range moves {
		motions[i] = models.Motion{X: m.xx*x + m.xy*y, Y: m.yx*x + m.yy*y}
		if yaw := m.tx*x + m.ty*y; yaw != 0 {
			motions[i] = models.Turned(st.X[i], st.Y[i], motions[i].X, motions[i].Y, yaw)
		}
	}
}
