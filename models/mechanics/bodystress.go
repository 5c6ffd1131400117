package mechanics

import "math"

// BeamStress returns the largest nominal stress, Pa, at the ends of the beams that bodies are made of, at a
// solved pose; 0 where bodies are rigid. With N along a beam and M in the plane, from the force
// that a link's second part takes at its origin (see [Scratch.assembleLinks]),
//
//	σ = |N|/(b h) + 6 |M|/(b h²)
//
// (S. P. Timoshenko, Strength of Materials, part I, 3rd ed., 1955, ch. 4 and 8), each times what pockets leave less of the
// section. Corners add to it locally: a factor of 1.5 to 3, common practice. Bars that blades stand on are not looked at.
func (s *Scratch) BeamStress(pose *Pose) (stress float64) {
	for i := range s.Model.links {
		lb, c := &s.Model.links[i], &s.links[i]
		qa, qb := pose.Q[3*lb.from:3*lb.from+3:3*lb.from+3], pose.Q[3*lb.to:3*lb.to+3:3*lb.to+3]
		half := math.Sin(qa[2] / 2)
		sin, v := 2*half*math.Sqrt(1-half*half), 2*half*half // below a quarter turn; 1 - cos
		_, _, fx, fy, m := c.pull(qb[0]-qa[0], qb[1]-qa[1], qb[2]-qa[2], sin, v)
		l := &s.Stage.Links[i]
		x, y := s.Stage.X[lb.from]+c.rhoX, s.Stage.Y[lb.from]+c.rhoY // of the second part, unloaded
		for j := range l.N {
			b := &l.Beams[j]
			moment := max(math.Abs(m+(x-b.X0)*fy-(y-b.Y0)*fx), math.Abs(m+(x-b.X1)*fy-(y-b.Y1)*fx))
			along := math.Abs(c.cos[j]*fx + c.sin[j]*fy)
			area := b.Depth * b.Height
			if n := along/area*(1+b.Flexing.Axial) + 6*moment/(area*b.Height)*(1+b.Flexing.Bend); n > stress {
				stress = n
			}
		}
	}
	return stress
}
