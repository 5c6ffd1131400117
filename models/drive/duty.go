package drive

//go:generate go run -C ../../.ci/lanes . -what duty -pkg drive -columns ../../models/drive/lanes -out ../../models/drive/lanes_amd64.s -stubs ../../models/drive/lanes_stubs_amd64.go

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

	columns [numDutyColumns][]float64 // by moment of the program, of one axis; kept from call to call
}

// Columns of [Duty].
const (
	dutyStatic     = iota // N, of the field
	dutyRate              // N/s
	dutyMoving            // N, of mass, damping and magnet
	dutyMovingRate        // N/s
	dutyPerForce          // A/N
	dutyPerSquare         // 1 over the square of the force constant's weakening
	dutyInduced           // V, by the motion
	dutySquare            // N², weighted
	dutyHeating           // the same over the square of the weakening
	dutyPeak              // N
	dutyVolts             // V
	numDutyColumns
)

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
	*d = Duty{columns: d.columns}
	scales := load.Scales
	if len(scales) == 0 {
		scales = nominal[:]
	}
	if p.Motion.Kind == Hold {
		for _, scale := range scales {
			p.hold(a, load, scale*scale, d)
		}
		return
	}
	if n := p.moments + spare; len(d.columns[0]) < n {
		for c := range d.columns {
			d.columns[c] = make([]float64, n)
		}
	}
	for axis := range load.axes() {
		d.run(p, a[axis], load, axis, scales)
	}
}

var nominal = [1]float64{1} // scale

// run goes through the moments of the program with one axis.
func (d *Duty) run(p *Program, a *Actuator, load *Load, axis int, scales []float64) {
	n, f, to := p.moments, &load.Field, &d.columns
	forces := p.columns[axis]
	forces[dutyForcesStatic], forces[dutyForcesRate], forces[dutyForcesMoving], forces[dutyForcesMovingRate] = to[dutyStatic], to[dutyRate], to[dutyMoving], to[dutyMovingRate]
	forces[dutyForcesPerForce], forces[dutyForcesPerSquare], forces[dutyForcesInduced] = to[dutyPerForce], to[dutyPerSquare], to[dutyInduced]
	s := [dutyForcesScalars]float64{dutyForcesByTravel: f.Travel, dutyForcesByMass: load.Mass[axis], dutyForcesByDamping: load.Damping[axis],
		dutyForcesBySpring: a.StiffnessAlong, dutyForcesByPerHalf: 2 / a.Stroke, dutyForcesByFallOff: a.FallOff, dutyForcesByConstant: a.ForceConstant}
	copy(s[dutyForcesByForce0:], f.Force[axis][:])
	copy(s[dutyForcesByRestX0:], f.rest[axis][0][:])
	copy(s[dutyForcesByRestY0:], f.rest[axis][1][:])
	dutyForces(&forces, &s, 0, n)

	clear(to[dutyPeak])
	clear(to[dutyVolts])
	scaled := [...][]float64{dutyScaleStatic: to[dutyStatic], dutyScaleMoving: to[dutyMoving], dutyScaleWeight: p.weight, dutyScalePerSquare: to[dutyPerSquare],
		dutyScaleSquare: to[dutySquare], dutyScaleHeating: to[dutyHeating], dutyScalePeak: to[dutyPeak]}
	volts := [...][]float64{dutyVoltageStatic: to[dutyStatic], dutyVoltageMoving: to[dutyMoving], dutyVoltageRate: to[dutyRate], dutyVoltageMovingRate: to[dutyMovingRate],
		dutyVoltagePerForce: to[dutyPerForce], dutyVoltageInduced: to[dutyInduced], dutyVoltageVoltage: to[dutyVolts]}
	for _, scale := range scales {
		stiffness := scale * scale
		dutyScale(&scaled, &[dutyScaleScalars]float64{stiffness}, 0, n)
		square, heating := fold(false, to[dutySquare], to[dutyHeating], n)
		hot := d.heat(a, axis, heating)
		dutyVoltage(&volts, &[...]float64{dutyVoltageByStiffness: stiffness, dutyVoltageByHot: hot * a.Resistance(), dutyVoltageByInductance: a.Inductance}, 0, n)
		d.RMSForce[axis] = max(d.RMSForce[axis], math.Sqrt(square))
	}
	d.PeakForce[axis], d.Voltage[axis] = fold(true, to[dutyPeak], to[dutyVolts], n)
}

// fold returns the sums, or the largest, of the first n numbers, a multiple of eight, of two columns, which it spoils: the further half
// upon the nearer, until one is left.
func fold(peaks bool, a, b []float64, n int) (x, y float64) {
	for n > 1 {
		half := n / 2
		if n > eight {
			half = (half + eight - 1) / eight * eight
		}
		columns := [...][]float64{foldSumsA: a, foldSumsB: a[half:], foldSumsC: b, foldSumsD: b[half:]}
		if peaks {
			foldPeaks(&columns, &[1]float64{}, 0, n-half)
		} else {
			foldSums(&columns, &[1]float64{}, 0, n-half)
		}
		n = half
	}
	return a[0], b[0]
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

// hold takes each axis at the pose where its force, weakened, is largest, among the
// nine scaled by the amplitude.
func (p *Program) hold(actuators *[2]*Actuator, load *Load, stiffness float64, d *Duty) {
	var peak, worst [2]float64
	travel := load.Field.Travel
	for n := range 9 {
		at := p.end(n)
		fx, fy := load.Field.At(at[0]*travel, at[1]*travel)
		for axis, a := range actuators[:load.axes()] {
			f := math.Abs(stiffness*[2]float64{fx, fy}[axis] + travel*a.StiffnessAlong*at[axis])
			peak[axis] = math.Max(peak[axis], f)
			worst[axis] = math.Max(worst[axis], f/a.Weakening(at[axis]*travel))
		}
	}
	for axis, a := range actuators[:load.axes()] {
		d.PeakForce[axis] = math.Max(d.PeakForce[axis], peak[axis])
		d.RMSForce[axis] = d.PeakForce[axis]
		hot := d.heat(a, axis, worst[axis]*worst[axis])
		d.Voltage[axis] = math.Max(d.Voltage[axis], a.Resistance()*hot*worst[axis]/a.ForceConstant)
	}
}

// end is one of the nine poses scaled by the amplitude, in travels.
func (p *Program) end(n int) [2]float64 {
	return [2]float64{p.Motion.Amplitude * float64(n%3-1), p.Motion.Amplitude * float64(n/3-1)}
}
