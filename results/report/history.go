package report

import (
	"fmt"
	"math"

	"flexwright/models"
	"flexwright/objective"
	"flexwright/results"
	"flexwright/search"
)

// largest fronts whose hypervolume is computed whole: of more points, every k-th
// is taken. Above three goals the time grows steeply.
const (
	wholeFront     = 20000
	wholeFrontMany = 400
)

// hypervolumes returns, per checkpoint, the part of the box between the last
// front's best values and its worst, widened by a tenth, that is dominated. It
// says whether fronts were thinned for it.
func hypervolumes(g *gathered) (share []float64, thinned bool) {
	ranges := search.RangesOf(len(g.goals), g.frontObjs)
	for _, c := range g.history {
		thinned = thinned || c.thinned
		share = append(share, ranges.Hypervolume(c.front))
	}
	return share, thinned
}

// search fills how the search went.
func (p *page) search(g *gathered, m *results.Manifest, b *Brief) {
	if g.rows == 0 {
		return
	}
	x := make([]float64, 0, len(g.history)+1)
	for _, c := range g.history {
		x = append(x, float64(c.rows))
	}
	if len(m.Runs) > 0 {
		p.HistoryNote = "The folder was joined from separate runs: their designs follow one another. Limits are counted as in the first run's brief."
	}
	switch {
	case len(g.front) == 0:
	case len(g.goals) == 1:
		goal := g.goals[0]
		var best []float64
		var at []float64
		for i, c := range g.history {
			if len(c.front) > 0 {
				best, at = append(best, goal.sign*c.front[0]), append(at, x[i])
			}
		}
		p.History = append(p.History, figure{"Best " + columnLabel(goal.column) + " so far",
			lineChart(chart{X: at, Y: best, XLabel: "designs", YLabel: columnLabel(goal.column), YUnit: goal.column.Unit})})
	default:
		volume, thinned := hypervolumes(g)
		caption := "Hypervolume of the front: the part of the box between the last front's best values and its worst ones, widened by a tenth, that is dominated"
		if thinned {
			caption += " (large fronts thinned for it: a lower bound)"
		}
		p.History = append(p.History, figure{caption, lineChart(chart{X: x, Y: volume, XLabel: "designs", YLabel: "hypervolume", From0: true})})
	}
	var shares []float64
	last := checkpoint{}
	for _, c := range g.history {
		shares = append(shares, 100*float64(c.feasible-last.feasible)/float64(c.rows-last.rows))
		last = c
	}
	p.History = append(p.History, figure{"Feasible share, in steps of " + count(g.history[0].rows) + " designs",
		lineChart(chart{X: x, Y: shares, XLabel: "designs", YLabel: "feasible", YUnit: "%", From0: true, Steps: true})})

	p.Statuses = &table{Caption: "What became of the designs", Head: numberHead(head("status", "designs", "share", ""), 1, 2)}
	for s, n := range g.status {
		if n > 0 {
			p.Statuses.add(text(label(models.Status(s).String())), value(count(n)), value(share(n, g.rows)), bar(float64(n)/float64(g.rows)))
		}
	}
	p.rejects(g)
}

func bar(part float64) cell { return cell{HasBar: true, Bar: part} }

// fineTable reads the fine check of the front's designs, if there is one.
func fineTable(f *results.Folder) (*fine, error) {
	if f.Manifest().State != results.Ended {
		return nil, nil
	}
	t, err := f.FrontTable()
	if err != nil {
		return nil, err
	}
	return newFine(t), nil
}

// fine is the fine check beside the fast model, by design.
type fine struct {
	table *results.Table
	pairs [][2]int // columns: of the fast model (-1 if none), of the fine check
	row   map[Design]int
}

const finePrefix = "fine_"

func newFine(t *results.Table) *fine {
	f := &fine{table: t, row: map[Design]int{}}
	index := map[string]int{}
	for i, c := range t.Columns {
		index[c.Name] = i
	}
	for i, c := range t.Columns {
		if len(c.Name) > len(finePrefix) && c.Name[:len(finePrefix)] == finePrefix {
			fast, ok := index[c.Name[len(finePrefix):]]
			if !ok {
				fast = -1
			}
			f.pairs = append(f.pairs, [2]int{fast, i})
		}
	}
	id, ok := index["id"]
	if !ok || f.pairs == nil {
		return nil
	}
	run, joined := index["run"]
	for i, cells := range t.Rows {
		d := Design{ID: cells[id].Int}
		if joined {
			d.Run = cells[run].Int
		}
		f.row[d] = i
	}
	return f
}

// of returns the table of one design and what it comes to; nil without a fine check.
func (f *fine) of(d Design) (t *table, note string) {
	if f == nil {
		return nil, ""
	}
	i, ok := f.row[d]
	if !ok {
		return nil, ""
	}
	columns, row := f.table.Columns, f.table.Rows[i]
	t = &table{Caption: "Fast model beside the fine check", Head: numberHead(head("number", "unit", "fast model", "fine check", "difference"), 2, 3, 4)}
	checked, largest, worst := false, math.NaN(), ""
	for _, p := range f.pairs {
		v := row[p[1]]
		checked = checked || !v.Null
		switch name := columns[p[1]].Name; {
		case v.Null:
		case name == "fine_difference":
			largest = v.Float
		case name == "fine_worst":
			worst = label(v.Text)
		case p[0] >= 0 && f.table.Kinds[p[1]] == objective.Float && f.table.Kinds[p[0]] == objective.Float:
			fast, difference := row[p[0]], ""
			if !fast.Null && fast.Float != 0 {
				difference = digits(100*(v.Float-fast.Float)/fast.Float, 2) + "\u202f%"
			}
			t.add(text(columnLabel(&objective.Column{Name: columns[p[0]].Name})), text(unbroken(columns[p[1]].Unit)), value(number(fast.Float)), value(number(v.Float)), value(difference))
		}
	}
	switch {
	case !checked:
		return nil, "This design was not checked with the fine model: flexwright show --fine does."
	case math.IsNaN(largest):
		return t, "The fine check, several segments a blade, was not solved: " + worst + "."
	}
	return t, fmt.Sprintf("The fine check, several segments a blade, differs by at most %s\u202f%% (%s).", digits(100*largest, 2), worst)
}
