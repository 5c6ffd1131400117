package report

import (
	"fmt"
	"html"
	"html/template"
	"math"
	"math/cmplx"
	"strings"

	"flexwright/objective"
	"flexwright/results/diagnosis"
)

// Range of the loop plots, and how many points they have beside those at the resonances.
const (
	loopFrom   = 1.0 // Hz
	loopTo     = 1000.0
	loopPoints = 240
)

// drawLoop draws the responses of plant, open loop and sensitivity, those of all
// poses over each other.
func drawLoop(d *objective.Detail) (figures []figure, note string) {
	c, ok := d.LoopCurves(loopFrom, loopTo, loopPoints)
	if !ok {
		return nil, ""
	}
	plant := loopChart{Label: "|P|", YUnit: "µm/N", Mark: c.Crossover}
	open := loopChart{Label: "|L|", Lines: []float64{1}, Mark: c.Crossover}
	sensitivity := loopChart{Label: "|S|", Lines: []float64{c.Limit, math.Sqrt2 / 2}, Mark: c.Crossover}
	closed := loopChart{Label: "|T|", Lines: []float64{math.Sqrt2 / 2}, Mark: c.Crossover}
	for i := range c.Poses {
		p := &c.Poses[i]
		plant.add(p.Hz, p.Plant, 1e6)
		open.add(p.Hz, p.Open, 1)
		sensitivity.add(p.Hz, p.Sensitivity, 1)
		follows := make([]complex128, len(p.Hz))
		for k, s := range p.Sensitivity {
			follows[k] = 1 - s
		}
		closed.add(p.Hz, follows, 1)
	}
	other := ", the other axis's loop closed"
	if c.Alone {
		other = ""
	}
	figures = []figure{
		{fmt.Sprintf("Plant along %s: position over force, %d poses", c.Axis, len(c.Poses)), plant.draw()},
		{fmt.Sprintf("Open loop along %s%s; it crosses 1 at %s Hz", c.Axis, other, number(c.Crossover)), open.draw()},
		{fmt.Sprintf("Phase of the open loop along %s; dashed: −180°", c.Axis), drawPhase(c)},
		{fmt.Sprintf("Sensitivity along %s; dashed: the most that is allowed, %s, and −3 dB, where the bandwidth ends", c.Axis, number(c.Limit)), sensitivity.draw()},
		{fmt.Sprintf("Closed loop along %s; dashed: −3 dB", c.Axis), closed.draw()},
		{"Open loop in the complex plane at the pose that ends the crossover; dashed: the circle around −1 in which |S| is beyond its limit", drawNyquist(c)},
	}
	note = fmt.Sprintf("At the crossover, %s Hz", number(c.Crossover))
	if c.End != "" {
		note += ". What ends it: " + c.End
	}
	note += ". The curves are of nominal frequencies; the crossover holds with lower and higher ones, too."
	for _, text := range diagnosis.Loop(d) {
		note += " " + text
	}
	return figures, note
}

// loopChart is curves over a logarithmic frequency, on a logarithmic scale.
type loopChart struct {
	Label, YUnit string
	Lines        []float64 // dashed
	Mark         float64   // Hz
	curves       [][2][]float64
	low, high    float64
}

func (l *loopChart) add(hz []float64, z []complex128, scale float64) {
	y := make([]float64, len(z))
	for i := range z {
		y[i] = scale * cmplx.Abs(z[i])
		if l.low == 0 || y[i] < l.low {
			l.low = y[i]
		}
		l.high = max(l.high, y[i])
	}
	l.curves = append(l.curves, [2][]float64{hz, y})
}

// draw shows at most seven decades: what is far below is of no interest.
func (l *loopChart) draw() template.HTML {
	const width, height, left, right, top, bottom = 420.0, 280.0, 52.0, 10.0, 12.0, 40.0
	for _, v := range l.Lines {
		l.low, l.high = min(l.low, v), max(l.high, v)
	}
	first, last := math.Floor(math.Log10(l.low)), math.Ceil(math.Log10(l.high))
	first = max(first, last-7)
	if !(last > first) {
		last = first + 1
	}
	decades := math.Log10(loopTo / loopFrom)
	px := func(f float64) float64 { return left + math.Log10(f/loopFrom)/decades*(width-left-right) }
	py := func(v float64) float64 {
		return height - bottom - (max(math.Log10(max(v, 1e-300)), first)-first)/(last-first)*(height-top-bottom)
	}
	var s svg
	s.put(`<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="%s">`, short(width), short(height),
		html.EscapeString(fmt.Sprintf("%s over frequency, %d curves, from %s to %s", l.Label, len(l.curves), number(l.low), quantity(l.high, l.YUnit))))
	for e := first; e <= last; e++ {
		y := py(math.Pow(10, e))
		s.put(`<path class="grid" d="M%s %sH%s"/>`, short(left), short(y), short(width-right))
		s.text(left-6, y+4, "tick end", power(e))
	}
	for f := loopFrom; f <= loopTo*1.001; f *= 10 {
		s.put(`<path class="grid" d="M%s %sV%s"/>`, short(px(f)), short(top), short(height-bottom))
		class := "tick middle"
		if f > loopTo/2 {
			class = "tick end"
		}
		s.text(px(f), height-bottom+16, class, number(f))
	}
	s.text(width-right, height-6, "axis end", "frequency, Hz")
	label := l.Label
	if l.YUnit != "" {
		label += ", " + l.YUnit
	}
	s.text(4, height-6, "axis", label)
	s.put(`<path class="bound" d="M%s %sV%s"/>`, short(px(l.Mark)), short(top), short(height-bottom))
	for _, v := range l.Lines {
		s.put(`<path class="bound" d="M%s %sH%s"/>`, short(left), short(py(v)), short(width-right))
	}
	for _, c := range l.curves {
		s.put(`<path class="curve thin" d="%s"/>`, thinPath(c[0], c[1], px, py))
	}
	s.put(`</svg>`)
	return s.html()
}

// thinPath keeps, of the points within half a unit across, the first, the least, the
// greatest and the last.
func thinPath(x, y []float64, px, py func(float64) float64) string {
	var b strings.Builder
	verb := "M"
	for i := 0; i < len(x); {
		j, low, high := i, i, i
		for ; j < len(x) && px(x[j])-px(x[i]) < 0.5; j++ {
			if y[j] < y[low] {
				low = j
			}
			if y[j] > y[high] {
				high = j
			}
		}
		last := -1
		for _, k := range []int{i, min(low, high), max(low, high), j - 1} {
			if k > last {
				fmt.Fprintf(&b, "%s%s %s", verb, tenth(px(x[k])), tenth(py(y[k])))
				verb, last = "L", k
			}
		}
		i = j
	}
	return b.String()
}

func tenth(v float64) string { return short(math.Round(v*10) / 10) }

// power writes 10 to the e.
func power(e float64) string {
	switch e {
	case 0:
		return "1"
	case 1:
		return "10"
	}
	raised := strings.NewReplacer("-", "⁻", "0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹")
	return "10" + raised.Replace(fmt.Sprintf("%.0f", e))
}
