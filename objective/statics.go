package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// uncapped bounds ratios that grow without limit as their divisor vanishes.
const uncapped = 1e6

// collectBuild fills the measures that follow from the dimensions.
func (e *Evaluation) collectBuild() {
	m, st := &e.Measures, e.Stage()
	t := e.Layout().Topology()
	total := 0.0
	for i, b := range t.Bodies {
		if b.Held != models.HeldAll {
			total += st.Mass[i]
		}
	}
	thin, slender, aspect := math.Inf(1), 0.0, 0.0
	for i := range t.Blades {
		l := math.Hypot(st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i])
		h, b := st.Thickness[i], st.Width[i]
		thin, slender, aspect = min(thin, h), max(slender, l/h), max(aspect, b/h)
		total += st.Density[i] * l * h * b
	}
	arm := 0.0
	for _, b := range t.Driven {
		arm = max(arm, st.Mass[b])
	}
	m.SetSI(Footprint, st.Frame)
	m.SetSI(StageMass, st.Mass[t.Stage])
	m.SetSI(ArmMass, arm)
	m.SetSI(MovingMass, total)
	m.SetSI(ThinnestBlade, thin)
	m.SetSI(BladeSlenderness, slender)
	m.SetSI(BladeAspect, aspect)
}

// Numbers of the poses in mechanics.PoseSigns that share x, or y, with a pose.
var (
	sameX = [mechanics.NumPoses]int{0, 1, 2, 0, 0, 1, 2, 1, 2} // (x, 0)
	sameY = [mechanics.NumPoses]int{0, 0, 0, 3, 4, 3, 3, 4, 4} // (0, y)
)

// PoseStatics are the static numbers of one pose, SI.
type PoseStatics struct {
	U, V      [2]float64 // of the actuator points: along x, along y, m
	Stress    float64    // largest peak stress, Pa
	Hottest   int        // the blade that has it
	Buckling  float64    // least ratio of critical load to compression
	StageYaw  float64    // rad
	ArmYaw    float64    // largest magnitude of a driven arm, rad
	Stiffness float64    // least of dFx/dx, dFy/dy, N/m
}

// Statics returns the static numbers of pose i of the last candidate.
func (e *Evaluation) Statics(i int) PoseStatics { return e.statics(&e.Scratch().Poses[i]) }

func (e *Evaluation) statics(pose *mechanics.Pose) PoseStatics {
	s, st := e.Scratch(), e.solved
	t := e.Layout().Topology()
	r := PoseStatics{Buckling: uncapped, StageYaw: pose.Q[3*t.Stage+2]}
	for k := range 2 {
		r.U[k], r.V[k] = s.ActuatorMotion(pose, k)
		r.ArmYaw = max(r.ArmYaw, math.Abs(pose.Q[3*t.Driven[k]+2]))
	}
	r.Stiffness = min(pose.Drive[0], pose.Drive[3])
	for b := range pose.Axial {
		h, w := st.Thickness[b], st.Width[b]
		// Kt |M| (t/2)/I + |P|/A with I = b t³/12
		moment := max(math.Abs(pose.RootM[b]), math.Abs(pose.TipM[b]))
		stress := e.kt[b]*moment*6/(w*h*h) + math.Abs(pose.Axial[b])/(w*h)
		if stress > r.Stress {
			r.Stress, r.Hottest = stress, b
		}
		// π² f E I/L² over the compression is π²/(-p), L of the whole blade
		if p := pose.P[b] * float64(e.segments*e.segments); p < 0 {
			r.Buckling = min(r.Buckling, math.Pi*math.Pi/-p)
		}
	}
	return r
}

// collectStatics fills the static measures from the nine poses.
func (e *Evaluation) collectStatics(m *Measures) {
	var poses [mechanics.NumPoses]PoseStatics
	for i := range poses {
		poses[i] = e.Statics(i)
	}
	s := e.Scratch()
	var force, cross, lost, along, across, yaw, armYaw, stress float64
	stiffness, buckling := math.Inf(1), uncapped
	for i := range poses {
		p, r := &s.Poses[i], &poses[i]
		onX, onY := &poses[sameX[i]], &poses[sameY[i]]
		force = max(force, math.Abs(p.Force[0]), math.Abs(p.Force[1]))
		cross = max(cross, math.Abs(p.Force[0]-s.Poses[sameX[i]].Force[0]), math.Abs(p.Force[1]-s.Poses[sameY[i]].Force[1]))
		lost = max(lost, math.Abs(r.U[0]-p.X), math.Abs(r.V[1]-p.Y))
		along = max(along, math.Abs(r.U[0]-onX.U[0]), math.Abs(r.V[1]-onY.V[1]))
		across = max(across, math.Abs(r.U[1]), math.Abs(r.V[0]))
		yaw, armYaw = max(yaw, math.Abs(r.StageYaw)), max(armYaw, r.ArmYaw)
		stress, stiffness, buckling = max(stress, r.Stress), min(stiffness, r.Stiffness), min(buckling, r.Buckling)
	}
	m.SetSI(DriveForce, force)
	m.SetSI(CrossForce, cross)
	m.SetSI(LostMotion, lost)
	m.SetSI(IsolationAlong, along)
	m.SetSI(IsolationAcross, across)
	m.SetSI(ParasiticYaw, yaw)
	m.SetSI(ArmYaw, armYaw)
	m.SetSI(DriveStiffness, stiffness)
	m.SetSI(BucklingMargin, buckling)
	m.SetSI(PeakStress, stress)
	margin := uncapped
	if stress > 0 {
		margin = min(uncapped, e.Material().Yield/stress)
	}
	m.SetSI(YieldMargin, margin)
}
