package drive

import "math"

// Load is what a candidate asks of its actuators.
type Load struct {
	Field   Field      // static force over the travel, prepared
	Mass    [2]float64 // kg moved along each axis, moving mass of the actuator included
	Damping [2]float64 // mechanical, N s/m
}

// Duty is what a program does to the actuators of both axes.
type Duty struct {
	PeakForce [2]float64 // N
	RMSForce  [2]float64 // N
	Power     [2]float64 // W dissipated by the warm coil
	Rise      [2]float64 // K, temperature rise of the coil
	Voltage   [2]float64 // V, peak, with the warm coil's resistance
	Overheats [2]bool    // the coil heats without bound: Power, Rise and Voltage are +Inf

	parts [][2][2]float64 // by sample and axis: of the voltage, what grows with the resistance, and the rest; kept from call to call
}

// Duty runs the program with a travel of load.Field.Travel:
//
//	F(t) = m a + c v + F_static(x, y) + k_along u
//	i = F/(Kf g), P0 = mean of (F/(Km g))², g = 1 − FallOff (2u/Stroke)²
//	ΔT as in [Actuator.Rise], P = P0 (1 + α ΔT)
//	U = R (1 + α ΔT) i + L di/dt + Kf g v
//
// with u taken as the stage's position along the axis; with FallOff 0, P0 =
// (F_rms/Km)². The static force is that of the mechanics; k_along is the magnet's and
// must not be contained in it. Beyond the stroke g stays at its value at the end. For
// Hold each axis is judged at its own worst of the nine poses. The heat is an average
// over the period: thermal time constants are taken as long against it (common
// practice; for Hold it is exact). It allocates only when d meets a longer program
// than before.
func (p *Program) Duty(a *Actuator, load *Load, d *Duty) {
	*d = Duty{parts: d.parts}
	if p.Motion.Kind == Hold {
		p.hold(a, load, d)
		return
	}
	travel := load.Field.Travel
	r20, ikf := a.Resistance(), 1/a.ForceConstant
	if n := len(p.samples); len(d.parts) < n {
		d.parts = make([][2][2]float64, n)
	}
	var p0, sum [2]float64
	for i := range p.samples {
		s := &p.samples[i]
		f, rate := load.forceAt(a, s, travel)
		for axis := range 2 {
			g := a.Weakening(s.p[axis] * travel)
			d.PeakForce[axis] = math.Max(d.PeakForce[axis], math.Abs(f[axis]))
			sum[axis] += s.weight * f[axis] * f[axis]
			p0[axis] += s.weight * f[axis] * f[axis] / (g * g)
			current := ikf / g
			d.parts[i][axis] = [2]float64{
				r20 * f[axis] * current,
				a.Inductance*rate[axis]*current + a.ForceConstant*g*s.v[axis]*travel,
			}
		}
	}
	for axis := range 2 {
		d.RMSForce[axis] = math.Sqrt(sum[axis])
		hot := d.heat(a, axis, p0[axis])
		for _, part := range d.parts[:len(p.samples)] {
			d.Voltage[axis] = math.Max(d.Voltage[axis], math.Abs(hot*part[axis][0]+part[axis][1]))
		}
	}
}

// heat fills in power and rise from the mean of (F/g)² and returns the hot coil's
// resistance over that at 20 °C.
func (d *Duty) heat(a *Actuator, axis int, meanSquare float64) float64 {
	p0 := meanSquare / (a.MotorConstant * a.MotorConstant)
	rise, ok := a.Rise(p0)
	hot := 1 + CopperCoefficient*(a.Ambient-Reference+rise)
	d.Rise[axis], d.Overheats[axis] = rise, !ok
	d.Power[axis] = p0 * hot
	if !ok {
		d.Power[axis] = math.Inf(1)
	}
	return hot
}

// Weakening is the force constant at u, m from the middle, relative to that in the
// middle; beyond the stroke that at its end.
func (a *Actuator) Weakening(u float64) float64 {
	x := math.Min(2*math.Abs(u)/a.Stroke, 1)
	return 1 - a.FallOff*x*x
}

// forceAt returns the forces of a sample and their rates of change.
func (load *Load) forceAt(a *Actuator, s *sample, travel float64) (f, rate [2]float64) {
	var x, y basis
	x.at(s.p[0])
	y.at(s.p[1])
	f, rate = load.Field.at(&x, &y, s.v[0], s.v[1])
	for axis := range 2 {
		f[axis] += travel * (load.Mass[axis]*s.a[axis] + load.Damping[axis]*s.v[axis] + a.StiffnessAlong*s.p[axis])
		rate[axis] += travel * (load.Mass[axis]*s.j[axis] + load.Damping[axis]*s.a[axis] + a.StiffnessAlong*s.v[axis])
	}
	return f, rate
}

// hold takes each axis at the pose where its force, weakened, is largest, among the
// nine scaled by the amplitude.
func (p *Program) hold(a *Actuator, load *Load, d *Duty) {
	travel := load.Field.Travel
	var worst [2]float64
	for n := range 9 {
		s := sample{p: [2]float64{p.Motion.Amplitude * float64(n%3-1), p.Motion.Amplitude * float64(n/3-1)}}
		f, _ := load.forceAt(a, &s, travel)
		for axis := range 2 {
			d.PeakForce[axis] = math.Max(d.PeakForce[axis], math.Abs(f[axis]))
			worst[axis] = math.Max(worst[axis], math.Abs(f[axis])/a.Weakening(s.p[axis]*travel))
		}
	}
	for axis := range 2 {
		d.RMSForce[axis] = d.PeakForce[axis]
		hot := d.heat(a, axis, worst[axis]*worst[axis])
		d.Voltage[axis] = a.Resistance() * hot * worst[axis] / a.ForceConstant
	}
}
