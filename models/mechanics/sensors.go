package mechanics

import (
	"math"

	"flexwright/models"
)

// A topology may say where its axes are read ([models.SensorSpec]): by an encoder on a body, and by a gap sensor that
// this body carries, which looks at the stage. What the two read together is the stage's motion at the probe, and,
// where encoder and probe do not lie on one line along the axis, the turn of the body that carries both times the distance
// between these lines. An encoder on the stage itself is read alone. What is not said is as without sensors: an axis is read where
// it is pushed, and the stage at the point of interest.

// Rows that follow the others where a topology has sensors.
const (
	RowEncoder  = NumRows     // as the encoder of axis k reads it: RowEncoder + k
	RowSensed   = NumRows + 2 // as encoder and gap sensor of axis k read it together: RowSensed + k
	rowsSensing = NumRows + 4
)

// rowWidth is the number of rows of a topology's modes.
func rowWidth(t *models.Topology) int {
	if t.Sensors == nil {
		return NumRows
	}
	return rowsSensing
}

// Encoder is the shape of mode k as the encoder of an axis reads it, kg^-1/2.
func (m *Modes) Encoder(k, axis int) float64 {
	if m.Width == NumRows {
		return m.Rows[k*m.Width+RowActuator+axis]
	}
	return m.Rows[k*m.Width+RowEncoder+axis]
}

// Sensed is the shape of mode k as encoder and gap sensor of an axis read it together.
func (m *Modes) Sensed(k, axis int) float64 {
	if m.Width == NumRows {
		return m.Rows[k*m.Width+RowPointX+axis]
	}
	return m.Rows[k*m.Width+RowSensed+axis]
}

// reading is a point of a body, at rest and by its height, whose motion counts with a sign.
type reading struct {
	body    int
	sign    float64
	x, y, z float64 // m
}

// encoderOf is what the encoder of axis k reads: its point, against what it is read from.
func encoderOf(t *models.Topology, st *models.Stage, k int) (list [2]reading, n int) {
	s := &t.Sensors[k]
	list[0] = reading{s.Body, 1, st.EncX[k], st.EncY[k], st.EncZ[k]}
	if s.From == 0 {
		return list, 1
	}
	list[1] = list[0]
	list[1].body, list[1].sign = s.From-1, -1
	return list, 2
}

// gapOf is what the gap sensor of axis k reads: the stage at the probe, against the body that carries it.
func gapOf(t *models.Topology, st *models.Stage, k int) [2]reading {
	at := reading{t.Stage, 1, st.GapX[k], st.GapY[k], st.GapZ[k]}
	from := at
	from.body, from.sign = t.Sensors[k].Body, -1
	return [2]reading{at, from}
}

// moves is how far a reading's point moves at a pose, m.
func (s *Scratch) moves(pose *Pose, r *reading) (x, y float64) {
	q := pose.Q[3*r.body:]
	sin, cos := math.Sincos(q[2])
	versine := sin * sin / (1 + cos)
	ax, ay := r.x-s.Stage.X[r.body], r.y-s.Stage.Y[r.body]
	return r.sign * (q[0] - versine*ax - sin*ay), r.sign * (q[1] + sin*ax - versine*ay)
}

// Encoder returns what the encoder of axis k sees at a pose, m, along x and y.
func (s *Scratch) Encoder(pose *Pose, k int) (x, y float64) {
	if s.Model.Topology.Sensors == nil {
		return s.ActuatorMotion(pose, k)
	}
	list, n := encoderOf(s.Model.Topology, s.Stage, k)
	for i := range n {
		dx, dy := s.moves(pose, &list[i])
		x, y = x+dx, y+dy
	}
	return x, y
}

// Gap returns what the gap sensor of axis k sees at a pose, m, along x and y; ok is false without a place for it.
func (s *Scratch) Gap(pose *Pose, k int) (x, y float64, ok bool) {
	t := s.Model.Topology
	if t.Sensors == nil || !t.Sensors[k].Gap {
		return 0, 0, false
	}
	list := gapOf(t, s.Stage, k)
	for i := range list {
		dx, dy := s.moves(pose, &list[i])
		x, y = x+dx, y+dy
	}
	return x, y, true
}

// eachReading visits what the rows in which axes are read add up: readings, and for an axis whose stage nothing looks at the
// point of interest.
func eachReading(t *models.Topology, st *models.Stage, add func(to int, r reading, axis models.Axis), point func(to int, axis models.Axis)) {
	for k := range t.Sensors {
		s, axis := &t.Sensors[k], t.Actuators[k].Axis
		list, n := encoderOf(t, st, k)
		for _, r := range list[:n] {
			add(RowEncoder+k, r, axis)
			if s.Gap || s.Alone {
				add(RowSensed+k, r, axis)
			}
		}
		switch {
		case s.Gap:
			for _, r := range gapOf(t, st, k) {
				add(RowSensed+k, r, axis)
			}
		case !s.Alone:
			point(RowSensed+k, axis)
		}
	}
}

// sensorRows adds the rows in which axes are read, in the plane.
func (d *Dynamics) sensorRows(pose *Pose, rows []float64) {
	m, st := d.s.Model, d.s.Stage
	eachReading(m.Topology, st, func(to int, r reading, axis models.Axis) {
		node := m.Node[r.body]
		if node < 0 {
			return
		}
		sin, cos := math.Sincos(pose.Q[3*r.body+2])
		ax, ay := r.x-st.X[r.body], r.y-st.Y[r.body]
		x, y := cos*ax-sin*ay, sin*ax+cos*ay
		at := 3*node*d.width + to
		if axis == models.AxisX {
			rows[at] += r.sign
			rows[at+2*d.width] -= r.sign * y
		} else {
			rows[at+d.width] += r.sign
			rows[at+2*d.width] += r.sign * x
		}
	}, func(to int, axis models.Axis) {
		for at := 0; at < len(rows); at += d.width {
			rows[at+to] = rows[at+RowPointX+int(axis)]
		}
	})
}

// sensorTilts writes what the heights of sensors add to their rows, on the unknowns out of the plane, as [Dynamics.actuatorTilts].
func (d *Dynamics) sensorTilts(rows []float64, first, width int) {
	m, stage := d.upright, d.upright.Topology.Stage
	add := func(to int, r reading, axis models.Axis) {
		node := m.Node[r.body]
		switch {
		case node < 0:
		case axis == models.AxisX:
			rows[(first+3*node+2)*width+to] += r.sign * r.z
		default:
			rows[(first+3*node+1)*width+to] -= r.sign * r.z
		}
	}
	eachReading(m.Topology, d.s.Stage, add, func(to int, axis models.Axis) {
		add(to, reading{body: stage, sign: 1, z: d.Point[2]}, axis)
	})
}
