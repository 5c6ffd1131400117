package layoutfile

import "slices"

// root is the end of a blade on a body.
type root struct {
	blade *blade
	frame frame // of the blade's copy, in that of the body
	tip   bool
}

// roots gives each shape the ends of the blades on it. Copies of a body that differ
// in these become shapes of their own.
func (l *Layout) roots() {
	on := make([][]root, len(l.topology.Bodies))
	for i := range l.blades {
		b := &l.blades[i]
		for k, e := range b.numbers {
			spec := l.topology.Blades[e]
			on[spec.From] = append(on[spec.From], root{b, b.frames[k], false})
			on[spec.To] = append(on[spec.To], root{b, b.frames[k], true})
		}
	}
	var shapes []shape
	for i := range l.shapes {
		s := &l.shapes[i]
		first := len(shapes)
		for k, body := range s.bodies {
			ends := slices.Clone(on[body])
			for j := range ends {
				ends[j].frame = ends[j].frame.in(s.frames[k].inverse())
			}
			at := first + slices.IndexFunc(shapes[first:], func(o shape) bool { return slices.Equal(o.roots, ends) })
			if at < first {
				at = len(shapes)
				alone := *s
				alone.roots, alone.bodies, alone.frames = ends, nil, nil
				alone.masses = make([]mass, len(s.masses))
				shapes = append(shapes, alone)
			}
			shapes[at].take(s, k)
			shapes[at].stage = shapes[at].stage || body == l.topology.Stage
		}
	}
	l.shapes = shapes
}

// take adds copy k of a shape to s, which is drawn alike.
func (s *shape) take(from *shape, k int) {
	s.bodies, s.frames = append(s.bodies, from.bodies[k]), append(s.frames, from.frames[k])
	for i, m := range from.masses {
		on := append(s.masses[i].on, m.on == nil || m.on[k])
		s.masses[i] = m
		s.masses[i].on = on
	}
}
