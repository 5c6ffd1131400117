package report

import (
	"fmt"
	"html/template"
	"math"
	"os"
	"path/filepath"
	"strings"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/results/diagnosis"
	"flexwright/search"
)

// page is what the template is given.
type page struct {
	folder     string
	rows       []objective.Row // that the page holds
	Title, Dir string
	Facts      []fact
	State      string
	Running    bool
	Night      []string // the night in sentences
	Picks      *table   // the picked designs side by side

	Brief             *Brief
	Goals, Limits     *table
	Variables, Others *table

	Held      string // what the page holds: the rule of thinning
	Data      template.JS
	TailShare string // of the parts, where picked designs have bars
	Ends      []end
	Few       bool // no front

	History       []figure
	HistoryNote   string
	Rejects       *table
	Nearest       *table   // where nothing fits
	Excluding     []string // the same
	Statuses      *table
	Designs       []*panel
	DesignProblem string
	Glossary      *table
	Live          *livePage
}

type fact struct{ Name, Value string }

// figure is a drawing with its caption.
type figure struct {
	Caption string
	Drawing template.HTML
}

// table is a table with a caption; numbers are set flush right.
type table struct {
	Caption string
	Head    []cell
	Rows    [][]cell
	Foot    string
}

// Explained reports whether the last column explains the row: on a narrow screen
// it goes below the others.
func (t *table) Explained() bool {
	n := len(t.Head)
	return n > 2 && (t.Head[n-1].Text == "meaning" || t.Head[n-1].Text == "source" || t.Head[n-1].Text == "note")
}

type cell struct {
	Text   string
	Number bool
	Class  string
	Bar    float64 // of a margin: -1 to 1; drawn when HasBar
	HasBar bool
	Link   string // an anchor of the page
}

func text(s string) cell           { return cell{Text: s} }
func value(s string) cell          { return cell{Text: s, Number: true} }
func (t *table) add(cells ...cell) { t.Rows = append(t.Rows, cells) }
func head(names ...string) (h []cell) {
	for _, n := range names {
		h = append(h, text(n))
	}
	return h
}

// numberHead marks the heads of columns of numbers.
func numberHead(h []cell, columns ...int) []cell {
	for _, c := range columns {
		h[c].Number = true
	}
	return h
}

// specs gives the spec of each run of a folder.
type specs struct {
	in    *Input
	known map[int64]*Brief
}

func (s *specs) brief(run int64) *Brief {
	if b, ok := s.known[run]; ok {
		return b
	}
	b := s.in.Brief(run)
	s.known[run] = b
	return b
}

func newPage(in *Input) (*page, error) {
	all := &specs{in, map[int64]*Brief{}}
	m := in.Folder.Manifest()
	first := int64(0)
	if len(m.Runs) > 0 {
		first = 1
	}
	brief := all.brief(first)
	g, err := gather(in, brief)
	if err != nil {
		return nil, err
	}
	p := &page{folder: in.Folder.Dir(), Title: brief.Title, Dir: filepath.Base(filepath.Clean(in.Folder.Dir())), Brief: brief, Few: len(g.front) == 0}
	if p.Title == "" {
		p.Title = p.Dir
	}
	p.facts(m, g)
	if brief.Spec != nil {
		p.asked(brief, g)
	}
	chosen := pick(g, in.Designs, brief.Spec, m)
	if brief.Spec != nil {
		p.Ends = ends(g, brief)
	}
	p.night(g, m, chosen)
	p.Picks = side(in.Folder.Columns(), g, brief, chosen)
	p.search(g, m, brief)
	bars := tailBars{ends: map[string]map[Design]float64{}}
	fine, err := fineTable(in.Folder)
	if err != nil {
		return nil, err
	}
	for _, c := range chosen {
		b := all.brief(c.row.Run)
		if b.Spec == nil {
			p.DesignProblem = "The designs are not drawn and evaluated again, because this version cannot read the brief: " + b.Problem
			continue
		}
		panel, err := newPanel(c, b, fine)
		if err != nil {
			return nil, err
		}
		p.Designs = append(p.Designs, panel)
		bars.add(c, b.Spec, panel.parts)
	}
	p.TailShare = list(bars.shares)
	p.Data, p.Held, p.rows = embed(in, g, brief, chosen, &bars)
	p.glossary(in.Folder.Columns())
	if in.Live != nil && p.Brief.Spec != nil {
		p.Live = newLivePage(in, brief, p.rows)
	}
	return p, nil
}

func (p *page) facts(m *results.Manifest, g *gathered) {
	p.Running = m.State == results.Running
	p.State = map[results.State]string{
		results.Running: "is running, or ended by a crash: this is what is there so far",
		results.Stopped: "was stopped; it goes on with flexwright run",
		results.Ended:   "has ended",
	}[m.State]
	if why := map[results.Cause]string{results.ByPlan: "its plan is done", results.ByMaxDesigns: "the number of designs asked for is reached",
		results.ByTime: "its time is up", results.ByStagnation: "the front did not move any more",
		results.ByNoPointLeft: "no point of the space is left", results.BySignal: "by a signal", results.ByCannotWrite: "it could not write"}[m.EndedBy]; why != "" {
		p.State += ": " + why
	}
	add := func(name, value string) {
		if value != "" {
			p.Facts = append(p.Facts, fact{name, value})
		}
	}
	add("designs", count(g.rows))
	add("feasible", fmt.Sprintf("%s (%s)", count(g.feasible), share(g.feasible, g.rows)))
	add("on the front", count(int64(len(g.front))))
	if info, err := os.Stat(filepath.Join(p.folder, "manifest.json")); err == nil {
		add("last written", info.ModTime().UTC().Format("2 January 2006, 15:04 UTC"))
	}
	add("computing time", duration(g.solveUS*1e-6))
	if g.rows > 0 {
		add("per design", quantity(g.solveUS/float64(g.rows)/1000, "ms"))
	}
	if m.Shard != "" {
		add("shard", string(m.Shard))
	}
	if len(m.Runs) > 0 {
		add("joined from", fmt.Sprintf("%d runs", len(m.Runs)))
	}
	add("seed", fmt.Sprint(m.Seed))
	add("program", m.Version+", "+m.Platform)
}

func duration(seconds float64) string {
	switch {
	case seconds < 120:
		return quantity(seconds, "s")
	case seconds < 7200:
		return quantity(seconds/60, "min")
	}
	return quantity(seconds/3600, "h")
}

// night says in sentences what the search found.
func (p *page) night(g *gathered, m *results.Manifest, chosen []chosen) {
	say := func(format string, args ...any) { p.Night = append(p.Night, fmt.Sprintf(format, args...)) }
	if g.rows == 0 {
		say("No design is stored yet.")
		return
	}
	switch {
	case g.rows == 1 && g.feasible == 1:
		say("One design was evaluated; it meets every limit.")
	case g.rows == 1:
		say("One design was evaluated; it does not meet every limit.")
	default:
		say("%s designs were evaluated; %s of them, %s, meet every limit.", count(g.rows), count(g.feasible), share(g.feasible, g.rows))
	}
	if len(g.front) == 0 {
		text := "No design meets every limit, so there is no front."
		if g.nearest != nil {
			at := ""
			if g.nearest.FirstLimit == objective.Table[objective.ConformingParts].Column() && p.Brief.Spec != nil {
				at = diagnosis.PartsFailMost(p.Brief.Spec, g.nearest)
			}
			text += fmt.Sprintf(" Design %v comes closest; it fails %s.", Design{g.nearest.Run, g.nearest.ID}, label(results.FailsMost(g.nearest.FirstLimit, at)))
		}
		p.Night = append(p.Night, text)
		return
	}
	var spans []string
	ranges := search.RangesOf(len(g.goals), g.frontObjs)
	ideal, nadir := ranges.Low, ranges.High
	for k, goal := range g.goals {
		a, b := goal.sign*nadir[k], goal.sign*ideal[k]
		spans = append(spans, fmt.Sprintf("%s from %s to %s", columnLabel(goal.column), number(min(a, b)), quantity(max(a, b), goal.column.Unit)))
	}
	if len(g.goals) == 1 {
		say("The best %s is %s.", columnLabel(g.goals[0].column), quantity(g.goals[0].sign*ideal[0], g.goals[0].column.Unit))
	} else {
		say("%s of them are not dominated by any other: they trade %s.", count(int64(len(g.front))), list(spans))
	}
	if quarter := g.before(g.rows - g.rows/4); quarter != nil && g.rows >= 4 {
		if growth, ok := search.Growth(len(g.goals), quarter.front, g.history[len(g.history)-1].front); ok {
			what := "the front's hypervolume grew"
			if len(g.goals) == 1 {
				what = "the best value improved"
			}
			say("After the first %s designs %s by %s\u202f%%.", count(quarter.rows), what, digits(100*growth, 2))
		}
	}
	for _, e := range p.Ends {
		p.Night = append(p.Night, e.Short)
	}
}

// columnLabel is the name of a column without its unit, for people.
func columnLabel(c *objective.Column) string {
	return label(results.NameOf(c.Name))
}

func bounds(l *objective.Limit, unit string) string {
	least, most := !math.IsInf(l.AtLeast, -1), !math.IsInf(l.AtMost, 1)
	switch {
	case least && most:
		return number(l.AtLeast) + " to " + quantity(l.AtMost, unit)
	case least:
		return "at least " + quantity(l.AtLeast, unit)
	}
	return "at most " + quantity(l.AtMost, unit)
}

// meaning of a number of a spec.
func meaning(s *objective.Spec, r objective.Ref) string {
	if r.Parameter {
		return s.Parameters()[r.Index].Meaning
	}
	return objective.Table[r.Index].Meaning
}

// asked fills what the brief says.
func (p *page) asked(b *Brief, g *gathered) {
	s := b.Spec
	p.Goals = &table{Caption: "Goals", Head: head("number", "wanted", "meaning")}
	for _, goal := range s.Goals {
		p.Goals.add(text(label(s.Name(goal.Ref))), text(goal.Sense.String()), text(meaning(s, goal.Ref)))
	}
	p.Limits = &table{Caption: "Limits", Head: numberHead(head("number", "limit", "from", "meaning"), 1)}
	for i := range s.Limits {
		l := &s.Limits[i]
		from := "brief"
		if l.Default {
			from = "common practice"
		}
		if l.Layouts != nil {
			from += ", for " + strings.Join(l.Layouts, ", ")
		}
		p.Limits.add(text(label(s.Name(l.Ref))), value(bounds(l, s.Unit(l.Ref).Symbol)), text(from), text(meaning(s, l.Ref)))
	}
	p.Variables = &table{Caption: "Varied", Head: numberHead(head("parameter", "range", "meaning"), 1)}
	varied := map[int]bool{}
	for i, v := range s.Variables {
		switch v.Target {
		case objective.TargetMaterial:
			if len(s.Materials) == 1 { // of a brief in which nothing varies
				continue
			}
			p.Variables.add(text("material"), value(choiceText(len(s.Materials), func(k int) string { return s.Materials[k].Name })), text("of the plate"))
		case objective.TargetLayout:
			p.Variables.add(text("layout"), value(choiceText(len(s.Layouts), func(k int) string { return s.Layouts[k].Name() })), text("of the stage"))
		default:
			varied[v.Index] = true
			q := &s.Parameters()[v.Index]
			p.Variables.add(text(label(q.Name)), value(rangeText(b, i)), text(q.Meaning))
		}
	}
	if len(varied) == 0 && len(s.Materials) == 1 && len(s.Layouts) == 1 {
		p.Variables = nil
	}
	p.Others = &table{Caption: "Not varied", Head: numberHead(head("parameter", "value", "meaning"), 1)}
	if len(s.Materials) == 1 {
		p.Others.add(text("material"), value(s.Materials[0].Name), text(materialText(s.Materials[0])))
	}
	for i, q := range s.Parameters() {
		if varied[i] {
			continue
		}
		v := quantity(s.Fixed[i], q.Unit.Symbol)
		if math.IsNaN(s.Fixed[i]) {
			v = q.DefaultText
		}
		p.Others.add(text(label(q.Name)), value(v), text(q.Meaning))
	}
}

func materialText(m *models.Material) string {
	return fmt.Sprintf("E %s GPa, ν %s, density %s kg/m³, Rp0.2 %s MPa; %s", number(m.Young/1e9), number(m.Poisson), number(m.Density), number(m.Yield/1e6), m.Source)
}

func choiceText(n int, name func(int) string) string {
	var words []string
	for k := range n {
		words = append(words, name(k))
	}
	return list(words)
}

// rangeText describes the range of variable i.
func rangeText(b *Brief, i int) string {
	v := &b.Spec.Variables[i]
	unit := b.Spec.Parameters()[v.Index].Unit.Symbol
	if v.Choices != nil {
		return choiceText(len(v.Choices), func(k int) string { return number(v.Choices[k]) }) + " " + unit
	}
	if i >= len(b.Space) {
		return ""
	}
	q := &b.Space[i]
	t := number(q.From) + " to " + quantity(q.To, unit)
	if q.Step > 0 {
		t += ", steps of " + quantity(q.Step, unit)
	}
	if q.Log {
		t += ", evenly in its logarithm"
	}
	return t
}

// glossary lists what the stored columns mean.
func (p *page) glossary(columns []objective.Column) {
	p.Glossary = &table{Caption: "Every measure: what it is, how it is computed, where that comes from", Head: head("measure", "unit", "meaning", "formula", "source")}
	for _, c := range columns {
		if k, ok := results.MeasureOf(c.Name); ok {
			m := &objective.Table[k]
			p.Glossary.add(text(label(m.Name)), text(m.Unit.Symbol), text(m.Meaning), text(m.Formula), text(m.Source))
		}
	}
}
