package models

import "math"

// Mount is what the frame of a plate stands on: springs between it and the base that
// actuators, sensors and weight's reaction belong to. The frame then moves as a rigid body
// on them, of its own mass.
//
// The springs stand under the four corners of the footprint, a quarter of each stiffness in
// each: with h half of the footprint's longer side they make Z h² about x and about y and
// 2 XY h² about z, all about the frame's centre of mass, in the mid-plane.
type Mount struct {
	Z  float64 // all four together along z, N/m; +Inf: rigid
	XY float64 // all four together along x, and along y, N/m; +Inf: rigid
}

// rigidMount stands for +Inf, N/m: a hundred times what blades of a plate carry.
const rigidMount = 1e11

// springs are those of a frame whose footprint's longer side is given, m: see [Stage.Springs].
func (m Mount) springs(footprint float64) [6]float64 {
	z, xy, h := min(m.Z, rigidMount), min(m.XY, rigidMount), footprint/2
	return [6]float64{xy, xy, 2 * xy * h * h, z, z * h * h, z * h * h}
}

// mounted is a layout on a mount.
type mounted struct {
	Layout
	mount    Mount
	topology *Topology
	frame    int
}

// OnMount returns the layout l with its frame, the fixed body, on a mount.
func OnMount(l Layout, m Mount) Layout {
	t := *l.Topology()
	t.Bodies = append([]BodySpec(nil), t.Bodies...)
	for i := range t.Bodies {
		if t.Bodies[i].Held == HeldAll {
			t.Bodies[i].Mounted = true
			return &mounted{l, m, &t, i}
		}
	}
	panic("models: a layout without a fixed body on a mount")
}

// MountedBefore returns how many bodies before body i are mounted: the number of its springs.
func (t *Topology) MountedBefore(i int) int {
	n := 0
	for _, b := range t.Bodies[:i] {
		if b.Mounted {
			n++
		}
	}
	return n
}

func (l *mounted) Topology() *Topology { return l.topology }

// Rigid is what the plate is drawn from.
func (l *mounted) Rigid() Layout { return Rigid(l.Layout) }

// Build implements [Layout].
func (l *mounted) Build(d *Design, st *Stage) Verdict {
	if v := l.Layout.Build(d, st); !v.OK() {
		return v
	}
	st.Springs[0] = l.mount.springs(st.Frame)
	// What of the frame is in its links is there
	for i, spec := range l.topology.Links {
		if spec.From != l.frame {
			continue
		}
		for k := range st.Links[i].N {
			st.takeBeam(l.frame, &st.Links[i].Beams[k])
		}
	}
	return Verdict{}
}

// takeBeam takes the metal of a beam along x or y from a body.
func (s *Stage) takeBeam(body int, b *Beam) {
	length := b.End - b.Begin
	m := b.Density * b.Depth * b.Height * length
	dx, dy := b.X1-b.X0, b.Y1-b.Y0
	at := (b.Begin + b.End) / 2 / (math.Abs(dx) + math.Abs(dy))
	along, across, deep := m*length*length/12, m*b.Height*b.Height/12, m*b.Depth*b.Depth/12
	s.AddMass(body, -m, b.X0+at*dx, b.Y0+at*dy, 0)
	s.Iz[body] -= along + across
	if dx == 0 {
		along, across = across, along
	}
	s.Ix[body] -= across + deep
	s.Iy[body] -= along + deep
}
