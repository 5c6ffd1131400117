package report

import (
	_ "embed"
	"fmt"
	"html"
	"html/template"
	"io"
	"math"

	"flexwright/search"
)

// Comparison is what a page that compares two runs, or two designs, shows.
type Comparison struct {
	Title     string
	Names     [2]string // of A and B
	Sentences []string
	Tables    []ComparedTable
	// Of runs: what the plots are of, and the two fronts
	Goals  []ComparedGoal
	Points [2][]ComparedPoint
}

// ComparedTable is a table; all columns but the first are numbers where Numbers is set.
type ComparedTable struct {
	Caption string
	Head    []string
	Rows    [][]string
	Numbers bool
}

// ComparedGoal is an axis of the plots.
type ComparedGoal struct {
	Name, Unit string
	Most       bool // more is better
}

// ComparedPoint is a design of a front.
type ComparedPoint struct {
	Design string
	Values []float64 // of each goal, in its unit
	Common bool      // on the front of both together
}

//go:embed assets/compare.html
var compareTemplate string

var comparePage = template.Must(parsed.New("compare").Parse(compareTemplate))

// comparedPage is what the template is given.
type comparedPage struct {
	*Comparison
	Tables []*table
	Plots  []figure
	Held   string
}

// mostCompared designs of each front that are drawn.
const mostCompared = 200

// WriteComparison writes the page: one file that needs nothing else, not even a script.
func WriteComparison(w io.Writer, c *Comparison) error {
	p := &comparedPage{Comparison: c}
	for _, t := range c.Tables {
		own := &table{Caption: t.Caption, Head: head(t.Head...)}
		for i := range own.Head {
			own.Head[i].Number = t.Numbers && i > 0
		}
		for _, row := range t.Rows {
			var cells []cell
			for i, s := range row {
				cells = append(cells, cell{Text: s, Number: t.Numbers && i > 0})
			}
			own.add(cells...)
		}
		p.Tables = append(p.Tables, own)
	}
	points := c.Points
	for i := range points {
		points[i] = thinPoints(points[i], c.Goals)
		if len(points[i]) < len(c.Points[i]) {
			p.Held = fmt.Sprintf("Of each front %d designs are drawn, those that hold most of its hypervolume.", mostCompared)
		}
	}
	if len(points[0])+len(points[1]) > 0 {
		for k := 1; k < len(c.Goals); k++ {
			p.Plots = append(p.Plots, figure{fmt.Sprintf("%s over %s", label(c.Goals[k].Name), label(c.Goals[0].Name)), drawFronts(c.Goals, points, 0, k)})
		}
	}
	return comparePage.Execute(w, p)
}

// thinPoints keeps the points that hold most of a front.
func thinPoints(list []ComparedPoint, goals []ComparedGoal) []ComparedPoint {
	if len(list) <= mostCompared {
		return list
	}
	objectives := make([]float64, 0, len(list)*len(goals))
	for _, p := range list {
		for g, v := range p.Values {
			if goals[g].Most {
				v = -v
			}
			objectives = append(objectives, v)
		}
	}
	var kept []ComparedPoint
	for _, i := range search.Thin(objectives, len(goals), mostCompared) {
		kept = append(kept, list[i])
	}
	return kept
}

// drawFronts draws two fronts over two of their goals.
func drawFronts(goals []ComparedGoal, points [2][]ComparedPoint, gx, gy int) template.HTML {
	const width, height, left, right, top, bottom = 640.0, 420.0, 64.0, 16.0, 16.0, 44.0
	scaleOf := func(g int) (list []float64, low, high float64) {
		low, high = math.Inf(1), math.Inf(-1)
		for _, front := range points {
			for _, p := range front {
				low, high = min(low, p.Values[g]), max(high, p.Values[g])
			}
		}
		if high <= low {
			pad := max(math.Abs(low)*0.1, 1e-9)
			low, high = low-pad, high+pad
		}
		list = ticks(low, high, 5)
		return list, min(low, list[0]), max(high, list[len(list)-1])
	}
	xTicks, x0, x1 := scaleOf(gx)
	yTicks, y0, y1 := scaleOf(gy)
	px := func(v float64) float64 { return left + (v-x0)/(x1-x0)*(width-left-right) }
	py := func(v float64) float64 { return height - bottom - (v-y0)/(y1-y0)*(height-top-bottom) }
	var s svg
	s.put(`<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="%s">`, short(width), short(height),
		html.EscapeString(fmt.Sprintf("%s over %s: %d designs of A, %d of B", label(goals[gy].Name), label(goals[gx].Name), len(points[0]), len(points[1]))))
	for _, t := range yTicks {
		s.put(`<path class="grid" d="M%s %sH%s"/>`, short(left), short(py(t)), short(width-right))
		s.text(left-6, py(t)+4, "tick end", number(t))
	}
	for _, t := range xTicks {
		s.put(`<path class="grid" d="M%s %sV%s"/>`, short(px(t)), short(top), short(height-bottom))
		s.text(px(t), height-bottom+16, "tick middle", number(t))
	}
	s.text(width-right, height-6, "axis end", axisLabel(goals[gx]))
	s.text(4, height-6, "axis", axisLabel(goals[gy]))
	for i, front := range points {
		for _, p := range front {
			class := [2]string{"fronta", "frontb"}[i]
			if !p.Common {
				class += " hollow"
			}
			x, y := px(p.Values[gx]), py(p.Values[gy])
			title := fmt.Sprintf("%s: design %s, %s %s, %s %s", [2]string{"A", "B"}[i], p.Design,
				label(goals[gx].Name), quantity(p.Values[gx], goals[gx].Unit), label(goals[gy].Name), quantity(p.Values[gy], goals[gy].Unit))
			if i == 0 {
				s.put(`<circle class="%s" cx="%s" cy="%s" r="3.5">`, class, short(x), short(y))
			} else {
				s.put(`<path class="%s" d="M%s %sl4.5 4.5l-4.5 4.5l-4.5 -4.5z">`, class, short(x), short(y-4.5))
			}
			s.put("<title>%s</title></%s>", html.EscapeString(title), [2]string{"circle", "path"}[i])
		}
	}
	s.put("</svg>")
	return s.html()
}

func axisLabel(g ComparedGoal) string {
	sense := ", least"
	if g.Most {
		sense = ", most"
	}
	if g.Unit == "" {
		return label(g.Name) + sense
	}
	return label(g.Name) + ", " + g.Unit + sense
}
