package layoutfile

import (
	"math"

	"flexwright/models"
	"flexwright/models/expression"
)

// program is what Compile made of the formulas. Inputs are the parameters, then
// up_to and play.
type program = *expression.Program

// registers of a candidate, on the stack.
type registers = [expression.Registers]float64

const (
	// A bound that was computed from the value itself must not fail on the last bit.
	slack = 1e-12
	// sliver is the width below which a rectangle counts as none, m.
	sliver = 1e-9
)

// run computes all values of a design, puts those that rules gave in the place of
// each NaN, and checks what must hold.
func (l *Layout) run(d *models.Design, play float64, r *registers) models.Verdict {
	n := len(l.parameters)
	if len(d.Parameters) != n {
		panic("layoutfile: wrong number of parameters")
	}
	copy(r[:], d.Parameters)
	for i := range l.parameters {
		p := &l.parameters[i]
		if math.IsNaN(r[i]) {
			if p.Required {
				panic("layoutfile: a required parameter is NaN")
			}
			r[i] = p.Unit.ToSI(p.Default) // NaN where a rule has it
		}
	}
	r[n], r[n+1] = d.UpTo, play
	l.program.Run(r[:])
	for i, s := range l.settled {
		if v := r[s]; v-v == 0 {
			d.Parameters[i] = v
		}
	}
	for i := range l.watched {
		w := &l.watched[i]
		if v := r[w.register]; v-v != 0 {
			return models.Verdict{Status: models.CannotBuild, Format: w.format}
		}
	}
	for i := range l.demands {
		m := &l.demands[i]
		left, right := r[m.left], r[m.right]
		if m.atLeast && left >= right-slack || !m.atLeast && left <= right+slack {
			continue
		}
		return models.Verdict{Status: models.CannotBuild, Format: m.format, Value: left * m.scale, Bound: right * m.scale}
	}
	for i := range l.shapes {
		s, empty := &l.shapes[i], true
		for k := range s.boxes {
			b := &s.boxes[k]
			dx, dy := r[b.x1]-r[b.x0], r[b.y1]-r[b.y0]
			if min(dx, dy) < -sliver {
				return models.Verdict{Status: models.CannotBuild, Format: s.inverted, Index: k + 1}
			}
			empty = empty && min(dx, dy) < sliver
		}
		if empty {
			return models.Verdict{Status: models.CannotBuild, Format: s.empty}
		}
	}
	if v := l.room(d, r); !v.OK() {
		return v
	}
	for i := range l.blades {
		if b := &l.blades[i]; !(r[b.length] > 0 && r[b.thickness] > 0 && r[b.width] > 0) {
			return models.Verdict{Status: models.CannotBuild, Format: b.format}
		}
	}
	return models.Verdict{}
}

// Build implements [models.Layout].
func (l *Layout) Build(d *models.Design, st *models.Stage) models.Verdict {
	var r registers
	if v := l.run(d, 0, &r); !v.OK() {
		return v
	}
	l.fill(d, st, &r, false)
	return models.Verdict{}
}

// fill writes a stage from computed values; bodies without their members where these
// bend.
func (l *Layout) fill(d *models.Design, st *models.Stage, r *registers, bend bool) {
	m := d.Material
	st.Travel = r[l.travel]
	st.UpTo = max(st.Travel, d.UpTo)
	st.Loads, st.Material, st.RootStiffness, st.Payload, st.PayloadSpread = nil, m, 1, 0, 0
	extent := nothing
	for i := range l.shapes {
		l.shapes[i].fill(d, st, r, &extent, bend)
	}
	st.Frame = max(extent.X1-extent.X0, extent.Y1-extent.Y0)
	for i := range l.blades {
		l.blades[i].fill(m, st, r)
	}
	for i := range l.actuators {
		a := &l.actuators[i]
		st.ActX[i], st.ActY[i] = a.frame.apply(r[a.x], r[a.y])
		st.ActZ[i], st.ActAlong[i], st.ActAcross[i] = 0, 0, 0
		if a.height >= 0 {
			st.ActZ[i] = r[a.height]
		}
	}
	l.fillSensors(st, r)
}

// direction of the blade in its frame, a unit vector from root to tip.
func (b *blade) direction(r *registers) (x, y float64) {
	if b.cos >= 0 {
		return r[b.cos], r[b.sin]
	}
	return b.dx, b.dy
}

func (b *blade) fill(m *models.Material, st *models.Stage, r *registers) {
	x, y, length := r[b.x], r[b.y], r[b.length]
	dx, dy := b.direction(r)
	fillet := 0.0
	if b.fillet >= 0 {
		fillet = r[b.fillet]
	}
	for k, e := range b.numbers {
		f := b.frames[k]
		st.RootX[e], st.RootY[e] = f.apply(x, y)
		st.TipX[e], st.TipY[e] = f.apply(x+length*dx, y+length*dy)
		st.Thickness[e], st.Width[e], st.Fillet[e] = r[b.thickness], r[b.width], fillet
		st.Young[e], st.Poisson[e], st.Density[e], st.BendingFactor[e] = m.Young, m.Poisson, m.Density, 0
	}
}

// nothing is the extent of no rectangle.
var nothing = models.Rectangle{X0: math.Inf(1), X1: math.Inf(-1), Y0: math.Inf(1), Y1: math.Inf(-1)}

// include widens e to hold the rectangle with the given corners.
func include(e *models.Rectangle, x0, y0, x1, y1 float64) {
	e.X0, e.X1 = min(e.X0, x0, x1), max(e.X1, x0, x1)
	e.Y0, e.Y1 = min(e.Y0, y0, y1), max(e.Y1, y0, y1)
}
