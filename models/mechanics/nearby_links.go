package mechanics

import (
	"math"

	"flexwright/models"
)

// Beside makes the links that s prepares next those of the nominal stage, scaled, where depth, Young's
// modulus and density are all that differs: what they do in the plane goes with depth times modulus,
// and with depth times density. Out of the plane they are then as if they were not there. nil ends that.
func (s *Scratch) Beside(nominal *Nearby) {
	s.beside = nil
	if nominal != nil {
		s.beside = nominal.of
	}
}

// LinksAnew computes the links of the stage that s was prepared with, out of the plane too, where they were scaled.
func (s *Scratch) LinksAnew() {
	if s.beside != nil {
		s.prepareLinks(s.Stage)
	}
}

// scaleLinks is prepareLinks beside another stage; false where the links differ in more.
func (s *Scratch) scaleLinks(st *models.Stage) bool {
	o := s.beside
	s.linked++
	for i, l := range s.Model.Topology.Links {
		stiffness, mass, ok := timesLink(&st.Links[i], &o.Stage.Links[i])
		if !ok {
			return false
		}
		c, of := &s.links[i], &o.links[i]
		*c = linkConstants{rhoX: st.X[l.To] - st.X[l.From], rhoY: st.Y[l.To] - st.Y[l.From], cos: of.cos, sin: of.sin, definite: of.definite}
		s.size = max(s.size, math.Abs(c.rhoX), math.Abs(c.rhoY))
		// the origins are centres of mass, and move with what is mounted
		from := moved(st.X[l.From]-o.Stage.X[l.From], st.Y[l.From]-o.Stage.Y[l.From])
		to := moved(st.X[l.To]-o.Stage.X[l.To], st.Y[l.To]-o.Stage.Y[l.To])
		add := func(sum, m *plane3, times float64, left, right *plane3) {
			scaled := *m
			for k := range scaled {
				scaled[k] *= times
			}
			addCongruent(sum[:], left, &scaled, right)
		}
		add(&c.in, &of.in, stiffness, &to, &to)
		add(&c.inMass[0], &of.inMass[0], mass, &from, &from)
		add(&c.inMass[1], &of.inMass[1], mass, &to, &to)
		add(&c.inMass[2], &of.inMass[2], mass, &to, &from)
	}
	return true
}

// moved is what takes the motion of a part's origin that has moved by (x, y) to the origin that it had.
func moved(x, y float64) plane3 { return plane3{1, 0, y, 0, 1, -x, 0, 0, 1} }

// timesLink returns by what stiffness and mass of a link in the plane are more than those of another; false where
// the two differ in more than that.
func timesLink(a, o *models.Link) (stiffness, mass float64, ok bool) {
	if a.N != o.N || a.N == 0 {
		return 0, 0, false
	}
	for i := range a.N {
		p, q := &a.Beams[i], &o.Beams[i]
		alike := *p
		alike.Depth, alike.Young, alike.Density = q.Depth, q.Young, q.Density
		k := p.Depth * p.Young / (q.Depth * q.Young)
		m := k
		if q.Density > 0 {
			m = p.Depth * p.Density / (q.Depth * q.Density)
		}
		if alike != *q {
			return 0, 0, false
		}
		const rounding = 1e-12
		if i > 0 && (!within(k, stiffness, rounding) || !within(m, mass, rounding)) {
			return 0, 0, false
		}
		stiffness, mass = k, m
	}
	return stiffness, mass, true
}

func within(a, b, relative float64) bool { return a-b <= relative*b && b-a <= relative*b }
