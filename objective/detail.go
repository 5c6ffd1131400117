package objective

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// Detail is one design with every number on the way from its dimensions to its
// score: what show, the report and the drawing are given. Rows hold measures
// only; the chosen design is evaluated again.
type Detail struct {
	Row         Row // without number, generation and time
	Design      models.Design
	Topology    *models.Topology
	Stage       *models.Stage // NaN where a design that cannot be built did not get to
	Poses       []PoseDetail  // the nine, in the order of mechanics.PoseSigns; up to the first that is not solved
	Fine        *FineResult   // nil unless asked for
	Budgets     []Budget      // of mass, stress, force and clearance; of loop and drive, where they were computed
	PartFails   []FailReason  // why parts do not conform, the most frequent first; nil where no share of them was asked for
	Scatter     *Scatter      // nil unless asked for
	Sensitivity *Sensitivity  // nil unless asked for

	bench  *Bench
	layout models.Layout
}

// PoseDetail is one pose with its numbers.
type PoseDetail struct {
	Pose   *mechanics.Pose
	Values []PoseValue // empty unless the pose is solved
	// Natural frequencies, Hz, ascending, all of them; nil unless the pose is solved
	InPlane, OutOfPlane []float64
	// What carries stage and driven bodies out of the plane
	Supports []Support
}

// Support is the stiffness of what carries a body out of the plane, everything
// else free to follow, and what the weight of all that moves does to it.
type Support struct {
	Body      int
	Z         float64 // N/m, roll and pitch held
	Roll      float64 // N m/rad about x, z and pitch held
	Pitch     float64 // N m/rad about y, z and roll held
	Sag       float64 // z, m
	RolledBy  float64 // rad
	PitchedBy float64 // rad
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

// NewDetail evaluates the design of a pinned spec in full, without screening; parts are solved.
func NewDetail(spec *Spec) *Detail {
	all, tolerances := *spec, *spec.tolerances()
	tolerances.Always, tolerances.Sampled = true, true
	all.NoScreening, all.Tolerances = true, &tolerances
	e := NewEvaluation(&all)
	e.Evaluate(nil)
	d := &Detail{Design: e.design, Topology: e.Layout().Topology(), Stage: e.Stage(), bench: e.Bench(), layout: e.Layout()}
	e.Fill(&d.Row)
	if e.Verdict.Status == models.CannotBuild {
		return d
	}
	b := e.Bench()
	b.dynamics.Prepare()
	for i := range b.scratch.Poses {
		p := PoseDetail{Pose: &b.scratch.Poses[i]}
		if p.Pose.Verdict.OK() {
			p.Values = b.poseValues(p.Pose)
			b.poseDynamics(&p)
		}
		d.Poses = append(d.Poses, p)
		if !p.Pose.Verdict.OK() {
			break
		}
	}
	d.PartFails = e.PartFails()
	d.Budgets = append(d.staticBudgets(), b.budgets()...)
	return d
}

// poseDynamics fills frequencies and supports, where they can be computed.
func (b *Bench) poseDynamics(p *PoseDetail) {
	d := b.dynamics
	modes := d.NewModes()
	in, out, v := d.Lists(p.Pose, modes)
	if !v.OK() {
		return
	}
	hertz := func(omega []float64) []float64 {
		f := []float64{}
		for _, w := range omega {
			f = append(f, w/(2*math.Pi))
		}
		return f
	}
	p.InPlane, p.OutOfPlane = hertz(in), hertz(out)
	for axis, k := range [2]int{modes.GuidedX, modes.GuidedY} {
		if k >= 0 {
			p.Values = append(p.Values, PoseValue{[2]string{"guided_x", "guided_y"}[axis], models.Hertz, modes.Omega[k] / (2 * math.Pi)})
		}
	}
	t := b.topology
	for _, body := range t.Carried() {
		var k [9]float64
		q, ok := d.SagOf(p.Pose, body)
		if !ok || !d.Support(p.Pose, body, &k) {
			continue
		}
		p.Supports = append(p.Supports, Support{body, k[0], k[4], k[8], q[0], q[1], q[2]})
	}
}

// PoseRows returns one of each value that any of the poses has: not all have all.
func PoseRows(poses []PoseDetail) []PoseValue {
	var list []PoseValue
	for i := range poses {
		for _, v := range poses[i].Values {
			if !slices.ContainsFunc(list, func(o PoseValue) bool { return o.Name == v.Name }) {
				list = append(list, v)
			}
		}
	}
	return list
}

// Of returns the value of a name; ok is false where the pose has none.
func (p *PoseDetail) Of(name string) (value float64, ok bool) {
	for _, v := range p.Values {
		if v.Name == name {
			return v.Value, true
		}
	}
	return 0, false
}

func (r *rig) poseValues(p *mechanics.Pose) []PoseValue {
	n := r.statics(p)
	list := []PoseValue{
		{"force_x", models.Newton, p.Force[0]},
		{"lost_motion_x", models.Micrometre, n.Read[0][0] - p.X},
		{"across_x", models.Micrometre, n.V[0]},
	}
	if len(p.Force) == 2 {
		list = []PoseValue{
			{"force_x", models.Newton, p.Force[0]},
			{"force_y", models.Newton, p.Force[1]},
			{"lost_motion_x", models.Micrometre, n.Read[0][0] - p.X},
			{"lost_motion_y", models.Micrometre, n.Read[1][1] - p.Y},
			{"across_x", models.Micrometre, n.V[0]},
			{"across_y", models.Micrometre, n.U[1]},
		}
	}
	list = append(list, []PoseValue{
		{"yaw", models.Microradian, n.StageYaw},
		{"arm_yaw", models.Microradian, n.ArmYaw},
		{"stress", models.Megapascal, n.Stress},
		{"drive_stiffness", models.NewtonPerMm, n.Stiffness},
	}...)
	if !math.IsInf(n.Buckling, 1) {
		list = append(list, PoseValue{"buckling_margin", models.One, n.Buckling})
	}
	for k := range list {
		if v := &list[k]; v.Unit.SI != 1 {
			v.Value = v.Unit.FromSI(v.Value)
		}
	}
	return list
}

// PartsFailMost is what parts fail at most, empty where that was not asked for.
func (d *Detail) PartsFailMost() string {
	if len(d.PartFails) == 0 {
		return ""
	}
	return d.PartFails[0].Text
}
