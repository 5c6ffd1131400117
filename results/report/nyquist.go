package report

import (
	"fmt"
	"html/template"
	"math"
	"math/cmplx"
	"strings"

	"flexwright/objective"
)

const loopWidth, loopHeight = 420.0, 280.0 // of a plot, as those of magnitudes

// drawPhase draws the open loop's phase at all poses, from 0 to −360°.
func drawPhase(c *objective.LoopCurves) template.HTML {
	const left, right, top, bottom = 52.0, 10.0, 12.0, 40.0
	decades := math.Log10(loopTo / loopFrom)
	px := func(f float64) float64 { return left + math.Log10(f/loopFrom)/decades*(loopWidth-left-right) }
	py := func(degrees float64) float64 { return top - degrees/360*(loopHeight-top-bottom) }
	var s svg
	s.put(`<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="phase of the open loop over frequency, %d curves">`, short(loopWidth), short(loopHeight), len(c.Poses))
	for d := 0.0; d >= -360; d -= 90 {
		s.put(`<path class="grid" d="M%s %sH%s"/>`, short(left), short(py(d)), short(loopWidth-right))
		s.text(left-6, py(d)+4, "tick end", number(d)+"°")
	}
	for f := loopFrom; f <= loopTo*1.001; f *= 10 {
		s.put(`<path class="grid" d="M%s %sV%s"/>`, short(px(f)), short(top), short(loopHeight-bottom))
		class := "tick middle"
		if f > loopTo/2 {
			class = "tick end"
		}
		s.text(px(f), loopHeight-bottom+16, class, number(f))
	}
	s.text(loopWidth-right, loopHeight-6, "axis end", "frequency, Hz")
	s.text(4, loopHeight-6, "axis", "arg L")
	s.put(`<path class="bound" d="M%s %sV%s"/>`, short(px(c.Crossover)), short(top), short(loopHeight-bottom))
	s.put(`<path class="bound" d="M%s %sH%s"/>`, short(left), short(py(-180)), short(loopWidth-right))
	for i := range c.Poses {
		p := &c.Poses[i]
		var path strings.Builder
		last := math.Inf(1)
		x := math.Inf(-1)
		for k, l := range p.Open {
			d := cmplx.Phase(l) * 180 / math.Pi
			if d > 0 {
				d -= 360
			}
			if k > 0 && k < len(p.Open)-1 && px(p.Hz[k])-x < 0.3 && math.Abs(d-last) < 2 {
				continue
			}
			verb := "L"
			if math.Abs(d-last) > 180 { // over the edge
				verb = "M"
			}
			fmt.Fprintf(&path, "%s%s %s", verb, tenth(px(p.Hz[k])), tenth(py(d)))
			last, x = d, px(p.Hz[k])
		}
		s.put(`<path class="curve thin" d="%s"/>`, path.String())
	}
	s.put(`</svg>`)
	return s.html()
}

// drawNyquist draws the open loop of the pose that ends the crossover within ±2 of the origin.
func drawNyquist(c *objective.LoopCurves) template.HTML {
	const most, margin = 2.0, 12.0
	unit := (loopHeight - 2*margin) / (2 * most)
	px := func(x float64) float64 { return loopWidth/2 + x*unit }
	py := func(y float64) float64 { return loopHeight/2 - y*unit }
	var s svg
	s.put(`<svg class="chart" viewBox="0 0 %s %s" role="img" aria-label="open loop in the complex plane, near −1">`, short(loopWidth), short(loopHeight))
	for k := -most; k <= most; k++ {
		s.put(`<path class="grid" d="M%s %sH%s"/>`, short(px(-most)), short(py(k)), short(px(most)))
		s.put(`<path class="grid" d="M%s %sV%s"/>`, short(px(k)), short(py(-most)), short(py(most)))
		s.text(px(-most)-6, py(k)+4, "tick end", number(k))
		s.text(px(k), py(-most)+11, "tick middle", number(k))
	}
	s.text(px(most)+6, py(0)+4, "axis", "Re L")
	s.text(px(0)+4, py(most)+9, "axis", "Im L")
	s.put(`<circle class="bound" fill="none" cx="%s" cy="%s" r="%s"/>`, short(px(-1)), short(py(0)), tenth(unit/c.Limit))
	p := &c.Poses[c.Limiting]
	var path strings.Builder
	drawn := false
	for _, l := range p.Open {
		inside := math.Abs(real(l)) <= most && math.Abs(imag(l)) <= most
		if inside {
			verb := "M"
			if drawn {
				verb = "L"
			}
			fmt.Fprintf(&path, "%s%s %s", verb, tenth(px(real(l))), tenth(py(imag(l))))
		}
		drawn = inside
	}
	s.put(`<path class="curve thin" d="%s"/>`, path.String())
	s.put(`</svg>`)
	return s.html()
}
