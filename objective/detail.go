package objective

import (
	"flexwright/models"
	"flexwright/models/mechanics"
)

// Detail is one design with every number on the way from its dimensions to its
// score: what show, the report and the drawing are given. Rows hold measures
// only; the chosen design is evaluated again.
type Detail struct {
	Row      Row // without number, generation and time
	Design   models.Design
	Topology *models.Topology
	Stage    *models.Stage // NaN where a design that cannot be built did not get to
	Poses    []PoseDetail  // the nine, in the order of mechanics.PoseSigns; up to the first that is not solved
}

// PoseDetail is one pose with its numbers.
type PoseDetail struct {
	Pose   *mechanics.Pose
	Values []PoseValue // empty unless the pose is solved
}

// PoseValue is a number of one pose, in its unit.
type PoseValue struct {
	Name  string
	Unit  models.Unit
	Value float64
}

// Column is the name of the number with its unit.
func (v PoseValue) Column() string { return v.Unit.Column(v.Name) }

// Pin turns the spec into that of one design: the variables become fixed at x.
func (s *Spec) Pin(x []float64) {
	layout, material := s.decode(x, s.Fixed)
	s.Layouts, s.Materials, s.Variables = s.Layouts[layout:layout+1], s.Materials[material:material+1], nil
}

// NewDetail evaluates the design of a pinned spec in full, without screening.
func NewDetail(spec *Spec) *Detail {
	all := *spec
	all.NoScreening = true
	e := NewEvaluation(&all)
	e.Evaluate(nil)
	d := &Detail{Design: e.design, Topology: e.Layout().Topology(), Stage: e.Stage()}
	e.Fill(&d.Row)
	if e.Verdict.Status == models.CannotBuild {
		return d
	}
	// the poses at the travel once more: the usable travel has moved on
	e.Scratch().Statics(e.Stage().Travel)
	for i := range e.Scratch().Poses {
		p := PoseDetail{Pose: &e.Scratch().Poses[i]}
		if p.Pose.Verdict.OK() {
			p.Values = e.poseValues(i)
		}
		d.Poses = append(d.Poses, p)
		if !p.Pose.Verdict.OK() {
			break
		}
	}
	return d
}

func (e *Evaluation) poseValues(i int) []PoseValue {
	r, p := e.Statics(i), &e.Scratch().Poses[i]
	list := []PoseValue{
		{"force_x", models.Newton, p.Force[0]},
		{"force_y", models.Newton, p.Force[1]},
		{"lost_motion_x", models.Micrometre, r.U[0] - p.X},
		{"lost_motion_y", models.Micrometre, r.V[1] - p.Y},
		{"across_x", models.Micrometre, r.V[0]},
		{"across_y", models.Micrometre, r.U[1]},
		{"yaw", models.Microradian, r.StageYaw},
		{"arm_yaw", models.Microradian, r.ArmYaw},
		{"stress", models.Megapascal, r.Stress},
		{"drive_stiffness", models.NewtonPerMm, r.Stiffness},
		{"buckling_margin", models.One, r.Buckling},
	}
	for k := range list {
		if v := &list[k]; v.Unit.SI != 1 {
			v.Value = v.Unit.FromSI(v.Value)
		}
	}
	return list
}
