package main

import (
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"flexwright/models"
	"flexwright/models/blade"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
)

// pageWidth is that of a page to be printed, in characters.
const pageWidth = 80

// newPageTable is a text table as wide as a page.
func newPageTable(head ...string) *textTable {
	t := newTextTable(head...)
	t.width = pageWidth
	return t
}

// textPage is one design as a page of text: it keeps the first error.
type textPage struct {
	w       io.Writer
	spec    *objective.Spec
	d       *objective.Detail
	section int
	err     error
}

func (p *textPage) printf(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintf(p.w, format, args...)
	}
}

func (p *textPage) table(t *textTable) {
	if p.err == nil {
		p.err = t.write(p.w)
	}
}

// head begins a numbered section.
func (p *textPage) head(title string) {
	p.section++
	text := fmt.Sprintf("%d  %s ", p.section, title)
	p.printf("\n%s%s\n", text, strings.Repeat("-", max(0, pageWidth-len(text))))
}

func (p *textPage) paragraph(text string) {
	for _, line := range wrap(text, pageWidth) {
		p.printf("%s\n", line)
	}
}

// printDetail prints a design as a page that an engineer would file: what went
// in, what came out against its limits, and every number on the way.
func printDetail(s streams, title string, spec *objective.Spec, d *objective.Detail) error {
	p := &textPage{w: s.out, spec: spec, d: d}
	p.summary(title)
	p.inputs()
	p.limits()
	p.measures()
	p.loop()
	if len(d.Budgets) > 0 {
		p.head("WHERE THE NUMBERS COME FROM")
		for i := range d.Budgets {
			p.budget(&d.Budgets[i], i > 0)
		}
	}
	if d.Row.Status != models.CannotBuild {
		p.bodies()
		p.stations()
		p.sections()
	}
	p.poses()
	p.blades()
	p.dynamics()
	if p.err == nil && d.Fine != nil {
		p.head("FINE CHECK")
		p.err = printFine(s, d.Fine)
	}
	if p.err == nil && d.Scatter != nil {
		p.head("SCATTER OF PARTS AS THEY ARE MADE")
		p.err = printScatter(s, d.Scatter)
	}
	if p.err == nil && d.Sensitivity != nil {
		p.head("SENSITIVITY")
		p.err = printSensitivity(s, spec, &d.Row, d.Sensitivity)
	}
	p.head("CAUTIONS")
	p.paragraph(cautions)
	return p.err
}

func (p *textPage) summary(title string) {
	row, m := &p.d.Row, p.d.Design.Material
	p.printf("%s\n%s\n", title, strings.Repeat("=", pageWidth))
	p.paragraph(fmt.Sprintf("%s of %s: E %s GPa, Poisson's ratio %s, density %s kg/m³, Rp0.2 %s MPa.", row.Layout, m.Name, number(m.Young/1e9), number(m.Poisson), number(m.Density), number(m.Yield/1e6)))
	var goals []string
	for _, g := range p.spec.Goals {
		goals = append(goals, fmt.Sprintf("%s %s", g.Sense, p.spec.Name(g.Ref)))
	}
	p.paragraph("Goals: " + strings.Join(goals, ", ") + ".")
	verdict := "meets every limit"
	switch {
	case row.Feasible:
	case math.IsNaN(row.Violation):
		verdict = "not feasible"
	default:
		verdict = fmt.Sprintf("NOT feasible, violation %s; it fails %s", number(row.Violation), results.FailsMost(row.FirstLimit, p.d.PartsFailMost()))
	}
	p.paragraph(fmt.Sprintf("Status: %s; %s.", row.Status, verdict))
	if why := row.Reason.Sentence(); why != "" {
		p.paragraph("Reason: " + why + ".")
	}
}

func (p *textPage) inputs() {
	p.head("DIMENSIONS AND MASSES")
	t := newPageTable("parameter", "value", "unit", "meaning")
	for i, q := range p.spec.Parameters() {
		value := "-"
		if v := p.d.Row.Parameters[i]; !math.IsNaN(v) {
			value = significant(v)
		}
		t.row(q.Name, value, q.Unit.Symbol, q.Meaning)
	}
	p.table(t)
}

func (p *textPage) limits() {
	p.head("LIMITS AND MARGINS")
	t := newPageTable("number", "value", "limit", "unit", "margin", "")
	for i := range p.spec.Limits {
		l := &p.spec.Limits[i]
		value, margin, note := "-", "not computed", ""
		v, ok := p.d.Row.Judged(l)
		switch {
		case !l.HoldsFor(p.d.Row.Layout):
			margin = "other layouts"
		case ok && math.IsInf(v, 0):
			margin = "unbounded"
		case ok:
			value = significant(v)
			margin = fmt.Sprintf("%+.3g %%", 100*l.Margin(v))
		}
		if p.d.Row.Status == models.Solved && !(ok && l.Met(v)) {
			note = "FAILS"
		}
		if l.Default {
			note = strings.TrimSpace(note + " common practice")
		}
		var bound []string
		if !math.IsInf(l.AtLeast, -1) {
			bound = append(bound, "≥ "+significant(l.AtLeast))
		}
		if !math.IsInf(l.AtMost, 1) {
			bound = append(bound, "≤ "+significant(l.AtMost))
		}
		t.row(p.spec.LimitName(l), value, strings.Join(bound, " "), p.spec.Unit(l.Ref).Symbol, margin, note)
	}
	p.table(t)
	if text := diagnosis.Parts(p.d); text != "" {
		p.paragraph(text)
	}
}

func (p *textPage) measures() {
	p.head("MEASURES")
	t := newPageTable("measure", "value", "unit", "meaning")
	for _, m := range p.spec.Measures {
		info := &objective.Table[m]
		switch {
		case info.IsText() && !info.Detail:
			t.row(info.Name, "", "", p.d.Row.Explanation(m))
			continue
		case info.Detail: // the sentence of the text holds it
			continue
		}
		value := "-"
		if v, ok := p.d.Row.Measures.Get(m); ok {
			value = significant(v)
		}
		t.row(info.Name, value, info.Unit.Symbol, info.Meaning)
	}
	p.table(t)
}

func (p *textPage) budget(b *objective.Budget, apart bool) {
	if apart {
		p.printf("\n")
	}
	p.paragraph(strings.ToUpper(b.Title[:1]) + b.Title[1:])
	t := newPageTable(append(append([]string{""}, b.Columns...), "unit", "")...)
	for _, r := range b.Rows {
		cells := []string{r.Name}
		for _, v := range r.Values {
			cells = append(cells, budgetValue(v))
		}
		t.row(append(cells, r.Unit.Symbol, r.Note)...)
	}
	p.table(t)
}

// bodies lists where the bodies are and what they weigh: with the members that bend, and
// without them.
func (p *textPage) bodies() {
	st := p.d.Stage
	p.head("BODIES AT REST: MASS; CENTRE AND INERTIA OF WHAT IS RIGID IN THEM")
	t := newPageTable("body", "mass kg", "rigid kg", "x mm", "y mm", "z mm", "Iz kg mm²")
	for i, b := range p.d.Topology.Bodies {
		t.row(b.Name, number(st.BodyMass(p.d.Topology, i)), number(st.Mass[i]), number(st.X[i]*1e3), number(st.Y[i]*1e3), number(st.Z[i]*1e3), number(st.Iz[i]*1e6))
	}
	p.table(t)
}

// stations lists where the axes are pushed and read.
func (p *textPage) stations() {
	p.head("WHERE THE AXES ARE PUSHED AND READ")
	t := newPageTable("axis", "what", "body", "against", "x mm", "y mm", "z mm")
	for _, s := range p.d.Topology.Stations(p.d.Stage) {
		against := s.Against
		if against == "" {
			against = "ground"
		}
		t.row(s.Axis.String(), s.What, s.Body, against, number(s.X*1e3), number(s.Y*1e3), number(s.Z*1e3))
	}
	p.table(t)
}

// sections lists the blades by what they have in common.
func (p *textPage) sections() {
	st := p.d.Stage
	p.head("BLADES: DIMENSIONS AND STIFFNESS")
	type kind struct{ length, thickness, width, young, poisson, factor, fillet float64 }
	var kinds []kind
	numbers := map[kind][]string{}
	for i := range p.d.Topology.Blades {
		k := kind{nearly(math.Hypot(st.TipX[i]-st.RootX[i], st.TipY[i]-st.RootY[i])), st.Thickness[i], st.Width[i], st.Young[i], st.Poisson[i], st.BendingFactor[i], st.Fillet[i]}
		if numbers[k] == nil {
			kinds = append(kinds, k)
		}
		numbers[k] = append(numbers[k], strconv.Itoa(i))
	}
	for n, k := range kinds {
		if n > 0 {
			p.printf("\n")
		}
		p.paragraph("Blades " + strings.Join(numbers[k], " "))
		section := blade.NewSection(k.length, k.thickness, k.width, k.young, k.poisson, k.factor, 1)
		f := section.EI / (k.young * k.width * k.thickness * k.thickness * k.thickness / 12)
		t := newPageTable("", "value", "unit", "")
		t.row("length L", number(k.length*1e3), "mm", "")
		t.row("thickness t", number(k.thickness*1e3), "mm", "")
		t.row("width b", number(k.width*1e3), "mm", "")
		t.row("fillet radius", number(k.fillet*1e3), "mm", "")
		t.row("clamped-strip factor f", number(f), "", "on EI: 1 narrow, 1/(1 - ν²) wide")
		t.row("factor of an arc", number(f*section.Arc), "", "where the blade's ends turn against each other")
		t.row("f E I", number(section.EI), "N m²", "I = b t³/12")
		t.row("E A", number(section.EA), "N", "")
		t.row("12 f E I / L³", number(12*section.EI/(k.length*k.length*k.length)/1e3), "N/mm", "one blade, its end guided")
		t.row("π² f E I / L²", number(math.Pi*math.Pi*section.EI/(k.length*k.length)), "N", "its critical load, clamped, sway free")
		p.table(t)
	}
}

// nearly rounds to nine significant digits: blades of one length differ in the last.
func nearly(v float64) float64 {
	if v == 0 {
		return 0
	}
	unit := math.Pow(10, math.Floor(math.Log10(math.Abs(v)))-8)
	return math.Round(v/unit) * unit
}

// columnsOfPoses is how many poses stand side by side.
const columnsOfPoses = 5

// poses lists the numbers of the poses, a pose a column.
func (p *textPage) poses() {
	poses := p.d.Poses
	if len(poses) == 0 {
		return
	}
	p.head("POSES")
	for from := 0; from < len(poses); from += columnsOfPoses {
		part := poses[from:min(from+columnsOfPoses, len(poses))]
		if from > 0 {
			p.printf("\n")
		}
		row := func(t *textTable, name string, cell func(*objective.PoseDetail) string) {
			cells := []string{name}
			for i := range part {
				cells = append(cells, cell(&part[i]))
			}
			t.row(cells...)
		}
		cells := []string{"x mm"}
		for i := range part {
			cells = append(cells, number(part[i].Pose.X*1e3))
		}
		t := newPageTable(cells...)
		row(t, "y mm", func(q *objective.PoseDetail) string { return number(q.Pose.Y * 1e3) })
		row(t, "status", func(q *objective.PoseDetail) string { return q.Pose.Verdict.Status.String() })
		row(t, "Newton steps", func(q *objective.PoseDetail) string { return strconv.Itoa(q.Pose.Steps) })
		for _, v := range objective.PoseRows(poses) {
			row(t, strings.TrimSpace(v.Name+" "+v.Unit.Symbol), func(q *objective.PoseDetail) string {
				x, ok := q.Of(v.Name)
				if !ok {
					return "-"
				}
				return number(x)
			})
		}
		p.table(t)
	}
	for i := range poses {
		if v := poses[i].Pose.Verdict; !v.OK() {
			p.paragraph(fmt.Sprintf("At (%s, %s) mm: %s.", number(poses[i].Pose.X*1e3), number(poses[i].Pose.Y*1e3), v.Reason()))
		}
	}
}

// blades lists what every blade carries at the pose with the largest stress.
func (p *textPage) blades() {
	worst, most := -1, 0.0
	for i := range p.d.Poses {
		for _, v := range p.d.Poses[i].Values {
			if v.Name == "stress" && v.Value > most {
				worst, most = i, v.Value
			}
		}
	}
	if worst < 0 {
		return
	}
	pose, t := p.d.Poses[worst].Pose, p.d.Topology
	p.head("BLADES WHERE THE STRESS IS LARGEST")
	p.paragraph(fmt.Sprintf("At (%s, %s) mm. Axial force P in N, tension positive; end moments M in N mm; deflection w and turn (mrad) of the tip, from the root's tangent.", number(pose.X*1e3), number(pose.Y*1e3)))
	table := newPageTable("no", "from", "to", "P", "P L²/EI", "M root", "M tip", "w/L", "turn")
	for i, b := range t.Blades {
		table.row(strconv.Itoa(i), t.Bodies[t.Whole(b.From)].Name, t.Bodies[t.Whole(b.To)].Name, number(pose.Axial[i]), digits(pose.P[i], 3),
			number(pose.RootM[i]*1e3), number(pose.TipM[i]*1e3), digits(pose.W[i], 3), digits(pose.Phi[i]*1e3, 3))
	}
	p.table(table)
	p.head("BODIES THERE: DISPLACEMENT")
	table = newPageTable("body", "x µm", "y µm", "yaw µrad")
	for i, b := range t.Bodies {
		table.row(b.Name, significant(pose.Q[3*i]*1e6), significant(pose.Q[3*i+1]*1e6), significant(pose.Q[3*i+2]*1e6))
	}
	p.table(table)
}

// dynamics prints, per pose, the lowest frequencies and what carries stage and
// driven bodies.
func (p *textPage) dynamics() {
	const lowest = 5
	frequencies := newPageTable("x mm", "y mm", "in plane, Hz (lowest 5)", "out of plane, Hz (lowest 5)")
	supports := newPageTable("x mm", "y mm", "body", "kz", "kroll", "kpitch", "z", "roll", "pitch")
	list := func(f []float64) string {
		var text []string
		for _, v := range f[:min(lowest, len(f))] {
			text = append(text, number(v))
		}
		return strings.Join(text, " ")
	}
	solved := false
	for i := range p.d.Poses {
		q := &p.d.Poses[i]
		if q.InPlane == nil {
			continue
		}
		solved = true
		x, y := number(q.Pose.X*1e3), number(q.Pose.Y*1e3)
		frequencies.row(x, y, list(q.InPlane), list(q.OutOfPlane))
		for _, u := range q.Supports {
			supports.row(x, y, p.d.Topology.Bodies[u.Body].Name, number(u.Z/1e3), number(u.Roll), number(u.Pitch),
				number(u.Sag*1e6), number(u.RolledBy*1e6), number(u.PitchedBy*1e6))
		}
	}
	if !solved {
		return
	}
	p.head("NATURAL FREQUENCIES, ACTUATORS FREE")
	p.table(frequencies)
	p.head("SUPPORT OUT OF THE PLANE")
	p.paragraph("Stiffness along z in N/mm, about x and y in N m/rad, everything else free to follow; what weight does: z in µm, roll and pitch in µrad.")
	p.table(supports)
}

const cautions = `Nominal figures of a perfect part; errors of making come on top
(--scatter). A flexure that breaks, a hot coil or a moving magnet can hurt: guard
them, follow local codes, and have a licensed engineer check a design before use.
`
