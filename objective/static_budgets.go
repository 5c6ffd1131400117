package objective

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/models/mechanics"
)

// staticBudgets tells what mass, stress, force and clearance are made of, as far
// as the poses are solved.
func (d *Detail) staticBudgets() []Budget {
	list := []Budget{d.massBudget()}
	if n := len(d.bench.scratch.Poses); len(d.Poses) == n && d.Poses[n-1].Pose.Verdict.OK() {
		list = append(list, d.stressBudget(), d.staticForceBudget(), d.gapBudget())
		if b, ok := d.complianceBudget(); ok {
			list = append(list, b)
		}
	}
	return list
}

func at(p *mechanics.Pose) string {
	return fmt.Sprintf("at x = %.4g mm, y = %.4g mm", p.X*1e3, p.Y*1e3)
}

func (d *Detail) massBudget() Budget {
	t, st := d.Topology, d.Stage
	b := Budget{Title: "moving mass", Columns: []string{"value"}}
	idle, driven, other, blades := 0.0, 0.0, 0.0, 0.0
	for i, body := range t.Bodies {
		switch {
		case body.Held == models.HeldAll, i == t.Stage, t.Whole(i) != i:
		case slices.Contains(t.Driven, i):
			driven += st.BodyMass(t, i)
		case slices.Contains(t.Idle, i):
			idle += st.BodyMass(t, i)
		default:
			other += st.BodyMass(t, i)
		}
	}
	for i := range t.Blades {
		blades += st.Density[i] * st.Thickness[i] * st.Width[i] * math.Hypot(st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i])
	}
	stage := st.BodyMass(t, t.Stage)
	b.row("stage", models.Kilogram, "with what is mounted on it", stage)
	part := func(name, note string, mass float64, bodies []int) {
		var names []string
		for _, i := range bodies {
			if i != t.Stage {
				names = append(names, t.Bodies[i].Name)
			}
		}
		if mass > 0 {
			b.row(strings.TrimSuffix(name+": "+strings.Join(names, ", "), ": "), models.Kilogram, note, mass)
		}
	}
	part("driven", "with what is mounted on them", driven, t.Driven)
	part("idle", "", idle, t.Idle)
	part("other bodies", "", other, nil)
	b.row("blades", models.Kilogram, "", blades)
	b.row("sum", models.Kilogram, "", stage+driven+idle+other+blades)
	return b
}

// newtonMillimetre is the unit of moments in budgets.
var newtonMillimetre = models.Unit{Symbol: "N mm", Suffix: "n_mm", Dimension: models.Number, SI: 1e-3}

// stressBudget follows the peak stress: σ = √(1-ν+ν²) (Kt |M| t / (2 I) + |P| / A).
func (d *Detail) stressBudget() Budget {
	st := d.Stage
	var worst *mechanics.Pose
	var s PoseStatics
	for _, p := range d.Poses {
		if r := d.bench.statics(p.Pose); worst == nil || exceeds(r.Stress, s.Stress) {
			worst, s = p.Pose, r
		}
	}
	k := s.Hottest
	h, w := st.Thickness[k], st.Width[k]
	end, moment := "root", math.Abs(worst.RootM[k])
	if m := math.Abs(worst.TipM[k]); m > moment {
		end, moment = "tip", m
	}
	bodies, blade := d.Topology.Bodies, d.Topology.Blades[k]
	b := Budget{Title: fmt.Sprintf("peak stress %s, %s of blade %d (%s to %s)", at(worst), end, k, bodies[blade.From].Name, bodies[blade.To].Name),
		Columns: []string{"value"}}
	b.row("end moment M", newtonMillimetre, "", moment)
	b.row("bending, M t / 2 I", models.Megapascal, "", moment*6/(w*h*h))
	b.row("stress concentration Kt × plate factor", models.One, fmt.Sprintf("fillet of %.3g mm, thickness %.3g mm", st.Fillet[k]*1e3, h*1e3), d.bench.kt[k])
	b.row("axial, |P| / A", models.Megapascal, fmt.Sprintf("P = %.4g N", worst.Axial[k]), math.Abs(worst.Axial[k])/(w*h))
	b.row("largest principal stress, Kt bending + axial", models.Megapascal, "what fatigue counts with", s.Stress/d.bench.mises[k])
	b.row("von Mises, √(1-ν+ν²) of it", models.Megapascal, "the blade cannot narrow at its clamp", s.Stress)
	b.row("proof strength Rp0.2", models.Megapascal, d.Design.Material.Name, d.Design.Material.Yield)
	return b
}

// staticForceBudget splits the largest static force: what the centre's stiffness
// makes of the travel, what the travel along the axis adds, what the other
// axis's travel adds.
func (d *Detail) staticForceBudget() Budget {
	worst, axis := 0, 0
	for i, p := range d.Poses {
		for k := range p.Pose.Force {
			if exceeds(math.Abs(p.Pose.Force[k]), math.Abs(d.Poses[worst].Pose.Force[axis])) {
				worst, axis = i, k
			}
		}
	}
	p, centre := d.Poses[worst].Pose, d.Poses[0].Pose
	along, alone := p.X, d.Poses[sameX[worst]].Pose
	if axis == 1 {
		along, alone = p.Y, d.Poses[sameY[worst]].Pose
	}
	linear, rest := centre.Drive[3*axis]*along, centre.Force[axis]
	b := Budget{Title: fmt.Sprintf("static force along %v %s", models.Axis(axis), at(p)), Columns: []string{"value"}}
	b.row("at the centre", models.Newton, "", rest)
	b.row("linear part", models.Newton, fmt.Sprintf("%.4g N/mm at the centre over %.4g mm", centre.Drive[3*axis]/1e3, along*1e3), linear)
	b.row("stiffening along the axis", models.Newton, "", alone.Force[axis]-linear-rest)
	b.row("by the other axis", models.Newton, "cross force; nominal", p.Force[axis]-alone.Force[axis])
	b.row("sum", models.Newton, "", p.Force[axis])
	return b
}

// turns is the least rotation that counts for gaps, rad: 10 µm over 100 mm.
const turns = 1e-4

// gapBudget takes the bodies where the equilibria put them; rotations of microradians
// are left out.
func (d *Detail) gapBudget() Budget {
	design := d.Design
	design.Parameters = slices.Clone(design.Parameters)
	outlines, v := d.layout.Outline(&design)
	if !v.OK() {
		panic("objective: a design that was built has no outline")
	}
	motions := make([]models.Motion, len(d.Topology.Bodies))
	pair := func(g models.Gap) string {
		return fmt.Sprintf("%s to %s", d.Topology.Bodies[g.A].Name, d.Topology.Bodies[g.B].Name)
	}
	g := models.Clearance(outlines, motions)
	b := Budget{Title: "least gap between bodies", Columns: []string{"value"}}
	b.row("at rest", models.Millimetre, pair(g), g.Distance)
	least, pose := models.Gap{Distance: math.Inf(1)}, d.Poses[0].Pose
	for _, p := range d.Poses {
		for i := range motions {
			q := p.Pose.Q[3*i : 3*i+3]
			motions[i] = models.Motion{X: q[0], Y: q[1]}
			if math.Abs(q[2]) > turns {
				motions[i] = models.Turned(d.Stage.X[i], d.Stage.Y[i], q[0], q[1], q[2])
			}
		}
		if g := models.Clearance(outlines, motions); exceeds(least.Distance, g.Distance) {
			least, pose = g, p.Pose
		}
	}
	b.row(fmt.Sprintf("over the %d poses", len(d.Poses)), models.Millimetre, pair(least)+", "+at(pose), least.Distance)
	return b
}
