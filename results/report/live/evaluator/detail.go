package evaluator

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"slices"

	"flexwright/models"
	"flexwright/objective"
)

// detailOf evaluates a design with all its poses, once, with the loop where that is asked
// for; nil where it cannot be built.
func (s *Evaluator) detailOf(d *Design, loop bool) *objective.Detail {
	key, err := json.Marshal(d)
	if err != nil {
		panic("evaluator: " + err.Error())
	}
	if s.of != string(key) || loop && !s.looped {
		spec := *s.spec
		spec.Fixed = slices.Clone(spec.Fixed)
		spec.Measures = slices.DeleteFunc(slices.Clone(spec.Measures), func(m objective.Measure) bool {
			return m.OfParts() || !loop && objective.Table[m].Step > objective.StepStatics
		})
		spec.Pin(s.point(d))
		s.detail, s.of, s.looped = objective.NewDetail(&spec), string(key), loop
	}
	if s.detail.Row.Status == models.CannotBuild {
		return nil
	}
	return s.detail
}

// picture is the plate from above, mm, y upwards: at rest, and each body's displacement
// at a position of the stage.
type picture struct {
	Side   float64     `json:"side"`
	Bodies []body      `json:"bodies"`
	Blades []blade     `json:"blades"`
	Moved  [][]float64 `json:"moved"` // of each body of the topology: x, y in mm, yaw in rad; empty without a solution
	Why    string      `json:"why,omitempty"`
}

type body struct {
	Number int          `json:"number"`
	Class  string       `json:"class"`
	At     [2]float64   `json:"at"`
	Boxes  [][4]float64 `json:"boxes"`
}

type blade struct {
	From int        `json:"from"`
	To   int        `json:"to"`
	At   [4]float64 `json:"at"` // root, tip
}

func (s *Evaluator) picture(d *Design, x, y float64) picture {
	var p picture
	detail := s.detailOf(d, false)
	if detail == nil {
		p.Why = s.detail.Row.Reason.Sentence()
		return p
	}
	const mm = 1e3
	t, st := detail.Topology, detail.Stage
	p.Side = st.Frame * mm
	design := detail.Design
	design.Parameters = slices.Clone(design.Parameters)
	outlines, v := s.spec.Layouts[d.Layout].Outline(&design)
	if !v.OK() {
		p.Why = v.Reason()
		return p
	}
	for _, o := range outlines {
		b := body{Number: o.Body, Class: class(t, o.Body), At: [2]float64{st.X[o.Body] * mm, st.Y[o.Body] * mm}}
		for _, r := range o.Rectangles {
			b.Boxes = append(b.Boxes, [4]float64{r.X0 * mm, r.Y0 * mm, r.X1 * mm, r.Y1 * mm})
		}
		p.Bodies = append(p.Bodies, b)
	}
	for i, b := range t.Blades {
		p.Blades = append(p.Blades, blade{b.From, b.To, [4]float64{st.RootX[i] * mm, st.RootY[i] * mm, st.TipX[i] * mm, st.TipY[i] * mm}})
	}
	if len(t.Actuators) == 1 {
		y = 0
	}
	pose := detail.At(st.Travel*clamp(x), st.Travel*clamp(y))
	if !pose.Verdict.OK() {
		p.Why = pose.Verdict.Reason()
		return p
	}
	for i := range t.Bodies {
		q := pose.Q[3*i : 3*i+3]
		p.Moved = append(p.Moved, []float64{q[0] * mm, q[1] * mm, q[2]})
	}
	return p
}

func clamp(v float64) float64 { return math.Min(1, math.Max(-1, v)) }

// class is what the page colours a body by.
func class(t *models.Topology, number int) string {
	switch {
	case t.Bodies[number].Held == models.HeldAll:
		return "ground"
	case number == t.Stage:
		return "platform"
	case slices.Contains(t.Driven, number):
		return "driven"
	case slices.Contains(t.Idle, number):
		return "idle"
	}
	return "guide"
}

// mapSide is how many positions the maps have along each axis.
const mapSide = 7

type grid struct {
	N    int        `json:"n"`
	At   []float64  `json:"at"` // mm
	Maps []gridding `json:"maps"`
}

type gridding struct {
	Name   string   `json:"name"`
	Unit   string   `json:"unit"`
	Values []Number `json:"values"`
}

// maps are force and stress over the workspace.
func (s *Evaluator) maps(d *Design) grid {
	out := grid{N: mapSide, At: []float64{}, Maps: []gridding{}}
	detail := s.detailOf(d, false)
	if detail == nil {
		return out
	}
	m := detail.Maps(mapSide)
	for _, x := range m.At {
		out.At = append(out.At, x*1e3)
	}
	for _, one := range m.Maps {
		if !slices.Contains([]string{"force_x", "force_y", "stress"}, one.Name) {
			continue
		}
		g := gridding{Name: one.Name, Unit: one.Unit.Symbol}
		for _, v := range one.Values {
			g.Values = append(g.Values, Number(v))
		}
		out.Maps = append(out.Maps, g)
	}
	return out
}

// loopSummary is the loop's responses at all poses; without curves where there is no loop.
type loopSummary struct {
	Axis      string  `json:"axis"`
	Crossover float64 `json:"crossover"` // Hz
	Limit     float64 `json:"limit"`     // of |S|
	End       string  `json:"end"`
	Curves    []curve `json:"curves"`
}

type curve struct {
	Hz          []float64 `json:"hz"`
	Open        []float64 `json:"open"`        // |L|
	Sensitivity []float64 `json:"sensitivity"` // |S|
}

// Range of the loop's curves, as in the rest of the report.
const (
	loopFrom, loopTo = 1.0, 1000.0 // Hz
	loopPoints       = 160
)

func (s *Evaluator) loop(d *Design) loopSummary {
	out := loopSummary{Curves: []curve{}}
	detail := s.detailOf(d, true)
	if detail == nil {
		return out
	}
	c, ok := detail.LoopCurves(loopFrom, loopTo, loopPoints)
	if !ok {
		return out
	}
	out.Axis, out.Crossover, out.Limit, out.End = c.Axis, c.Crossover, c.Limit, detail.Row.Explanation(objective.CrossoverEnd)
	for i := range c.Poses {
		p := &c.Poses[i]
		one := curve{Hz: p.Hz}
		for k := range p.Hz {
			one.Open = append(one.Open, cmplx.Abs(p.Open[k]))
			one.Sensitivity = append(one.Sensitivity, cmplx.Abs(p.Sensitivity[k]))
		}
		out.Curves = append(out.Curves, one)
	}
	return out
}
