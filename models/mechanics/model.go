package mechanics

import (
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
	held   []heldUnknown // unknowns denied to moving bodies
	free   []int         // the others, 3 node + axis, ascending
	// prescribed coordinates of the stage (AxisX, AxisY): as many as actuators
	prescribed []models.Axis
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
		if b.Held == models.HeldAll {
			continue
		}
		m.Node[i] = len(m.Body)
		for axis := models.AxisX; axis <= models.AxisYaw; axis++ {
			if b.Held.Has(axis) {
				m.held = append(m.held, heldUnknown{len(m.Body), int(axis)})
			} else {
				m.free = append(m.free, 3*len(m.Body)+int(axis))
			}
		}
		m.Body = append(m.Body, i)
	}
	var edges [][2]int
	for _, b := range t.Blades {
		if b.From == b.To {
			panic("mechanics: blade from a body to itself")
		}
		if i, j := m.Node[b.From], m.Node[b.To]; i >= 0 && j >= 0 {
			edges = append(edges, [2]int{i, j})
		}
	}
	m.Pattern = dense.NewPattern(len(m.Body), edges)
	for _, b := range t.Blades {
		bb := bladeBlocks{root: b.From, tip: b.To, rootNode: m.Node[b.From], tipNode: m.Node[b.To], couple: -1}
		if bb.rootNode >= 0 && bb.tipNode >= 0 {
			bb.couple, bb.coupleFlips = m.Pattern.Block(bb.rootNode, bb.tipNode)
		}
		m.blades = append(m.blades, bb)
	}
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

// Unknowns is the number of in-plane unknowns: three per moving body.
func (m *Model) Unknowns() int { return 3 * len(m.Body) }
