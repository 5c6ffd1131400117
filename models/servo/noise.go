package servo

import (
	"errors"
	"fmt"
	"math"
	"sort"

	"flexwright/models/elementary"
)

// Density is a one-sided amplitude spectral density, in units of the quantity per √Hz: a
// level, or a table that is interpolated on logarithmic axes and held constant outside.
type Density struct {
	Level float64
	Hz    []float64 // ascending, > 0; empty when Level holds at all frequencies
	Value []float64 // > 0
}

// Validate reports a table that is not ascending, positive and complete, and a negative level.
func (d *Density) Validate() error {
	if len(d.Hz) == 0 && len(d.Value) == 0 {
		if !(d.Level >= 0) || math.IsInf(d.Level, 1) {
			return fmt.Errorf("spectral density %g must be finite and not negative", d.Level)
		}
		return nil
	}
	if len(d.Hz) != len(d.Value) {
		return fmt.Errorf("spectral density: %d frequencies, %d values", len(d.Hz), len(d.Value))
	}
	for i := range d.Hz {
		if !(d.Hz[i] > 0) || !(d.Value[i] > 0) || math.IsInf(d.Hz[i]+d.Value[i], 1) || i > 0 && d.Hz[i] <= d.Hz[i-1] {
			return fmt.Errorf("spectral density: row %d must be positive and the frequencies ascending", i+1)
		}
	}
	return nil
}

// Times returns the density scaled by a constant, as of a current by a force constant.
func (d *Density) Times(c float64) Density {
	t := Density{Level: c * d.Level, Hz: d.Hz}
	for _, v := range d.Value {
		t.Value = append(t.Value, c*v)
	}
	return t
}

// squared returns the power density at a frequency in Hz.
func (d *Density) squared(hz float64) float64 {
	n := len(d.Hz)
	if n == 0 {
		return d.Level * d.Level
	}
	i := sort.SearchFloat64s(d.Hz, hz)
	v := 0.0
	switch {
	case i == 0:
		v = d.Value[0]
	case i == n:
		v = d.Value[n-1]
	default:
		x := math.Log(hz/d.Hz[i-1]) / math.Log(d.Hz[i]/d.Hz[i-1])
		v = d.Value[i-1] * elementary.Pow(d.Value[i]/d.Value[i-1], x)
	}
	return v * v
}

func (d *Density) silent() bool { return len(d.Hz) == 0 && d.Level == 0 }

// Disturbances are what shakes the stage, alike and independent on both axes.
type Disturbances struct {
	Amplifier Density // force noise of amplifier and actuator, N/√Hz: current noise × force constant
	// Constant is a factor on both of each axis's force, of the actuators of a part; {0, 0}: 1.
	Constant      [2]float64
	FullScale     float64 // N, range of the force that the converter divides (from −peak to +peak); 0: no converter
	ConverterBits int     // quantisation error FullScale/(2ⁿ√12), white up to half the sample rate
	Encoder       Density // m/√Hz
	EncoderStep   float64 // m, its quantisation error step/√12, white up to half the sample rate
	Gap           Density // m/√Hz, gap sensor between arm and stage
	NoGap         [2]bool // of the axes that are read without one
	Floor         Density // m/s²/√Hz, acceleration of the frame
	Low           float64 // Hz, lower end of the integral
	SampleRate    float64 // Hz, the integral ends at half of it
}

// gaps are the power densities of the gap sensors of both axes, as far as they are heard.
func (d *Disturbances) gaps(hz, heard float64) (both [2]float64) {
	for axis, without := range d.NoGap {
		if !without {
			both[axis] = d.Gap.squared(hz) * heard
		}
	}
	return both
}

// Validate returns all that is wrong with the disturbances.
func (d *Disturbances) Validate() error {
	var all []error
	for _, c := range []struct {
		name string
		d    *Density
	}{{"amplifier", &d.Amplifier}, {"encoder", &d.Encoder}, {"gap sensor", &d.Gap}, {"floor", &d.Floor}} {
		if err := c.d.Validate(); err != nil {
			all = append(all, fmt.Errorf("%s: %w", c.name, err))
		}
	}
	if !(d.FullScale >= 0) || math.IsInf(d.FullScale, 1) {
		all = append(all, fmt.Errorf("converter range %g N must not be negative", d.FullScale))
	}
	if d.FullScale > 0 && (d.ConverterBits < 1 || d.ConverterBits > 32) {
		all = append(all, fmt.Errorf("converter of %d bits: 1 to 32 are possible", d.ConverterBits))
	}
	if !(d.EncoderStep >= 0) || math.IsInf(d.EncoderStep, 1) {
		all = append(all, fmt.Errorf("encoder step %g m must not be negative", d.EncoderStep))
	}
	if !(d.Low > 0) || !(d.SampleRate > 2*d.Low) || math.IsInf(d.SampleRate, 1) {
		all = append(all, fmt.Errorf("integral from %g Hz to half of %g Hz", d.Low, d.SampleRate))
	}
	return errors.Join(all...)
}

// Source is a contribution to the position noise.
type Source uint8

const (
	Amplifier Source = iota
	Converter
	Encoder
	Gap
	Floor
	NumSources
)

var sourceNames = [NumSources]string{"amplifier", "converter", "encoder", "gap sensor", "floor"}

// String returns the name used in tables.
func (s Source) String() string {
	if s >= NumSources {
		panic("servo: unknown source")
	}
	return sourceNames[s]
}

// Budget is the position noise of the stage relative to the frame, 1 σ in m.
type Budget struct {
	Part  [2][NumSources]float64 // of each axis at its worst pose; 0 of one that is not driven
	Total [2]float64             // root of the sum of squares
	Pose  [2]int                 // the worst pose of each axis
}

// noiseSums are the transfer functions that noise needs besides the sensor's.
type noiseSums struct {
	stage, arm, point, pushed                     *modalSum // from force
	floorStage, floorArm, floorPoint, floorPushed *modalSum // from floor acceleration
}

func newNoiseSums(modes int) (n noiseSums) {
	for _, s := range []**modalSum{&n.stage, &n.arm, &n.point, &n.pushed, &n.floorStage, &n.floorArm, &n.floorPoint, &n.floorPushed} {
		*s = newModalSum(modes)
	}
	return n
}

// Noise integrates, at every pose of the first plant last given to [Loop.Prepare] or
// [Loop.Crossover],
//
//	σ² = ∫ Σ_j |H_ij(f)|² G_j(f) df
//
// from d.Low to half the sample rate for each axis i of the stage, with both loops
// closed at the crossover hz (0: both open). With P_m, P_o from force to sensor and
// point of interest and M = (I + C P_m)⁻¹,
//
//	force noise     H = P_o M
//	sensor noise    H = −P_o M C, times the low-pass for the gap sensor of SensorSplit
//	floor           H = Q_o − P_o M C Q_m, Q the response to −Σ φ_out φᵀM e a_floor
//
// The intervals of the grid, crowded around the modes, are integrated by Gauss's
// three-point formula: within 1 % in variance. ok is false when a sensor does not see
// its axis at hz. The loop must be stable.
func (l *Loop) Noise(hz float64, d *Disturbances) (b Budget, ok bool) {
	var t trial
	if hz > 0 {
		if t, ok = l.trial(2 * math.Pi * hz); !ok {
			return b, false
		}
	}
	if l.noise.stage == nil { // once per worker, for briefs that ask for noise
		l.noise = newNoiseSums(l.modes)
	}
	for axis := range l.axes {
		b.Total[axis] = -1
	}
	for pose := range l.poses {
		part := l.poseNoise(l.responses[pose], pose, &t, d)
		for axis := range l.axes {
			sum := 0.0
			for _, v := range part[axis] {
				sum += v
			}
			if total := math.Sqrt(sum); total > b.Total[axis] {
				b.Total[axis], b.Pose[axis] = total, pose
				for i, v := range part[axis] {
					b.Part[axis][i] = math.Sqrt(v)
				}
			}
		}
	}
	return b, true
}

// poseNoise returns variances by axis and source.
func (l *Loop) poseNoise(r *response, pose int, t *trial, d *Disturbances) (v [2][NumSources]float64) {
	n := &l.noise
	far := r.zeta <= farDamping
	floor := r.plant.Floor[2*pose*r.modes : 2*(pose+1)*r.modes]
	n.stage.prepare(r.omega, r.force, r.stage, far)
	n.floorStage.prepare(r.omega, floor, r.stage, far)
	if l.s.Sensor != SensorStage || r.brake > 0 {
		n.arm.prepare(r.omega, r.force, r.arm, far)
		n.floorArm.prepare(r.omega, floor, r.arm, far)
	}
	if p := r.plant.Point; p != nil {
		p = p[2*pose*r.modes : 2*(pose+1)*r.modes]
		n.point.prepare(r.omega, r.force, p, far)
		n.floorPoint.prepare(r.omega, floor, p, far)
	}
	if r.brake > 0 && r.plant.Apart {
		n.pushed.prepare(r.omega, r.force, r.force, far)
		n.floorPushed.prepare(r.omega, floor, r.force, far)
	}
	low, high := 2*math.Pi*d.Low, math.Pi*d.SampleRate
	const outer = 0.77459666924148338 // √(3/5)
	for i := 0; i <= r.n; i++ {
		a, b := low, high
		if i > 0 {
			a = math.Max(low, r.w[i-1])
		}
		if i < r.n {
			b = math.Min(high, r.w[i])
		}
		if a >= b {
			continue
		}
		// in steps where the grid is coarse, and beyond it
		for a < b {
			e := math.Min(b, 1.05*a)
			centre, reach := 0.5*(a+e), 0.5*(e-a)
			l.addPower(r, centre-outer*reach, 5.0/9*reach/(2*math.Pi), t, d, &v)
			l.addPower(r, centre, 8.0/9*reach/(2*math.Pi), t, d, &v)
			l.addPower(r, centre+outer*reach, 5.0/9*reach/(2*math.Pi), t, d, &v)
			a = e
		}
	}
	return v
}

// addPower adds weight (Hz) times the power densities of the stage at w.
func (l *Loop) addPower(r *response, w, weight float64, t *trial, d *Disturbances, v *[2][NumSources]float64) {
	n := &l.noise
	var ps, pa, qs, qa plantValue // force and floor to stage and arm, as the sensors read them
	shaken := !d.Floor.silent()
	n.stage.at(w, r.zeta, r.omega, nil, &ps)
	if shaken {
		n.floorStage.at(w, r.zeta, r.omega, nil, &qs)
	}
	if l.s.Sensor != SensorStage || r.brake > 0 {
		n.arm.at(w, r.zeta, r.omega, nil, &pa)
		if shaken {
			n.floorArm.at(w, r.zeta, r.omega, nil, &qa)
		}
	}
	po, qo := ps, qs // to the point of interest
	if r.plant.Point != nil {
		n.point.at(w, r.zeta, r.omega, nil, &po)
		if shaken {
			n.floorPoint.at(w, r.zeta, r.omega, nil, &qo)
		}
	}
	if r.brake > 0 {
		pb, qb := pa, qa // to the actuators
		if r.plant.Apart {
			n.pushed.at(w, r.zeta, r.omega, nil, &pb)
			if shaken {
				n.floorPushed.at(w, r.zeta, r.omega, nil, &qb)
			}
		}
		// P becomes P M, Q becomes Q − P M jωc Q_b
		m := r.braked(w, &pb)
		c := complex(0, w*r.brake)
		for _, of := range [...]struct{ p, q *plantValue }{{&ps, &qs}, {&pa, &qa}, {&po, &qo}} {
			*of.p = of.p.times(&m)
			back := of.p.times(&qb)
			for i := range back {
				of.q[i] -= c * back[i]
			}
		}
	}
	gap := complex(1, 0)
	pm, qm := ps, qs // at the sensor
	switch l.s.Sensor {
	case SensorArm:
		gap, pm, qm = 0, pa, qa
	case SensorSplit:
		gap = l.lowPart(w)
		pm, qm = ps.joined(&pa, gap), qs.joined(&qa, gap)
	}
	var cx, cy complex128
	if t.wc > 0 {
		q := l.s.shape(w, t.wc) * l.s.lag(w)
		cx = complex(real(q)*t.kx, imag(q)*t.kx)
		cy = complex(real(q)*t.ky, imag(q)*t.ky)
	}
	// P_o M, M = adj(I + C P_m)/det
	a, b, c, e := 1+cx*pm[0], cx*pm[1], cy*pm[2], 1+cy*pm[3]
	det := a*e - b*c
	q := 1 / square(det)
	inv := complex(real(det)*q, -imag(det)*q)
	h := plantValue{
		(po[0]*e - po[1]*c) * inv, (po[1]*a - po[0]*b) * inv,
		(po[2]*e - po[3]*c) * inv, (po[3]*a - po[2]*b) * inv,
	}
	hz := w / (2 * math.Pi)
	rate := 2 / d.SampleRate
	converter := 0.0
	if d.FullScale > 0 {
		step := math.Ldexp(d.FullScale, -d.ConverterBits)
		converter = step * step / 12 * rate
	}
	amplifier := d.Amplifier.squared(hz)
	encoder := d.Encoder.squared(hz) + d.EncoderStep*d.EncoderStep/12*rate
	gaps := d.gaps(hz, square(gap))
	floor := d.Floor.squared(hz)
	forces := [2]float64{1, 1}
	if d.Constant != [2]float64{} {
		forces = [2]float64{d.Constant[0] * d.Constant[0], d.Constant[1] * d.Constant[1]}
	}
	for axis := range 2 {
		hx, hy := h[2*axis], h[2*axis+1]
		force := forces[0]*square(hx) + forces[1]*square(hy)
		sensor := square(hx*cx) + square(hy*cy)
		v[axis][Amplifier] += weight * force * amplifier
		v[axis][Converter] += weight * force * converter
		v[axis][Encoder] += weight * sensor * encoder
		v[axis][Gap] += weight * (square(hx*cx)*gaps[0] + square(hy*cy)*gaps[1])
		if shaken {
			fx := qo[2*axis] - hx*cx*qm[0] - hy*cy*qm[2]
			fy := qo[2*axis+1] - hx*cx*qm[1] - hy*cy*qm[3]
			v[axis][Floor] += weight * (square(fx) + square(fy)) * floor
		}
	}
}
