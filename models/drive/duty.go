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
func (d *Duty) scaled(p *Program, a *Actuator, load *Load, stiffness float64, hold bool) {
	if hold {
		p.hold(a, load, stiffness, d)
		return
	}
	travel := load.Field.Travel
	r20, ikf := a.Resistance(), 1/a.ForceConstant
	for axis := range load.axes() {
		p0, sum := 0.0, 0.0
		for i := range p.samples {
			part, weight := &d.parts[i][axis], p.samples[i].weight
			f := stiffness*part.static + part.moving
			d.PeakForce[axis] = math.Max(d.PeakForce[axis], math.Abs(f))
			sum += weight * f * f
			p0 += weight * f * f / (part.weakening * part.weakening)
		}
		d.RMSForce[axis] = math.Max(d.RMSForce[axis], math.Sqrt(sum))
		hot := d.heat(a, axis, p0)
		for i := range p.samples {
			part := &d.parts[i][axis]
			f, rate := stiffness*part.static+part.moving, stiffness*part.staticRate+part.movingRate
			current := ikf / part.weakening
			u := hot*(r20*f*current) + (a.Inductance*rate*current + a.ForceConstant*part.weakening*p.samples[i].v[axis]*travel)
			d.Voltage[axis] = math.Max(d.Voltage[axis], math.Abs(u))
		}
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
func (load *Load) forceAt(a *Actuator, s *sample, parts *[2]forces) {
	var x, y basis
	x.at(s.p[0])
	y.at(s.p[1])
	travel := load.Field.Travel
	f, rate := load.Field.at(&x, &y, s.v[0], s.v[1])
	for axis := range 2 {
		parts[axis] = forces{
			f[axis], rate[axis],
			travel * (load.Mass[axis]*s.a[axis] + load.Damping[axis]*s.v[axis] + a.StiffnessAlong*s.p[axis]),
			travel * (load.Mass[axis]*s.j[axis] + load.Damping[axis]*s.a[axis] + a.StiffnessAlong*s.v[axis]),
			a.Weakening(s.p[axis] * travel),
		}
	}
}

// hold takes each axis at the pose where its force, weakened, is largest, among the
// nine scaled by the amplitude.
func (p *Program) hold(a *Actuator, load *Load, stiffness float64, d *Duty) {
	var peak, worst [2]float64
	for n := range 9 {
		var parts [2]forces
		load.forceAt(a, p.end(n), &parts)
		for axis := range load.axes() {
			f := math.Abs(stiffness*parts[axis].static + parts[axis].moving)
			peak[axis] = math.Max(peak[axis], f)
			worst[axis] = math.Max(worst[axis], f/parts[axis].weakening)
		}
	}
	for axis := range load.axes() {
		d.PeakForce[axis] = math.Max(d.PeakForce[axis], peak[axis])
		d.RMSForce[axis] = d.PeakForce[axis]
		hot := d.heat(a, axis, worst[axis]*worst[axis])
		d.Voltage[axis] = math.Max(d.Voltage[axis], a.Resistance()*hot*worst[axis]/a.ForceConstant)
	}
}

// end is one of the nine poses scaled by the amplitude, at rest.
func (p *Program) end(n int) *sample {
	return &sample{p: [2]float64{p.Motion.Amplitude * float64(n%3-1), p.Motion.Amplitude * float64(n/3-1)}}
}
