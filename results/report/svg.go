package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"strconv"
	"strings"
)

// svg puts a drawing together. Numbers are written short; texts are escaped.
type svg struct{ strings.Builder }

func (s *svg) put(format string, args ...any) { fmt.Fprintf(s, format, args...) }

func (s *svg) text(x, y float64, class, t string) {
	s.put(`<text x="%s" y="%s" class="%s">%s</text>`, short(x), short(y), class, html.EscapeString(t))
}

func (s *svg) html() template.HTML { return template.HTML(s.String()) }

// short is a coordinate with two decimals at most.
func short(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		panic("report: a coordinate that is no number")
	}
	return trimZeros(strconv.FormatFloat(v, 'f', 2, 64))
}

// chart is one curve over an axis.
type chart struct {
	X, Y           []float64
	XLabel, YLabel string
	YUnit          string
	From0          bool // the y axis begins at 0
	Steps          bool // each value holds from the x before it to its own
}

// lineChart draws a chart of a fixed shape.
func lineChart(c chart) template.HTML {
	const width, height, left, right, top, bottom = 500.0, 230.0, 48.0, 12.0, 12.0, 40.0
	var s svg
	if len(c.X) == 0 {
		return ""
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, v := range c.Y {
		low, high = min(low, v), max(high, v)
	}
	if c.From0 {
		low = min(low, 0)
	}
	if high <= low {
		high = low + max(math.Abs(low)*0.1, 1e-9)
	}
	yTicks := ticks(low, high, 4)
	low, high = min(low, yTicks[0]), max(high, yTicks[len(yTicks)-1])
	x0, x1 := 0.0, c.X[len(c.X)-1]
	px := func(v float64) float64 { return left + (v-x0)/(x1-x0)*(width-left-right) }
	py := func(v float64) float64 { return height - bottom - (v-low)/(high-low)*(height-top-bottom) }
	unit := ""
	if c.YUnit != "" {
		unit = " " + c.YUnit
	}
	last := number(c.Y[len(c.Y)-1]) + unit
	s.put(`<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="%s">`, short(width), short(height),
		html.EscapeString(fmt.Sprintf("%s over %s: first %s%s, last %s after %s", c.YLabel, c.XLabel, number(c.Y[0]), unit, last, count(int64(x1)))))
	for _, t := range yTicks {
		s.put(`<path class="grid" d="M%s %sH%s"/>`, short(left), short(py(t)), short(width-right))
		s.text(left-6, py(t)+4, "tick end", number(t))
	}
	for _, t := range ticks(x0, x1, 5) {
		if t > x1 {
			continue
		}
		s.put(`<path class="grid" d="M%s %sv4"/>`, short(px(t)), short(height-bottom))
		class := "tick middle"
		if px(t) > width-right-16 {
			class = "tick end"
		}
		s.text(px(t), height-bottom+16, class, count(int64(t)))
	}
	s.text(width-right, height-6, "axis end", c.XLabel)
	s.text(4, height-6, "axis", c.YLabel+func() string {
		if c.YUnit == "" {
			return ""
		}
		return ", " + c.YUnit
	}())
	s.put(`<path class="curve" d="`)
	for i := range c.X {
		verb := "L"
		if i == 0 {
			verb = "M"
		}
		if c.Steps {
			from := x0
			if i > 0 {
				from = c.X[i-1]
			}
			s.put("%s%s %s", verb, short(px(from)), short(py(c.Y[i])))
			verb = "L"
		}
		s.put("%s%s %s", verb, short(px(c.X[i])), short(py(c.Y[i])))
	}
	s.put(`"/></svg>`)
	return s.html()
}

// ticks returns about n round numbers from at or below low to at or above high.
func ticks(low, high float64, n int) []float64 {
	raw := (high - low) / float64(n)
	power := math.Pow(10, math.Floor(math.Log10(raw)))
	step := power
	for _, f := range []float64{1, 2, 5, 10} {
		step = f * power
		if step >= raw*0.999 {
			break
		}
	}
	var list []float64
	for i := math.Floor(low/step + 1e-9); ; i++ {
		list = append(list, i*step)
		if i*step >= high-1e-9*step {
			return list
		}
	}
}
