package drive

import "math"

// Load is what a candidate asks of its actuators.
type Load struct {
	Field   Field      // static force over the travel, prepared
	Mass    [2]float64 // kg moved along each axis, moving mass of the actuator included
	Damping [2]float64 // mechanical, N s/m
	OneAxis bool       // nothing is driven along y: its numbers are 0
	// Scales are factors on the frequencies of the modes, whose squares the static force is multiplied with: everything is
	// the worst over them, so that no design profits from a resonance that meets the program by chance. nil: 1 alone.
	Scales []float64
}

// axes is the number of those that are driven.
func (load *Load) axes() int {
	if load.OneAxis {
		return 1
	}
	return 2
}

// Duty is what a program does to the actuators of both axes.
type Duty struct {
	PeakForce [2]float64 // N
	RMSForce  [2]float64 // N
	Power     [2]float64 // W dissipated by the warm coil
	Rise      [2]float64 // K, temperature rise of the coil
	Voltage   [2]float64 // V, peak, with the warm coil's resistance
	Overheats [2]bool    // the coil heats without bound: Power, Rise and Voltage are +Inf

	parts [][2]forces // by sample and axis; kept from call to call
}

// forces at one moment on one axis.
type forces struct {
	static, staticRate float64 // N, N/s, of the field
	moving, movingRate float64 // of mass, damping and magnet
	weakening          float64 // of the force constant
	current            float64 // A/N
	induced            float64 // V, by the motion
}

// Duty runs the program with a travel of load.Field.Travel:
//
//	F(t) = m a + c v + f² F_static(x, y) + k_along u
//	i = F/(Kf g), P0 = mean of (F/(Km g))², g = 1 − FallOff (2u/Stroke)²
//	ΔT as in [Actuator.Rise], P = P0 (1 + α ΔT)
//	U = R (1 + α ΔT) i + L di/dt + Kf g v
//
// with u taken as the stage's position along the axis, for each frequency scale f, and keeps the
// worst of each number; with FallOff 0, P0 =
// (F_rms/Km)². The static force is that of the mechanics; k_along is the magnet's and
// must not be contained in it. Beyond the stroke g stays at its value at the end. For
// Hold each axis is judged at its own worst of the nine poses. The heat is an average
// over the period: thermal time constants are taken as long against it (common
// practice; for Hold it is exact). It allocates only when d meets a longer program
// than before.
func (p *Program) Duty(a *Actuator, load *Load, d *Duty) {
	p.DutyOfBoth(&[2]*Actuator{a, a}, load, d)
}

// DutyOfBoth is Duty of axes with unlike actuators.
func (p *Program) DutyOfBoth(a *[2]*Actuator, load *Load, d *Duty) {
	*d = Duty{parts: d.parts}
	hold := p.Motion.Kind == Hold
	if n := len(p.samples); len(d.parts) < n {
		d.parts = make([][2]forces, n)
	}
	for i := range p.samples {
		load.forceAt(a, &p.samples[i], &d.parts[i])
	}
	if len(load.Scales) == 0 {
		d.scaled(p, a, load, 1, hold)
	}
	for _, scale := range load.Scales {
		d.scaled(p, a, load, scale*scale, hold)
	}
}

// scaled adds a stiffness that is so many times the nominal.
func (d *Duty) scaled(p *Program, actuators *[2]*Actuator, load *Load, stiffness float64, hold bool) {
	if hold {
		p.hold(actuators, load, stiffness, d)
		return
	}
	for axis, a := range actuators[:load.axes()] {
		r20 := a.Resistance()
		p0, sum, peak, highest := 0.0, 0.0, 0.0, 0.0
		for i := range p.samples {
			part, weight := &d.parts[i][axis], p.samples[i].weight
			f := stiffness*part.static + part.moving
			peak = max(peak, math.Abs(f))
			square := weight * f * f
			sum += square
			if a.FallOff == 0 {
				p0 += square
			} else {
				p0 += square / (part.weakening * part.weakening)
			}
		}
		hot := d.heat(a, axis, p0)
		for i := range p.samples {
			part := &d.parts[i][axis]
			f, rate := stiffness*part.static+part.moving, stiffness*part.staticRate+part.movingRate
			u := hot*(r20*f*part.current) + (a.Inductance*rate*part.current + part.induced)
			highest = max(highest, math.Abs(u))
		}
		d.PeakForce[axis], d.RMSForce[axis] = max(d.PeakForce[axis], peak), max(d.RMSForce[axis], math.Sqrt(sum))
		d.Voltage[axis] = max(d.Voltage[axis], highest)
	}
}

// heat adds power and rise of the mean of (F/g)² and returns the hot coil's
// resistance over that at 20 °C.
func (d *Duty) heat(a *Actuator, axis int, meanSquare float64) float64 {
	p0 := meanSquare / (a.MotorConstant * a.MotorConstant)
	rise, ok := a.Rise(p0)
	hot := 1 + CopperCoefficient*(a.Ambient-Reference+rise)
	power := p0 * hot
	if !ok {
		power = math.Inf(1)
	}
	d.Overheats[axis] = d.Overheats[axis] || !ok
	d.Rise[axis], d.Power[axis] = math.Max(d.Rise[axis], rise), math.Max(d.Power[axis], power)
	return hot
}

// Weakening is the force constant at u, m from the middle, relative to that in the
// middle; beyond the stroke that at its end.
func (a *Actuator) Weakening(u float64) float64 {
	x := math.Min(2*math.Abs(u)/a.Stroke, 1)
	return 1 - a.FallOff*x*x
}

// forceAt splits the forces of a sample and their rates of change.
func (load *Load) forceAt(actuators *[2]*Actuator, s *sample, parts *[2]forces) {
	travel := load.Field.Travel
	f, rate := load.Field.at(&s.bases[0], &s.bases[1], s.v[0], s.v[1])
	for axis, a := range actuators {
		weakening := a.Weakening(s.p[axis] * travel)
		parts[axis] = forces{
			f[axis], rate[axis],
			travel * (load.Mass[axis]*s.a[axis] + load.Damping[axis]*s.v[axis] + a.StiffnessAlong*s.p[axis]),
			travel * (load.Mass[axis]*s.j[axis] + load.Damping[axis]*s.a[axis] + a.StiffnessAlong*s.v[axis]),
			weakening, 1 / a.ForceConstant / weakening, a.ForceConstant * weakening * s.v[axis] * travel,
		}
	}
}

// hold takes each axis at the pose where its force, weakened, is largest, among the
// nine scaled by the amplitude.
func (p *Program) hold(actuators *[2]*Actuator, load *Load, stiffness float64, d *Duty) {
	var peak, worst [2]float64
	for n := range 9 {
		var parts [2]forces
		load.forceAt(actuators, p.end(n), &parts)
		for axis := range load.axes() {
			f := math.Abs(stiffness*parts[axis].static + parts[axis].moving)
			peak[axis] = math.Max(peak[axis], f)
			worst[axis] = math.Max(worst[axis], f/parts[axis].weakening)
		}
	}
	for axis, a := range actuators[:load.axes()] {
		d.PeakForce[axis] = math.Max(d.PeakForce[axis], peak[axis])
		d.RMSForce[axis] = d.PeakForce[axis]
		hot := d.heat(a, axis, worst[axis]*worst[axis])
		d.Voltage[axis] = math.Max(d.Voltage[axis], a.Resistance()*hot*worst[axis]/a.ForceConstant)
	}
}

// end is one of the nine poses scaled by the amplitude, at rest.
func (p *Program) end(n int) *sample {
	s := &sample{p: [2]float64{p.Motion.Amplitude * float64(n%3-1), p.Motion.Amplitude * float64(n/3-1)}}
	s.lay()
	return s
}
