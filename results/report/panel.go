package report

import (
	"fmt"
	"html/template"
	"math"
	"slices"
	"strings"

	"flexwright/objective"
	"flexwright/results"
)

// mapGrid is how many positions along each axis the maps have.
const mapGrid = 17

// firstMaps are shown at once, in this order; the other maps fold away.
var firstMaps = []string{"yaw", "lost_motion_x", "isolation_along", "cross_force", "stress", "drive_stiffness", "in_plane_frequency", "out_of_plane_frequency"}

// panel is one picked design in full.
type panel struct {
	Design, Anchor, Roles string
	Layout, Material      string
	Status, Reason        string
	Feasible              string
	Parameters            *table
	Limits                *table
	Measures              *table
	Picture               *picture
	Maps, MoreMaps        []mapFigure
	MapNote               string
	Poses                 *table
	Modes                 []modeFigure
	Loop                  []figure
	LoopNote              string
	Budgets               []*table
	Fine                  *table
	FineNote              string
	Scatter               *table
	ScatterNote           string
	Spends                template.HTML // what each tolerance spends of the tails
	parts                 *objective.Scatter
	Stored                string // a difference between the stored row and the new evaluation
}

func newPanel(c chosen, b *Brief, f *fine) (*panel, error) {
	spec := *b.Spec
	x := make([]float64, len(spec.Variables))
	if !spec.Point(&c.row, x) {
		return nil, fmt.Errorf("report: design %v does not belong to the folder's brief", c.design)
	}
	spec.Fixed = slices.Clone(spec.Fixed)
	spec.Pin(x)
	d := objective.NewDetail(&spec)
	p := &panel{Design: c.design.String(), Anchor: anchor(c.design), Roles: joinRoles(c.roles),
		Layout: d.Row.Layout, Material: d.Row.Material, Status: d.Row.Status.String(), Reason: d.Row.Reason.Sentence()}
	switch {
	case d.Row.Feasible:
		p.Feasible = "meets every limit"
	case !math.IsNaN(d.Row.Violation):
		p.Feasible = "fails " + label(results.FailsMost(d.Row.FirstLimit, d.PartsFailMost()))
	default:
		p.Feasible = "not feasible"
	}
	if d.Row.Feasible != c.row.Feasible {
		p.Stored = "The run judged this design otherwise: it was made by another version or another brief."
	}
	p.parameters(&spec, d)
	p.measures(&spec, d)
	p.Fine, p.FineNote = f.of(c.design)
	p.scatter(&spec, d)
	p.Spends = toleranceBars(&spec)
	if len(d.Poses) == 0 {
		return p, nil
	}
	p.Picture = drawStage(d, layoutOf(&spec, d))
	p.maps(d)
	p.poses(d)
	p.Modes = drawModes(d, layoutOf(&spec, d))
	p.Loop, p.LoopNote = drawLoop(d)
	for i := range d.Budgets {
		p.Budgets = append(p.Budgets, budgetTable(&d.Budgets[i]))
	}
	return p, nil
}

// mostSamples bounds the time that the scatter of a design takes.
const mostSamples = 200

// inPrint are the measures whose scatter the page's text tells.
var inPrint = []objective.Measure{objective.ParasiticYaw, objective.IsolationAlong, objective.CrossForce}

// scatter tells what errors of making do: to what costs little, and to what goals and
// limits ask of parts.
func (p *panel) scatter(s *objective.Spec, d *objective.Detail) {
	own, tolerances := *s, objective.DefaultTolerances()
	if s.Tolerances != nil {
		*tolerances = *s.Tolerances
	}
	tolerances.Samples = min(tolerances.Samples, mostSamples)
	own.Tolerances, own.Measures = tolerances, slices.DeleteFunc(slices.Clone(s.Measures), func(m objective.Measure) bool {
		return objective.Table[m].OnName && !(m.HasTail() && slices.Contains(s.Measures, m.Tail()))
	})
	r := objective.NewScatter(&own)
	p.parts = r
	if r == nil {
		return
	}
	share := percent(tolerances.Share)
	p.Scatter = &table{Caption: "Nominal, and of parts with errors", Head: numberHead(head("measure", "unit", "nominal", "mean", share+" no worse than"), 2, 3, 4)}
	var words []string
	for i := range r.Measures {
		c := &r.Measures[i]
		if math.IsNaN(c.Nominal) || !c.Measure.Compared() {
			continue
		}
		info := &objective.Table[c.Measure]
		tail := "none"
		if !math.IsNaN(c.Tail) {
			tail = number(c.Tail)
		}
		p.Scatter.add(text(label(info.Name)), text(unbroken(info.Unit.Symbol)), value(number(c.Nominal)), value(number(c.Mean)), value(tail))
		if slices.Contains(inPrint, c.Measure) && !math.IsNaN(c.Tail) {
			words = append(words, fmt.Sprintf("%s from %s to %s", label(info.Name), number(c.Nominal), quantity(c.Tail, info.Unit.Symbol)))
		}
	}
	p.ScatterNote = fmt.Sprintf("Nominal numbers are those of a perfect part. Of %d parts with errors by the tolerances, %d conform: the share of all such parts is between %s and %s (95\u202f%% confidence).",
		tolerances.Samples, r.Conforming, percent(r.Low), percent(r.High))
	if len(words) > 0 {
		p.ScatterNote += fmt.Sprintf(" Nominal, and what %s of the parts are no worse than: %s.", share, list(words))
	}
	for i, reason := range r.Reasons {
		if i == 0 {
			p.ScatterNote += " Why the others do not: "
		} else {
			p.ScatterNote += ", "
		}
		p.ScatterNote += fmt.Sprintf("%s (%d)", label(reason.Text), reason.Parts)
	}
	if len(r.Reasons) > 0 {
		p.ScatterNote += "."
	}
}

func percent(share float64) string { return digits(100*share, 3) + "\u202f%" }

func budgetTable(b *objective.Budget) *table {
	t := &table{Caption: capital(b.Title), Head: head("part")}
	for _, c := range b.Columns {
		t.Head = append(t.Head, cell{Text: c, Number: true})
	}
	t.Head = append(t.Head, head("unit", "note")...)
	for _, r := range b.Rows {
		cells := []cell{text(r.Name)}
		for _, v := range r.Values {
			if math.IsNaN(v) {
				cells = append(cells, value(""))
			} else {
				cells = append(cells, value(number(v)))
			}
		}
		t.add(append(cells, text(unbroken(r.Unit.Symbol)), text(r.Note))...)
	}
	return t
}

func (p *panel) parameters(s *objective.Spec, d *objective.Detail) {
	p.Parameters = &table{Caption: "Dimensions and masses", Head: numberHead(head("parameter", "value", "unit", "meaning"), 1)}
	for i, q := range s.Parameters() {
		p.Parameters.add(text(label(q.Name)), value(number(d.Row.Parameters[i])), text(q.Unit.Symbol), text(q.Meaning))
	}
}

// measures fills two tables: the limits with their margins, and all measures.
func (p *panel) measures(s *objective.Spec, d *objective.Detail) {
	p.Limits = &table{Caption: "Limits and margins", Head: numberHead(head("number", "value", "limit", "margin", ""), 1, 2, 3)}
	for i := range s.Limits {
		l := &s.Limits[i]
		if !l.HoldsFor(d.Row.Layout) {
			continue
		}
		unit := s.Unit(l.Ref).Symbol
		v, ok := d.Row.Judged(l)
		if !ok {
			p.Limits.add(text(label(s.Name(l.Ref))), value("not computed"), value(bounds(l, unit)), cell{Text: "fails", Number: true, Class: "broken"}, text(""))
			continue
		}
		if math.IsInf(v, 0) {
			p.Limits.add(text(label(s.Name(l.Ref))), value("unbounded"), value(bounds(l, unit)), cell{Text: "–", Number: true, Class: "met"}, text(""))
			continue
		}
		m := l.Margin(v)
		class := "met"
		words := digits(100*m, 2) + "\u202f%"
		if m < 0 {
			class = "broken"
			words = "fails by " + digits(-100*m, 2) + "\u202f%"
		}
		p.Limits.add(text(label(s.Name(l.Ref))), value(quantity(v, unit)), value(bounds(l, unit)), cell{Text: words, Number: true, Class: class}, cell{HasBar: true, Bar: max(-1, min(m, 1)), Class: class})
	}
	p.Measures = &table{Caption: "Measures", Head: numberHead(head("measure", "value", "unit", "meaning"), 1)}
	for _, m := range s.Measures {
		info := &objective.Table[m]
		if info.Detail { // the sentence of the text holds it
			continue
		}
		v := "–"
		if got, ok := d.Row.Measures.Get(m); ok {
			v = number(got)
		} else if info.IsText() && d.Row.Text(m) != "" {
			v = label(d.Row.Explanation(m))
		}
		p.Measures.add(text(label(info.Name)), value(v), text(info.Unit.Symbol), text(info.Meaning))
	}
}

func (p *panel) maps(d *objective.Detail) {
	m := d.Maps(mapGrid)
	if len(m.Maps) == 0 {
		return
	}
	p.MapNote = fmt.Sprintf("%d × %d positions over ±%s mm, each solved for itself; the run judges nine.", m.N, m.N, number(m.At[m.N-1]*1e3))
	if m.Unsolved > 0 {
		p.MapNote += fmt.Sprintf(" %d positions have no solution and are left blank.", m.Unsolved)
	}
	for _, name := range firstMaps {
		for i := range m.Maps {
			if m.Maps[i].Name == name {
				p.Maps = append(p.Maps, nominal(drawMap(m, &m.Maps[i])))
			}
		}
	}
	for i := range m.Maps {
		if !slices.Contains(firstMaps, m.Maps[i].Name) {
			p.MoreMaps = append(p.MoreMaps, nominal(drawMap(m, &m.Maps[i])))
		}
	}
}

// nominal marks the numbers that errors of making change most.
func nominal(f mapFigure) mapFigure {
	for _, word := range []string{"yaw", "isolation", "cross", "across"} {
		if strings.Contains(f.Name, word) {
			f.Note = "nominal"
		}
	}
	return f
}

func (p *panel) poses(d *objective.Detail) {
	p.Poses = &table{Caption: "Pose by pose", Head: []cell{{Text: "x, mm", Number: true}, {Text: "y, mm", Number: true}}}
	rows := objective.PoseRows(d.Poses)
	for _, v := range rows {
		h := label(v.Name)
		if v.Unit.Symbol != "" {
			h += ", " + v.Unit.Symbol
		}
		p.Poses.Head = append(p.Poses.Head, cell{Text: h, Number: true})
	}
	for i := range d.Poses {
		q := &d.Poses[i]
		cells := []cell{value(number(q.Pose.X * 1e3)), value(number(q.Pose.Y * 1e3))}
		for _, v := range rows {
			switch x, ok := q.Of(v.Name); {
			case ok:
				cells = append(cells, value(number(x)))
			case q.Pose.Verdict.OK():
				cells = append(cells, value("–"))
			default:
				cells = append(cells, value(q.Pose.Verdict.Status.String()))
			}
		}
		p.Poses.add(cells...)
	}
}
