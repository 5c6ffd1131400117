package servo_test

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/models/servo"
)

// solvedPlant solves the reference assembly at ±5 mm by the mechanics and takes its
// modes; blade mass times factor.
func solvedPlant(t *testing.T, bladeMass float64) *servo.Plant {
	data, err := os.ReadFile("../../testdata/reference/four_arm.json")
	if err != nil {
		t.Fatal(err)
	}
	var f struct {
		Bodies []struct {
			Name     string
			Position []float64 `json:"position_m"`
			Mass     float64   `json:"mass_kg"`
			Inertia  []float64 `json:"inertia_kg_m2"`
			Fixed    bool
		}
		Blades []struct {
			From, To  string
			Root      [2]float64 `json:"root_m"`
			Tip       [2]float64 `json:"tip_m"`
			Thickness float64    `json:"thickness_m"`
			Width     float64    `json:"width_m"`
			Young     float64    `json:"youngs_modulus_pa"`
			Poisson   float64    `json:"poisson_ratio"`
			Density   float64    `json:"density_kg_m3"`
			Factor    float64    `json:"bending_factor"`
		}
		Stage     string
		Actuators []struct{ Body, Axis string }
	}
	if err := json.Unmarshal(data, &f); err != nil {
		t.Fatal(err)
	}
	top, number := &models.Topology{}, map[string]int{}
	for i, b := range f.Bodies {
		number[b.Name] = i
		spec := models.BodySpec{Name: b.Name}
		if b.Fixed {
			spec.Held = models.HeldAll
		}
		top.Bodies = append(top.Bodies, spec)
	}
	for _, b := range f.Blades {
		top.Blades = append(top.Blades, models.BladeSpec{From: number[b.From], To: number[b.To]})
	}
	for k, a := range f.Actuators {
		top.Actuators = append(top.Actuators, models.ActuatorSpec{Body: number[a.Body], Axis: models.Axis(k)})
	}
	top.Stage = number[f.Stage]
	st := models.NewStage(top)
	for i, b := range f.Bodies {
		st.X[i], st.Y[i] = b.Position[0], b.Position[1]
		if !b.Fixed {
			st.Mass[i], st.Ix[i], st.Iy[i], st.Iz[i] = b.Mass, b.Inertia[0], b.Inertia[1], b.Inertia[2]
		}
	}
	for i, b := range f.Blades {
		st.RootX[i], st.RootY[i], st.TipX[i], st.TipY[i] = b.Root[0], b.Root[1], b.Tip[0], b.Tip[1]
		st.Thickness[i], st.Width[i], st.Young[i], st.Poisson[i] = b.Thickness, b.Width, b.Young, b.Poisson
		st.Density[i], st.BendingFactor[i] = b.Density*bladeMass, b.Factor
	}
	for k, a := range top.Actuators {
		st.ActX[k], st.ActY[k] = st.X[a.Body], st.Y[a.Body]
	}
	s := mechanics.NewScratch(mechanics.NewModel(top))
	s.Prepare(st)
	if v := s.Statics(5e-3); !v.OK() {
		t.Fatal(v.Reason())
	}
	d := mechanics.NewDynamics(s)
	d.Prepare()
	if v := d.Frequencies(); !v.OK() {
		t.Fatal(v.Reason())
	}
	p := servo.NewPlant(mechanics.NumPoses, d.Modes[0].Count)
	for i := range d.Modes {
		m := &d.Modes[i]
		for k := range m.Count {
			n, row := i*m.Count+k, m.Rows[k*mechanics.NumRows:]
			p.Omega[n] = m.Omega[k]
			for axis := range 2 {
				p.Force[2*n+axis], p.Arm[2*n+axis] = row[mechanics.RowActuator+axis], row[mechanics.RowActuator+axis]
				p.Stage[2*n+axis] = row[mechanics.RowStageX+axis]
			}
		}
	}
	return p
}

// The whole way from bodies and blades to the bandwidth. Without blade mass, against
// the modes of the Python route: its element measures the blades against the root's
// tangent, ours against the chord, 0.3 % in the stiffness at 5 mm and less in
// frequency, but a crossover that a resonance ends moves by more than that (1 %). With
// it (an eighth of the guide bodies' mass) frequencies fall by 2.5 to 3 %, the
// bandwidth with them.
func TestBandwidthFromMechanics(t *testing.T) {
	for _, c := range []struct {
		sensor servo.Sensor
		hz     float64
	}{{servo.SensorStage, 14.89}, {servo.SensorSplit, 33.68}, {servo.SensorArm, 12.46}} {
		s := servo.Default()
		s.Sensor = c.sensor
		var hz [2]float64
		for i, mass := range []float64{0, 1} {
			p := solvedPlant(t, mass)
			l, err := servo.NewLoop(s, p.Poses, p.Modes, 1)
			if err != nil {
				t.Fatal(err)
			}
			r := l.Crossover(p)
			hz[i] = r.Hz
			t.Logf("sensor %v, blade mass × %g: %+v", c.sensor, mass, r)
		}
		if math.Abs(hz[0]/c.hz-1) > 0.01 {
			t.Errorf("sensor %v: %.2f Hz without blade mass, want %.2f", c.sensor, hz[0], c.hz)
		}
		if r := hz[1] / hz[0]; r < 0.93 || r > 1.01 {
			t.Errorf("sensor %v: blade mass takes the bandwidth from %.2f to %.2f Hz", c.sensor, hz[0], hz[1])
		}
	}
}
