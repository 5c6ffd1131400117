package conformance

import (
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"strings"

	"flexwright/models"
)

// Report is what a layout showed.
type Report struct {
	Tried, Built int
	Refusals     map[string]int // reasons why a design was not built, how often
	Faults       []Fault        // at most one per check, with the design that shows it
	// Designs are the first few that were built, for checks that need more than models.
	Designs []*models.Design
}

// Fault is what a design showed, and where in the layout's file it was drawn: 0 where
// that is no one place.
type Fault struct {
	Line, Column int
	Text         string
}

// String is the text behind its position.
func (f Fault) String() string {
	if f.Line == 0 {
		return f.Text
	}
	return fmt.Sprintf("%d:%d: %s", f.Line, f.Column, f.Text)
}

// handed is how many designs a report hands on.
const handed = 5

// Check tries random designs of l until so many are built, at most forty times as
// many in all.
func Check(l models.Layout, m *models.Material, designs int) Report {
	c := checker{layout: l, report: Report{Refusals: map[string]int{}}, said: map[string]bool{}}
	rng := rand.New(rand.NewPCG(1, 2))
	for c.report.Built < designs && c.report.Tried < 40*designs {
		c.report.Tried++
		d := draw(l, m, rng, c.report.Tried == 1)
		s := models.NewStage(l.Topology())
		if v := l.Build(d, s); !v.OK() {
			c.report.Refusals[v.Reason()]++
			continue
		}
		c.report.Built++
		c.about = words(l, d)
		c.design(d, s)
		if c.report.Built <= 10 {
			c.solve(l, s)
			c.slopes(d, s)
			c.loaded(d, s)
		}
		if c.report.Built == differenced {
			c.gradients(d, s)
		}
		if c.report.Built <= 2 {
			c.bending(d, s)
		}
		c.about = ""
		if len(c.report.Designs) < handed {
			c.report.Designs = append(c.report.Designs, d)
		}
	}
	if c.report.Built == 0 {
		c.fault("built", "none of %d designs between the ends of the ranges can be built: %s", c.report.Tried, c.most())
	}
	return c.report
}

// most is the reason that was given most often.
func (c *checker) most() string {
	best, times := "", 0
	for reason, n := range c.report.Refusals {
		if n > times || n == times && reason < best {
			best, times = reason, n
		}
	}
	return best
}

type checker struct {
	layout models.Layout
	report Report
	said   map[string]bool
	about  string // the design, in words
}

// fault notes the first failure of a check.
func (c *checker) fault(check, format string, args ...any) {
	c.faultAt(0, 0, check, format, args...)
}

// faultOf is fault of a body.
func (c *checker) faultOf(body int, check, format string, args ...any) {
	line, column := 0, 0
	if p, ok := c.layout.(models.Placed); ok {
		line, column = p.BodyPlace(body)
	}
	c.faultAt(line, column, check, format, args...)
}

// faultOfBlade is fault of a blade.
func (c *checker) faultOfBlade(blade int, check, format string, args ...any) {
	line, column := 0, 0
	if p, ok := c.layout.(models.Placed); ok {
		line, column = p.BladePlace(blade)
	}
	c.faultAt(line, column, check, format, args...)
}

func (c *checker) faultAt(line, column int, check, format string, args ...any) {
	if !c.said[check] {
		c.said[check] = true
		c.report.Faults = append(c.report.Faults, Fault{line, column, fmt.Sprintf(format, args...) + c.about})
	}
}

// draw returns a design: the middle of the ranges, each parameter changed at
// random unless plain. What has a rule is left to it half of the time.
func draw(l models.Layout, m *models.Material, rng *rand.Rand, plain bool) *models.Design {
	d := &models.Design{Material: m}
	ps := l.Parameters()
	for i := range ps {
		p := &ps[i]
		v := p.Default
		if p.Required {
			if v = (p.Min + p.Max) / 2; p.Min > 0 {
				v = math.Sqrt(p.Min * p.Max)
			}
		}
		d.Parameters = append(d.Parameters, p.Unit.ToSI(v))
	}
	if plain {
		return d
	}
	// What the rules give for these, as the middle of what has a rule.
	ruled := &models.Design{Parameters: append([]float64{}, d.Parameters...), Material: m}
	l.Build(ruled, models.NewStage(l.Topology()))
	for i := range ps {
		p := &ps[i]
		v, u := d.Parameters[i], 2*rng.Float64()-1
		switch {
		case math.IsNaN(v) && rng.IntN(2) == 0:
			continue
		case math.IsNaN(v):
			v = ruled.Parameters[i] * (1 + 0.2*u)
		case v == 0:
			v = p.Unit.ToSI(p.Min*max(-u, 0)*0.02 + p.Max*max(u, 0)*0.02)
		default:
			if v *= 1 + 1.5*u; u < 0 { // down to 0.4, up to 2.5 of it
				v /= (1 + 1.5*u) * (1 - 1.5*u)
			}
		}
		d.Parameters[i] = min(max(v, p.Unit.ToSI(p.Min)), p.Unit.ToSI(p.Max))
	}
	if rng.IntN(3) == 0 {
		d.UpTo = 1.3 * d.Parameters[index(l, "travel")]
	}
	return d
}

// index of a parameter, -1 where the layout has none.
func index(l models.Layout, name string) int {
	for i, p := range l.Parameters() {
		if p.Name == name {
			return i
		}
	}
	return -1
}

// value of a parameter of a design, zero where the layout has none.
func value(l models.Layout, d *models.Design, name string) float64 {
	if i := index(l, name); i >= 0 {
		return d.Parameters[i]
	}
	return 0
}

// words names a design by the parameters that must be given.
func words(l models.Layout, d *models.Design) string {
	var parts []string
	for i, p := range l.Parameters() {
		if p.Required {
			parts = append(parts, fmt.Sprintf("%s %.4g %s", p.Name, p.Unit.FromSI(d.Parameters[i]), p.Unit.Symbol))
		}
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

func (c *checker) design(d *models.Design, s *models.Stage) {
	for i, p := range c.layout.Parameters() {
		if math.IsNaN(d.Parameters[i]) {
			c.fault("parameters", "%s has no value in a design that was built", p.Name)
		}
	}
	outlines, v := c.layout.Outline(d)
	if !v.OK() {
		c.fault("outline", "a design that is built has no outline: %s", v.Reason())
		return
	}
	c.shapes(d, s, outlines)
	c.ends(s, outlines)
	c.clearance(d, s, outlines)
	c.symmetry(s, outlines)
	c.refilled(d, s)
}

// refilled compares with a stage that held NaN, then with one that held this design.
func (c *checker) refilled(d *models.Design, s *models.Stage) {
	again := models.NewStage(c.layout.Topology())
	for range 2 {
		c.layout.Build(d, again)
		if !reflect.DeepEqual(s, again) { // no field is NaN any more
			c.fault("refilled", "a stage that is filled again differs from one filled once")
		}
	}
}
