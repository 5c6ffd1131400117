package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strings"

	"flexwright/objective"
)

// mapLevels is how many steps of colour a map has: few enough to be told apart,
// so that the edges between them are contours.
const mapLevels = 12

// mapFigure is one number over the workspace.
type mapFigure struct {
	Name    string
	Unit    string
	Note    string
	Drawing template.HTML
	Legend  template.HTML
	Range   string // least and largest value, and where
}

// drawMap draws a map as squares of few colours, each run of equal ones as one
// rectangle.
func drawMap(m *objective.Maps, one *objective.Map) mapFigure {
	f := mapFigure{Name: label(one.Name), Unit: one.Unit.Symbol}
	low, high := math.Inf(1), math.Inf(-1)
	at := [2]int{}
	for k, v := range one.Values {
		if math.IsNaN(v) {
			continue
		}
		if v < low {
			low, at[0] = v, k
		}
		if v > high {
			high, at[1] = v, k
		}
	}
	if low > high {
		f.Range = "no position is solved"
		return f
	}
	place := func(k int) string {
		return fmt.Sprintf("(%s, %s) mm", digits(m.At[k%m.N]*1e3, 3), digits(m.At[k/m.N]*1e3, 3))
	}
	// what is the same up to rounding everywhere is one colour
	flat := high-low <= 1e-9*max(math.Abs(low), math.Abs(high))
	level := func(v float64) int {
		if flat {
			return mapLevels / 2
		}
		return min(mapLevels-1, int(float64(mapLevels)*(v-low)/(high-low)))
	}
	f.Range = fmt.Sprintf("least at %s, largest at %s", place(at[0]), place(at[1]))
	if low*high > 0 { // a span against 0 says nothing new
		f.Range = fmt.Sprintf("spans %s\u202f%% of the largest; ", digits(100*(high-low)/max(math.Abs(low), math.Abs(high)), 2)) + f.Range
	}
	if flat {
		f.Range = "everywhere " + quantity(high, f.Unit)
	}
	n := m.N
	var values []string
	for _, v := range one.Values {
		if math.IsNaN(v) {
			values = append(values, "")
		} else {
			values = append(values, strings.Replace(digits(v, 3), "−", "-", 1))
		}
	}
	var s svg
	s.put(`<div class="mapframe"><div class="up"><span>%s</span><span>y</span><span>%s</span></div>`, number(m.At[n-1]*1e3), number(m.At[0]*1e3))
	s.put(`<svg class="map" viewBox="-0.5 -0.5 %d %d" role="img" aria-label="%s" data-n="%d" data-travel="%s" data-unit="%s" data-values="%s" shape-rendering="crispEdges">`,
		n, n, html.EscapeString(fmt.Sprintf("%s over the workspace, %s to %s: %s", f.Name, number(low), quantity(high, f.Unit), f.Range)), n, number(m.At[n-1]*1e3), html.EscapeString(f.Unit), strings.Join(values, ","))
	for row := range n {
		for from := 0; from < n; {
			v := one.Values[row*n+from]
			to := from + 1
			if math.IsNaN(v) {
				from = to
				continue
			}
			for to < n && !math.IsNaN(one.Values[row*n+to]) && level(one.Values[row*n+to]) == level(v) {
				to++
			}
			s.put(`<rect class="m%d" x="%s" y="%s" width="%d" height="1"/>`, level(v), short(float64(from)-0.5), short(float64(n-1-row)-0.5), to-from)
			from = to
		}
	}
	s.put(`</svg><div class="across"><span>%s</span><span>x, mm</span><span>%s</span></div></div>`, number(m.At[0]*1e3), number(m.At[n-1]*1e3))
	f.Drawing = s.html()
	var l svg
	l.put(`<svg class="legend" viewBox="0 0 %d 1" preserveAspectRatio="none" aria-hidden="true">`, mapLevels)
	for k := range mapLevels {
		l.put(`<rect class="m%d" x="%d" width="1.02" height="1"/>`, k, k)
	}
	l.put(`</svg><span>%s</span><span>%s</span>`, html.EscapeString(number(low)), html.EscapeString(quantity(high, f.Unit)))
	f.Legend = l.html()
	if flat {
		f.Legend = ""
	}
	return f
}
