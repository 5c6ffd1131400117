package mechanics

import (
	"math"

	"flexwright/models"
	"flexwright/models/blade"
)

// rangeOfBlades checks that every blade is inside the range of the blade model.
func (s *Scratch) rangeOfBlades(pose *Pose) models.Verdict {
	const slack = 1 + 1e-7 // the iteration's tolerance: a value on the bound is inside
	for i := range pose.P {
		p, w := pose.RootP[i]/slack, math.Abs(pose.W[i])/slack
		switch {
		case p < blade.MinAxial:
			return models.Verdict{Status: models.OutOfRange, Format: reasonAxial, Index: i, Blades: s.Model.Topology, Value: p, Bound: blade.MinAxial}
		case p > blade.MaxAxial:
			return models.Verdict{Status: models.OutOfRange, Format: reasonAxial, Index: i, Blades: s.Model.Topology, Value: p, Bound: blade.MaxAxial}
		case w > blade.MaxDeflection:
			return models.Verdict{Status: models.OutOfRange, Format: reasonDeflects, Index: i, Blades: s.Model.Topology, Value: w, Bound: blade.MaxDeflection}
		}
	}
	return models.Verdict{}
}

// MisesFactor returns von Mises's stress over the largest principal one at an end of
// blade e ([blade.ClampMises]); 1, the beam's, where no fillet is known.
func (s *Scratch) MisesFactor(e int) float64 {
	if s.Stage.Fillet[e] == 0 {
		return 1
	}
	return blade.ClampMises(s.Stage.Poisson[e])
}

// StressFactor returns what the largest principal stress at an end of blade e is over that of
// plain bending, M t/2I: the fillet's concentration ([models.StressConcentration]) times
// the plate factor across the width ([blade.ClampStress]); 1 where no fillet is known.
func (s *Scratch) StressFactor(e int) float64 {
	st := s.Stage
	if st.Fillet[e] == 0 {
		return 1
	}
	length := float64(max(s.Model.Topology.Segments, 1)) * s.Section[e].Length
	return models.StressConcentration(st.Fillet[e]/st.Thickness[e]) * blade.ClampStress(st.Width[e]/length, st.Poisson[e])
}

// WholeCompliance returns L²/EI of the whole blade that e is, or is a segment of, with the E I of the blade's ends, 1/N: times the
// axial force it is what the blade's stability goes by.
func (s *Scratch) WholeCompliance(e int) float64 {
	first, last := s.Model.segments(e)
	end := &s.Section[first]
	length := float64(last-first+1) * end.Length
	return length * length / end.EI
}

// At finds the equilibrium with the stage at (x, y), m, from rest, without
// actuators under the loads alone, and fills pose.
func (s *Scratch) At(pose *Pose, x, y float64) {
	clear(s.q)
	clear(s.p)
	clear(s.force)
	s.solve(0, pose, x, y)
}

// NewPose returns room for a pose of m.
func NewPose(m *Model) *Pose {
	p := newPose(m)
	return &p
}

// Statics solves all poses of ±travel, in the order of [PoseSigns], and
// returns the worst verdict; it stops at the first pose that is not solved.
//
// Those off the centre are iterated side by side, from the centre's tangent. Where one of them does not settle soon, all are found
// one after the other.
func (s *Scratch) Statics(travel float64) models.Verdict {
	s.found++
	clear(s.q)
	clear(s.p)
	clear(s.force)
	centre := &s.Poses[0]
	s.solve(0, centre, 0, 0)
	if !centre.Verdict.OK() {
		return centre.Verdict
	}
	s.slopes(centre)
	if s.octet == nil || !s.octet.solve(s, travel) {
		return s.oneByOne(travel)
	}
	for i := range s.Poses {
		if v := s.Poses[i].Verdict; !v.OK() {
			return v
		}
	}
	return models.Verdict{}
}

// oneByOne solves the poses off the centre, which has been solved.
//
// A pose is predicted from those before it. The centre's tangent gives the part
// that is odd in the travel; what (t, 0) shows beyond it is even and carries
// over to (-t, 0); a corner is the sum of its two axes.
func (s *Scratch) oneByOne(travel float64) models.Verdict {
	for i := 1; i < len(s.Poses); i++ {
		sx, sy := PoseSigns[i][0], PoseSigns[i][1]
		switch i {
		case 1:
			s.predict(0, 0, travel, -1, -1)
		case 2:
			s.predict(1, 0, -2*travel, -1, -1)
		case 3:
			s.predict(0, 1, travel, -1, -1)
		case 4:
			s.predict(3, 1, -2*travel, -1, -1)
		case 5:
			s.predict(1, 0, 0, 3, 0)
		case 6:
			s.predict(2, 0, 0, 3, 0)
		case 7:
			s.predict(1, 0, 0, 4, 0)
		case 8:
			s.predict(2, 0, 0, 4, 0)
		}
		pose := &s.Poses[i]
		s.solve(i, pose, sx*travel, sy*travel)
		if !pose.Verdict.OK() {
			return pose.Verdict
		}
	}
	return models.Verdict{}
}

// predict sets the iterate to pose from, plus by times the slope along axis,
// plus, when plus is not negative, the difference of the poses plus and minus.
func (s *Scratch) predict(from, axis int, by float64, plus, minus int) {
	f := &s.Poses[from]
	copy(s.q, f.Q)
	copy(s.p, f.P)
	copy(s.force, f.Force)
	if by != 0 {
		addScaled(s.q, by, s.slopeQ[axis])
		addScaled(s.p, by, s.slopeP[axis])
		addScaled(s.force, by, s.slopeF[axis])
	}
	if plus >= 0 {
		a, b := &s.Poses[plus], &s.Poses[minus]
		addDifference(s.q, a.Q, b.Q)
		addDifference(s.p, a.P, b.P)
		addDifference(s.force, a.Force, b.Force)
	}
}

// slopes stores how everything moves per metre of the prescribed coordinates,
// from the tangent at pose, whose columns driveStiffness has just left.
func (s *Scratch) slopes(pose *Pose) {
	m := s.Model
	for i, axis := range m.prescribed {
		q, p, f := s.slopeQ[axis], s.slopeP[axis], s.slopeF[axis]
		d := s.residual
		clear(d)
		for k := range m.prescribed {
			f[k] = pose.Drive[2*k+i]
			addScaled(d, f[k], s.column[k])
		}
		clear(q)
		for node, b := range m.Body {
			copy(q[3*b:3*b+3], d[3*node:3*node+3])
		}
		for e := range p {
			p[e] = s.axialStep(e, d)
		}
	}
}

func addScaled(to []float64, by float64, x []float64) {
	for i := range to {
		to[i] += by * x[i]
	}
}

func addDifference(to, a, b []float64) {
	for i := range to {
		to[i] += a[i] - b[i]
	}
}
