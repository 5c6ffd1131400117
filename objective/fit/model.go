package fit

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
	"flexwright/objective"
)

// Model predicts what is measured on a built stage from how it differs from its
// design. It belongs to one goroutine.
type Model struct {
	t       *models.Topology
	nominal *models.Stage
	stage   *models.Stage // the nominal one, corrected
	correct *objective.Corrector
	list    []Quantity
	places  []place
	up      mechanics.Upright
	plane   *mechanics.Model
	scratch *mechanics.Scratch
	dynamic *mechanics.Dynamics // nil: nothing of modes or weight is measured
	loads   []models.Load

	settings    servo.Settings // of the loop, as designed
	controllers []servo.ExportController

	// of the last prediction
	damping, constant float64 // factors
}

// place is a position of the stage at which something is measured.
type place struct {
	at     [2]float64
	items  []int // of the list
	modes  bool  // natural frequencies are among them
	shapes bool  // modes by bodies are
	pose   *mechanics.Pose
	rows   *mechanics.Modes
	in     []float64 // rad/s
	out    []float64
	shape  []mechanics.Shape
}

// NewModel returns the model of the design of a pinned spec, with unknowns of these
// kinds and names. The error says why there is none.
func NewModel(spec *objective.Spec, unknowns []objective.Correction, list []Quantity) (*Model, error) {
	t, stage, v := objective.Built(spec)
	if !v.OK() {
		return nil, fmt.Errorf("the design cannot be built: %s", v.Reason())
	}
	m := &Model{t: t, nominal: stage, stage: models.NewStage(t), correct: objective.NewCorrector(t, unknowns), list: list,
		up: spec.Orientation, plane: mechanics.NewModel(t), settings: spec.LoopSettings(t), damping: 1, constant: 1}
	m.scratch = mechanics.NewScratch(m.plane)
	loop := false
	for i := range list {
		q := &list[i]
		info := &Table[q.Kind]
		loop = loop || q.Kind >= OpenLoop
		if !info.Placed {
			continue
		}
		k := slices.IndexFunc(m.places, func(p place) bool { return p.at == q.At })
		if k < 0 {
			k = len(m.places)
			m.places = append(m.places, place{at: q.At, pose: mechanics.NewPose(m.plane)})
		}
		p := &m.places[k]
		p.items = append(p.items, i)
		switch q.Kind {
		case Frequency, OutOfPlaneFrequency, Damping, Response, ResponsePhase, OpenLoop, OpenLoopPhase, ClosedLoop, ClosedLoopPhase:
			p.modes = true
			p.shapes = p.shapes || q.ofBody()
		case Sag:
		default:
			continue
		}
		if m.dynamic == nil {
			m.dynamic = mechanics.NewDynamics(m.scratch)
			m.dynamic.Point, m.dynamic.Up = spec.Interest, spec.Orientation
		}
	}
	for i := range m.places {
		if m.places[i].modes {
			m.places[i].rows = m.dynamic.NewModes()
		}
	}
	if loop {
		own := *spec
		own.Measures = append(slices.Clone(spec.Measures), objective.LoopMeasures...)
		export, ok := objective.NewDetail(&own).Plant()
		if !ok {
			return nil, errors.New("open and closed loops are measured, and no crossover holds for the design")
		}
		m.controllers = export.Controllers
	}
	return m, nil
}

// Predict fills out with what the quantities are, SI, where the unknowns are x; false
// where the stage has no equilibrium or mode there.
func (m *Model) Predict(x, out []float64) bool {
	m.damping, m.constant = 1, 1
	for k := range m.correct.List {
		c := &m.correct.List[k]
		if c.By = x[k]; objective.CorrectionTable[c.Kind].Unit.Dimension == models.Number && !(c.By > -0.95) {
			return false
		}
		switch c.Kind {
		case objective.CorrectDamping:
			m.damping *= 1 + c.By
		case objective.CorrectActuatorConstant:
			m.constant *= 1 + c.By
		}
	}
	m.stage.CopyFrom(m.nominal)
	m.correct.Apply(m.stage)
	if m.up != mechanics.Flat {
		m.loads = append(m.loads[:0], m.nominal.Loads...)
		m.loads = mechanics.AddWeight(m.plane, m.stage, m.up, m.loads)
		m.stage.Loads = m.loads
	}
	m.scratch.Prepare(m.stage)
	if m.dynamic != nil {
		m.dynamic.Prepare()
	}
	for i := range m.list {
		if !Table[m.list[i].Kind].Placed {
			if out[i] = m.anywhere(&m.list[i]); out[i] != out[i] {
				return false // the ground of a layout file has no mass
			}
		}
	}
	for k := range m.places {
		p := &m.places[k]
		if !m.solve(p) {
			return false
		}
		for _, i := range p.items {
			v, ok := m.there(p, &m.list[i])
			if !ok || v != v {
				return false
			}
			out[i] = v
		}
	}
	return true
}

// anywhere is a quantity that hangs on no position.
func (m *Model) anywhere(q *Quantity) float64 {
	st := m.stage
	switch {
	case q.Kind == Thickness:
		return st.Thickness[q.Blade]
	case q.Body != Plate:
		return st.BodyMass(m.t, q.Body)
	}
	sum := 0.0
	for i, b := range m.t.Bodies {
		if b.Part == 0 {
			sum += st.BodyMass(m.t, i) - st.Mounted[i]
		}
	}
	for e := range m.t.Blades {
		sum += st.Density[e] * st.Thickness[e] * st.Width[e] * math.Hypot(st.TipX[e]-st.RootX[e], st.TipY[e]-st.RootY[e])
	}
	return sum
}

// solve finds equilibrium and modes at a place.
func (m *Model) solve(p *place) bool {
	m.scratch.At(p.pose, p.at[0], p.at[1])
	if !p.pose.Verdict.OK() {
		return false
	}
	var v models.Verdict
	if p.modes {
		if p.in, p.out, v = m.dynamic.Lists(p.pose, p.rows); !v.OK() {
			return false
		}
	}
	if p.shapes {
		if p.shape, v = m.dynamic.Shapes(p.pose); !v.OK() {
			return false
		}
	}
	return true
}

// there is a quantity at a place.
func (m *Model) there(p *place, q *Quantity) (float64, bool) {
	pose, axis := p.pose, int(q.Axis)
	const hertz = 1 / (2 * math.Pi)
	switch q.Kind {
	case Force:
		f := pose.Force[axis]
		if q.Current {
			f /= m.constant
		}
		return f, true
	case Stiffness:
		if len(pose.Force) == 1 {
			return pose.Drive[0], true
		}
		return pose.Drive[3*axis], true
	case Frequency:
		if q.Rank > 0 {
			return ranked(p.in, q.Rank, hertz)
		}
		if q.Guided {
			k := [2]int{p.rows.GuidedX, p.rows.GuidedY}[axis]
			return p.rows.Omega[max(k, 0)] * hertz, k >= 0
		}
		w, ok := m.modeOf(p, q.Body)
		return w * hertz, ok
	case OutOfPlaneFrequency:
		return ranked(p.out, q.Rank, hertz)
	case Damping:
		return m.dampingOf(p, q.Rank)
	case Yaw:
		return pose.Q[3*q.Body+2], true
	case Motion:
		if k := m.encoderOf(q.Body); k >= 0 {
			x, y := m.scratch.Encoder(pose, k)
			return [2]float64{x, y}[q.Along], true
		}
		return pose.Q[3*q.Body+int(q.Along)], true
	case LostMotion:
		x, y := m.scratch.Encoder(pose, axis)
		return [2]float64{x, y}[axis] - p.at[axis], true
	case Sag:
		z, ok := m.dynamic.SagOf(pose, q.Body)
		return -z[0], ok
	}
	return m.response(p, q)
}

// ofBody reports whether the quantity is the frequency of the mode that a body moves most in.
func (q *Quantity) ofBody() bool { return q.Kind == Frequency && q.Rank == 0 && !q.Guided }

// ranked is the frequency of a rank, from 1.
func ranked(omega []float64, rank int, scale float64) (float64, bool) {
	if rank > len(omega) {
		return 0, false
	}
	return omega[rank-1] * scale, true
}

// closeModes reports of each quantity whether it is a frequency by rank with a neighbour
// within [doubled] where the unknowns are x.
func (m *Model) closeModes(x []float64) []bool {
	list := make([]bool, len(m.list))
	if !m.Predict(x, make([]float64, len(m.list))) {
		return list
	}
	for k := range m.places {
		p := &m.places[k]
		for _, i := range p.items {
			omega := p.in
			switch q := &m.list[i]; {
			case q.Kind == OutOfPlaneFrequency:
				omega = p.out
				fallthrough
			case q.Kind == Frequency && q.Rank > 0:
				at := q.Rank - 1
				list[i] = at > 0 && omega[at]-omega[at-1] < doubled*omega[at] ||
					at+1 < len(omega) && omega[at+1]-omega[at] < doubled*omega[at]
			}
		}
	}
	return list
}

// encoderOf is the number of the axis whose encoder reads a body; -1: none.
func (m *Model) encoderOf(body int) int {
	if m.t.Sensors != nil {
		return slices.IndexFunc(m.t.Sensors, func(s models.SensorSpec) bool { return s.Body == body })
	}
	return slices.IndexFunc(m.t.Actuators, func(a models.ActuatorSpec) bool { return a.Body == body })
}

// modeOf is the mode in the plane with the largest share of a body's kinetic energy.
func (m *Model) modeOf(p *place, body int) (omega float64, ok bool) {
	largest := 0.0
	for i := range p.shape {
		s := &p.shape[i]
		v := s.Bodies[body]
		energy := m.stage.Mass[body]*(v[0]*v[0]+v[1]*v[1]) + m.stage.Iz[body]*v[2]*v[2]
		if s.Out < 0.5 && energy > largest {
			largest, omega = energy, s.Omega
		}
	}
	return omega, largest > 0
}

// dampingOf is the damping ratio of a mode in the plane: that of the metal, and what
// voltage amplifiers brake, c Σ φ²/2ω over the actuators.
func (m *Model) dampingOf(p *place, rank int) (float64, bool) {
	n := 0
	for k := range p.rows.Count {
		if p.rows.Out[k] >= 0.5 {
			continue
		}
		if n++; n < rank {
			continue
		}
		sum := 0.0
		for a := range m.t.Actuators {
			v := p.rows.Rows[k*p.rows.Width+mechanics.RowActuator+a]
			sum += v * v
		}
		return m.settings.Damping*m.damping + m.brake()*sum/(2*p.rows.Omega[k]), p.rows.Omega[k] > 0
	}
	return 0, false
}

// brake is what each actuator's amplifier brakes, N s/m: the square of its motor
// constant, or nothing.
func (m *Model) brake() float64 { return m.settings.ActuatorDamping * m.constant * m.constant }
