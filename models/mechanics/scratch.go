package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/blade"
)

// NumPoses is the number of positions of the stage over the workspace.
const NumPoses = 9

// PoseSigns are the nine positions as multiples of the half-range: the centre,
// the four on the axes, the four corners.
var PoseSigns = [NumPoses][2]float64{
	{0, 0}, {1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {-1, 1}, {1, -1}, {-1, -1},
}

// The poses at full travel along one axis.
const (
	PoseX = 1
	PoseY = 3
)

// Pose is the equilibrium at one position of the stage. nb bodies, ne blades,
// na actuators; K over the pattern.
type Pose struct {
	X, Y    float64 // prescribed position of the stage, m
	Verdict models.Verdict
	Steps   int // Newton steps spent

	Q     []float64 // 3 nb: displacement x, y (m) and yaw (rad) of every body, fixed ones 0
	Force []float64 // na: actuator forces, N
	// Drive is the 2 by 2 (na by na) stiffness dF/d(prescribed coordinates), N/m, row-major.
	Drive [4]float64

	P      []float64 // ne: normalised axial force P L²/EI along the chord, tension positive
	RootP  []float64 // ne: the same along the root's tangent, which the range of the model is stated in
	Axial  []float64 // ne: axial force, N
	RootM  []float64 // ne: end moment at the root, N m
	TipM   []float64 // ne: end moment at the tip, N m
	W      []float64 // ne: tip deflection over L, against the root's tangent
	Phi    []float64 // ne: rotation of the tip against the root, rad
	link   []link    // ne: chord of every blade
	K      []float64 // tangent with constant actuator forces, held unknowns replaced by 1 on the diagonal
	Factor []float64 // its factorisation
}

// spare is the room behind columns of numbers that kernels read.
const spare = 7

func newPose(m *Model) Pose {
	nb, ne, na := len(m.Topology.Bodies), len(m.Topology.Blades), len(m.Topology.Actuators)
	f := func(n int) []float64 { return make([]float64, n, n+spare) }
	return Pose{Q: f(3 * nb), Force: f(na), P: f(ne), RootP: f(ne), Axial: f(ne), RootM: f(ne), TipM: f(ne),
		W: f(ne), Phi: f(ne), link: make([]link, ne), K: f(m.Pattern.Len()), Factor: f(m.Pattern.Len())}
}

// Scratch is everything that the evaluation of one candidate touches. It
// belongs to one goroutine.
type Scratch struct {
	Model *Model

	// computed by Prepare
	Stage   *models.Stage
	Section []blade.Section // ne
	cosPsi  []float64       // ne: direction of the blade at rest
	sinPsi  []float64       // ne
	rootX   []float64       // ne: root end from the root body's origin, m
	rootY   []float64
	tipX    []float64 // ne: tip end from the tip body's origin, m
	tipY    []float64
	armX    []float64 // 2 na: actuator point from the origins of the bodies at its two ends, m
	armY    []float64
	links   []linkConstants
	like    []int     // ne: see [Scratch.Like]
	linked  int       // how many times links have been computed
	beside  *Scratch  // see [Scratch.Beside]
	soft    float64   // axial flexibility of what holds the present blade's ends, per segment, m/N
	size    float64   // length of the longest blade or link, m: scale of tolerances
	load    []float64 // 3 nodes: constant loads, N and N m

	// computed by Statics, in the order of PoseSigns
	Poses []Pose // Model.Poses
	found int    // how many times poses have been

	// of the equilibrium iteration
	q        []float64 // 3 nb
	p        []float64 // ne
	force    []float64 // na
	sin      []float64 // nb
	versine  []float64 // nb: 1 - cos
	link     []link    // ne
	k        []float64 // over the pattern
	residual []float64 // 3 nodes
	column   [2][]float64
	start    Pose    // where step control starts from
	reached  float64 // fraction of the way at which it gave up
	octet    *octet  // nil: one pose after the other
	// Response at the centre to unit displacements of the prescribed coordinates
	slopeQ [2][]float64 // 3 nb
	slopeP [2][]float64 // ne
	slopeF [2][]float64 // na
}

// link is the chord of a blade in an assembly, and what the update of its axial
// force needs.
type link struct {
	nx, ny         float64 // direction of the chord
	an, am, bn, bm float64 // lever arms of root and tip along n and across
	chord          float64 // its length, m
	turn           float64 // of the root against it, rad
	rowA, rowB     float64
	residual, c    float64
}

// linkNumbers is how many numbers a link has.
const linkNumbers = 12

// NewScratch returns the memory for candidates of m.
func NewScratch(m *Model) *Scratch {
	nb, ne, na := len(m.Topology.Bodies), len(m.Topology.Blades), len(m.Topology.Actuators)
	n := m.Unknowns()
	f := func(n int) []float64 { return make([]float64, n) }
	s := &Scratch{Model: m, Section: make([]blade.Section, ne),
		cosPsi: f(ne), sinPsi: f(ne), rootX: f(ne), rootY: f(ne), tipX: f(ne), tipY: f(ne), armX: f(2 * na), armY: f(2 * na), like: make([]int, ne),
		load: f(n), q: f(3 * nb), p: f(ne), force: f(na), sin: f(nb), versine: f(nb), link: make([]link, ne),
		links: make([]linkConstants, len(m.links)),
		k:     f(m.Pattern.Len()), residual: f(n), start: newPose(m),
	}
	s.Poses = make([]Pose, m.Poses())
	for i := range s.Poses {
		s.Poses[i] = newPose(m)
	}
	s.octet = newOctet(m)
	for i := range 2 {
		s.column[i], s.slopeQ[i], s.slopeP[i], s.slopeF[i] = f(n), f(3*nb), f(ne), f(na)
	}
	return s
}

// Prepare takes over the dimensions of st, which must outlive the use of s.
func (s *Scratch) Prepare(st *models.Stage) {
	t := s.Model.Topology
	s.Stage = st
	s.size = 0
	for i, b := range t.Blades {
		dx, dy := st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i]
		length := math.Sqrt(dx*dx + dy*dy)
		s.like[i] = s.sameBlade(st, i, length)
		if k := s.like[i]; k < i {
			s.Section[i] = s.Section[k]
		} else {
			s.Section[i] = blade.NewSection(length, st.Thickness[i], st.Width[i], st.Young[i], st.Poisson[i], st.BendingFactor[i], st.StretchFactor[i])
			if first, last := s.Model.segments(i); i == first {
				r, t := bladeEnds(st, first, last)
				s.soft = (r.axial + t.axial) / float64(last-first+1)
			}
			s.Section[i].Soften(s.soft)
		}
		s.cosPsi[i], s.sinPsi[i] = dx/length, dy/length
		s.rootX[i], s.rootY[i] = st.RootX[i]-st.X[b.From], st.RootY[i]-st.Y[b.From]
		s.tipX[i], s.tipY[i] = st.TipX[i]-st.X[b.To], st.TipY[i]-st.Y[b.To]
		s.size = max(s.size, length)
	}
	if s.beside == nil || !s.scaleLinks(st) {
		s.prepareLinks(st)
	}
	for k := range t.Actuators {
		for end := range 2 {
			b, _, _ := s.Model.actuatorEnd(k, end)
			s.armX[2*k+end], s.armY[2*k+end] = st.ActX[k]-st.X[b], st.ActY[k]-st.Y[b]
		}
	}
	clear(s.load)
	for _, l := range st.Loads {
		if node := s.Model.Node[l.Body]; node >= 0 {
			s.load[3*node+int(l.Axis)] += l.Value
		}
	}
}

// Like returns the first blade that is the same as blade i, with the same ends and fillets: itself where there is none before it. Segments of blades are
// not compared.
func (s *Scratch) Like(i int) int { return s.like[i] }

// sameBlade returns the first blade like i, of a length, among those that are like none before them, of which it looks at a few.
func (s *Scratch) sameBlade(st *models.Stage, i int, length float64) int {
	const most = 8
	for k, seen := 0, 0; k < i && seen < most && s.Model.Topology.Segments <= 1; k++ {
		if s.like[k] != k {
			continue
		}
		seen++
		if s.Section[k].Length == length && st.Thickness[k] == st.Thickness[i] && st.Width[k] == st.Width[i] && st.Young[k] == st.Young[i] && st.Poisson[k] == st.Poisson[i] &&
			st.BendingFactor[k] == st.BendingFactor[i] && st.StretchFactor[k] == st.StretchFactor[i] && st.Fillet[k] == st.Fillet[i] && st.Density[k] == st.Density[i] &&
			st.Yields[k] == st.Yields[i] && st.RootBar[k] == st.RootBar[i] && st.TipBar[k] == st.TipBar[i] {
			return k
		}
	}
	return i
}
