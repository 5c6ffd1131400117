package configs

import (
	"math"
	"slices"

	"flexwright/models"
	"flexwright/models/mechanics"
	"flexwright/objective"
	"flexwright/search"
)

// Title of the brief, empty when it has none.
func (b *Brief) Title() string { return b.settings.Text("title") }

// Section returns a group of [Sections] by its name; an absent one holds its
// defaults, and Given tells of each field whether the brief gives it.
func (b *Brief) Section(name string) *Section { return b.settings.Group(name) }

// HasMotion reports whether the brief has a motion program of its own.
func (b *Brief) HasMotion() bool { return b.settings.Given("motion") }

// Spec returns what a candidate of the brief is and how it is judged. Numbers
// are in the units of their columns. Its order (variables, limits, measures) is
// that of the layout and the tables, whatever the order of the brief; goals and
// choices keep the brief's order.
func (b *Brief) Spec() *objective.Spec {
	s := &objective.Spec{
		Layouts:   b.bodies(),
		Union:     b.union,
		Fixed:     make([]float64, len(b.parameters)),
		Variables: b.variables(),
		Goals:     slices.Clone(b.goals),
		Limits:    b.allLimits(),
	}
	for i := range b.materials {
		s.Materials = append(s.Materials, &b.materials[i].Material)
	}
	for i, p := range b.parameters {
		switch {
		case b.fixed[i] != nil:
			s.Fixed[i] = b.fixed[i].Value
		case b.varied[i] != nil:
			s.Fixed[i] = math.NaN()
		default:
			s.Fixed[i] = p.Default
		}
	}
	if w := b.Section("workspace"); w.Has("up_to") {
		s.UpTo = w.SI("up_to")
	}
	s.Holes = b.HolePattern()
	s.Orientation = map[string]mechanics.Upright{"flat": mechanics.Flat, "x_up": mechanics.XUp, "y_up": mechanics.YUp}[b.settings.Text("orientation")]
	point := b.Section("point_of_interest")
	s.Interest = [3]float64{point.SI("x"), point.SI("y"), point.SI("height")}
	s.Measures = b.measures(s)
	s.Loop = b.loop()
	s.Drive, _ = b.drive() // checked by Load
	s.Tolerances = b.tolerances()
	s.Correct(b.corrections())
	s.NoScreening = !b.Section("search").On("screen")
	return s
}

// bodies returns the chosen layouts, those that can with bodies that bend unless the brief
// says rigid, on the mount that it describes.
func (b *Brief) bodies() []models.Layout {
	list := slices.Clone(b.layouts)
	if b.settings.Text("bodies") == "elastic" {
		for i, l := range list {
			list[i], _ = models.Bending(l)
		}
	}
	m := models.Mount{Z: math.Inf(1), XY: math.Inf(1)}
	mount := b.Section("ground_mount")
	if mount.Has("stiffness_z") {
		m.Z = mount.SI("stiffness_z")
	}
	if mount.Has("stiffness_xy") {
		m.XY = mount.SI("stiffness_xy")
	}
	if mount.Has("stiffness_z") || mount.Has("stiffness_xy") {
		for i := range list {
			list[i] = models.OnMount(list[i], m)
		}
	}
	return list
}

// variables in the order of the design vector: layout, material, then the
// parameters in the layout's order. Where nothing varies, the material is a
// choice of one, so that the brief is a run of one design.
func (b *Brief) variables() []objective.Variable {
	var list []objective.Variable
	if len(b.layouts) > 1 {
		list = append(list, objective.Variable{Target: objective.TargetLayout})
	}
	if len(b.materials) > 1 {
		list = append(list, objective.Variable{Target: objective.TargetMaterial})
	}
	for i, v := range b.varied {
		if v != nil {
			list = append(list, objective.Variable{Target: objective.TargetParameter, Index: i, Choices: slices.Clone(v.choices)})
		}
	}
	if len(list) == 0 {
		list = []objective.Variable{{Target: objective.TargetMaterial}}
	}
	return list
}

// Space returns the design space, one variable for each of [Brief.Spec].
func (b *Brief) Space() search.Space {
	var space search.Space
	for _, v := range b.variables() {
		switch v.Target {
		case objective.TargetLayout:
			space = append(space, search.Variable{Name: "layout", Kind: search.Choice, Choices: len(b.layouts), Apart: true})
		case objective.TargetMaterial:
			space = append(space, search.Variable{Name: "material", Kind: search.Choice, Choices: len(b.materials)})
		default:
			name, varied := b.parameters[v.Index].Name, b.varied[v.Index]
			switch {
			case varied.choices != nil:
				space = append(space, search.Variable{Name: name, Kind: search.Choice, Choices: len(varied.choices), Of: b.having(v.Index)})
			case varied.step > 0:
				space = append(space, search.Variable{Name: name, Kind: search.Stepped, From: varied.from, To: varied.to, Step: varied.step, Of: b.having(v.Index)})
			default:
				space = append(space, search.Variable{Name: name, Kind: search.Continuous, From: varied.from, To: varied.to, Log: varied.log, Of: b.having(v.Index)})
			}
		}
	}
	return space
}

// having lists the layouts that have a parameter, nil where all do.
func (b *Brief) having(parameter int) []int {
	if b.union == nil {
		return nil
	}
	var list []int
	for k, l := range b.layouts {
		if slices.Contains(b.union.Own(l), parameter) {
			list = append(list, k)
		}
	}
	return list
}

// Varies reports whether the brief is of more than one design.
func (b *Brief) Varies() bool {
	return slices.ContainsFunc(b.Space(), func(v search.Variable) bool { return v.Kind != search.Choice || v.Choices > 1 })
}

// allLimits returns the brief's limits in the order of the tables, then those of
// common practice that the brief does not replace: for the layouts that its own limit
// does not name they stand. One that the brief repeats word for word is the default
// itself.
func (b *Brief) allLimits() []objective.Limit {
	own := slices.Clone(b.limits)
	slices.SortFunc(own, func(x, y objective.Limit) int {
		if x.Ref.Parameter != y.Ref.Parameter {
			if y.Ref.Parameter {
				return -1
			}
			return 1
		}
		return x.Ref.Index - y.Ref.Index
	})
	limited := func(ref objective.Ref) int {
		return slices.IndexFunc(own, func(l objective.Limit) bool { return l.Ref == ref })
	}
	var defaults []objective.Limit
	common, _ := b.defaultLimits()
	for _, d := range common {
		k := limited(d.Ref)
		if k >= 0 && own[k].AtLeast == d.AtLeast && own[k].AtMost == d.AtMost && own[k].Layouts == nil {
			own = slices.Delete(own, k, k+1)
			k = -1
		} else if k < 0 && d.Ref == (objective.Ref{Index: int(objective.YieldMargin)}) {
			k = limited(objective.Ref{Index: int(objective.PeakStress)})
		}
		if k >= 0 {
			if d.Layouts = b.layoutsBut(own[k].Layouts); d.Layouts == nil {
				continue
			}
		}
		defaults = append(defaults, d)
	}
	return append(own, defaults...)
}

// layoutsBut names the layouts of the brief other than some, of which nil means all;
// nil where none are left.
func (b *Brief) layoutsBut(some []string) (others []string) {
	for _, name := range b.layoutNames() {
		if some != nil && !slices.Contains(some, name) {
			others = append(others, name)
		}
	}
	return others
}

// measures that are to be computed: all but those that wait to be named, and of
// these the named ones.
func (b *Brief) measures(s *objective.Spec) []objective.Measure {
	named := map[objective.Measure]bool{}
	for _, g := range s.Goals {
		named[objective.Measure(g.Ref.Index)] = named[objective.Measure(g.Ref.Index)] || !g.Ref.Parameter
	}
	for _, l := range s.Limits {
		named[objective.Measure(l.Ref.Index)] = named[objective.Measure(l.Ref.Index)] || !l.Ref.Parameter
	}
	for _, m := range b.also {
		named[m] = true
	}
	for m := range named {
		if named[m] && m.Plain() != m {
			named[m.Plain()] = true
		}
	}
	for m := range named {
		if text := objective.Table[m].ExplainedBy; named[m] && text != 0 {
			named[text] = true
		}
	}
	loop := false
	for m := range objective.NumMeasures {
		loop = loop || named[m] && objective.Table[m].Needs&objective.NeedsLoop != 0
	}
	if loop {
		for _, k := range objective.LoopMeasures {
			named[k] = true
		}
		named[objective.NotchesFound] = named[objective.NotchesFound] || b.Section("loop").Int("auto_notch") > 0
	}
	named[objective.DrivePower] = named[objective.DrivePower] || named[objective.CoilTemperatureRise]
	var list []objective.Measure
	for m := range objective.NumMeasures {
		if !objective.Table[m].OnName || named[m] {
			list = append(list, m)
		}
	}
	return list
}

// Plan is how the brief asks for designs. Only the fields of its method are set.
type Plan struct {
	Method      string      // evolve, latin, sobol, grid
	Seed        uint64      // not of grid
	Population  int         // evolve
	Generations int         // evolve
	Stagnation  int         // evolve; 0: never
	Surrogate   bool        // evolve
	Auto        bool        // the brief leaves the surrogate open: Surrogate is what it comes to
	Switched    []int       // evolve: generations behind which a longer run has changed it
	Designs     int64       // latin, sobol
	Grown       []int64     // latin: the numbers of designs that it grew through
	PerVariable int         // grid
	Start       [][]float64 // evolve: design vectors to begin with

	Exchange search.Exchange // evolve, between shards; nil: they search apart. No part of the brief
	Pool     *search.Pool    // evolve, of the surrogate; nil: one worker. No part of the brief
}

// Plan returns the search section.
func (b *Brief) Plan() Plan {
	s := b.Section("search")
	surrogate, auto := s.On("surrogate"), s.Switch("surrogate") == "auto"
	if auto {
		surrogate = int64(s.Int("population"))*int64(s.Int("generations")) <= search.SurrogateDesigns
	}
	return Plan{
		Method: s.Text("method"), Seed: uint64(s.Int("seed")),
		Population: s.Int("population"), Generations: s.Int("generations"), Surrogate: surrogate, Auto: auto, Stagnation: s.Int("stagnation"),
		Designs: int64(s.Int("designs")), PerVariable: s.Int("per_variable"), Start: b.start,
	}
}

// New makes the plan over a space, one shard of it (the zero value: all).
func (p Plan) New(space search.Space, shard search.Shard) (search.Plan, error) {
	switch p.Method {
	case "latin":
		return search.NewLatinHypercube(space, p.Seed, search.SampleOptions{Designs: p.Designs, Grown: p.Grown, Shard: shard})
	case "sobol":
		return search.NewSobol(space, p.Seed, search.SampleOptions{Designs: p.Designs, Shard: shard})
	case "grid":
		return search.NewGrid(space, search.GridOptions{PerVariable: p.PerVariable, Shard: shard})
	}
	evolve, err := search.NewEvolve(space, p.Seed, search.EvolveOptions{Population: p.Population, Generations: p.Generations, Surrogate: p.Surrogate, Switched: p.Switched, Stagnation: p.Stagnation, Start: p.Start, Shard: shard, Exchange: p.Exchange, Pool: p.Pool})
	if err != nil {
		return nil, err
	}
	return evolve, nil
}

// HolePattern returns the holes in the stage that the section drawing asks for.
func (b *Brief) HolePattern() models.HolePattern {
	d := b.Section("drawing")
	h := models.HolePattern{Pitch: d.SI("payload_pitch"), Diameter: d.SI("payload_diameter")}
	h.Rows, h.Columns = d.Grid("payload_holes")
	return h
}
