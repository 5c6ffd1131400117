package objective

import (
	"fmt"
	"math"
	"sync"

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
	FrameResistance float64 // thermal, from the coils to ambient through the frame, K/W
	DrivenShare     float64 // of a coil's temperature rise that the body it drives takes
}

// DefaultDrive returns the drive of a silent brief: no actuator, a circle of the whole
// travel at 1 Hz for 1000 h, a frame of 0.5 K/W (common practice), and driven bodies that take a
// twentieth of their coil's rise (typical, no source).
func DefaultDrive() *DriveSpec {
	return &DriveSpec{Motion: defaultProgram(), Life: 1000, FrameResistance: 0.5, DrivenShare: drive.DrivenShare}
}

// defaultProgram is computed once: it takes as long as half a candidate.
var defaultProgram = sync.OnceValue(func() *drive.Program {
	program, err := drive.DefaultMotion(drive.Circle).Program()
	if err != nil {
		panic("objective: default motion: " + err.Error())
	}
	return program
})

func (s *Spec) drive() *DriveSpec {
	if s.Drive != nil {
		return s.Drive
	}
	return DefaultDrive()
}

// driveMemory is what the drive of one bench needs.
type driveMemory struct {
	spec     *DriveSpec
	actuator *drive.Actuator   // a plain one where the brief names none, for forces alone
	unlike   [2]drive.Actuator // of a part, by axis
	load     drive.Load
	numbers  drive.Duty
	stresses *drive.Stresses

	// of the last stage, by axis
	gap       [2][mechanics.NumPoses]float64 // encoder minus stage, m
	guide     [2][mechanics.NumPoses]float64 // stiffness between them along the axis, N/m
	behind    [2]float64                     // mass behind the guide, kg
	gapTravel float64                        // m, the worse axis
	gapTarget float64                        // m
}

func newDriveMemory(spec *Spec, blades int) *driveMemory {
	w := &driveMemory{spec: spec.drive(), stresses: drive.NewStresses(blades)}
	if w.actuator = w.spec.Actuator; w.actuator == nil {
		w.actuator = &drive.Actuator{MotorConstant: 1, ForceConstant: 1, Stroke: 1}
	}
	w.load.Scales = spec.loop().Settings.Scales
	return w
}

// fieldPose is the number in [drive.Field] of each of mechanics.PoseSigns.
var fieldPose = func() (n [mechanics.NumPoses]int) {
	for i, sign := range mechanics.PoseSigns {
		n[i] = 3*(int(sign[1])+1) + int(sign[0]) + 1
	}
	return n
}()

const reasonHeat = "the coil of an actuator heats without bound: Rth P0 = %[2]g K, at most %[3]g K can be held"

// along returns the pose whose forces hold at pose i: of one driven axis the one with the same x.
func (b *Bench) along(i int) int {
	if b.axes() == 1 {
		return sameX[i]
	}
	return i
}

// solveDrive runs the motion program over the forces of the poses. Where a measure
// needs a coil that stays finite, one that does not is a verdict.
func (b *Bench) solveDrive(needs Needs) models.Verdict {
	w, t := b.duty, b.topology
	w.load.Field.Travel, w.load.OneAxis = b.stage.Travel, b.axes() == 1
	for i := range mechanics.NumPoses {
		pose := &b.scratch.Poses[b.along(i)]
		for axis := range b.axes() {
			w.load.Field.Force[axis][fieldPose[i]] = pose.Force[axis]
			w.load.Field.Slope[axis][fieldPose[i]] = [2]float64{pose.Drive[2*axis], pose.Drive[2*axis+1]}
			if b.axes() == 1 {
				w.load.Field.Slope[axis][fieldPose[i]][1] = 0
			}
		}
	}
	w.load.Field.Prepare()
	centre := &b.dynamics.Modes[0]
	for axis := range b.axes() {
		// The mass that moves with the stage: of the guided mode, whose shape is that motion.
		w.load.Mass[axis] = centre.GuidedMass(axis)
		w.load.Damping[axis] = w.spec.Damping
		w.behind[axis] = w.load.Mass[axis] - b.stage.BodyMass(t, t.Driven[axis])
	}
	if b.constant == [2]float64{1, 1} {
		w.spec.Motion.Duty(w.actuator, &w.load, &w.numbers)
	} else {
		w.unlikeDuty(&b.constant)
	}
	b.solveGap()
	if needs&NeedsHeat == 0 {
		return models.Verdict{}
	}
	for axis := range b.axes() {
		if w.numbers.Overheats[axis] {
			p0 := w.numbers.RMSForce[axis] / w.actuator.MotorConstant
			return models.Verdict{Status: models.OutOfRange, Format: reasonHeat, Index: axis,
				Value: w.actuator.ThermalResistance * p0 * p0, Bound: 1 / drive.CopperCoefficient}
		}
	}
	return models.Verdict{}
}

// unlikeDuty is the duty of actuators whose constants are not the nominal ones.
func (w *driveMemory) unlikeDuty(constant *[2]float64) {
	for axis, c := range constant {
		a := &w.unlike[axis]
		*a = *w.actuator
		a.MotorConstant *= c
		a.ForceConstant *= c
	}
	w.spec.Motion.DutyOfBoth(&[2]*drive.Actuator{&w.unlike[0], &w.unlike[1]}, &w.load, &w.numbers)
}

// Of the driven axes: the larger force, rise and voltage, and the sum of the powers.
func (w *driveMemory) peakForce() float64 { return max(w.numbers.PeakForce[0], w.numbers.PeakForce[1]) }
func (w *driveMemory) rmsForce() float64  { return max(w.numbers.RMSForce[0], w.numbers.RMSForce[1]) }
func (w *driveMemory) rise() float64      { return max(w.numbers.Rise[0], w.numbers.Rise[1]) }
func (w *driveMemory) voltage() float64   { return max(w.numbers.Voltage[0], w.numbers.Voltage[1]) }
func (w *driveMemory) power() float64     { return w.numbers.Power[0] + w.numbers.Power[1] }

// stiffer says what the spread of natural frequencies does to the force; empty without one.
func (w *driveMemory) stiffer() string {
	most := 1.0
	for _, f := range w.load.Scales {
		most = max(most, f)
	}
	if most == 1 {
		return ""
	}
	return fmt.Sprintf("; the worst of natural frequencies up to %.3g %% off, at which static forces are %.4g² times those of the poses", 100*(most-1), most)
}

// cycles of stress over the program's life.
func (w *driveMemory) cycles() float64 { return w.spec.Motion.Cycles(w.spec.Life) }

// forceMargin takes the peak force where the program goes furthest along the stroke.
func (b *Bench) forceMargin() float64 {
	w := b.duty
	left := w.actuator.PeakForce * w.actuator.Weakening(b.stage.Travel*w.spec.Motion.Motion.Amplitude)
	return min(left*b.constant[0]/w.numbers.PeakForce[0], left*b.constant[1]/w.numbers.PeakForce[1])
}

func (b *Bench) strokeMargin() float64 {
	along := 0.0
	for i := range b.scratch.Poses {
		along = max(along, math.Abs(b.poses[i].U[0]))
		if b.axes() == 2 {
			along = max(along, math.Abs(b.poses[i].V[1]))
		}
	}
	return b.duty.actuator.Stroke / (2 * along)
}

func (b *Bench) thermalDrift() float64 {
	w := b.duty
	length := w.spec.LoopLength
	if length == 0 {
		length = 0.5 * b.stage.Frame
	}
	return drive.ThermalDrift(b.stage.Material.Expansion, length, w.spec.FrameResistance*w.power())
}

// solveGap finds what a gap sensor between each driven body and the stage, where
// the axis is read, has to cover.
func (b *Bench) solveGap() {
	w, d := b.duty, b.dynamics
	w.gapTravel, w.gapTarget = 0, 0
	for axis := range b.axes() {
		low, high := math.Inf(1), math.Inf(-1)
		for i := range b.scratch.Poses {
			along, past := b.gap(i, axis)
			w.gap[axis][i] = along
			low, high = min(low, past), max(high, past)
			if b.near != nil {
				w.guide[axis][i] = b.near.nominal.duty.guide[axis][i] * b.near.GuideStiffness(b.scratch, i, axis)
			} else {
				w.guide[axis][i] = between(&d.Modes[i], axis)
			}
		}
		acceleration := b.stage.Travel * w.spec.Motion.PeakAcceleration[axis]
		w.gapTravel = max(w.gapTravel, drive.GapTravel(w.gap[axis][:len(b.scratch.Poses)], w.guide[axis][:len(b.scratch.Poses)], w.behind[axis], acceleration)+b.warmBody(axis))
		w.gapTarget = max(w.gapTarget, high-low)
	}
}

// gap is what a gap sensor of an axis has between the driven body and the stage at a pose, m: how far they are apart along the axis,
// and how far the stage has moved past the probe.
func (b *Bench) gap(i, axis int) (along, past float64) {
	pose, read := &b.scratch.Poses[i], &b.poses[i].Read[axis]
	if x, y, ok := b.scratch.Gap(pose, axis); ok {
		moved := [2]float64{x, y}
		return -moved[axis], moved[1-axis]
	}
	if b.saidAlone(axis) {
		return 0, 0
	}
	stage := [2]float64{pose.X, pose.Y}
	if b.axes() == 1 {
		stage[1] = pose.Q[3*b.topology.Stage+1] // its arc
	}
	return read[axis] - stage[axis], stage[1-axis] - read[1-axis]
}

// warmBody is how much the driven body of an axis outgrows the frame, from the stage to where its
// actuator pushes, m; 0 without an actuator, where the material's expansion is not known, and where that body is the stage
// or the stage is read by itself.
func (b *Bench) warmBody(axis int) float64 {
	w, st := b.duty, b.stage
	stage := b.topology.Stage
	if w.spec.Actuator == nil || math.IsNaN(st.Material.Expansion) || b.topology.Driven[axis] == stage || b.saidAlone(axis) {
		return 0
	}
	length := math.Hypot(st.ActX[axis]-st.X[stage], st.ActY[axis]-st.Y[stage])
	return drive.WarmBody(st.Material.Expansion, length, w.spec.DrivenShare, w.numbers.Rise[axis])
}

// between is the stiffness between the encoder's point and the stage along an axis: forces
// that pull them together over how much nearer they come, from all modes: 1/Σ (φ_arm −
// φ_stage)²/ω².
func between(modes *mechanics.Modes, axis int) float64 {
	flexibility := 0.0
	for k := range modes.Count {
		row := modes.Rows[k*modes.Width : (k+1)*modes.Width]
		if w := modes.Omega[k]; w > 0 {
			apart := row[mechanics.RowActuator+axis] - row[mechanics.RowStageX+axis]
			if modes.Width > mechanics.NumRows {
				apart = modes.Encoder(k, axis) - modes.Sensed(k, axis)
			}
			x := apart / w
			flexibility += x * x
		}
	}
	if flexibility == 0 {
		return math.Inf(1)
	}
	return 1 / flexibility
}

// tracking of the program's basic frequency at the crossover: the largest |S| and the
// largest lag, rad; NaN without a crossover. At rest the integrator leaves no error.
func (b *Bench) tracking() (ratio, lag float64) {
	l, program := b.loop, b.duty.spec.Motion
	if l.result.Hz > 0 {
		if program.Period == 0 {
			return 0, 0
		}
		if r, a, ok := l.loop.Tracking(l.result.Hz, program.Motion.Frequency); ok {
			return r, max(a, 0)
		}
	}
	return math.NaN(), math.NaN()
}

func (b *Bench) trackingError() float64 {
	ratio, _ := b.tracking()
	return ratio * b.duty.spec.Motion.Motion.Amplitude * b.stage.Travel
}

func (b *Bench) trackingFeedforward() float64 {
	l, program := b.loop, b.duty.spec.Motion
	if !(l.result.Hz > 0) {
		return math.NaN()
	}
	if program.Period == 0 {
		return 0
	}
	ratio, ok := l.loop.Feedforward(l.result.Hz, program.Motion.Frequency, l.spec.StiffnessError, l.spec.MassError)
	if !ok {
		return math.NaN()
	}
	return ratio * program.Motion.Amplitude * b.stage.Travel
}

func (b *Bench) trackingLag() float64 {
	_, lag := b.tracking()
	return lag
}

// fatigueMargin follows the stress of both faces at both ends of every blade along the program: half its range is the
// amplitude, its middle the mean; at rest the largest is the mean.
func (b *Bench) fatigueMargin() float64 {
	margin := math.Inf(1)
	b.alongPath(func(amplitude, mean float64) {
		margin = min(margin, drive.Goodman(amplitude, mean, b.stage.Material.Fatigue, b.stage.Material.Ultimate))
	})
	return margin
}

// alongPath tells amplitude and mean of every stress along the program, Pa.
func (b *Bench) alongPath(tell func(amplitude, mean float64)) {
	s, n := b.duty.stresses, len(b.bending)+drive.Spare
	s.Bending, s.PerArea = b.bending[:n], b.perArea[:n]
	for i, at := range fieldPose {
		pose := &b.scratch.Poses[b.along(i)]
		s.Root[at], s.Tip[at], s.Axial[at] = pose.RootM[:n], pose.TipM[:n], pose.Axial[:n]
	}
	b.duty.spec.Motion.Stresses(s, tell)
}
