package models

// Parts of bodies that bend.
//
// A body of a plate that bends is cut into parts: bodies of their own in the
// topology, joined by links. A link is a chain of at most MaxBeams beams from one part
// to the next; the mechanics condenses it to what it does to its two ends. Blades end on
// the parts that carry them.

// MaxBeams is the largest number of beams in a link.
const MaxBeams = 3

// LinkSpec joins the part To to the part From, both bodies by number.
type LinkSpec struct{ From, To int }

// Beam is a straight member of rectangular section that bends, shears, stretches and
// twists (S. P. Timoshenko's beam, shear coefficient 5/6): a prong, a foot, half of a back.
type Beam struct {
	X0, Y0, X1, Y1 float64 // ends of the length that bends, unloaded, m
	// Begin and End are where its metal begins and ends on that line, from (X0, Y0), m:
	// before 0 it moves with what the beam grows from, beyond the length with its end.
	Begin, End float64
	Height     float64 // in the plane, m
	Depth      float64 // out of the plane, m
	Young      float64 // Pa
	Poisson    float64
	Density    float64 // kg/m³
	Flexing    Flexing // pockets
	// Held says that the section does not warp freely where the beam begins, as that of
	// a short foot on a prong: it goes on there into something that warps alike.
	Held bool
	Back bool // of an arm; a prong or a foot otherwise: a name, for what is told of it
}

// Link is a chain of beams: the first grows from the part From of its [LinkSpec],
// each other from the end of the one before it, and the part To stands on the last.
// Beams need not meet: what lies between them is rigid.
type Link struct {
	N     int
	Beams [MaxBeams]Beam
}

// Bar is a short bar across a blade that its end stands on, in series with the blade: a
// foot that leads straight to something rigid, the part of a guide's body between its
// inner and its outer blade. The zero value is none.
type Bar struct {
	Length float64 // from what holds it to the blade, m
	// Span is how much farther it goes on, held by what is symmetric to it, m: half the
	// distance of a guide's inner blades. It bends there under the moment alone.
	Span          float64
	Toward        float64 // 1 or -1: it grows towards the blade's left, seen from its root, or its right
	Offset        float64 // of the blade's end before the bar's middle line, along the blade, m
	Height, Depth float64 // in the plane, out of it, m
	Young         float64 // Pa
	Poisson       float64
	Flexing       Flexing // pockets
}

// Motions is a set of a body's six motions, one bit each: x, y, yaw, z, roll, pitch.
type Motions uint8

// The motions of a body, in the plane and out of it.
const (
	MoveX Motions = 1 << iota
	MoveY
	MoveYaw
	MoveZ
	MoveRoll
	MovePitch
	MoveAll = MoveX | MoveY | MoveYaw | MoveZ | MoveRoll | MovePitch
)

// Whole returns the body that body i is a part of, itself if it is whole.
func (t *Topology) Whole(i int) int {
	if t.Bodies[i].Part == 0 {
		return i
	}
	return t.Bodies[i].Part - 1
}

// BodyMass returns the mass of body i with its parts and links, kg. A link belongs to
// the body that it grows from; a fixed body that stands on no mount is given with its links.
func (s *Stage) BodyMass(t *Topology, i int) float64 {
	sum := 0.0
	for k := range t.Bodies {
		if t.Whole(k) == i {
			sum += s.Mass[k]
		}
	}
	for k, l := range t.Links {
		if t.Whole(l.From) == i && !t.Bodies[i].Fixed() {
			sum += s.Links[k].Mass()
		}
	}
	return sum
}

// Mass returns the mass of the link's metal, kg.
func (l *Link) Mass() float64 {
	sum := 0.0
	for i := range l.Beams[:l.N] {
		b := &l.Beams[i]
		sum += b.Density * b.Depth * b.Height * (b.End - b.Begin)
	}
	return sum
}
