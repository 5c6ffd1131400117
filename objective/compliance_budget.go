package objective

import (
	"fmt"

	"flexwright/models"
	"flexwright/models/mechanics"
)

var (
	percent        = models.Unit{Symbol: "%", Dimension: models.Number, SI: 0.01}
	micronPerForce = models.Unit{Symbol: "µm/N", Suffix: "um_per_n", Dimension: models.Compliance, SI: 1e-6}
)

// complianceBudget tells which members give way, in parts of the energy that a force stores: to
// an actuator at the pose of the least drive stiffness, and to a force along z on the stage at that of the least
// support stiffness. False where bodies are rigid on a rigid mount.
func (d *Detail) complianceBudget() (Budget, bool) {
	bends := len(d.Topology.Links) > 0
	for _, body := range d.Topology.Bodies {
		bends = bends || body.Mounted
	}
	if !bends || !d.bench.reached(StepModes) {
		return Budget{}, false
	}
	dynamics := d.bench.dynamics
	var drive, support mechanics.Shares
	var driveAt, supportAt *mechanics.Pose
	for _, p := range d.Poses {
		for k := range p.Pose.Force {
			if s := dynamics.DriveShares(p.Pose, k); driveAt == nil || s.Compliance > drive.Compliance {
				drive, driveAt = s, p.Pose
			}
		}
		s, ok := dynamics.SupportShares(p.Pose)
		if !ok {
			return Budget{}, false
		}
		if supportAt == nil || s.Compliance > support.Compliance {
			support, supportAt = s, p.Pose
		}
	}
	b := Budget{Title: "what gives way", Columns: []string{"along the drive", "along z"}}
	b.row("compliance", micronPerForce, fmt.Sprintf("of the actuator's point %s, of the stage %s", at(driveAt), at(supportAt)), drive.Compliance, support.Compliance)
	for m := range mechanics.NumMembers {
		if x, z := drive.Of[m], support.Of[m]; x != 0 || z != 0 {
			b.row(m.String(), percent, "", x, z)
		}
	}
	return b, true
}
