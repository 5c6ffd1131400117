package configs

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
)

const assemblyOutline = `a JSON object with the keys bodies, blades, stage, actuators, loads`

// mostActuators of an assembly: one for each coordinate that is prescribed.
const mostActuators = 2

// assembly is the state of reading one file.
type assembly struct {
	*reader
	topology models.Topology
	stage    *models.Stage
	byName   map[string]int
	bodies   []place
}

// LoadAssembly reads an assembly file: bodies, blades, actuators and loads, all
// in SI (JSON, see the command's manual). It returns every problem that it finds;
// topology and stage are nil when there is one. Fields of the stage that belong to
// a plate (Travel, UpTo, Frame) are 0, and the topology has no arms. Mass and
// inertia of a fixed body are 0 where the file leaves them out. A moving body may
// have no mass: a joint between blades, whose mass then moves.
func LoadAssembly(name string, data []byte) (*models.Topology, *models.Stage, Problems) {
	a := &assembly{reader: newReader(name, data), byName: map[string]int{}}
	root := a.parseJSON(data)
	if root == nil {
		return nil, nil, a.all()
	}
	if root.kind != kindMapping {
		a.refuse(root.place, assemblyOutline, "the file holds %s", kindNames[root.kind])
		return nil, nil, a.all()
	}
	a.keys(root, "the assembly has no key", []string{"units", "bodies", "blades", "root_stiffness", "beams", "stage", "actuators", "loads"}, nil)
	if n := root.get("units"); n != nil && n.text != "SI" {
		a.refuse(n.place, `"SI"`, "units other than SI")
	}
	roots, stiffer := a.number(root, "root_stiffness", "the assembly")
	if stiffer && !(roots > 0) {
		a.refuse(root.get("root_stiffness").place, "a number above 0", "root_stiffness is not above 0")
	}
	bodies, blades := a.list(root, "bodies", true), a.list(root, "blades", true)
	actuators, loads := a.list(root, "actuators", false), a.list(root, "loads", false)
	if len(actuators) > mostActuators {
		a.refuse(actuators[mostActuators].place, fmt.Sprintf("at most %d actuators", mostActuators), "there are %d actuators", len(actuators))
		actuators = actuators[:mostActuators]
	}
	a.topology.Bodies = make([]models.BodySpec, len(bodies))
	a.topology.Blades = make([]models.BladeSpec, len(blades))
	a.topology.Actuators = make([]models.ActuatorSpec, len(actuators))
	beams := a.list(root, "beams", false)
	a.stage = models.NewStage(&a.topology)
	a.stage.RootStiffness = 1
	if stiffer {
		a.stage.RootStiffness = roots
	}
	a.bodies = make([]place, len(bodies))
	for i := range bodies {
		a.body(i, &bodies[i])
	}
	a.parts(bodies)
	a.beams(beams)
	for i := range blades {
		a.blade(i, &blades[i])
	}
	a.stageBody(root)
	for i := range actuators {
		a.actuator(i, &actuators[i])
	}
	for i := range loads {
		a.load(&loads[i])
	}
	if len(a.problems) == 0 {
		a.checkGround(root)
	}
	if problems := a.all(); len(problems) > 0 {
		return nil, nil, problems
	}
	return &a.topology, a.stage, nil
}

// list returns the objects of a top-level list.
func (a *assembly) list(root *node, name string, required bool) []node {
	n := root.get(name)
	switch {
	case n == nil && required:
		a.refuse(root.place, name+": a list of objects", "the assembly lacks %s", name)
	case n == nil:
	case n.kind != kindSequence:
		a.refuse(n.place, "a list of objects", "%s is %s, not a list", name, kindNames[n.kind])
	case len(n.items) == 0 && required:
		a.refuse(n.place, "at least one", "there are no %s", name)
	default:
		return n.items
	}
	return nil
}

// object checks the keys of one entry of a list.
func (a *assembly) object(n *node, what string, required, optional []string) bool {
	if n.kind != kindMapping {
		a.refuse(n.place, "an object with the keys "+strings.Join(append(required, optional...), ", "), "%s is %s", what, kindNames[n.kind])
		return false
	}
	a.keys(n, what+" has no key", append(slices.Clone(required), optional...), nil)
	var missing []string
	for _, name := range required {
		if n.get(name) == nil && !n.meant(name, append(slices.Clone(required), optional...)) {
			missing = append(missing, name)
		}
	}
	if len(missing) > 0 {
		a.refuse(n.place, "the keys "+strings.Join(required, ", "), "%s lacks %s", what, strings.Join(missing, ", "))
	}
	return true
}

func (a *assembly) body(i int, n *node) {
	what := fmt.Sprintf("body %d", i+1)
	if name := n.get("name"); name != nil && name.quote {
		what = "body " + show(name.text)
	}
	required := []string{"name", "position_m", "mass_kg", "inertia_kg_m2"}
	optional := []string{"product_kg_m2", "part_of", "follows", "fixed", "held"}
	fixed := a.flag(n, "fixed")
	if fixed {
		required, optional = required[:2], []string{"mass_kg", "inertia_kg_m2", "product_kg_m2", "part_of", "follows", "fixed", "held", "springs"}
		if n.get("springs") != nil { // it has inertia
			required, optional = []string{"name", "position_m", "mass_kg", "inertia_kg_m2"}, optional[2:]
		}
	}
	if !a.object(n, what, required, optional) {
		return
	}
	s, spec := a.stage, &a.topology.Bodies[i]
	a.bodies[i] = n.place
	if name := n.get("name"); name != nil {
		if a.text(name, what+": name") {
			if other, twice := a.byName[name.text]; twice {
				a.refuse(name.place, "a name of its own", "%s is the name of body %d too", show(name.text), other+1)
			} else {
				a.byName[name.text] = i
			}
			spec.Name = name.text
		}
	}
	if p := a.numbers(n, "position_m", what, 2, 3); p != nil {
		s.X[i], s.Y[i] = p[0], p[1]
		if len(p) == 3 {
			s.Z[i] = p[2]
		}
	}
	s.Mass[i], s.Ix[i], s.Iy[i], s.Iz[i] = 0, 0, 0, 0
	if m, ok := a.number(n, "mass_kg", what); ok {
		s.Mass[i] = m
		if m < 0 {
			a.refuse(n.get("mass_kg").place, "a mass of at least 0 kg", "%s: mass_kg is negative", what)
		}
	}
	if inertia := a.numbers(n, "inertia_kg_m2", what, 3, 3); inertia != nil {
		s.Ix[i], s.Iy[i], s.Iz[i] = inertia[0], inertia[1], inertia[2]
		if slices.Min(inertia) < 0 {
			a.refuse(n.get("inertia_kg_m2").place, "moments of inertia of at least 0 kg m²", "%s: inertia_kg_m2 is negative", what)
		}
	}
	if p, ok := a.number(n, "product_kg_m2", what); ok {
		s.Ixy[i] = p
		if p*p > s.Ix[i]*s.Iy[i] {
			a.refuse(n.get("product_kg_m2").place, "a product ∫ xy dm whose square is at most that of the moments about x and y", "%s: product_kg_m2 is more than any body has with these moments", what)
		}
	}
	if fixed {
		spec.Held = models.HeldAll
		if k := a.numbers(n, "springs", what, 6, 6); k != nil {
			spec.Mounted = true
			s.Springs = append(s.Springs, [6]float64(k))
			if slices.Min(k) <= 0 {
				a.refuse(n.get("springs").place, "six stiffnesses above 0", "%s: springs hold nothing", what)
			}
		}
	}
	if follows := n.get("follows"); follows != nil {
		a.follows(follows, what, spec)
	}
	if held := n.get("held"); held != nil {
		a.held(held, what, fixed, spec)
	}
}

func (a *assembly) held(n *node, what string, fixed bool, spec *models.BodySpec) {
	const accepted = `a list of "x", "y", "yaw"`
	if n.kind != kindSequence {
		a.refuse(n.place, accepted, "%s: held is %s", what, kindNames[n.kind])
		return
	}
	if fixed {
		a.refuse(n.place, "fixed or held", "%s is fixed and held", what)
	}
	for i := range n.items {
		if axis, ok := a.axis(&n.items[i], what+": held", models.AxisYaw); ok {
			if spec.Held.Has(axis) && !fixed {
				a.refuse(n.items[i].place, "each axis once", "%s: %s is held twice", what, axis)
			}
			spec.Held = spec.Held.Add(axis)
		}
	}
}

func (a *assembly) blade(i int, n *node) {
	what := fmt.Sprintf("blade %d", i+1)
	required := []string{"from", "to", "root_m", "tip_m", "thickness_m", "width_m", "youngs_modulus_pa", "poisson_ratio", "density_kg_m3"}
	if !a.object(n, what, required, []string{"bending_factor", "fillet_radius_m", "roots_yield", "root_bar", "tip_bar"}) {
		return
	}
	s, spec := a.stage, &a.topology.Blades[i]
	s.Yields[i] = a.flag(n, "roots_yield")
	a.bar(n, "root_bar", what, &s.RootBar[i])
	a.bar(n, "tip_bar", what, &s.TipBar[i])
	from, fromOK := a.named(n, "from", what)
	to, toOK := a.named(n, "to", what)
	spec.From, spec.To = from, to
	if fromOK && toOK && from == to {
		a.refuse(n.get("to").place, "two bodies", "%s joins %s to itself", what, show(a.topology.Bodies[from].Name))
	} else if fromOK && toOK && a.topology.Bodies[from].Held == models.HeldAll && a.topology.Bodies[to].Held == models.HeldAll {
		a.refuse(n.get("to").place, "at least one body that moves", "%s joins two fixed bodies", what)
	}
	root, tip := a.numbers(n, "root_m", what, 2, 2), a.numbers(n, "tip_m", what, 2, 2)
	if root != nil && tip != nil {
		s.RootX[i], s.RootY[i], s.TipX[i], s.TipY[i] = root[0], root[1], tip[0], tip[1]
		if length := math.Hypot(tip[0]-root[0], tip[1]-root[1]); !(length > 0) || math.IsInf(length, 0) {
			a.refuse(n.get("tip_m").place, "two different points", "%s has no length", what)
		}
	}
	positive := func(name string, into *float64) {
		if v, ok := a.number(n, name, what); ok {
			*into = v
			if v <= 0 {
				a.refuse(n.get(name).place, "a number above 0", "%s: %s is not above 0", what, name)
			}
		}
	}
	positive("thickness_m", &s.Thickness[i])
	positive("width_m", &s.Width[i])
	positive("youngs_modulus_pa", &s.Young[i])
	if n.get("bending_factor") != nil {
		positive("bending_factor", &s.BendingFactor[i])
	}
	if n.get("fillet_radius_m") != nil {
		positive("fillet_radius_m", &s.Fillet[i])
	}
	if v, ok := a.number(n, "poisson_ratio", what); ok {
		s.Poisson[i] = v
		if v < 0 || v >= 0.5 {
			a.refuse(n.get("poisson_ratio").place, "0 to below 0.5", "%s: poisson_ratio is out of range", what)
		}
	}
	if v, ok := a.number(n, "density_kg_m3", what); ok {
		s.Density[i] = v
		if v < 0 {
			a.refuse(n.get("density_kg_m3").place, "a density of at least 0", "%s: density_kg_m3 is negative", what)
		}
	}
}

func (a *assembly) stageBody(root *node) {
	if root.get("stage") == nil {
		a.refuse(root.place, "stage: the name of the body whose position is given", "the assembly lacks stage")
		return
	}
	if i, ok := a.named(root, "stage", "the assembly"); ok {
		a.topology.Stage = i
		if a.topology.Bodies[i].Held == models.HeldAll {
			a.refuse(root.get("stage").place, "a body that moves", "the stage, %s, is fixed", show(a.topology.Bodies[i].Name))
		}
	}
}

func (a *assembly) actuator(i int, n *node) {
	what := fmt.Sprintf("actuator %d", i+1)
	if !a.object(n, what, []string{"body", "axis"}, []string{"from", "point_m", "stiffness_along_n_per_m", "stiffness_across_n_per_m"}) {
		return
	}
	spec := &a.topology.Actuators[i]
	body, ok := a.movable(n, what)
	if ok {
		spec.Body = body
		a.stage.ActX[i], a.stage.ActY[i] = a.stage.X[body], a.stage.Y[body]
	}
	if axis := n.get("axis"); axis != nil && ok {
		spec.Axis, ok = a.axis(axis, what+": axis", models.AxisY)
	}
	if from := n.get("from"); from != nil {
		switch k, found := a.named(n, "from", what); {
		case !found:
			ok = false
		case ok && k == body:
			a.refuse(from.place, "another body", "%s pushes its body from itself", what)
			ok = false
		case a.topology.Bodies[k].Held != models.HeldAll:
			spec.From = 1 + k
		}
	}
	if p := a.numbers(n, "point_m", what, 2, 3); p != nil {
		a.stage.ActX[i], a.stage.ActY[i] = p[0], p[1]
		if len(p) == 3 {
			a.stage.ActZ[i] = p[2]
		}
	}
	if k, ok := a.number(n, "stiffness_along_n_per_m", what); ok {
		a.stage.ActAlong[i] = k
	}
	if k, ok := a.number(n, "stiffness_across_n_per_m", what); ok {
		a.stage.ActAcross[i] = k
	}
	if ok && i > 0 && n.get("axis") != nil && a.topology.Actuators[0] == *spec {
		a.refuse(n.place, "another body or another axis", "%s pushes where actuator 1 does", what)
	}
}

func (a *assembly) load(n *node) {
	what := fmt.Sprintf("load %d", len(a.stage.Loads)+1)
	if !a.object(n, what, []string{"body", "axis", "value"}, nil) {
		return
	}
	var l models.Load
	l.Body, _ = a.movable(n, what)
	if axis := n.get("axis"); axis != nil {
		l.Axis, _ = a.axis(axis, what+": axis", models.AxisYaw)
	}
	l.Value, _ = a.number(n, "value", what)
	a.stage.Loads = append(a.stage.Loads, l)
}
