package configs

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"flexwright/models"
	"flexwright/objective"
)

// briefOutline is what an empty or misshapen file should have been.
const briefOutline = "a brief: layout, material and goals at least, then fix, vary, workspace, limits, search"

// Brief is a design brief that was read without a problem.
type Brief struct {
	layouts    []models.Layout // the chosen ones
	materials  []material      // the chosen ones
	parameters []models.Parameter
	fixed      []*Quantity  // by number of the parameter; nil where it is not fixed
	varied     []*variation // the same
	goals      []objective.Goal
	limits     []objective.Limit // without the default ones
	also       []objective.Measure
	start      [][]float64 // design vectors
	settings   *Section    // of Sections
	warnings   []string

	layoutFiles []LayoutFile
	union       *objective.Union // nil: all layouts have the same parameters
}

// material that a brief chose.
type material struct {
	models.Material
	own bool // defined in the brief
}

// coreKeys of a brief in the order in which the resolved brief writes them,
// around the sections.
var coreKeys = []string{"layout", "material", "materials", "fix", "vary", "goals", "limits", "also", "start"}

// topKeys lists every key of a brief.
func topKeys() []string { return append(append([]string{}, coreKeys...), fieldNames(Sections)...) }

// load is the state of reading one brief.
type load struct {
	*reader
	Brief
	goalPlaces  []place
	limitPlaces []place
	alsoPlaces  []place
	layoutPlace place
	assumed     bool // no layout was accepted: parameters are those of any

	others Problems // of the layout files
}

// Load reads a brief. It returns every problem that it finds, in the order of
// the file; the brief is nil when there is one. layouts and materials are what a
// brief may name; name is the file's, for messages.
func Load(name string, data []byte, layouts []models.Layout, materials []models.Material) (*Brief, Problems) {
	return LoadWith(name, data, layouts, materials, nil)
}

// LoadWith is [Load] for a brief that may name layout files: open reads them. Their
// problems follow the brief's own.
func LoadWith(name string, data []byte, layouts []models.Layout, materials []models.Material, open Open) (*Brief, Problems) {
	data = []byte(strings.TrimPrefix(string(data), "\ufeff"))
	l := &load{reader: newReader(name, data)}
	root := l.parseYAML(data)
	if root == nil {
		return nil, l.all()
	}
	if root.kind != kindMapping {
		l.refuse(root.place, briefOutline, "the file holds %s, not a mapping", kindNames[root.kind])
		return nil, l.all()
	}
	l.readLayout(root, layouts, open) // names parameters, which hints need
	l.keys(root, "the brief has no key", topKeys(), l.outdented)
	l.readMaterials(root, materials)
	l.readSettings(root)
	l.readFix(root)
	l.readVary(root)
	l.readTravel(root)
	l.readGoals(root)
	l.readLimits(root)
	l.readAlso(root)
	l.readStart(root)
	l.checkGiven(root)
	l.checkGoals()
	l.checkLimits()
	l.checkWorkspace()
	l.checkControl()
	l.checkTolerances()
	l.checkCorrections()
	if problems := append(l.all(), l.others...); len(problems) > 0 {
		return nil, problems
	}
	l.warnOfDefaults()
	l.warnOfRigid()
	l.warnOfProngs()
	l.settleTravel()
	l.settleScreen()
	return &l.Brief, nil
}

// outdented explains a name that belongs under a key of the brief.
func (l *load) outdented(name string) string {
	var under []string
	for i := range Sections {
		if contains(fieldNames(Sections[i].Fields), name) {
			under = append(under, Sections[i].Name)
		}
	}
	if under != nil {
		return ": it belongs under " + strings.Join(under, " or ")
	}
	if _, ok := objective.ByName(name); ok {
		return ": it is a measure, which belongs under goals or limits"
	}
	if l.parameter(name) >= 0 {
		return ": it is a parameter, which belongs under fix or vary"
	}
	return ""
}

// readSettings reads the sections; core keys are not theirs to refuse.
func (l *load) readSettings(root *node) {
	own := node{place: root.place, kind: kindMapping}
	for _, p := range root.pairs {
		if contains(fieldNames(Sections), p.key.text) && own.get(p.key.text) == nil {
			own.pairs = append(own.pairs, p)
		}
	}
	l.settings = l.readSection(&own, root.place, "the brief", Sections)
	l.settleTolerances()
}

// readChoice reads a name or {one_of: [names]}.
func (l *load) readChoice(n *node, what string, names []string) (chosen []string) {
	accepted := strings.Join(names, ", ") + fmt.Sprintf("; or {one_of: [%s, …]}", names[0])
	if what == "layout" {
		accepted += "; or a file NAME" + LayoutEnding
	}
	items := []node{*n}
	if n.kind == kindMapping {
		l.keys(n, what+" has no key", []string{"one_of"}, nil)
		list := n.get("one_of")
		switch {
		case list == nil && n.meant("one_of", []string{"one_of"}):
			return nil
		case list == nil:
			l.refuse(n.place, accepted, "%s lacks one_of", what)
			return nil
		case list.kind != kindSequence:
			l.refuse(list.place, accepted, "one_of is %s, not a list", kindNames[list.kind])
			return nil
		case len(list.items) == 0:
			l.refuse(list.place, accepted, "one_of is empty")
			return nil
		}
		items = list.items
	}
	for _, item := range items {
		switch {
		case item.kind == kindNull:
			l.refuse(item.place, accepted, "%s has no value", what)
		case item.kind != kindText:
			l.refuse(item.place, accepted, "%s is %s, not a name", what, kindNames[item.kind])
		case item.text == unreadable:
		case !contains(names, item.text):
			l.refuse(item.place, accepted, "there is no %s %s%s", what, show(item.text), DidYouMean(item.text, names))
		case contains(chosen, item.text):
			l.refuse(item.place, "each name once", "%s stands twice", item.text)
		default:
			chosen = append(chosen, item.text)
		}
	}
	return chosen
}

func (l *load) readLayout(root *node, layouts []models.Layout, open Open) {
	n := root.get("layout")
	if n != nil {
		layouts = l.readLayoutFiles(n, layouts, open)
	}
	names := make([]string, len(layouts))
	for i := range layouts {
		names[i] = layouts[i].Name()
	}
	if n == nil {
		if !root.meant("layout", topKeys()) {
			l.refuse(root.place, "layout: "+strings.Join(names, ", "), "the brief lacks layout")
		}
		l.assumeLayouts(layouts)
		return
	}
	l.layoutPlace = n.place
	for _, name := range l.readChoice(n, "layout", names) {
		for _, layout := range layouts {
			if layout.Name() == name {
				l.layouts = append(l.layouts, compiled(layout))
			}
		}
	}
	if len(l.layouts) == 0 {
		l.assumeLayouts(layouts)
		return
	}
	l.parameters = l.layouts[0].Parameters()
	for _, other := range l.layouts[1:] {
		if l.union == nil && !slices.EqualFunc(other.Parameters(), l.layouts[0].Parameters(), sameParameter) {
			l.union = objective.NewUnion(l.layouts)
			l.parameters = l.union.Parameters
		}
		for _, p := range other.Parameters() {
			k := l.parameter(p.Name)
			if q := &l.parameters[k]; q.Unit != p.Unit || q.Min > q.Max {
				l.refuse(n.place, "layouts whose parameters of one name have the same unit and ranges in common", "%s means something else in %s", p.Name, other.Name())
			}
		}
	}
	l.fixed = make([]*Quantity, len(l.parameters))
	l.varied = make([]*variation, len(l.parameters))
}

// assumeLayouts lets the rest of a brief without an accepted layout be checked
// too, against the parameters of all layouts.
func (l *load) assumeLayouts(layouts []models.Layout) {
	l.assumed = true
	for _, layout := range layouts {
		for _, p := range layout.Parameters() {
			switch k := l.parameter(p.Name); {
			case k < 0:
				l.parameters = append(l.parameters, p)
			default:
				q := &l.parameters[k]
				q.Min, q.Max = min(q.Min, p.Min), max(q.Max, p.Max)
			}
		}
	}
	l.fixed = make([]*Quantity, len(l.parameters))
	l.varied = make([]*variation, len(l.parameters))
}

// sameParameter reports whether two layouts mean the same by a parameter; an
// absent default, NaN, equals another.
func sameParameter(a, b models.Parameter) bool {
	if math.IsNaN(a.Default) && math.IsNaN(b.Default) {
		a.Default, b.Default = 0, 0
	}
	return a == b
}

func (l *load) readMaterials(root *node, table []models.Material) {
	var all []material
	var names []string
	accepted := "a mapping of names to properties: " + strings.Join(fieldNames(materialFields), ", ")
	if own := root.get("materials"); own != nil && l.mapping(own, "materials", accepted) {
		for _, p := range own.pairs {
			if contains(names, p.key.text) {
				l.refuse(p.key.place, "each key once", "%s stands twice", p.key.text)
				continue
			}
			names = append(names, p.key.text)
			all = append(all, l.readMaterial(p, accepted))
		}
	}
	// A material of the brief takes the place of one of the same name.
	for _, m := range table {
		if !contains(names, m.Name) {
			names = append(names, m.Name)
			all = append(all, material{Material: m})
		}
	}
	n := root.get("material")
	if n == nil {
		if root.meant("material", topKeys()) {
			return
		}
		l.refuse(root.place, "material: "+strings.Join(names, ", "), "the brief lacks material")
		return
	}
	for _, name := range l.readChoice(n, "material", names) {
		for _, m := range all {
			if m.Name == name {
				l.materials = append(l.materials, m)
			}
		}
	}
}

// readMaterial reads the properties of a user's material. A property that is
// absent is NaN: unknown.
func (l *load) readMaterial(p pair, accepted string) material {
	m := material{own: true}
	m.Name = p.key.text
	if p.value.kind != kindMapping {
		l.refuse(p.value.place, accepted, "material %s is %s, not a mapping", show(m.Name), kindNames[p.value.kind])
		return m
	}
	s := l.readSection(&p.value, p.key.place, "material "+show(m.Name), materialFields)
	for _, property := range properties {
		*property.at(&m.Material) = s.Float(property.Name)
	}
	m.Source = s.Text("source")
	if m.Source == "" {
		m.Source = "the brief"
	}
	if m.Ultimate < m.Yield {
		l.refuse(s.value("ultimate_strength", KindQuantity).place, "an ultimate strength above the yield strength", "ultimate_strength is below yield_strength")
	}
	if m.Fatigue > m.Ultimate {
		l.refuse(s.value("fatigue_strength", KindQuantity).place, "a fatigue strength below the ultimate strength", "fatigue_strength is above ultimate_strength")
	}
	if s.Has("fatigue_strength") != s.Has("fatigue_cycles") {
		l.refuse(s.place, "both or neither", "fatigue_strength and fatigue_cycles belong together")
	}
	return m
}
