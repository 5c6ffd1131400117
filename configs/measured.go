package configs

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/objective/fit"
)

const measuredOutline = "a file of measurements: the key measured at least, then unknowns and proposals"

// Measured is what a file of measurements says.
type Measured struct {
	Unknowns  []fit.Unknown     // the defaults where the file names none
	List      []fit.Measurement // at least one
	Proposals []fit.Measurement // without values; the defaults where the file names none
}

// measuredReader reads a file of measurements on the stage of one design.
type measuredReader struct {
	*reader
	spec     *objective.Spec
	topology *models.Topology
	out      Measured
	places   []place // of each of out.List
}

// LoadMeasured reads a file of measurements on the stage of the design of a pinned
// spec. It returns every problem that it finds, in the order of the file.
func LoadMeasured(name string, data []byte, spec *objective.Spec) (*Measured, Problems) {
	data = []byte(strings.TrimPrefix(string(data), "\ufeff"))
	r := &measuredReader{reader: newReader(name, data), spec: spec, topology: spec.Layouts[0].Topology()}
	r.noun, r.outline = "file of measurements", measuredOutline
	root := r.parseYAML(data)
	if root == nil {
		return nil, r.all()
	}
	keys := []string{"unknowns", "measured", "proposals"}
	if root.kind != kindMapping {
		r.refuse(root.place, measuredOutline, "the file holds %s, not a mapping", kindNames[root.kind])
		return nil, r.all()
	}
	r.keys(root, "the file has no key", keys, nil)
	if n := root.get("measured"); n != nil {
		r.out.List = r.readList(n, "measured", true)
		r.compareRepeated()
	} else if !root.meant("measured", keys) {
		r.refuse(root.place, "measured: a list of measurements", "the file lacks measured")
	}
	if n := root.get("proposals"); n != nil {
		r.out.Proposals = r.readList(n, "proposals", false)
	}
	unknowns := root.get("unknowns")
	if unknowns != nil && unknowns.kind != kindNull {
		r.readUnknowns(unknowns)
	}
	if problems := r.all(); len(problems) > 0 {
		return nil, problems
	}
	if r.refuseLacking(); len(r.problems) > 0 {
		return nil, r.all()
	}
	if r.out.Unknowns == nil {
		r.out.Unknowns = fit.Default(spec, r.out.List)
	}
	if root.get("proposals") == nil {
		r.out.Proposals = fit.Proposals(spec)
	}
	return &r.out, nil
}

// quantityNames lists the quantities.
func quantityNames() []string {
	var names []string
	for k := range fit.Table {
		names = append(names, fit.Table[k].Name)
	}
	return names
}

// mostMeasurements of a file.
const mostMeasurements = 2000

func (r *measuredReader) readList(n *node, what string, valued bool) []fit.Measurement {
	const accepted = "a list such as - {force: x, at: [4 mm, 0 mm], value: 60.1 N, sigma: 0.2 N}"
	switch {
	case n.kind != kindSequence:
		r.refuse(n.place, accepted, "%s is %s, not a list", what, kindNames[n.kind])
		return nil
	case len(n.items) == 0 && valued:
		r.refuse(n.place, accepted, "%s is empty", what)
	case len(n.items) > mostMeasurements:
		r.refuse(n.place, fmt.Sprintf("at most %d", mostMeasurements), "%s has %d entries", what, len(n.items))
		return nil
	}
	var list []fit.Measurement
	for i := range n.items {
		if n.items[i].kind != kindMapping {
			r.refuse(n.items[i].place, accepted, "%s holds %s, not a mapping", what, kindNames[n.items[i].kind])
			continue
		}
		if m, ok := r.readOne(&n.items[i], valued); ok {
			list = append(list, m)
			if valued {
				r.places = append(r.places, n.items[i].place)
			}
		}
	}
	return list
}

// refuseLacking refuses what the design has no value of.
func (r *measuredReader) refuseLacking() {
	lacking, err := fit.Lacking(r.spec, r.out.List)
	if err != nil {
		at := slices.IndexFunc(r.out.List, func(m fit.Measurement) bool { return m.Kind >= fit.OpenLoop })
		r.refuse(r.places[max(at, 0)], "quantities without a controller", "%v", err)
	}
	for _, i := range lacking {
		r.refuse(r.places[i], "places that the stage reaches, modes that it has", "the design has no %s", r.out.List[i].Text(r.topology))
	}
}

// readOne reads one measurement.
func (r *measuredReader) readOne(n *node, valued bool) (m fit.Measurement, ok bool) {
	before := len(r.problems)
	var kinds []*pair
	for i := range n.pairs {
		if _, is := fit.KindNamed(n.pairs[i].key.text); is {
			kinds = append(kinds, &n.pairs[i])
		}
	}
	switch {
	case len(kinds) == 0:
		hint := ""
		if len(n.pairs) > 0 {
			hint = DidYouMean(n.pairs[0].key.text, quantityNames())
		}
		r.refuse(n.place, strings.Join(quantityNames(), ", "), "the entry says not what is measured%s", hint)
		return m, false
	case len(kinds) > 1:
		r.refuse(kinds[1].key.place, "one quantity an entry", "%s beside %s", kinds[1].key.text, kinds[0].key.text)
		return m, false
	}
	m.Kind, _ = fit.KindNamed(kinds[0].key.text)
	m.Line = n.line
	info := &fit.Table[m.Kind]
	if m.Kind >= fit.OpenLoop && !r.spec.HasLoop() {
		r.refuse(kinds[0].key.place, "quantities without a controller; a brief that has bandwidth under goals, limits or also",
			"%s is of a position loop, and the brief names no number of one", info.Name)
		return m, false
	}
	keys := []string{info.Name}
	required := []string{}
	for _, k := range []struct {
		name        string
		has, needed bool
	}{{"at", info.Placed, true}, {"along", info.Along, true}, {"hz", info.Hz, true}, {"by", m.Kind == fit.Force, false}, {"value", valued, true}, {"sigma", true, true}} {
		if k.has {
			keys = append(keys, k.name)
			if k.needed {
				required = append(required, k.name)
			}
		}
	}
	r.keys(n, "an entry of "+info.Name+" has no key", keys, nil)
	for _, name := range required {
		if n.get(name) == nil && !n.meant(name, keys) {
			r.refuse(n.place, strings.Join(required, ", "), "the entry lacks %s", name)
		}
	}
	r.readSubject(&kinds[0].value, info, &m)
	if at := n.get("at"); at != nil && info.Placed {
		r.readAt(at, &m)
	}
	if along := n.get("along"); along != nil && info.Along {
		m.Along = r.readAxis(along, "along", true)
	}
	if hz := n.get("hz"); hz != nil && info.Hz {
		f := Field{Name: "hz", Kind: KindQuantity, Unit: models.Hertz, Min: 1e-3, Max: 1e5}
		m.Hz, _ = r.readBounded(hz, &f)
	}
	if by := n.get("by"); by != nil && m.Kind == fit.Force {
		if m.Current = by.text == "current"; !m.Current && by.text != "gauge" {
			r.refuse(by.place, "gauge, current", "by is neither gauge nor current")
		}
	}
	value := n.get("value")
	known := false
	if value != nil && valued {
		var q Quantity
		if q, known = r.readQuantity(value, "value", info.Unit); known {
			m.Value = info.Unit.ToSI(q.Value)
		}
	}
	if sigma := n.get("sigma"); sigma != nil {
		r.readSigma(sigma, info, &m, known, valued)
	}
	return m, len(r.problems) == before
}

// readSigma reads the standard uncertainty: in the unit of the value, or as its share.
func (r *measuredReader) readSigma(n *node, info *fit.Info, m *fit.Measurement, known, valued bool) {
	if share, found := strings.CutSuffix(strings.TrimSpace(n.text), "%"); found && n.kind == kindText && info.Unit.Dimension != models.Number && valued {
		v, err := strconv.ParseFloat(strings.TrimSpace(share), 64)
		switch {
		case err != nil || !(v > 0) || v > 100:
			r.refuse(n.place, "a positive share up to 100 %", "sigma of %s is no standard uncertainty", show(n.text))
		case known && m.Value == 0:
			r.refuse(n.place, "sigma with a unit", "a share of a value of 0 is no uncertainty")
		default:
			m.Sigma = 0.01 * v * math.Abs(m.Value)
		}
		return
	}
	if q, ok := r.readQuantity(n, "sigma", info.Unit); ok {
		if m.Sigma = info.Unit.ToSI(q.Value); !(m.Sigma > 0) {
			r.refuse(n.place, "a standard uncertainty above 0", "sigma of %s is no standard uncertainty", show(n.text))
		}
	}
}

// readSubject reads what a quantity is of.
func (r *measuredReader) readSubject(n *node, info *fit.Info, m *fit.Measurement) {
	if n.kind != kindText {
		r.refuse(n.place, info.Meaning, "%s is %s", info.Name, kindNames[n.kind])
		return
	}
	switch info.Of {
	case fit.OfAxis:
		m.Axis = r.readAxis(n, info.Name, false)
	case fit.OfRank, fit.OfMode:
		if info.Of == fit.OfMode && (n.text == "x" || n.text == "y") {
			m.Guided, m.Axis = true, r.readAxis(n, info.Name, false)
			return
		}
		rank, err := strconv.Atoi(n.text)
		if info.Of == fit.OfMode && err != nil {
			m.Body = r.readBody(n, info.Name, "the rank of a mode, x, y, ", false)
			return
		}
		if err != nil || rank < 1 || rank > 1000 {
			r.refuse(n.place, "the rank of a mode: 1, 2, …", "%s of %s is no rank", info.Name, show(n.text))
		}
		m.Rank = rank
	case fit.OfBladeAlone:
		var names []string
		for e := range r.topology.Blades {
			names = append(names, r.topology.BladeName(e))
		}
		if m.Blade = slices.Index(names, n.text); m.Blade < 0 {
			r.refuse(n.place, `the name of a blade, such as "`+names[0]+`"`, "there is no blade %s%s", show(n.text), DidYouMean(n.text, names))
		}
	case fit.OfMass, fit.OfBody:
		m.Body = r.readBody(n, info.Name, "", info.Of == fit.OfMass)
	}
}

// readBody finds a body that moves, or the plate.
func (r *measuredReader) readBody(n *node, what, or string, plate bool) int {
	names := objective.CorrectionNames(r.topology, objective.OfBody)
	if plate {
		names = append([]string{"plate"}, names...)
	}
	if plate && n.text == "plate" {
		return fit.Plate
	}
	if !slices.Contains(names, n.text) {
		r.refuse(n.place, or+strings.Join(names, ", "), "%s: there is no body %s that moves%s", what, show(n.text), DidYouMean(n.text, names))
	}
	return slices.IndexFunc(r.topology.Bodies, func(b models.BodySpec) bool { return b.Name == n.text })
}

// readAxis reads x or y; a stage with one driven axis has x alone, but for motions, which may follow along y.
func (r *measuredReader) readAxis(n *node, what string, follows bool) models.Axis {
	switch {
	case n.kind == kindText && n.text == "x":
		return models.AxisX
	case n.kind == kindText && n.text == "y" && (follows || len(r.topology.Actuators) == 2):
		return models.AxisY
	}
	accepted := "x, y"
	if !follows && len(r.topology.Actuators) == 1 {
		accepted = "x"
	}
	r.refuse(n.place, accepted, "%s: there is no axis %s", what, show(n.text))
	return 0
}

// readAt reads a position of the stage.
func (r *measuredReader) readAt(n *node, m *fit.Measurement) {
	const accepted = "the stage's position [x, y], such as [4 mm, 0 mm]"
	if n.kind != kindSequence || len(n.items) != 2 {
		r.refuse(n.place, accepted, "at is no position")
		return
	}
	for i := range n.items {
		f := Field{Name: "at", Kind: KindQuantity, Unit: models.Millimetre, Min: -100, Max: 100}
		if v, ok := r.readBounded(&n.items[i], &f); ok {
			m.At[i] = models.Millimetre.ToSI(v)
		}
	}
	if len(r.topology.Actuators) == 1 && m.At[1] != 0 {
		r.refuse(n.items[1].place, "0 mm", "the stage is driven along x alone; along y it follows")
	}
}

// contradiction is the number of standard deviations of their difference beyond which two
// readings of the same quantity cannot both be right.
const contradiction = 6

// compareRepeated refuses readings that stand twice, and readings of one quantity that
// contradict each other.
func (r *measuredReader) compareRepeated() {
	for i, m := range r.out.List {
		for _, o := range r.out.List[:i] {
			if o.Quantity != m.Quantity {
				continue
			}
			at := r.places[i]
			what := m.Text(r.topology)
			switch {
			case o.Value == m.Value && o.Sigma == m.Sigma:
				r.refuse(at, "each reading once; a repeated one has a value of its own", "%s stands twice (first in line %d)", what, o.Line)
			case math.Abs(o.Value-m.Value) > contradiction*math.Hypot(o.Sigma, m.Sigma):
				r.refuse(at, "the reading that is right, or larger uncertainties", "%s contradicts line %d by %.2g standard deviations",
					what, o.Line, math.Abs(o.Value-m.Value)/math.Hypot(o.Sigma, m.Sigma))
			default:
				continue
			}
			break
		}
	}
}
