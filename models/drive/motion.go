package drive

import (
	"errors"
	"fmt"
	"math"
)

// Kind is the shape of a motion program.
type Kind uint8

const (
	Circle Kind = iota // both axes sinusoidal; 90° apart they draw a circle
	Raster             // x back and forth with rounded turns, y one line further at each turn, up and down again
	Hold               // at rest at the pose that needs the largest force, each axis by itself
	Steps              // point to point between both ends on each axis, at rest between
	numKind
)

var kindNames = [numKind]string{"circle", "raster", "hold", "steps"}

// String returns the word used in briefs.
func (k Kind) String() string {
	if k >= numKind {
		panic("drive: unknown motion")
	}
	return kindNames[k]
}

// ParseKind is the inverse of [Kind.String].
func ParseKind(text string) (Kind, bool) {
	for i, name := range kindNames {
		if name == text {
			return Kind(i), true
		}
	}
	return 0, false
}

// Motion describes a program. A cycle is one revolution of the circle, one line forth
// and back of the raster, one step forth and back.
type Motion struct {
	Kind      Kind
	Amplitude float64 // of the travel, in (0, 1]
	Frequency float64 // cycles per second
	Phase     float64 // rad, by which y lags x (circle, steps)
	Turn      float64 // raster: part of each half cycle spent turning; steps: part spent moving; in (0, 1]
	Lines     int     // of a raster, 2 to 1000
}

// DefaultMotion returns the program of a kind used where a brief is silent: the whole
// travel, 1 Hz, a quarter of a cycle between the axes, turns of 20 % of a line or
// moves of 50 % of the time, 20 lines (common practice).
func DefaultMotion(kind Kind) Motion {
	m := Motion{Kind: kind, Amplitude: 1, Frequency: 1, Phase: math.Pi / 2, Turn: 0.2, Lines: 20}
	if kind == Steps {
		m.Turn = 0.5
	}
	return m
}

// Validate returns all that is wrong with the motion.
func (m *Motion) Validate() error {
	var all []error
	if m.Kind >= numKind {
		all = append(all, fmt.Errorf("motion %d does not exist", m.Kind))
	}
	if !(m.Amplitude > 0 && m.Amplitude <= 1) {
		all = append(all, fmt.Errorf("amplitude %g of the travel must lie above 0 and at most at 1", m.Amplitude))
	}
	if m.Kind != Hold && (!(m.Frequency > 0) || math.IsInf(m.Frequency, 1)) {
		all = append(all, fmt.Errorf("frequency %g Hz must be positive", m.Frequency))
	}
	if math.IsNaN(m.Phase) || math.IsInf(m.Phase, 0) {
		all = append(all, fmt.Errorf("phase must be finite"))
	}
	if (m.Kind == Raster || m.Kind == Steps) && !(m.Turn > 0 && m.Turn <= 1) {
		all = append(all, fmt.Errorf("turn %g must lie above 0 and at most at 1", m.Turn))
	}
	if m.Kind == Raster && (m.Lines < 2 || m.Lines > 1000) {
		all = append(all, fmt.Errorf("%d lines: 2 to 1000 are possible", m.Lines))
	}
	return errors.Join(all...)
}

// Program is a motion sampled over its period for a travel of 1 m. It is read-only once made.
type Program struct {
	Motion Motion
	Period float64 // s; 0 for Hold
	// PeakVelocity, m/s, PeakAcceleration, m/s², of each axis per metre of travel.
	PeakVelocity, PeakAcceleration [2]float64

	samples []sample
	path    [][9]float64 // weights of the nine poses at points of the motion

	// the samples in columns, the last repeated without weight to a multiple of eight, with room for kernels beyond
	moments int
	weight  []float64
	columns [2][dutyForcesColumns][]float64 // what [dutyForces] reads, by axis
}

const (
	eight = 8 // numbers that a kernel may work on side by side
	spare = eight - 1
)

// sample is a moment: weight in the mean over the period, and position, velocity,
// acceleration and jerk of both axes.
type sample struct {
	weight     float64
	p, v, a, j [2]float64
}

// lay writes the samples into columns.
func (p *Program) lay() {
	n := len(p.samples)
	p.moments = (n + eight - 1) / eight * eight
	column := func(of func(s *sample) float64) []float64 {
		x := make([]float64, p.moments+spare)
		for i := range x {
			x[i] = of(&p.samples[min(i, n-1)])
		}
		return x
	}
	p.weight = column(func(s *sample) float64 { return s.weight })
	clear(p.weight[n:])
	for axis := range p.columns {
		c := &p.columns[axis]
		c[dutyForcesP] = column(func(s *sample) float64 { return s.p[axis] })
		c[dutyForcesV] = column(func(s *sample) float64 { return s.v[axis] })
		c[dutyForcesA] = column(func(s *sample) float64 { return s.a[axis] })
		c[dutyForcesJ] = column(func(s *sample) float64 { return s.j[axis] })
	}
	for axis, first := range [2][4]int{{dutyForcesXl0, dutyForcesXh0, dutyForcesXdl0, dutyForcesXdh0}, {dutyForcesYl0, dutyForcesYh0, dutyForcesYdl0, dutyForcesYdh0}} {
		for k := range 3 {
			for i, of := range [4]func(b *basis) float64{
				func(b *basis) float64 { return b.l[k] }, func(b *basis) float64 { return b.h[k] },
				func(b *basis) float64 { return b.dl[k] }, func(b *basis) float64 { return b.dh[k] },
			} {
				c := column(func(s *sample) float64 {
					var b basis
					b.at(s.p[axis])
					return of(&b)
				})
				p.columns[0][first[i]+k], p.columns[1][first[i]+k] = c, c
			}
		}
	}
	for axis := range p.columns {
		p.columns[axis][dutyForcesVx], p.columns[axis][dutyForcesVy] = p.columns[0][dutyForcesV], p.columns[1][dutyForcesV]
	}
}

// Program samples the motion. It returns the errors of [Motion.Validate].
func (m Motion) Program() (*Program, error) {
	if err := m.Validate(); err != nil {
		return nil, err
	}
	p := &Program{Motion: m}
	switch m.Kind {
	case Circle:
		p.circle()
	case Raster:
		p.raster()
	case Steps:
		p.steps()
	}
	for i := range p.samples {
		s := &p.samples[i]
		for axis := range 2 {
			p.PeakVelocity[axis] = math.Max(p.PeakVelocity[axis], math.Abs(s.v[axis]))
			p.PeakAcceleration[axis] = math.Max(p.PeakAcceleration[axis], math.Abs(s.a[axis]))
		}
	}
	if len(p.samples) > 0 {
		p.lay()
	}
	p.layPath()
	return p, nil
}

const uniform = 360 // samples of a period, a multiple of eight: sums over a turn are exact, peaks within 4e-5

func (p *Program) circle() {
	m := &p.Motion
	p.Period = 1 / m.Frequency
	w := 2 * math.Pi * m.Frequency
	for i := range uniform {
		s := sample{weight: 1.0 / uniform}
		for axis, phase := range [2]float64{0, m.Phase} {
			sin, cos := math.Sincos(2*math.Pi*float64(i)/uniform - phase)
			a := m.Amplitude
			s.p[axis], s.v[axis], s.a[axis], s.j[axis] = a*cos, -a*w*sin, -a*w*w*cos, a*w*w*w*sin
		}
		p.samples = append(p.samples, s)
	}
}

// steps moves by the quintic 10 s³ − 15 s⁴ + 6 s⁵ of least jerk (T. Flash, N. Hogan,
// The Coordination of Arm Movements, J. Neurosci., 1985).
func (p *Program) steps() {
	m := &p.Motion
	p.Period = 1 / m.Frequency
	move := 0.5 * m.Turn * p.Period
	for i := range uniform {
		s := sample{weight: 1.0 / uniform}
		for axis, phase := range [2]float64{0, m.Phase} {
			t := float64(i)/uniform - phase/(2*math.Pi)
			t -= math.Floor(t)
			sign := 1.0
			if t >= 0.5 {
				sign, t = -1, t-0.5
			}
			x := t * p.Period / move
			if x >= 1 {
				s.p[axis] = sign * m.Amplitude
				continue
			}
			a := 2 * m.Amplitude * sign
			s.p[axis] = a * (x*x*x*(10+x*(-15+6*x)) - 0.5)
			s.v[axis] = a * 30 * x * x * (1 - x) * (1 - x) / move
			s.a[axis] = a * 60 * x * (1 - x) * (1 - 2*x) / (move * move)
			s.j[axis] = a * 60 * (1 - 6*x + 6*x*x) / (move * move * move)
		}
		p.samples = append(p.samples, s)
	}
}

// raster runs at constant speed V along a line and turns in the time t_t with the
// acceleration −(2V/t_t)(1 − cos 2πs), s from 0 to 1; y moves one line on with (s −
// sin 2πs/2π) meanwhile. Both parts are sampled for Simpson's rule.
func (p *Program) raster() {
	m := &p.Motion
	const straight, turn = 8, 16 // intervals, even
	half := 0.5 / m.Frequency
	turning := m.Turn * half
	running := half - turning
	// half the excursion: V running/2 + V turning (1/4 + 1/π²)
	speed := m.Amplitude / (0.5*running + turning*(0.25+1/(math.Pi*math.Pi)))
	pitch := 2 * m.Amplitude / float64(m.Lines-1)
	halves := 2 * (m.Lines - 1)
	p.Period = float64(halves) * half
	for n := range halves {
		sign := 1.0
		if n%2 == 1 {
			sign = -1
		}
		line, up := n, 1.0
		if n >= m.Lines-1 {
			line, up = halves-n, -1
		}
		y := -m.Amplitude + pitch*float64(line)
		edge := 0.5 * speed * running
		for i := range straight + 1 {
			if running == 0 {
				break
			}
			s := sample{weight: simpson(i, straight) * running / p.Period}
			s.p = [2]float64{sign * edge * (2*float64(i)/straight - 1), y}
			s.v[0] = sign * speed
			p.samples = append(p.samples, s)
		}
		for i := range turn + 1 {
			x := float64(i) / turn
			sin, cos := math.Sincos(2 * math.Pi * x)
			s := sample{weight: simpson(i, turn) * turning / p.Period}
			s.p[0] = sign * (edge + speed*turning*(x-x*x+(1-cos)/(2*math.Pi*math.Pi)))
			s.v[0] = sign * speed * (1 - 2*x + sin/math.Pi)
			s.a[0] = -sign * speed * 2 / turning * (1 - cos)
			s.j[0] = -sign * speed * 4 * math.Pi / (turning * turning) * sin
			s.p[1] = y + up*pitch*(x-sin/(2*math.Pi))
			s.v[1] = up * pitch / turning * (1 - cos)
			s.a[1] = up * pitch / (turning * turning) * 2 * math.Pi * sin
			s.j[1] = up * pitch / (turning * turning * turning) * 4 * math.Pi * math.Pi * cos
			p.samples = append(p.samples, s)
		}
	}
}

// simpson returns the weight of node i of n intervals of a unit length.
func simpson(i, n int) float64 {
	w := 2.0
	switch {
	case i == 0 || i == n:
		w = 1
	case i%2 == 1:
		w = 4
	}
	return w / (3 * float64(n))
}
