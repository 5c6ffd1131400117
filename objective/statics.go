package objective

import (
	"math"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// Numbers of the poses in mechanics.PoseSigns that share x, or y, with a pose.
var (
	sameX = [mechanics.NumPoses]int{0, 1, 2, 0, 0, 1, 2, 1, 2} // (x, 0)
	sameY = [mechanics.NumPoses]int{0, 0, 0, 3, 4, 3, 3, 4, 4} // (0, y)
)

// PoseStatics are the static numbers of one pose, SI.
type PoseStatics struct {
	U, V      [2]float64    // of the actuator points: along x, along y, m
	Read      [2][2]float64 // what the encoder of each axis sees, along x and y, m
	Stress    float64       // largest peak stress, von Mises, Pa
	Hottest   int           // the blade that has it
	Buckling  float64       // least ratio of critical load to compression; +Inf where nothing is compressed
	StageYaw  float64       // rad
	ArmYaw    float64       // largest magnitude of a driven body, rad
	Stiffness float64       // least of dFx/dx, dFy/dy, N/m
}

// leastCompression is the least P L²/EI that counts as compression: less is rounding in
// a stage whose axes do not load each other's blades.
const leastCompression = 1e-9

// staticNumbers are what the poses come to, SI.
type staticNumbers struct {
	force, cross, lost, along, across, arc, yaw, armYaw, stress, body, stiffness, buckling float64
}

// exceeds reports whether a is more than b by more than rounding: of poses and blades
// that mirror each other the first in order is named.
func exceeds(a, b float64) bool { return a > b*(1+1e-9) }

// statics returns the static numbers of a solved pose.
func (r *rig) statics(pose *mechanics.Pose) PoseStatics {
	s, t := r.scratch, r.model.Topology
	n := PoseStatics{Buckling: math.Inf(1), StageYaw: pose.Q[3*t.Stage+2]}
	for k := range t.Actuators {
		n.U[k], n.V[k] = s.ActuatorMotion(pose, k)
		if n.Read[k] = [2]float64{n.U[k], n.V[k]}; t.Sensors != nil {
			n.Read[k][0], n.Read[k][1] = s.Encoder(pose, k)
		}
		n.ArmYaw = max(n.ArmYaw, math.Abs(pose.Q[3*t.Driven[k]+2]))
	}
	n.Stiffness = pose.Drive[0]
	if len(t.Actuators) == 2 {
		n.Stiffness = min(n.Stiffness, pose.Drive[3])
	}
	for b := range pose.Axial {
		axial := pose.Axial[b]
		moment := max(math.Abs(pose.RootM[b]), math.Abs(pose.TipM[b]))
		stress := r.bending[b]*moment + math.Abs(axial)*r.perArea[b]
		if exceeds(stress, n.Stress) {
			n.Hottest = b
		}
		n.Stress = max(n.Stress, stress) // what is no number stays so
		// π² f E I/L² over the compression is π²/(-p), L of the whole blade
		if p := axial * r.compressed[b]; p < -leastCompression {
			n.Buckling = min(n.Buckling, math.Pi*math.Pi/-p)
		}
	}
	n.Stress *= r.mises[n.Hottest] // all of one material, in one state
	return n
}

// solveStatics solves the poses of ±travel and takes their numbers.
func (b *Bench) solveStatics(travel float64) models.Verdict {
	v := models.Verdict{}
	if b.near != nil {
		v = b.near.Statics(b.scratch, travel)
	} else {
		v = b.scratch.Statics(travel)
	}
	if !v.OK() {
		return v
	}
	s := b.scratch
	for i := range s.Poses {
		b.poses[i] = b.statics(&s.Poses[i])
	}
	n := staticNumbers{stiffness: math.Inf(1), buckling: math.Inf(1)}
	for i := range s.Poses {
		p, r := &s.Poses[i], &b.poses[i]
		n.force = max(n.force, math.Abs(p.Force[0]))
		n.lost = max(n.lost, math.Abs(r.Read[0][0]-p.X))
		n.across = max(n.across, math.Abs(r.V[0]))
		n.arc = max(n.arc, math.Abs(p.Q[3*b.topology.Stage+1]))
		if len(p.Force) == 2 {
			onX, onY := &b.poses[sameX[i]], &b.poses[sameY[i]]
			n.force = max(n.force, math.Abs(p.Force[1]))
			n.lost = max(n.lost, math.Abs(r.Read[1][1]-p.Y))
			n.across = max(n.across, math.Abs(r.U[1]))
			n.cross = max(n.cross, math.Abs(p.Force[0]-s.Poses[sameX[i]].Force[0]), math.Abs(p.Force[1]-s.Poses[sameY[i]].Force[1]))
			n.along = max(n.along, math.Abs(r.U[0]-onX.U[0]), math.Abs(r.V[1]-onY.V[1]))
		}
		n.body = max(n.body, s.BeamStress(p))
		n.yaw, n.armYaw = max(n.yaw, math.Abs(r.StageYaw)), max(n.armYaw, r.ArmYaw)
		n.stress, n.stiffness, n.buckling = max(n.stress, r.Stress), min(n.stiffness, r.Stiffness), min(n.buckling, r.Buckling)
	}
	b.static = n
	return models.Verdict{}
}
