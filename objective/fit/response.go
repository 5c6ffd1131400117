package fit

import (
	"math"
	"math/cmplx"

	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// matrix is a response of two outputs to two forces, row-major.
type matrix [4]complex128

// response is a point of a frequency response.
func (m *Model) response(p *place, q *Quantity) (float64, bool) {
	axis := int(q.Axis)
	plant := m.plant(p, 2*math.Pi*q.Hz)
	v := plant[3*axis] * complex(m.constant, 0)
	switch q.Kind {
	case OpenLoop, OpenLoopPhase, ClosedLoop, ClosedLoopPhase:
		v *= m.controllers[axis].Response(q.Hz, m.settings.Delay)
		if q.Kind >= ClosedLoop {
			v /= 1 + v
		}
	}
	if cmplx.IsNaN(v) || cmplx.IsInf(v) {
		return 0, false
	}
	switch q.Kind {
	case ResponsePhase, OpenLoopPhase, ClosedLoopPhase:
		return cmplx.Phase(v), true
	}
	return cmplx.Abs(v), true
}

// plant is the response at the loop's sensor, m/N, with the actuators' brake c:
// P (1 + iωc P_pushed)⁻¹.
func (m *Model) plant(p *place, w float64) matrix {
	var arm, stage, pushed matrix // at encoders, encoders with gap sensors, actuators
	for k := range p.rows.Count {
		row := p.rows.Rows[k*p.rows.Width : (k+1)*p.rows.Width]
		o := p.rows.Omega[k]
		share := 1 / complex(o*o-w*w, 2*m.settings.Damping*m.damping*o*w)
		for i := range 2 {
			for j := range 2 {
				in := row[mechanics.RowActuator+j]
				arm[2*i+j] += share * complex(p.rows.Encoder(k, i)*in, 0)
				stage[2*i+j] += share * complex(p.rows.Sensed(k, i)*in, 0)
				pushed[2*i+j] += share * complex(row[mechanics.RowActuator+i]*in, 0)
			}
		}
	}
	out := arm
	switch m.settings.Sensor {
	case servo.SensorStage:
		out = stage
	case servo.SensorSplit:
		low := 1 / complex(1, w/(2*math.Pi*m.settings.SplitFrequency))
		for i := range out {
			out[i] = low*stage[i] + (1-low)*arm[i]
		}
	}
	if c := m.brake(); c > 0 {
		s := complex(0, w*c)
		a, b, d, e := 1+s*pushed[0], s*pushed[1], s*pushed[2], 1+s*pushed[3]
		det := a*e - b*d
		out = matrix{
			(out[0]*e - out[1]*d) / det, (out[1]*a - out[0]*b) / det,
			(out[2]*e - out[3]*d) / det, (out[3]*a - out[2]*b) / det,
		}
	}
	return out
}
