package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/drive"
	"flexwright/models/mechanics"
)

// DriveSpec is what a brief says of actuators and motion.
type DriveSpec struct {
	Actuator *drive.Actuator // of both axes; nil: none, its mass and stiffness count as 0
	Motion   *drive.Program
	Damping  float64 // mechanical, of each axis, N s/m
	Life     float64 // of the program, h

	LoopLength      float64 // of the measuring loop, m; 0: half the plate
	FrameResistance float64 // thermal, from both coils to ambient through the frame, K/W
}

// DefaultDrive returns the drive of a silent brief: no actuator, a circle of the whole
// travel at 1 Hz for 1000 h, a frame of 0.5 K/W (common practice).
func DefaultDrive() *DriveSpec {
	program, err := drive.DefaultMotion(drive.Circle).Program()
	if err != nil {
		panic("objective: default motion: " + err.Error())
	}
	return &DriveSpec{Motion: program, Life: 1000, FrameResistance: 0.5}
}

func (s *Spec) drive() *DriveSpec {
	if s.Drive != nil {
		return s.Drive
	}
	return DefaultDrive()
}

// NeedsActuator reports whether a measure cannot be computed without the data of an actuator.
func NeedsActuator(m Measure) bool {
	switch m {
	case PositionNoise, ForceMargin, CoilTemperatureRise, DrivePower, DriveVoltage, VoltageMargin, StrokeMargin,
		TransverseMargin, ThermalDrift:
		return true
	}
	return false
}

// driveMemory is what the drive of one worker needs.
type driveMemory struct {
	spec *DriveSpec
	load drive.Load
	duty drive.Duty

	// of the last candidate, by axis
	gap    [2][mechanics.NumPoses]float64 // arm minus stage, m
	guide  [2][mechanics.NumPoses]float64 // stiffness between them along the axis, N/m
	behind [2]float64                     // mass behind the guide, kg
}

// fieldPose is the number in [drive.Field] of each of mechanics.PoseSigns.
var fieldPose = func() (n [mechanics.NumPoses]int) {
	for i, sign := range mechanics.PoseSigns {
		n[i] = 3*(int(sign[1])+1) + int(sign[0]) + 1
	}
	return n
}()

const reasonHeat = "the coil of an actuator heats without bound: Rth P0 = %[2]g K, at most %[3]g K can be held"

// collectDrive fills the measures of actuators and motion. The poses must be those of
// the travel.
func (e *Evaluation) collectDrive() models.Verdict {
	w, m, d := &e.duty, &e.Measures, e.Dynamics()
	travel := e.Stage().Travel
	program := w.spec.Motion
	actuator := w.spec.Actuator
	t := e.Layout().Topology()
	w.load.Field.Travel = travel
	for i := range mechanics.NumPoses {
		pose := &e.Scratch().Poses[i]
		for axis := range 2 {
			w.load.Field.Force[axis][fieldPose[i]] = pose.Force[axis]
			w.load.Field.Slope[axis][fieldPose[i]] = [2]float64{pose.Drive[2*axis], pose.Drive[2*axis+1]}
		}
	}
	w.load.Field.Prepare()
	centre := &d.Modes[0]
	for axis := range 2 {
		// The mass that moves with the stage: of the guided mode, whose shape is that motion.
		k := [2]int{centre.GuidedX, centre.GuidedY}[axis]
		phi := centre.Rows[k*mechanics.NumRows+mechanics.RowStageX+axis]
		w.load.Mass[axis] = 1 / (phi * phi)
		w.load.Damping[axis] = w.spec.Damping
		w.behind[axis] = w.load.Mass[axis] - e.Stage().Mass[t.Driven[axis]]
	}
	plain := drive.Actuator{MotorConstant: 1, ForceConstant: 1, Stroke: 1}
	if actuator == nil {
		actuator = &plain
	}
	program.Duty(actuator, &w.load, &w.duty)
	peak := max(w.duty.PeakForce[0], w.duty.PeakForce[1])
	m.SetSI(PeakForce, peak)
	m.SetSI(RMSForce, max(w.duty.RMSForce[0], w.duty.RMSForce[1]))
	e.collectGap()
	e.collectTracking()
	e.collectFatigue()
	if w.spec.Actuator == nil {
		return models.Verdict{}
	}
	end := min(travel*program.Motion.Amplitude/actuator.Stroke, 1)
	m.SetSI(ForceMargin, min(drive.Margin(actuator.PeakForce*(1-actuator.FallOff*end*end), peak), uncapped))
	along := 0.0
	for i := range mechanics.NumPoses {
		r := e.Statics(i)
		along = max(along, math.Abs(r.U[0]), math.Abs(r.V[1]))
	}
	across, _ := m.Get(IsolationAcross)
	m.SetSI(StrokeMargin, min(drive.Margin(actuator.Stroke, along), uncapped))
	m.SetSI(TransverseMargin, min(drive.Margin(actuator.Clearance, Table[IsolationAcross].Unit.ToSI(across)), uncapped))
	if !e.wantsHeat() {
		return models.Verdict{}
	}
	for axis := range 2 {
		if w.duty.Overheats[axis] {
			p0 := w.duty.RMSForce[axis] / actuator.MotorConstant
			return models.Verdict{Status: models.OutOfRange, Format: reasonHeat, Index: axis,
				Value: actuator.ThermalResistance * p0 * p0, Bound: 1 / drive.CopperCoefficient}
		}
	}
	power := w.duty.Power[0] + w.duty.Power[1]
	voltage := max(w.duty.Voltage[0], w.duty.Voltage[1])
	m.SetSI(CoilTemperatureRise, max(w.duty.Rise[0], w.duty.Rise[1]))
	m.SetSI(DrivePower, power)
	m.SetSI(DriveVoltage, voltage)
	m.SetSI(VoltageMargin, min(drive.Margin(actuator.MaxVoltage, voltage), uncapped))
	length := w.spec.LoopLength
	if length == 0 {
		length = 0.5 * e.Stage().Frame
	}
	if drift := drive.ThermalDrift(e.Material().Expansion, length, w.spec.FrameResistance*power); !math.IsNaN(drift) {
		m.SetSI(ThermalDrift, drift)
	}
	return models.Verdict{}
}

// wantsHeat reports whether the spec names a measure that an overheating coil has no value of.
func (e *Evaluation) wantsHeat() bool {
	return e.wants(CoilTemperatureRise) || e.wants(DrivePower) || e.wants(DriveVoltage) || e.wants(VoltageMargin) || e.wants(ThermalDrift)
}

// collectGap fills the measures of a gap sensor between each driven arm and the stage,
// at the actuator's point.
func (e *Evaluation) collectGap() {
	w, m, d := &e.duty, &e.Measures, e.Dynamics()
	travel := e.Stage().Travel
	worst, target := 0.0, 0.0
	for axis := range 2 {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range mechanics.NumPoses {
			pose, r := &e.Scratch().Poses[i], e.Statics(i)
			if axis == 0 {
				w.gap[axis][i] = r.U[0] - pose.X
				low, high = min(low, pose.Y-r.V[0]), max(high, pose.Y-r.V[0])
			} else {
				w.gap[axis][i] = r.V[1] - pose.Y
				low, high = min(low, pose.X-r.U[1]), max(high, pose.X-r.U[1])
			}
			w.guide[axis][i] = between(&d.Modes[i], axis)
		}
		acceleration := travel * w.spec.Motion.PeakAcceleration[axis]
		worst = max(worst, drive.GapTravel(w.gap[axis][:], w.guide[axis][:], w.behind[axis], acceleration))
		target = max(target, high-low)
	}
	m.SetSI(GapTravel, worst)
	m.SetSI(GapTarget, target)
}

// between is the stiffness between the arm's point and the stage along an axis: forces
// that pull them together over how much nearer they come, from all modes: 1/Σ (φ_arm −
// φ_stage)²/ω².
func between(modes *mechanics.Modes, axis int) float64 {
	flexibility := 0.0
	for k := range modes.Count {
		row := modes.Rows[k*mechanics.NumRows : (k+1)*mechanics.NumRows]
		if w := modes.Omega[k]; w > 0 {
			x := (row[mechanics.RowActuator+axis] - row[mechanics.RowStageX+axis]) / w
			flexibility += x * x
		}
	}
	if flexibility == 0 {
		return math.Inf(1)
	}
	return 1 / flexibility
}

// collectTracking fills what the loop makes of the program's basic frequency.
func (e *Evaluation) collectTracking() {
	m := &e.Measures
	if !e.wants(TrackingError) && !e.wants(TrackingLag) {
		return
	}
	motion := &e.duty.spec.Motion.Motion
	amplitude := motion.Amplitude * e.Stage().Travel
	ratio, lag := 1.0, math.Pi
	l := e.loop[e.layout]
	if hz := l.result.Hz; hz > 0 {
		if e.duty.spec.Motion.Period == 0 {
			ratio, lag = 0, 0 // at rest, the integrator leaves no error
		} else if r, a, ok := l.loop.Tracking(hz, motion.Frequency); ok {
			ratio, lag = r, a
		}
	}
	m.SetSI(TrackingError, ratio*amplitude)
	m.SetSI(TrackingLag, max(lag, 0))
}

// collectFatigue takes the stress at the amplitude, proportional to it, as fully
// reversed; of a held stage as mean.
func (e *Evaluation) collectFatigue() {
	m, material, program := &e.Measures, e.Material(), e.duty.spec.Motion
	peak, _ := m.Get(PeakStress)
	stress := Table[PeakStress].Unit.ToSI(peak) * program.Motion.Amplitude
	amplitude, mean := stress, 0.0
	if program.Period == 0 {
		amplitude, mean = 0, stress
	}
	if margin := drive.Goodman(amplitude, mean, material.Fatigue, material.Ultimate); !math.IsNaN(margin) {
		m.SetSI(FatigueMargin, min(margin, uncapped))
	}
	cycles := program.Cycles(e.duty.spec.Life)
	m.SetSI(LoadCycles, cycles)
	if ratio := material.FatigueCycle; !math.IsNaN(ratio) {
		m.SetSI(CycleMargin, capped(ratio, cycles))
	}
}
