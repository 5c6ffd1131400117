package mechanics

import (
	"sync"

	"flexwright/models"
	"flexwright/models/dense"
)

// Model is what the mechanics derives from a topology: which body is which
// unknown, and the pattern of the stiffness matrix. It is read-only.
type Model struct {
	Topology *models.Topology
	// Pattern of in-plane matrices: one node per moving body, three unknowns
	// each (x, y, yaw). Out of plane the same pattern serves z, roll, pitch.
	Pattern *dense.Pattern
	Node    []int // per body: its node, -1 for a fixed body
	Body    []int // per node: its body

	blades []bladeBlocks
	links  []linkBlocks
	edges  [][2]int // between nodes
	// bodies on springs, in the order of models.Stage.Springs
	mounted []int
	// Reductions in the plane and out of it, nil where no motion follows
	plane, upright *dense.Reduction
	held           []heldUnknown // unknowns denied to moving bodies
	free           []int         // the others, 3 node + axis, ascending
	// prescribed coordinates of the stage (AxisX, AxisY): as many as actuators
	prescribed []models.Axis

	octetOnce sync.Once
	octetPlan *octetPlan // see [Model.octet]
}

// bladeBlocks is where a blade's tangent goes. Offsets into a matrix over the
// pattern, -1 where the body is fixed.
type bladeBlocks struct {
	root, tip   int // bodies
	rootNode    int // -1 when fixed
	tipNode     int
	couple      int  // block between them, -1 when one is fixed or both are the same
	coupleFlips bool // the block's rows belong to the tip
}

type heldUnknown struct{ node, axis int }

// NewModel prepares a topology. It panics on a blade that joins a body to
// itself, on more than two actuators, and on a prescribed coordinate of the
// stage that is held: whoever reads topologies from users refuses these.
func NewModel(t *models.Topology) *Model {
	m := &Model{Topology: t, Node: make([]int, len(t.Bodies))}
	for i, b := range t.Bodies {
		m.Node[i] = -1
		if b.Fixed() {
			continue
		}
		if b.Mounted {
			m.mounted = append(m.mounted, i)
		}
		m.Node[i] = len(m.Body)
		for axis := models.AxisX; axis <= models.AxisYaw; axis++ {
			if b.Held.Has(axis) && !b.Mounted {
				m.held = append(m.held, heldUnknown{len(m.Body), int(axis)})
			} else {
				m.free = append(m.free, 3*len(m.Body)+int(axis))
			}
		}
		m.Body = append(m.Body, i)
	}
	for _, b := range t.Blades {
		if b.From == b.To {
			panic("mechanics: blade from a body to itself")
		}
		if i, j := m.Node[b.From], m.Node[b.To]; i >= 0 && j >= 0 {
			m.edges = append(m.edges, [2]int{i, j})
		}
	}
	for _, l := range t.Links {
		if l.From == l.To || m.Node[l.To] < 0 {
			panic("mechanics: a link leads to a part that does not move")
		}
		if i, j := m.Node[l.From], m.Node[l.To]; i >= 0 {
			m.edges = append(m.edges, [2]int{i, j})
		}
	}
	for k := range t.Actuators {
		_, i, _ := m.actuatorEnd(k, 0)
		_, j, _ := m.actuatorEnd(k, 1)
		if i == j && i >= 0 {
			panic("mechanics: an actuator pushes a body from itself")
		}
		if i >= 0 && j >= 0 {
			m.edges = append(m.edges, [2]int{i, j})
		}
	}
	m.Pattern = dense.NewPattern(len(m.Body), m.edges)
	for _, b := range t.Blades {
		bb := bladeBlocks{root: b.From, tip: b.To, rootNode: m.Node[b.From], tipNode: m.Node[b.To], couple: -1}
		if bb.rootNode >= 0 && bb.tipNode >= 0 {
			bb.couple, bb.coupleFlips = m.Pattern.Block(bb.rootNode, bb.tipNode)
		}
		m.blades = append(m.blades, bb)
	}
	for _, l := range t.Links {
		lb := linkBlocks{from: l.From, to: l.To, fromNode: m.Node[l.From], toNode: m.Node[l.To], couple: -1}
		if lb.fromNode >= 0 {
			lb.couple, lb.coupleFlips = m.Pattern.Block(lb.fromNode, lb.toNode)
		}
		m.links = append(m.links, lb)
	}
	m.plane, m.upright = m.reduction(0), m.reduction(3)
	switch len(t.Actuators) {
	case 0:
	case 1:
		m.prescribed = []models.Axis{t.Actuators[0].Axis}
	case 2:
		m.prescribed = []models.Axis{models.AxisX, models.AxisY}
	default:
		panic("mechanics: more than two actuators")
	}
	for _, axis := range m.prescribed {
		if t.Bodies[t.Stage].Held.Has(axis) {
			panic("mechanics: a prescribed coordinate of the stage is held")
		}
	}
	return m
}

// reduction prepares that of the motions from first on, x or z; nil where none follows in the plane and they are many.
func (m *Model) reduction(first int) *dense.Reduction {
	fate := make([]dense.Fate, 3*len(m.Body))
	any := first == 3 || len(fate) <= mostSideBySide
	for node, b := range m.Body {
		spec := m.Topology.Bodies[b]
		for axis := range 3 {
			switch {
			case first == 0 && spec.Held.Has(models.Axis(axis)) && !spec.Mounted:
				fate[3*node+axis] = dense.Drop
			case spec.Follows>>(first+axis)&1 == 1 && b != m.Topology.Stage:
				fate[3*node+axis] = dense.Follow
				any = true
			}
		}
	}
	if !any {
		return nil
	}
	return dense.NewReduction(m.Pattern, m.edges, fate)
}

// segments returns the first and the last segment of the blade that e is a part of.
func (m *Model) segments(e int) (first, last int) {
	n := max(m.Topology.Segments, 1)
	first = e / n * n
	return first, first + n - 1
}

// Poses is the number of positions of the workspace: [NumPoses], or, of a stage with
// one driven axis, which is x, the first three of them.
func (m *Model) Poses() int {
	if len(m.Topology.Actuators) == 1 {
		return 3
	}
	return NumPoses
}

// Unknowns is the number of in-plane unknowns: three per moving body.
func (m *Model) Unknowns() int { return 3 * len(m.Body) }
