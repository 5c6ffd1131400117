package servo

import "math"

// Export is a plant with its controllers, to be written as JSON: SI units, frequencies in rad/s where the name says so.
//
//	P_oj(s) = Σ_k out_ok actuator_jk/(s² + 2 damping_k ω_k s + ω_k²)
//	C(s)    = gain Π(1 + s/z)/Π(1 + s/p) · notches · e^(−s delay_s), a pole at 0 standing for 1/s
//
// with mass-normalised shapes at the actuators and, as outputs, at the encoder, the stage, or their difference, the gap.
// The loop is closed on the stage, on the encoder, or (split) on the stage's signal through 1/(1 + s/(2π split_hz)) and the encoder's through the
// rest.
type Export struct {
	Poses           []ExportPose       `json:"poses"`
	Delay           float64            `json:"delay_s"`
	Sensor          string             `json:"sensor"`
	Split           float64            `json:"split_hz,omitempty"`
	Crossover       float64            `json:"crossover_hz"`
	Bandwidth       float64            `json:"bandwidth_hz"`
	ClosedLoop      float64            `json:"closed_loop_frequency_hz"`
	SensitivityMost float64            `json:"sensitivity_limit"`
	Scales          []float64          `json:"frequency_scales"`
	OtherAxis       string             `json:"other_axis,omitempty"`
	Braking         float64            `json:"actuator_damping_n_s_per_m,omitempty"`
	Controllers     []ExportController `json:"controllers"`
}

// ExportPose is the plant at one pose; its modes are in ascending order. Of each kind there is a list per driven axis, x before y.
type ExportPose struct {
	X        float64     `json:"x_m"`
	Y        float64     `json:"y_m"`
	Payload  *float64    `json:"stage_added_mass_kg,omitempty"` // of the payload's extremes
	Omega    []float64   `json:"omega_rad_s"`
	Damping  []float64   `json:"damping"`
	Actuator [][]float64 `json:"actuator"` // kg^-1/2
	Encoder  [][]float64 `json:"encoder"`  // kg^-1/2
	Stage    [][]float64 `json:"stage"`    // kg^-1/2
	Gap      [][]float64 `json:"gap"`      // encoder less stage, kg^-1/2
	Floor    [][]float64 `json:"floor"`    // φᵀM e, kg^1/2: motion against the frame per its acceleration, negative
}

// ExportController is the controller of one axis.
type ExportController struct {
	Axis     string        `json:"axis"`
	Gain     float64       `json:"gain"` // N/(m s): of the integrator
	Zeros    []float64     `json:"zeros_rad_s"`
	Poles    []float64     `json:"poles_rad_s"`
	Notches  []ExportNotch `json:"notches"`
	Discrete Discrete      `json:"discrete"`
}

// ExportNotch is (s² + 2 ζ depth ω s + ω²)/(s² + 2 ζ ω s + ω²) with ζ the damping.
type ExportNotch struct {
	Hz      float64 `json:"hz"`
	Depth   float64 `json:"depth"`
	Damping float64 `json:"damping"`
}

// Discrete is Σ b_i z^−i/Σ a_i z^−i with a_0 = 1, the delay left out.
type Discrete struct {
	Sample float64   `json:"sample_s"`
	B      []float64 `json:"b"`
	A      []float64 `json:"a"`
}

// Export returns the plants last given to the loop, and its controllers at the crossover hz with the shape in use. at
// are the poses' positions in m, payload the mass on the stage of every plant after the first, in kg, sample the controller's
// period in s. It allocates. ok is false when a sensor does not see its axis.
func (l *Loop) Export(hz float64, plants []*Plant, at [][2]float64, payload []float64, sample float64) (x Export, ok bool) {
	t, ok := l.trial(2 * math.Pi * hz)
	if !ok {
		return x, false
	}
	s := &l.s
	x = Export{
		Delay: s.Delay, Sensor: s.Sensor.String(), Crossover: hz, SensitivityMost: s.SensitivityLimit, Scales: s.Scales,
		OtherAxis: "closed", Braking: s.ActuatorDamping,
	}
	x.Bandwidth, x.ClosedLoop, _ = l.Frequencies(hz)
	if s.Sensor == SensorSplit {
		x.Split = s.SplitFrequency
	}
	switch {
	case l.axes == 1:
		x.OtherAxis = ""
	case s.OtherAxisOpen:
		x.OtherAxis = "open"
	}
	for set, p := range plants {
		for pose := range p.Poses {
			e := ExportPose{X: at[pose][0], Y: at[pose][1]}
			for _, list := range []*[][]float64{&e.Actuator, &e.Encoder, &e.Stage, &e.Gap, &e.Floor} {
				*list = make([][]float64, l.axes)
			}
			if set > 0 {
				e.Payload = &payload[set-1]
			}
			for k := range p.Modes {
				n := pose*p.Modes + k
				e.Omega, e.Damping = append(e.Omega, p.Omega[n]), append(e.Damping, s.Damping)
				for i := range l.axes {
					e.Actuator[i] = append(e.Actuator[i], p.Force[2*n+i])
					e.Encoder[i] = append(e.Encoder[i], p.Arm[2*n+i])
					e.Stage[i] = append(e.Stage[i], p.Stage[2*n+i])
					e.Gap[i] = append(e.Gap[i], p.Arm[2*n+i]-p.Stage[2*n+i])
					e.Floor[i] = append(e.Floor[i], p.Floor[2*n+i])
				}
			}
			x.Poses = append(x.Poses, e)
		}
	}
	for axis, k := range []float64{t.kx, t.ky}[:l.axes] {
		x.Controllers = append(x.Controllers, s.controller([2]string{"x", "y"}[axis], k, t.wc, sample))
	}
	return x, true
}

// controller lists the corners: k (1 + ωc/(a s)) is (k ωc/a)(1 + s a/ωc)/s.
func (s *Settings) controller(axis string, k, wc, sample float64) ExportController {
	corner := wc / s.IntegratorRatio
	c := ExportController{Axis: axis, Gain: k * corner, Zeros: []float64{corner}, Poles: []float64{0, s.TamingRatio * wc}, Notches: []ExportNotch{}}
	if s.LeadRatio > 0 {
		c.Zeros = append(c.Zeros, wc/s.LeadRatio)
	}
	if !math.IsInf(s.LowPassRatio, 1) {
		c.Poles = append(c.Poles, s.LowPassRatio*wc)
	}
	for _, n := range s.Notches {
		c.Notches = append(c.Notches, ExportNotch{n.Frequency, n.Depth, 0.5 * n.Width})
	}
	c.Discrete = c.discretise(wc, sample)
	return c
}

// discretise puts s = κ (z − 1)/(z + 1), κ = ωc/tan(ωc T/2): the bilinear (Tustin) rule, exact at the crossover ωc:
// common practice, tried in a test that evaluates both at z = exp(jωT). Valid below half the sample rate: where it is
// not, it is left out.
func (c *ExportController) discretise(wc, sample float64) Discrete {
	d := Discrete{Sample: sample, B: []float64{c.Gain}, A: []float64{1}}
	if !(wc*sample < math.Pi) {
		return Discrete{Sample: sample, B: []float64{}, A: []float64{}}
	}
	kappa := wc / math.Tan(0.5*wc*sample)
	difference := []float64{kappa, -kappa} // s (1 + z⁻¹)
	sum := []float64{1, 1}
	corner := func(w float64) []float64 { return []float64{1 + kappa/w, 1 - kappa/w} }
	for _, z := range c.Zeros {
		d.B = product(d.B, corner(z))
		d.A = product(d.A, sum)
	}
	for _, p := range c.Poles {
		if p == 0 {
			d.A = product(d.A, difference)
		} else {
			d.A = product(d.A, corner(p))
		}
		d.B = product(d.B, sum)
	}
	for _, n := range c.Notches {
		w := 2 * math.Pi * n.Hz
		d.B = product(d.B, quadratic(kappa, w, n.Damping*n.Depth))
		d.A = product(d.A, quadratic(kappa, w, n.Damping))
	}
	lead := d.A[0]
	for i := range d.B {
		d.B[i] /= lead
	}
	for i := range d.A {
		d.A[i] /= lead
	}
	return d
}

// quadratic is (s² + 2 ζ ω s + ω²)(1 + z⁻¹)².
func quadratic(kappa, w, zeta float64) []float64 {
	a, b, c := kappa*kappa, 2*zeta*w*kappa, w*w
	return []float64{a + b + c, 2 * (c - a), a - b + c}
}

// product multiplies polynomials in z⁻¹.
func product(a, b []float64) []float64 {
	c := make([]float64, len(a)+len(b)-1)
	for i, x := range a {
		for j, y := range b {
			c[i+j] += x * y
		}
	}
	return c
}

// Response is the controller's at hz with a delay, s.
func (c *ExportController) Response(hz, delay float64) complex128 {
	w := 2 * math.Pi * hz
	s := complex(0, w)
	v := complex(c.Gain, 0)
	for _, z := range c.Zeros {
		v *= 1 + s/complex(z, 0)
	}
	for _, p := range c.Poles {
		if p == 0 {
			v /= s
		} else {
			v /= 1 + s/complex(p, 0)
		}
	}
	for _, n := range c.Notches {
		o := 2 * math.Pi * n.Hz
		v *= complex(o*o-w*w, 2*n.Damping*n.Depth*o*w) / complex(o*o-w*w, 2*n.Damping*o*w)
	}
	sin, cos := math.Sincos(w * delay)
	return v * complex(cos, -sin)
}

// Response is that of an output, one of Encoder, Stage and Gap, along an axis to the force on that axis, m/N.
func (p *ExportPose) Response(output [][]float64, axis int, hz float64) (v complex128) {
	w := 2 * math.Pi * hz
	for k, o := range p.Omega {
		v += complex(output[axis][k]*p.Actuator[axis][k], 0) / complex(o*o-w*w, 2*p.Damping[k]*o*w)
	}
	return v
}
