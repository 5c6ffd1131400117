package layoutfile

import (
	"fmt"
	"strings"

	"flexwright/models"
)

// Sensor says where an axis is read: by an encoder at a point of a body, in the frame of that body, or, the body being the
// stage, where the gap sensor looks at it from the body that the encoder reads.
type Sensor struct {
	Kind   Text // encoder or gap
	Axis   models.Axis
	Body   Text
	From   *Text // the body that an encoder reads against; nil: the ground
	X, Y   Text
	Height *Text
}

// Kinds of sensors.
const (
	Encoder   = "encoder"
	GapSensor = "gap"
)

// sensing is where one axis is read.
type sensing struct{ encoder, gap readingPoint }

type readingPoint struct {
	x, y, height int // registers; height -1: mid-plane
	frame        frame
	given        bool
}

// sensors makes the sensors of a layout that says where its axes are read. What it does not say is as where it says
// nothing: the encoder reads where the actuator pushes.
func (c *compiler) sensors(movable func(name *Text, what string) (int, *body, int)) {
	l, t := c.layout, c.layout.topology
	if len(c.file.Sensors) == 0 {
		return
	}
	l.sensors = make([]sensing, len(t.Actuators))
	for _, a := range t.Actuators {
		t.Sensors = append(t.Sensors, models.SensorSpec{Body: a.Body, From: a.From})
	}
	for i := range c.file.Sensors {
		q := &c.file.Sensors[i]
		what := fmt.Sprintf("%s of %s", sensorWord(q.Kind.Value), q.Axis)
		k := -1
		var axes []string
		for j, a := range t.Actuators {
			axes = append(axes, a.Axis.String())
			if a.Axis == q.Axis {
				k = j
			}
		}
		if k < 0 {
			c.refuse(&q.Kind, 0, "axis: "+strings.Join(axes, ", "), "no actuator pushes along "+q.Axis.String())
			continue
		}
		point := &l.sensors[k].encoder
		if q.Kind.Value == GapSensor {
			point = &l.sensors[k].gap
		}
		if point.given {
			c.refuse(&q.Kind, 0, "one of each kind for each axis", "there are two sensors: "+what)
			continue
		}
		point.given = true
		n, b, copied := movable(&q.Body, "the "+what)
		if b != nil {
			point.frame = b.frameOf(copied)
		}
		c.formula(&point.x, &q.X, length, "the "+what)
		c.formula(&point.y, &q.Y, length, "the "+what)
		c.optional(&point.height, q.Height, length, "the "+what)
		if n < 0 {
			continue
		}
		if q.Kind.Value == Encoder {
			t.Sensors[k].Body, t.Sensors[k].From = n, c.against(q, n, what)
			t.Sensors[k].Alone = n == t.Stage
			continue
		}
		t.Sensors[k].Gap = true
		if n != t.Stage && c.file.Stage != nil {
			c.refuse(&q.Body, 0, "the stage", "the "+what+" looks at "+q.Body.Value)
		}
		if q.From != nil {
			c.refuse(q.From, 0, "nothing: it looks from the body that the encoder reads", "the "+what+" has from")
		}
	}
	for i := range c.file.Sensors {
		q := &c.file.Sensors[i]
		for k, a := range t.Actuators {
			if a.Axis == q.Axis && q.Kind.Value == GapSensor && t.Sensors[k].Body == t.Stage && c.file.Stage != nil {
				c.refuse(&q.Kind, 0, "no gap sensor; or an encoder on another body", "the encoder of "+q.Axis.String()+" reads the stage itself: there is no gap")
			}
		}
	}
}

func sensorWord(kind string) string {
	if kind == GapSensor {
		return "gap sensor"
	}
	return kind
}

// against is 1 + the number of the moving body that an encoder reads against; 0 for the ground.
func (c *compiler) against(q *Sensor, body int, what string) int {
	if q.From == nil {
		return 0
	}
	from, _, _ := c.find(q.From, nil, 0, true)
	switch {
	case from < 0:
	case from == body:
		c.refuse(q.From, 0, "another body", "the "+what+" reads "+q.Body.Value+" against itself")
	case c.layout.topology.Bodies[from].Held != models.HeldAll:
		return 1 + from
	}
	return 0
}

// fillSensors writes where the axes of a stage are read, once its actuators are there.
func (l *Layout) fillSensors(st *models.Stage, r *registers) {
	for k := range l.sensors {
		s := &l.sensors[k]
		st.EncX[k], st.EncY[k], st.EncZ[k] = st.ActX[k], st.ActY[k], st.ActZ[k]
		if s.encoder.given {
			st.EncX[k], st.EncY[k], st.EncZ[k] = s.encoder.at(r)
		}
		st.GapX[k], st.GapY[k], st.GapZ[k] = 0, 0, 0
		if s.gap.given {
			st.GapX[k], st.GapY[k], st.GapZ[k] = s.gap.at(r)
		}
	}
}

func (p *readingPoint) at(r *registers) (x, y, z float64) {
	x, y = p.frame.apply(r[p.x], r[p.y])
	if p.height >= 0 {
		z = r[p.height]
	}
	return x, y, z
}
