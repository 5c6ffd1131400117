package models

import "math"

// Axis is a direction of a body's motion in the plane.
type Axis uint8

const (
	AxisX Axis = iota
	AxisY
	AxisYaw
)

var axisNames = [...]string{"x", "y", "yaw"}

// String returns "x", "y" or "yaw".
func (a Axis) String() string { return axisNames[a] }

// Held says which motions of a body are suppressed, one bit per [Axis].
type Held uint8

// Has reports whether motion along a is suppressed.
func (h Held) Has(a Axis) bool { return h>>a&1 == 1 }

// Add returns h with motion along a suppressed too.
func (h Held) Add(a Axis) Held { return h | 1<<a }

// HeldAll suppresses every motion: a fixed body.
const HeldAll = Held(1<<AxisX | 1<<AxisY | 1<<AxisYaw)

// BodySpec names a body and the motions it is denied.
type BodySpec struct {
	Name string
	Held Held // HeldAll for a fixed body
	// Mounted: a fixed body that stands on springs ([Stage.Springs]) and moves on them.
	Mounted bool
	// Part is 1 + the number of the body that this is a part of; 0 for a whole body.
	Part int
	// Follows are the motions without a mode of their own: they follow the others as
	// they do at rest, with their mass (Guyan's reduction).
	Follows Motions
}

// Fixed reports whether the body does not move at all.
func (b *BodySpec) Fixed() bool { return b.Held == HeldAll && !b.Mounted }

// BladeSpec connects two bodies by number: From owns the root, To the tip.
type BladeSpec struct{ From, To int }

// ActuatorSpec says which body an actuator pushes, along which axis. The
// direction stays fixed in space. The driven motion is read against what it pushes from.
type ActuatorSpec struct {
	Body int
	Axis Axis
	// From is 1 + the number of the body that it pushes from; 0 for the ground.
	From int
}

// SensorSpec says where an axis is read: by an encoder on a body, and by a gap sensor that this body carries, from which
// it looks at the stage.
type SensorSpec struct {
	Body int
	// From is 1 + the number of the body that the encoder reads against; 0 for the ground.
	From int
	// Gap: the gap sensor has a place; Alone: there is none, because the encoder reads the stage itself. Else the two
	// together read the point of interest.
	Gap, Alone bool
}

// Topology is what is the same for every candidate of a run: the bodies, what
// joins them, and which of them play a part. It is read-only once made.
type Topology struct {
	Bodies    []BodySpec
	Blades    []BladeSpec
	Links     []LinkSpec // between the parts of bodies that bend; none where bodies are rigid
	Actuators []ActuatorSpec
	Sensors   []SensorSpec // of each actuator's axis; nil: read where it is pushed
	Stage     int          // the body whose position is prescribed
	Driven    []int        // the driven arms: Driven[k] belongs to Actuators[k]; nil in a free assembly
	Idle      []int        // the idle arms
	Segments  int          // consecutive blades that are parts of one; 0 is 1
}

// ReadAlone reports whether the encoder of axis k reads the stage itself against the ground, so that no gap sensor looks at it.
func (t *Topology) ReadAlone(k int) bool {
	if t.Sensors != nil {
		return t.Sensors[k].Alone
	}
	return t.Actuators[k].Body == t.Stage && t.Actuators[k].From == 0
}

// Carried are the bodies that something sits on: the stage, and the driven arms that
// are not the stage itself.
func (t *Topology) Carried() []int {
	list := []int{t.Stage}
	for _, b := range t.Driven {
		if b != t.Stage {
			list = append(list, b)
		}
	}
	return list
}

// Load is a constant force (N) or moment (N m) on a body's origin, fixed in direction.
type Load struct {
	Body  int
	Axis  Axis
	Value float64
}

// Stage is one design of a [Topology]: where everything is when unloaded, and
// what it is made of. It is refilled in place from candidate to candidate.
// Positions are global, at rest. nb bodies, ne blades, na actuators.
type Stage struct {
	// Bodies (nb)
	X, Y   []float64 // origin = centre of mass, m
	Z      []float64 // height of the centre of mass above the plate's mid-plane, m
	Mass   []float64 // kg
	Ix, Iy []float64 // moments of inertia about x and y through the origin, kg m²
	Ixy    []float64 // product of inertia ∫ xy dm through the origin, kg m²
	Iz     []float64 // moment of inertia about z, kg m²
	// What of a body's mass is mounted on it rather than cut with it, kg, and its centre, m
	Mounted, MountedX, MountedY, MountedZ []float64
	// Its radius of gyration squared about its own normal, of which that about x and about y
	// is half, m²; 0: a point
	MountedSpread []float64

	// Blades (ne)
	RootX, RootY  []float64 // root end, on the From body, m
	TipX, TipY    []float64 // tip end, on the To body, m
	Thickness     []float64 // in plane, m
	Width         []float64 // out of plane, m
	Young         []float64 // Pa
	Poisson       []float64
	Density       []float64 // kg/m³
	BendingFactor []float64 // multiplies E I; 0 asks for the clamped-strip factors
	StretchFactor []float64 // multiplies E A where BendingFactor is given; 1 for a beam
	Fillet        []float64 // fillet radius at both ends, m; 0 where unknown (no stress concentration then)

	RootBar, TipBar []Bar   // what they stand on, beside their bodies
	RootStiffness   float64 // of the metal that they grow from where it yields, over the model's; 0 is 1
	Yields          []bool  // the bodies yield at both ends, see mechanics

	// Springs of the mounted bodies, in their order, from each one's origin to the base: along
	// x, along y, in yaw; along z, in roll, in pitch; N/m and N m/rad
	Springs [][6]float64

	// Links, as many as the topology's
	Links []Link

	// Actuators (na)
	ActX, ActY []float64 // where they push and are measured, m
	ActZ       []float64 // its height above the plate's mid-plane, m
	// Sensors, as many as the topology's
	EncX, EncY, EncZ []float64 // where the encoder reads, and its height above the mid-plane, m
	GapX, GapY, GapZ []float64 // where the gap sensor looks at the stage; 0 without one

	// Stiffness of the actuator itself between its point and the ground (a magnet's
	// pull), N/m; negative drives away from the middle
	ActAlong, ActAcross []float64 // along its axis; across, in the plane

	Loads []Load

	// Of the whole plate; 0, nil in a free assembly
	Material *Material
	Payload  float64 // what of the stage's mass is mounted on it and may be exchanged, kg
	// PayloadSpread is that of the payload, as MountedSpread
	PayloadSpread float64
	Travel        float64 // half-range T, m
	UpTo          float64 // largest half-range tried for usable travel, m
	Frame         float64 // longer side of the footprint, m
}

// NewStage returns a stage with room for t. Everything is NaN until filled, so
// that a forgotten field shows.
func NewStage(t *Topology) *Stage {
	nb, ne, na, ns := len(t.Bodies), len(t.Blades), len(t.Actuators), len(t.Sensors)
	nan := func(n int) []float64 {
		a := make([]float64, n)
		for i := range a {
			a[i] = math.NaN()
		}
		return a
	}
	s := &Stage{
		X: nan(nb), Y: nan(nb), Z: make([]float64, nb), Mass: nan(nb), Ix: nan(nb), Iy: nan(nb), Iz: nan(nb), Ixy: make([]float64, nb),
		Mounted: make([]float64, nb), MountedX: make([]float64, nb), MountedY: make([]float64, nb), MountedZ: make([]float64, nb),
		MountedSpread: make([]float64, nb),
		RootX:         nan(ne), RootY: nan(ne), TipX: nan(ne), TipY: nan(ne),
		Thickness: nan(ne), Width: nan(ne), Young: nan(ne), Poisson: nan(ne), Density: nan(ne),
		BendingFactor: make([]float64, ne), StretchFactor: make([]float64, ne), Fillet: make([]float64, ne),
		RootBar: make([]Bar, ne), TipBar: make([]Bar, ne), Yields: make([]bool, ne), Links: make([]Link, len(t.Links)),
		ActX: nan(na), ActY: nan(na), ActZ: make([]float64, na),
		ActAlong: make([]float64, na), ActAcross: make([]float64, na),
		EncX: nan(ns), EncY: nan(ns), EncZ: nan(ns), GapX: nan(ns), GapY: nan(ns), GapZ: nan(ns),
	}
	for i := range t.Bodies {
		if t.Bodies[i].Mounted {
			s.Springs = append(s.Springs, [6]float64{})
		}
	}
	for i := range s.StretchFactor {
		s.StretchFactor[i] = 1
	}
	return s
}

// CopyFrom makes s a copy of o, a stage of the same topology, in its own memory; only
// loads and material are shared.
func (s *Stage) CopyFrom(o *Stage) {
	own := *s
	*s = *o
	for _, p := range [...]struct{ to, own *[]float64 }{
		{&s.X, &own.X}, {&s.Y, &own.Y}, {&s.Z, &own.Z}, {&s.Mass, &own.Mass}, {&s.Ix, &own.Ix}, {&s.Iy, &own.Iy}, {&s.Ixy, &own.Ixy}, {&s.Iz, &own.Iz},
		{&s.Mounted, &own.Mounted}, {&s.MountedX, &own.MountedX}, {&s.MountedY, &own.MountedY}, {&s.MountedZ, &own.MountedZ}, {&s.MountedSpread, &own.MountedSpread},
		{&s.RootX, &own.RootX}, {&s.RootY, &own.RootY}, {&s.TipX, &own.TipX}, {&s.TipY, &own.TipY},
		{&s.Thickness, &own.Thickness}, {&s.Width, &own.Width}, {&s.Young, &own.Young}, {&s.Poisson, &own.Poisson},
		{&s.Density, &own.Density}, {&s.BendingFactor, &own.BendingFactor}, {&s.StretchFactor, &own.StretchFactor}, {&s.Fillet, &own.Fillet},
		{&s.ActX, &own.ActX}, {&s.ActY, &own.ActY}, {&s.ActZ, &own.ActZ}, {&s.ActAlong, &own.ActAlong}, {&s.ActAcross, &own.ActAcross},
		{&s.EncX, &own.EncX}, {&s.EncY, &own.EncY}, {&s.EncZ, &own.EncZ}, {&s.GapX, &own.GapX}, {&s.GapY, &own.GapY}, {&s.GapZ, &own.GapZ},
	} {
		copy(*p.own, *p.to)
		*p.to = *p.own
	}
	copy(own.RootBar, o.RootBar)
	copy(own.TipBar, o.TipBar)
	copy(own.Yields, o.Yields)
	copy(own.Links, o.Links)
	copy(own.Springs, o.Springs)
	s.RootBar, s.TipBar, s.Yields, s.Links, s.Springs = own.RootBar, own.TipBar, own.Yields, own.Links, own.Springs
}

// Mount adds a point mass m, kg, that is not cut with the plate, to a body at (x, y)
// and height z, m: see [Stage.AddMass].
func (s *Stage) Mount(body int, m, x, y, z float64) {
	if m == 0 {
		return
	}
	s.AddMass(body, m, x, y, z)
	s.Mounted[body] += m
	share := m / s.Mounted[body]
	s.MountedX[body] += share * (x - s.MountedX[body])
	s.MountedY[body] += share * (y - s.MountedY[body])
	s.MountedZ[body] += share * (z - s.MountedZ[body])
	s.MountedSpread[body] -= share * s.MountedSpread[body]
}

// MountDisc is Mount for an even disc of the diameter size, m, parallel to the plate and
// centred there: its moments of inertia about itself are m size²/8 about z and half of
// that about x and about y.
func (s *Stage) MountDisc(body int, m, x, y, z, size float64) {
	if m == 0 {
		return
	}
	s.Mount(body, m, x, y, z)
	spread := DiscSpread(size)
	s.AddSpread(body, m*spread)
	s.MountedSpread[body] += m / s.Mounted[body] * spread
}

// DiscSpread is the radius of gyration squared of an even disc of the diameter size about
// its normal, size²/8.
func DiscSpread(size float64) float64 { return size * size / 8 }

// AddSpread adds a moment of inertia about z, kg m², and half of it about x and y: that
// of a flat body about itself.
func (s *Stage) AddSpread(body int, inertia float64) {
	s.Iz[body] += inertia
	s.Ix[body] += inertia / 2
	s.Iy[body] += inertia / 2
}

// Unmounted says that nothing is mounted on a body yet.
func (s *Stage) Unmounted(body int) {
	s.Mounted[body], s.MountedX[body], s.MountedY[body], s.MountedZ[body], s.MountedSpread[body] = 0, 0, 0, 0, 0
}

// AddMass adds a point mass m, kg, to a body at (x, y) and height z, m; a negative one
// takes it away again. Mass, centre of mass and moments of inertia become those of both
// together.
func (s *Stage) AddMass(body int, m, x, y, z float64) {
	if m == 0 {
		return
	}
	total := s.Mass[body] + m
	if total == 0 { // nothing is left: it stays where it was
		s.Mass[body] = 0
		return
	}
	dx, dy, dz := x-s.X[body], y-s.Y[body], z-s.Z[body]
	reduced := s.Mass[body] * m / total // of the two about their common centre
	share := m / total
	s.X[body] += share * dx
	s.Y[body] += share * dy
	s.Z[body] += share * dz
	s.Mass[body] = total
	s.Ix[body] += reduced * (dy*dy + dz*dz)
	s.Iy[body] += reduced * (dx*dx + dz*dz)
	s.Ixy[body] += reduced * dx * dy
	s.Iz[body] += reduced * (dx*dx + dy*dy)
}

// ScaleMass multiplies mass and moments of inertia of a body, as another density does.
func (s *Stage) ScaleMass(body int, factor float64) {
	s.Mass[body] *= factor
	s.Ix[body] *= factor
	s.Iy[body] *= factor
	s.Ixy[body] *= factor
	s.Iz[body] *= factor
}
